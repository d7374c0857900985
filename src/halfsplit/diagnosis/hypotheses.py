"""Every hypothesis that is weighed: nothing wrong, each fault at each severity, and with each a
load that nobody mentioned.

Rows are in a fixed order, so that the same job gives the same answer to the last digit.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from halfsplit.faults.catalogue import enumerate_faults, two
from halfsplit.faults.fault import Fault
from halfsplit.faults.rates import CALLED
from halfsplit.wiring.effects import Added, Bridged, Effect
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import EARTH, Plan, Spot

SOUND = -1  # the row's fault when nothing is wrong
FORGOTTEN = 0.12  # chance that something not mentioned is plugged in beyond a break: judgement
# What it may be: watts at rated volts, filter farads to a frame, share (judgement).
FORGOTTEN_KINDS = ((60.0, 4.7e-9, 0.6), (2.0, 0.0, 0.4))
# What the rest of the house draws, W per line, where a neutral it shares may be lost (which line
# carries more decides which stands high) or finds a second way through the protective conductor
# (judgement; each pattern as likely).
REST = {
    1: ((0.0,), (300.0,), (3000.0,)),
    2: ((400.0, 400.0), (900.0, 150.0), (150.0, 900.0), (2500.0, 100.0), (100.0, 2500.0)),
    3: (
        (500.0, 500.0, 500.0),
        (1500.0, 150.0, 400.0),
        (400.0, 1500.0, 150.0),
        (150.0, 400.0, 1500.0),
    ),
}
MEETS_BELOW_OHMS = 100.0  # a neutral-earth contact of more takes no share of the house's neutral
MATTERS_FROM_OHMS = 30.0  # a smaller added resistance changes nothing that a forgotten load shows
GRID_SPREAD = 0.6  # log standard deviation inside one step of a severity grid (steps of about 3)


@dataclass(frozen=True, slots=True)
class Coded:
    """The rows' effects as numbers, for those who turn each effect once and lay out many rows.

    ``unique`` (U,) are the effects in order of first use, ``index`` (H, m) numbers them for each
    row (-1: none), the first ``own`` (H,) of a row being the fault's and the rest a load's.
    """

    unique: tuple[Effect, ...]
    index: NDArray[np.intp]
    own: NDArray[np.intp]

    def rows_with(self, which: Callable[[Effect], bool]) -> list[tuple[int, Effect]]:
        """(row, effect) of every effect for which ``which`` holds, row by row."""
        chosen = np.array([which(e) for e in self.unique], dtype=np.bool_)
        if not chosen.any():
            return []
        hit = (self.index >= 0) & chosen[self.index]
        return [(int(h), self.unique[int(self.index[h, j])]) for h, j in np.argwhere(hit)]


@dataclass(frozen=True)
class Hypotheses:
    """H rows: ``fault`` (H,) index into ``faults`` or SOUND, ``severity`` (H,), ``prior`` (H,) log.

    ``effects[h]`` are its effects, those of a forgotten load last; ``forgotten[h]`` counts them,
    and ``beyond[h]`` names its place ("" none). ``spread`` (H, 2) is the log spread of the severity
    of its fault, and of the second one where there are two at once (0 where it has no size);
    ``second[h]`` counts the effects of the second, which come after the first's.
    """

    faults: tuple[Fault, ...]
    fault: NDArray[np.intp]
    severity: NDArray[np.intp]
    prior: NDArray[np.float64]
    spread: NDArray[np.float64]
    effects: tuple[tuple[Effect, ...], ...]
    forgotten: NDArray[np.intp]
    beyond: tuple[str, ...]
    second: NDArray[np.intp]

    @cached_property
    def coded(self) -> Coded:
        """The rows' effects as numbers; the same object counts once, however often it is used."""
        known: dict[int, int] = {}
        unique: list[Effect] = []
        index = np.full((len(self), max(map(len, self.effects), default=0)), -1, dtype=np.intp)
        for h, row in enumerate(self.effects):
            for j, effect in enumerate(row):
                at = known.get(id(effect))
                if at is None:
                    at = known[id(effect)] = len(unique)
                    unique.append(effect)
                index[h, j] = at
        own = np.array([len(row) for row in self.effects], dtype=np.intp) - self.forgotten
        return Coded(tuple(unique), index, own)

    @cached_property
    def contact(self) -> NDArray[np.bool_]:
        """(H,) rows in which a joint, contact or core is bad: they come and go."""
        found = np.zeros(len(self), dtype=np.bool_)
        found[[h for h, _ in self.coded.rows_with(lambda e: isinstance(e, Added))]] = True
        return found

    def __len__(self) -> int:
        return len(self.effects)

    def own(self, row: int) -> tuple[Effect, ...]:
        """The effects of a row's fault alone, without those of a load nobody mentioned."""
        effects = self.effects[row]
        return effects[: len(effects) - int(self.forgotten[row])]

    def with_pairs(self, first: NDArray[np.intp], second: NDArray[np.intp]) -> Hypotheses:
        """The same rows, then one for each pair of rows ``first`` and ``second`` (N,) at once.

        A load forgotten beside the first stays. The prior of a pair is the product of both over
        ``CALLED``: not normalised again, as is no other's.
        """
        named: dict[tuple[int, int], list[tuple[int, int]]] = {}
        at = []
        for a, b in zip(first.tolist(), second.tolist(), strict=True):
            pair = (int(self.fault[a]), int(self.fault[b]))
            steps = named.setdefault(pair, [])
            step = (int(self.severity[a]), int(self.severity[b]))
            if step not in steps:
                steps.append(step)
            at.append((pair, steps.index(step)))
        places = {pair: len(self.faults) + k for k, pair in enumerate(named)}
        made = tuple(two(self.faults[i], self.faults[j], steps) for (i, j), steps in named.items())
        effects = tuple(
            self.own(a) + self.own(b) + self.effects[a][len(self.own(a)) :]
            for a, b in zip(first.tolist(), second.tolist(), strict=True)
        )
        once = float(self.prior[0]) + math.log(CALLED)
        spread = np.stack([self.spread[first, 0], self.spread[second, 0]], axis=1)
        counts = [len(self.own(b)) for b in second.tolist()]
        return Hypotheses(
            self.faults + made,
            np.append(self.fault, np.array([places[pair] for pair, _ in at], dtype=np.intp)),
            np.append(self.severity, np.array([step for _, step in at], dtype=np.intp)),
            np.append(self.prior, self.prior[first] + self.prior[second] - once),
            np.concatenate([self.spread, spread]),
            self.effects + effects,
            np.append(self.forgotten, self.forgotten[first]),
            self.beyond + tuple(self.beyond[a] for a in first.tolist()),
            np.append(self.second, np.array(counts, dtype=np.intp)),
        )

    def sized(self, row: int, size: Sequence[float]) -> tuple[Effect, ...]:
        """A row's own effects with its severities multiplied by ``size`` (first, second)."""
        own = self.own(row)
        first = len(own) - int(self.second[row])
        return tuple(scaled(e, size[0]) for e in own[:first]) + tuple(
            scaled(e, size[1]) for e in own[first:]
        )

    def beside(self, row: int) -> tuple[Effect, ...]:
        """The effects of what was forgotten beside a row's fault."""
        return self.effects[row][len(self.own(row)) :]

    @cached_property
    def neighbours(self) -> NDArray[np.intp]:
        """(H, 2): the rows of the next smaller and larger severity, itself where there is none."""
        single = int((self.second == 0).sum())  # pairs come last
        at = {
            (f, s, b, n): h
            for h, (f, s, b, n, spread) in enumerate(
                zip(
                    self.fault.tolist(),
                    self.severity.tolist(),
                    self.beyond,
                    self.forgotten.tolist(),
                    self.spread[:, 0].tolist(),
                    strict=True,
                )
            )
            if spread and h < single
        }
        found = np.stack([np.arange(len(self))] * 2, axis=1)
        for (f, s, b, n), h in at.items():
            found[h] = at.get((f, s - 1, b, n), h), at.get((f, s + 1, b, n), h)
        return found


def scaled(effect: Effect, size: float) -> Effect:
    """An effect with its finite resistance or admittance multiplied by ``size`` in ohms."""
    if size == 1.0:
        return effect
    if isinstance(effect, Added) and math.isfinite(effect.ohms):
        return replace(effect, ohms=effect.ohms * size)
    if isinstance(effect, Bridged) and math.isfinite(effect.siemens):
        return replace(effect, siemens=effect.siemens / size, farads=effect.farads / size)
    return effect


def _sized(effects: tuple[Effect, ...]) -> bool:
    """Whether the severity has a size: a finite added resistance or admittance."""
    for effect in effects:
        if isinstance(effect, Added) and math.isfinite(effect.ohms):
            return True
        if isinstance(effect, Bridged) and math.isfinite(effect.siemens):
            return True
    return False


def _parts(effects: tuple[Effect, ...]) -> bool:
    """Whether something beyond may be left hanging, so that a forgotten load there would show."""
    return any(isinstance(e, Added) and e.ohms >= MATTERS_FROM_OHMS for e in effects)


def ends_of(installation: Installation, plan: Plan) -> dict[str, tuple[Spot, ...]]:
    """By circuit, the outlets at its ends: a load there is beyond every break on the way."""
    found: dict[str, tuple[Spot, ...]] = {}
    for circuit in installation.circuits:
        outlets = [
            s
            for s in plan.spots
            if s.circuit == circuit.name
            and s.front
            and "N" in s.conductors
            and any(k in s.conductors for k in ("L", "L1", "L2", "L3"))
        ]
        last = [s for s in outlets if not s.downstream] or outlets[-1:]
        found[circuit.name] = tuple(last)
    return found


def _forgotten_effects(spot: Spot, volts: float, watts: float, farads: float) -> tuple[Effect, ...]:
    line = next(k for k in ("L", "L1", "L2", "L3") if k in spot.conductors)
    a, b, e = (f"{spot.name}.{key}:front" for key in (line, "N", "E"))
    effects: tuple[Effect, ...] = (Bridged(a, b, watts / volts**2),)
    if farads and "E" in spot.conductors:
        effects += (Bridged(a, e, 0.0, farads), Bridged(b, e, 0.0, farads))
    return effects


def _shared_neutrals(
    installation: Installation, plan: Plan
) -> dict[str, tuple[str, tuple[tuple[Effect, ...], ...]]]:
    """By element of a neutral that a whole board shares: the board, and what may hang on it."""
    feeders = {board.fed_by: board.name for board in installation.boards if board.fed_by}
    first = next((b.name for b in installation.boards if not b.fed_by), "")
    found = {}
    for element in plan.elements:
        if element.conductor not in ("N", "PEN"):
            continue
        if element.kind == "service" or (not element.circuit and element.at == (first,)):
            board = first
        elif element.circuit in feeders and element.kind in ("joint", "core", "pole"):
            board = feeders[element.circuit]
        else:
            continue
        found[element.id] = (board, _rest_of(plan, board))
    return found


def _boards(
    installation: Installation, plan: Plan
) -> dict[str, tuple[str, tuple[tuple[Effect, ...], ...]]]:
    """By circuit: its board, and what may hang on it."""
    patterns = {board.name: _rest_of(plan, board.name) for board in installation.boards}
    return {c.name: (c.board, patterns[c.board]) for c in installation.circuits}


def meets_earth(effects: Iterable[Effect]) -> bool:
    """Whether a neutral finds a way through a protective conductor or the ground."""
    return any(
        isinstance(e, Bridged)
        and e.siemens > 1 / MEETS_BELOW_OHMS
        and {_conductor(e.a), _conductor(e.b)} in ({"N", "E"}, {"N", EARTH})
        for e in effects
    )


def _conductor(node: str) -> str:
    return node.rpartition(".")[2].partition(":")[0]


def _rest_of(plan: Plan, board: str) -> tuple[tuple[Effect, ...], ...]:
    """What the rest of a board's circuits may draw, as bridges from its lines to neutral."""
    spot = next(s for s in plan.spots if s.name == board)
    lines = [key for key in spot.conductors if key.startswith("L")]
    return tuple(
        tuple(
            Bridged(f"{board}.{line}", f"{board}.N", watts / plan.volts**2)
            for line, watts in zip(lines, pattern, strict=True)
            if watts
        )
        for pattern in REST.get(len(lines), ((0.0,) * len(lines),))
    )


def enumerate_hypotheses(
    installation: Installation, plan: Plan, faults: tuple[Fault, ...] | None = None
) -> Hypotheses:
    """All rows for an installation; ``faults`` (default: the whole catalogue) in their order."""
    faults = enumerate_faults(installation, plan) if faults is None else faults
    ends = ends_of(installation, plan)
    rows: list[tuple[int, int, float, float, tuple[Effect, ...], int, str]] = [
        (SOUND, 0, 0.0, 0.0, (), 0, "")
    ]
    extras = {
        (spot.name, watts): _forgotten_effects(spot, plan.volts, watts, farads)
        for spots in ends.values()
        for spot in spots
        for watts, farads, _ in FORGOTTEN_KINDS
    }
    upstream, boards = _shared_neutrals(installation, plan), _boards(installation, plan)
    for index, fault in enumerate(faults):
        shared = next(
            (
                upstream[e.element]
                for severity in fault.severities
                for e in severity.effects
                if isinstance(e, Added) and e.element in upstream
            ),
            None,
        )
        spots = ends.get(fault.circuit, ())
        for step, severity in enumerate(fault.severities):
            weight = math.log(max(fault.rate * severity.share, 1e-300))
            spread = GRID_SPREAD if len(fault.severities) > 1 and _sized(severity.effects) else 0.0
            house = boards.get(fault.circuit) if meets_earth(severity.effects) else shared
            if house is not None:
                for extra in house[1]:
                    also = weight - math.log(len(house[1]))
                    effects = severity.effects + extra
                    rows.append((index, step, also, spread, effects, len(extra), house[0]))
                continue
            if not spots or not _parts(severity.effects):
                rows.append((index, step, weight, spread, severity.effects, 0, ""))
                continue
            alone = weight + math.log(1 - FORGOTTEN)
            # A load of 2 W shows only where nothing else holds the conductor.
            kinds = FORGOTTEN_KINDS if not _sized(severity.effects) else ((60.0, 4.7e-9, 1.0),)
            rows.append((index, step, alone, spread, severity.effects, 0, ""))
            for spot in spots:
                for watts, _, share in kinds:
                    extra = extras[spot.name, watts]
                    also = weight + math.log(FORGOTTEN * share / len(spots))
                    effects = severity.effects + extra
                    rows.append((index, step, also, spread, effects, len(extra), spot.name))
    prior = np.array([row[2] for row in rows])
    prior -= np.logaddexp.reduce(prior)
    return Hypotheses(
        faults,
        np.array([row[0] for row in rows], dtype=np.intp),
        np.array([row[1] for row in rows], dtype=np.intp),
        prior,
        np.array([(row[3], 0.0) for row in rows]),
        tuple(row[4] for row in rows),
        np.array([row[5] for row in rows], dtype=np.intp),
        tuple(row[6] for row in rows),
        np.zeros(len(rows), dtype=np.intp),
    )
