"""What every check would show under every cause still believed: solved, once per set of conditions.

A link at the board is not a new circuit to solve: it is one more port of the dead one, joined.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from halfsplit.checks.check import Check
from halfsplit.diagnosis.bench import scaled
from halfsplit.diagnosis.hypotheses import SOUND, Hypotheses
from halfsplit.diagnosis.predict import Question, chance_seen, figure, ports_of
from halfsplit.diagnosis.prepared import WILL_NOT_TRIP
from halfsplit.diagnosis.scene import Scene, build_scene, encode
from halfsplit.diagnosis.solve import Answers, solve_rows
from halfsplit.diagnosis.weigh import Weighed
from halfsplit.instruments import show
from halfsplit.instruments.catalogue import instrument
from halfsplit.instruments.instrument import Instrument
from halfsplit.network import Functional, V
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Effect, ReadingChange, StateChange
from halfsplit.wiring.layout import LINK_OHMS
from halfsplit.wiring.plan import EARTH, Plan, Spot, node

Real = NDArray[np.float64]
MOST_ROWS = 110
COVERED = (
    0.999  # of the belief: rows beyond it are left out, unless a cause above BELIEVED needs one
)
BELIEVED = 1e-3

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
class Rows:
    """The hypotheses a check is tried on: K rows.

    ``index`` (K,) into the hypotheses, ``weight`` (K,) summing to 1 less ``none``, ``fault`` (K,)
    index of the fault or SOUND, ``effects`` its effects, ``extra`` how many are a forgotten load.
    """

    index: NDArray[np.intp]
    weight: Real
    fault: NDArray[np.intp]
    effects: tuple[tuple[Effect, ...], ...]
    extra: tuple[int, ...]
    none: float


def believed_rows(hyp: Hypotheses, weighed: Weighed) -> Rows:
    """The heaviest rows, and at least one of every cause above a tenth of a per cent."""
    whole = float(np.logaddexp(np.logaddexp.reduce(weighed.log), weighed.none))
    weight = np.exp(weighed.log - whole)
    fault = hyp.fault[weighed.rows]
    order = np.argsort(-weight, kind="stable")
    covered = np.cumsum(weight[order]) / max(float(weight.sum()), 1e-300)
    count = min(MOST_ROWS, int(np.searchsorted(covered, COVERED)) + 1)
    chosen = dict.fromkeys(int(k) for k in order[:count])
    totals: dict[int, float] = {}
    for k in order:
        totals[int(fault[k])] = totals.get(int(fault[k]), 0.0) + float(weight[k])
    have = {int(fault[k]) for k in chosen}
    for k in order:
        if int(fault[k]) not in have and totals[int(fault[k])] >= BELIEVED:
            chosen[int(k)] = None
            have.add(int(fault[k]))
    picked = np.array(sorted(chosen), dtype=np.intp)
    kept = weight[picked]
    none = math.exp(weighed.none - whole)
    kept = kept * (1 - none) / max(float(kept.sum()), 1e-300)
    effects, extra = [], []
    for k in picked:
        h, size = int(weighed.rows[k]), float(weighed.size[k])
        more = int(hyp.forgotten[h])
        own = hyp.effects[h][: len(hyp.effects[h]) - more]
        if size != 1.0:
            own = tuple(scaled(e, size) for e in own)
        effects.append(own + hyp.effects[h][len(hyp.effects[h]) - more :])
        extra.append(more)
    return Rows(weighed.rows[picked], kept, fault[picked], tuple(effects), tuple(extra), none)


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
        self,
        plan: Plan,
        rows: Rows,
        checks: Sequence[Check],
        spots: Sequence[Spot],
        hypotheses: Hypotheses,
    ) -> None:
        self.plan, self.rows, self.spots = plan, rows, tuple(spots)
        self.ids = ["" if f == SOUND else hypotheses.faults[int(f)].id for f in rows.fault.tolist()]
        self._asked: dict[object, dict[Functional, None]] = {}
        self._conditions: dict[object, Conditions] = {}
        self._solved: dict[object, tuple[Scene, Answers]] = {}
        self.reach = reachable(plan, self.spots)
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
        scene, touches = build_scene(self.plan, conditions, ports, effects)
        nodes = scene.factored.node_index
        kept = [p for p in ports if not isinstance(p, V) or (p.a in nodes or p.a == EARTH)]
        kept = [p for p in kept if not isinstance(p, V) or (p.b in nodes or p.b == EARTH)]
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
        if not ports or any(p not in answers.at for p in ports):
            return None
        for a, b in links:
            answers = joined(answers, ports, V(a, b))
        who = instrument(check.reading.instrument) if check.reading.instrument else None
        question = Question(check.reading, 0, ports, load, ((who, 1.0),) if who else ())
        if who is not None and check.reading.kind in ("volts", "ohms", "megohms", "loop", "amps"):
            return self._figure(question, scene, answers, who)
        return self._words(question, scene, answers)

    def _found(self, check: Check) -> Shown:
        """A look: the chance that it finds the row's fault."""
        chances = dict(check.finds)
        found = np.array([chances.get(id, 0.0) for id in self.ids])
        nothing = np.zeros(found.size)
        chance = np.stack([found, 1 - found], axis=1)
        return Shown(nothing, nothing, nothing, ("found", "not found"), chance)

    def _words(self, question: Question, scene: Scene, answers: Answers) -> Shown:
        words = WORDS[question.reading.kind]
        chances = [
            chance_seen(replace(question, reading=replace(question.reading, seen=word)), scene,
                        answers)
            for word in words
        ]  # fmt: skip
        chance = np.stack(chances, axis=1)
        for k, effects in enumerate(self.rows.effects):
            if question.reading.kind == "lamps" and any(
                c.how == "lamp blown" for c in falsified(effects)
            ):
                chance[k] = 1 / len(words)
        chance /= np.maximum(chance.sum(axis=1, keepdims=True), 1e-12)
        nothing = np.zeros(chance.shape[0])
        return Shown(nothing, nothing, nothing, words, chance)

    def _figure(self, question: Question, scene: Scene, answers: Answers, who: Instrument) -> Shown:
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
        mean, sure = mean.copy(), np.array(sure, dtype=np.float64)
        for k, effects in enumerate(self.rows.effects):
            for change in falsified(effects):
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


def base(conditions: Conditions) -> tuple[Conditions, tuple[tuple[str, str], ...]]:
    """Dead conditions without their links, which are joined afterwards; live ones as they are."""
    if conditions.dead and conditions.links:
        return replace(conditions, links=()), conditions.links
    return conditions, ()


def joined(answers: Answers, ports: Sequence[Functional], link: Functional) -> Answers:
    """The answers with one more port joined: Z - Z_pl Z_lp / (Z_ll + link)."""
    at, q = [answers.at[p] for p in ports], answers.at[link]
    T = answers.T.copy()
    size = T[:, q, q] + LINK_OHMS
    for p in at:
        T[:, p, p] = T[:, p, p] - T[:, p, q] * T[:, q, p] / size
    return replace(answers, T=T, raw=None)


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


def falsified(effects: Sequence[Effect]) -> tuple[ReadingChange, ...]:
    """What the instrument itself does wrong, among effects."""
    return tuple(e for e in effects if isinstance(e, ReadingChange))
