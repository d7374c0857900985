"""What every check would show under every cause still believed: solved, once per set of conditions.

A link at the board is not a new circuit to solve: it is one more port of the dead one, joined.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from halfsplit.checks.check import Check
from halfsplit.checks.rows import Rows
from halfsplit.diagnosis.encoded import encode
from halfsplit.diagnosis.predict import (
    NUMERIC,
    Question,
    chance_seen,
    figure,
    ports_of,
    ramp_figure,
)
from halfsplit.diagnosis.prepared import WILL_NOT_TRIP, Prepared
from halfsplit.diagnosis.scene import Scene, build_scene, seen_through
from halfsplit.diagnosis.solve import Answers, solve_rows
from halfsplit.diagnosis.touches import Touches
from halfsplit.instruments import show
from halfsplit.instruments.catalogue import instrument
from halfsplit.instruments.instrument import Instrument
from halfsplit.network import Functional, V
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Effect, ReadingChange, StateChange
from halfsplit.wiring.layout import LINK_OHMS
from halfsplit.wiring.plan import EARTH, Plan, Spot, node

Real = NDArray[np.float64]

# One sigma of a figure for what is not known exactly (judgement; the weighing itself is exact).
SUPPLY_SHARE = 0.015  # the supply drifts between two readings
FLOATING_SHARE = 0.3  # capacitances decide a floating conductor's voltage
FLOATING_OHMS = 3e3
VOLTS_FLOOR = 0.3
OHMS_SHARE, OHMS_FLOOR = 0.07, 0.03  # lengths and joints
AMPS_SHARE = 0.1
MEGOHMS_LOG = 0.9
LOOP_FLOOR = 0.1
OVER = 1e9  # what a figure over range stands at, on its own scale

WORDS: dict[str, tuple[str, ...]] = {
    "works": ("works", "weak", "dead"),
    "lamps": tuple(show.PATTERNS),
    "trips": ("holds", "at once", "seconds", "minutes"),
    "proved dead": ("dead", "live"),
}


@dataclass(frozen=True, slots=True)
class Shown:
    """What one check would show under each row.

    Figures: ``mean`` (K,), ``sigma`` (K,) on the compared scale (logs for insulation), ``over``
    (K,) chance of no figure. Words: ``chance`` (K, w) of each of ``words``.
    """

    mean: Real
    sigma: Real
    over: Real
    words: tuple[str, ...] = ()
    chance: Real | None = None
    logged: bool = False


class Trial:
    """All conditions of all checks, each solved once when first asked for."""

    def __init__(
        self, prepared: Prepared, rows: Rows, checks: Sequence[Check], spots: Sequence[Spot]
    ) -> None:
        self.prepared, self.plan, self.rows, self.spots = (
            prepared,
            prepared.plan,
            rows,
            tuple(spots),
        )
        self.ids = list(rows.names)
        self.false = tuple(
            (k, e)
            for k, row in enumerate(rows.effects)
            for e in row
            if isinstance(e, ReadingChange)
        )
        self._asked: dict[object, dict[Functional, None]] = {}
        self._conditions: dict[object, Conditions] = {}
        self._solved: dict[object, tuple[Scene, Answers]] = {}
        self.reach = reachable(self.plan, self.spots)
        for check in checks:
            if check.reading is not None:
                self._want(check)

    def _want(self, check: Check) -> None:
        assert check.reading is not None
        conditions, links = base(check.conditions)
        asked = self._asked.setdefault(conditions.key(), {})
        self._conditions.setdefault(conditions.key(), conditions)
        for port in ports_of(check.reading, self.plan)[0]:
            asked[port] = None
        for a, b in links:
            asked[V(a, b)] = None

    def solved(self, conditions: Conditions) -> tuple[Scene, Answers]:
        """The scene of these conditions, and every row solved in it."""
        key = conditions.key()
        found = self._solved.get(key)
        if found is None:
            found = self._solved[key] = self._solve(conditions, tuple(self._asked.get(key, {})))
        return found

    def _solve(
        self, conditions: Conditions, asked: tuple[Functional, ...]
    ) -> tuple[Scene, Answers]:
        out = "all" in conditions.unplugged
        effects = [
            row[: len(row) - extra] if out and extra else row
            for row, extra in zip(self.rows.effects, self.rows.extra, strict=True)
        ]
        ports = asked if conditions.dead else tuple(dict.fromkeys((*asked, *self.reach)))
        scene, touches = remembered(self.prepared, conditions, ports, effects)
        kept = [p for p in ports if p in scene.index]
        encoded = encode(scene, [touches.all(row) for row in effects])
        stuck = frozenset(
            (k, e.control)
            for k, row in enumerate(effects)
            for e in row
            if isinstance(e, StateChange) and e.state == WILL_NOT_TRIP
        )
        return scene, solve_rows(scene, encoded, kept, (), stuck)

    def shown(self, check: Check) -> Shown | None:
        """What a check would show; None where its terminals do not exist in its conditions."""
        if check.reading is None:
            return self._found(check)
        conditions, links = base(check.conditions)
        scene, answers = self.solved(conditions)
        ports, load = ports_of(check.reading, self.plan)
        if check.reading.kind not in ("trips", "ramp") and not ports:
            return None
        if any(p not in answers.at for p in ports):
            return None
        for a, b in links[:1]:
            answers = joined(answers, ports[0], V(a, b))
        who = instrument(check.reading.instrument) if check.reading.instrument else None
        question = Question(check.reading, 0, ports, load, ((who, 1.0),) if who else ())
        if who is not None and check.reading.kind in NUMERIC:
            return self._figure(question, scene, answers, who)
        return self._words(question, scene, answers)

    def _found(self, check: Check) -> Shown:
        """A look or a question: the chance of its first word under each row."""
        chances = dict(check.finds or check.answers)
        found = np.array([chances.get(id, 0.0) for id in self.ids])
        nothing = np.zeros(found.size)
        chance = np.stack([found, 1 - found], axis=1)
        return Shown(nothing, nothing, nothing, check.says, chance)

    def _words(self, question: Question, scene: Scene, answers: Answers) -> Shown:
        reading = question.reading
        words = WORDS[reading.kind]
        if reading.kind == "lamps":
            chance = _patterns(question, scene, answers)
        else:
            asked = (replace(question, reading=replace(reading, seen=word)) for word in words)
            chance = np.stack([chance_seen(one, scene, answers) for one in asked], axis=1)
        chance /= np.maximum(chance.sum(axis=1, keepdims=True), 1e-12)
        nothing = np.zeros(chance.shape[0])
        return Shown(nothing, nothing, nothing, words, chance)

    def _figure(self, question: Question, scene: Scene, answers: Answers, who: Instrument) -> Shown:
        if question.reading.kind == "ramp":
            added, sure, spread = ramp_figure(question, scene, answers)
            return Shown(added, np.full(added.shape, spread), 1 - sure)
        mean, sure = figure(question, scene, answers, who)
        mean = np.minimum(np.asarray(mean, dtype=np.float64), OVER)
        kind = question.reading.kind
        mean, sure = self._misled(kind, mean, sure)
        sigma = show.sigma(who, mean)
        if kind == "volts":
            at = answers.at[question.ports[0]]
            floats = np.abs(answers.T[:, at, at]) > FLOATING_OHMS
            loose = np.where(floats, FLOATING_SHARE, SUPPLY_SHARE)
            sigma = np.sqrt(sigma**2 + (loose * mean) ** 2 + VOLTS_FLOOR**2)
        elif kind == "ohms":
            sigma = np.sqrt(sigma**2 + (OHMS_SHARE * mean) ** 2 + OHMS_FLOOR**2)
        elif kind == "megohms":
            floor = who.floor + who.resolution
            log = np.log(np.maximum(mean, floor))
            return Shown(log, np.full(mean.shape, MEGOHMS_LOG), 1 - sure, logged=True)
        elif kind == "loop":
            sigma = np.sqrt(sigma**2 + (OHMS_SHARE * mean) ** 2 + LOOP_FLOOR**2)
        else:
            sigma = np.sqrt(sigma**2 + (AMPS_SHARE * mean) ** 2)
        return Shown(mean, np.maximum(sigma, 1e-6), 1 - sure)

    def _misled(self, kind: str, mean: Real, sure: Real) -> tuple[Real, Real]:
        """Figures of the rows in which the instrument itself is at fault."""
        if not self.false:
            return mean, sure
        mean, sure = mean.copy(), np.array(sure, dtype=np.float64)
        for k, change in self.false:
            if "all" not in change.instruments and kind not in change.instruments:
                continue
            if change.how == "scale":
                mean[k] *= change.factor
            elif change.how == "offset" and kind == "ohms":
                mean[k] += change.factor
            elif change.how == "lead open":
                mean[k], sure[k] = (0.5, 1.0) if kind == "volts" else (mean[k], 0.0)
            elif change.how == "fuse blown" and kind == "ohms":
                sure[k] = 0.0
        return mean, sure


def _patterns(question: Question, scene: Scene, answers: Answers) -> Real:
    """(K, 8) chances of a plug tester's patterns."""
    at = [answers.at[p] for p in question.ports]
    who = question.candidates[0][0]
    Z = answers.T[:, at][:, :, at]
    volts = show.plug_volts(who, answers.f[:, at], Z, scene.lowered.omega)
    return show.lamps(who, volts)


_SCENES: WeakKeyDictionary[Prepared, dict[object, tuple[Scene, Touches]]] = WeakKeyDictionary()
MOST_SCENES = 32
WIDEST = 700  # functionals in a remembered view, beyond which it is begun anew


def remembered(
    prepared: Prepared,
    conditions: Conditions,
    ports: Sequence[Functional],
    effects: Sequence[Sequence[Effect]],
) -> tuple[Scene, Touches]:
    """A scene with these in its view, factorised once per installation and conditions.

    Scenes are values: remembering the widest view so far saves time and changes no answer.
    """
    kept = _SCENES.setdefault(prepared, {})
    key = conditions.key()
    if key not in kept or len(kept[key][0].index) > WIDEST:
        if len(kept) >= MOST_SCENES:
            kept.clear()
        kept[key] = build_scene(prepared.plan, conditions, (), ())
    scene, touches = kept[key]
    touched = [t.functional for row in effects for e in row for t in touches.of(e)]
    kept[key] = (seen_through(scene, [*ports, *touched]), touches)
    return kept[key]


def base(conditions: Conditions) -> tuple[Conditions, tuple[tuple[str, str], ...]]:
    """Dead conditions without their links, which are joined afterwards; live ones as they are."""
    if conditions.dead and conditions.links:
        return replace(conditions, links=()), conditions.links
    return conditions, ()


def joined(answers: Answers, port: Functional, link: Functional) -> Answers:
    """One port of the answers with another joined: Z - Z_pl Z_lp / (Z_ll + link); nothing else."""
    p, q, T = answers.at[port], answers.at[link], answers.T
    z = T[:, p, p] - T[:, p, q] * T[:, q, p] / (T[:, q, q] + LINK_OHMS)
    return replace(answers, f=answers.f[:, p : p + 1], T=z[:, None, None], raw=None, at={port: 0})


def reachable(plan: Plan, spots: Sequence[Spot]) -> tuple[Functional, ...]:
    """Metalwork that people reach: every frame, and the protective conductor at each place."""
    names = {s.name for s in spots}
    found: list[Functional] = [
        V(node(s.name, "E", "front" if s.front else ""), EARTH)
        for s in spots
        if "E" in s.conductors
    ]
    found += [
        V(load.frame, EARTH)
        for load in plan.loads
        if load.frame and load.connected and load.place in names
    ]
    return tuple(found)
