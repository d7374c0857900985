"""What every check would show under every cause still believed: solved, once per set of conditions.

A link at the board is not a new circuit to solve: it is one more port of the dead one, joined.
Ports are asked a few at a time, for what they do to each other grows as their number squared; what
one instrument shows at all of these is worked out at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
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
    meter_volts,
    ports_of,
    ramp_figure,
)
from halfsplit.diagnosis.prepared import COARSE_VOLTS, WILL_NOT_TRIP, Prepared
from halfsplit.diagnosis.scene import Scene, build_scene, seen_through
from halfsplit.diagnosis.solve import Answers, answer
from halfsplit.diagnosis.standing import OFF_BY, Standing, stand
from halfsplit.diagnosis.touches import Touches
from halfsplit.instruments import show
from halfsplit.instruments.catalogue import instrument
from halfsplit.instruments.instrument import Instrument
from halfsplit.network import TOLERATED_VOLTS, Functional, V
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Effect, ReadingChange, StateChange
from halfsplit.wiring.layout import LINK_OHMS
from halfsplit.wiring.plan import EARTH, LoadPort, Plan, node

Real = NDArray[np.float64]
Index = NDArray[np.intp]

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

MOST_PORTS = 40  # asked at a time
PORT = V("", "")  # the one port of rows laid out one port each
PORTLESS = ("trips", "ramp")
TOGETHER = ("volts", "ohms", "megohms", "loop", "lamps")  # one instrument's at many ports at once

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

    @classmethod
    def worded(cls, words: tuple[str, ...], chance: Real) -> Shown:
        """What a check that shows words would show."""
        nothing = np.zeros(len(chance))
        return cls(nothing, nothing, nothing, words, chance)


@dataclass(frozen=True, slots=True, eq=False)
class Stood:
    """How every row stands in one set of conditions, before an instrument comes near."""

    scene: Scene
    rows: Standing
    tolerated: float

    def ask(self, ports: Sequence[Functional], also: Sequence[Functional] = ()) -> Answers:
        """What these ports see, and what they do to ``also``; what is not here is left out."""
        scene = seen_through(self.scene, (*ports, *also))
        return answer(scene, self.rows, ports, also, self.tolerated)


@dataclass(frozen=True, slots=True)
class _Asked:
    """One check's question: its ports, the load it is about, the link that is in meanwhile."""

    check: Check
    number: int
    ports: tuple[Functional, ...]
    load: LoadPort | None
    link: Functional | None

    @property
    def every(self) -> tuple[Functional, ...]:
        """Its ports, its link's among them."""
        return self.ports if self.link is None else (*self.ports, self.link)


class Trial:
    """Rows of belief tried on checks; each set of conditions is solved once, when first needed."""

    def __init__(self, prepared: Prepared, rows: Rows) -> None:
        self.prepared, self.plan, self.rows = prepared, prepared.plan, rows
        self.false = tuple(
            (k, e)
            for k, row in enumerate(rows.effects)
            for e in row
            if isinstance(e, ReadingChange)
        )
        self._stood: dict[object, Stood] = {}

    def stood(self, conditions: Conditions, ports: Sequence[Functional] = ()) -> Stood:
        """Every row in these conditions; ``ports`` are those that will be asked."""
        key = conditions.key()
        found = self._stood.get(key)
        if found is None:
            found = self._stood[key] = self._stand(conditions, ports)
        return found

    def _stand(self, conditions: Conditions, ports: Sequence[Functional]) -> Stood:
        out = "all" in conditions.unplugged
        effects = [
            row[: len(row) - extra] if out and extra else row
            for row, extra in zip(self.rows.effects, self.rows.extra, strict=True)
        ]
        wanted = ports if conditions.dead else (*ports, *reachable(self.plan))
        scene, touches = remembered(self.prepared, conditions, wanted, effects)
        encoded = encode(scene, [touches.all(row) for row in effects])
        stuck = frozenset(
            (k, e.control)
            for k, row in enumerate(effects)
            for e in row
            if isinstance(e, StateChange) and e.state == WILL_NOT_TRIP
        )
        tolerated = TOLERATED_VOLTS if conditions.dead else COARSE_VOLTS
        return Stood(scene, stand(scene, encoded, stuck, tolerated), tolerated)

    def shown(self, checks: Sequence[Check]) -> list[Shown | None]:
        """What each reading would show; None where its terminals do not exist in its conditions."""
        found: list[Shown | None] = [None] * len(checks)
        asked: dict[tuple[object, ...], list[_Asked]] = {}
        known: dict[tuple[object, ...], Conditions] = {}
        for number, check in enumerate(checks):
            assert check.reading is not None
            conditions, links = base(check.conditions)
            key = conditions.key()
            known.setdefault(key, conditions)
            ports, load = ports_of(check.reading, self.plan)
            link = V(*links[0]) if links else None
            asked.setdefault(key, []).append(_Asked(check, number, ports, load, link))
        for key, some in asked.items():
            stood = self.stood(known[key], [port for one in some for port in one.every])
            for few in _few(some):
                for one, shown in self._answered(few, stood):
                    found[one.number] = shown
        return found

    def _answered(self, few: Sequence[_Asked], stood: Stood) -> Iterator[tuple[_Asked, Shown]]:
        answers = stood.ask(list(dict.fromkeys(port for one in few for port in one.every)))
        alike: dict[tuple[str, str, int], list[_Asked]] = {}
        for one in few:
            reading = one.check.reading
            assert reading is not None
            if reading.kind in PORTLESS or (one.ports and all(p in answers.at for p in one.every)):
                own = -1 - (one.link is None) if reading.kind in TOGETHER else one.number
                alike.setdefault((reading.kind, reading.instrument, own), []).append(one)
        for (kind, id, _), several in alike.items():
            who = instrument(id) if id else None
            if who is not None and kind in TOGETHER:
                shown = self._together(several, stood.scene, answers, who)
            else:
                shown = [self._alone(several[0], stood.scene, answers, who)]
            yield from zip(several, shown, strict=True)

    def _alone(self, one: _Asked, scene: Scene, answers: Answers, who: Instrument | None) -> Shown:
        reading = one.check.reading
        assert reading is not None
        candidates = ((who, 1.0),) if who else ()
        question = Question(reading, 0, one.ports, one.load, candidates)
        if reading.kind == "ramp":
            added, sure, spread = ramp_figure(question, scene, answers)
            return Shown(added, np.full(added.shape, spread), 1 - sure)
        if who is not None and reading.kind in NUMERIC:
            mean, sure = figure(question, scene, answers, who)
            return self._figures(reading.kind, who, mean[None], sure[None], None)[0]
        words = WORDS[reading.kind]
        asked = (replace(question, reading=replace(reading, seen=word)) for word in words)
        chance = np.stack([chance_seen(one, scene, answers) for one in asked], axis=1)
        return _worded(words, chance)

    def _together(
        self, several: Sequence[_Asked], scene: Scene, answers: Answers, who: Instrument
    ) -> list[Shown]:
        """What one instrument shows at several ports."""
        reading = several[0].check.reading
        assert reading is not None
        at = np.array([[answers.at[port] for port in one.ports] for one in several])
        if reading.kind == "lamps":
            Z = answers.T[:, at[:, :, None], at[:, None, :]]
            volts = show.plug_volts(who, answers.f[:, at], Z, scene.lowered.omega)
            chance = show.lamps(who, volts)
            return [_worded(WORDS["lamps"], chance[:, k]) for k in range(len(several))]
        z = answers.T[:, at[:, 0], at[:, 0]].T
        if reading.kind == "volts":
            mean = _volts(scene, answers, at[:, 0], show.admittance(who, scene.lowered.omega))
            sure: Real = np.ones(mean.shape)
        else:
            count = len(answers.f)
            links = [answers.at[one.link] for one in several if one.link is not None]
            pairs = _pairs(answers, np.tile(np.arange(count), len(at)), np.repeat(at[:, 0], count),
                           np.repeat(links, count) if links else None)  # fmt: skip
            question = Question(reading, 0, (PORT,), None, ((who, 1.0),))
            mean, sure = (x.reshape(len(at), count) for x in figure(question, scene, pairs, who))
        return self._figures(reading.kind, who, mean, sure, z)

    def _figures(
        self, kind: str, who: Instrument, mean: Real, sure: Real, z: NDArray[np.complex128] | None
    ) -> list[Shown]:
        """Figures (n, K) with what is not known exactly of them; ``z`` (n, K) ohm at the port."""
        mean, sure = self._misled(kind, np.minimum(mean, OVER), sure)
        sigma = show.sigma(who, mean)
        if kind == "volts":
            assert z is not None
            loose = np.where(np.abs(z) > FLOATING_OHMS, FLOATING_SHARE, SUPPLY_SHARE)
            sigma = np.sqrt(sigma**2 + (loose * mean) ** 2 + VOLTS_FLOOR**2)
        elif kind == "ohms":
            sigma = np.sqrt(sigma**2 + (OHMS_SHARE * mean) ** 2 + OHMS_FLOOR**2)
        elif kind == "megohms":
            mean = np.log(np.maximum(mean, who.floor + who.resolution))
            sigma = np.full(mean.shape, MEGOHMS_LOG)
        elif kind == "loop":
            sigma = np.sqrt(sigma**2 + (OHMS_SHARE * mean) ** 2 + LOOP_FLOOR**2)
        else:
            sigma = np.sqrt(sigma**2 + (AMPS_SHARE * mean) ** 2)
        sigma, over, logged = np.maximum(sigma, 1e-6), 1 - sure, kind == "megohms"
        return [Shown(m, s, o, logged=logged) for m, s, o in zip(mean, sigma, over, strict=True)]

    def _misled(self, kind: str, mean: Real, sure: Real) -> tuple[Real, Real]:
        """Figures (n, K) of the rows in which the instrument itself is at fault."""
        if not self.false:
            return mean, sure
        mean, sure = mean.copy(), np.array(sure, dtype=np.float64)
        for k, change in self.false:
            if "all" not in change.instruments and kind not in change.instruments:
                continue
            if change.how == "scale":
                mean[:, k] *= change.factor
            elif change.how == "offset" and kind == "ohms":
                mean[:, k] += change.factor
            elif change.how == "lead open" and kind == "volts":
                mean[:, k], sure[:, k] = 0.5, 1.0
            elif change.how == "lead open" or (change.how == "fuse blown" and kind == "ohms"):
                sure[:, k] = 0.0
        return mean, sure


def _few(asked: Sequence[_Asked]) -> Iterator[list[_Asked]]:
    """The questions of one set of conditions in parts of few ports each."""
    part: list[_Asked] = []
    ports: set[Functional] = set()
    for one in asked:
        if part and len(ports | set(one.every)) > MOST_PORTS:
            yield part
            part, ports = [], set()
        part.append(one)
        ports |= set(one.every)
    if part:
        yield part


def _worded(words: tuple[str, ...], chance: Real) -> Shown:
    return Shown.worded(words, chance / np.maximum(chance.sum(axis=1, keepdims=True), 1e-12))


def _volts(scene: Scene, answers: Answers, at: Index, y: complex) -> Real:
    """(n, K) volts that a meter of admittance ``y`` shows at the ports ``at``.

    Only where it may drag a load off its voltage are the two solved jointly.
    """
    found = answers.f[:, at] / (1 + answers.T[:, at, at] * y)
    if answers.raw is not None:
        moved = np.abs(answers.held[:, at] * (y * found)[:, :, None])
        drags = (moved > OFF_BY * np.maximum(np.abs(answers.volts), 1.0)[:, None]).any(axis=2)
        k, n = np.nonzero(drags)
        if k.size:
            found[k, n] = meter_volts(scene, _pairs(answers, k, at[n]), PORT, y)
    return np.abs(found).T


def _pairs(answers: Answers, k: Index, at: Index, link: Index | None = None) -> Answers:
    """Row ``k`` at port ``at`` as one row of one port, for each of both (m,).

    With the port ``link`` (m,) joined meanwhile, if given: Z - Z_pl Z_lp / (Z_ll + link).
    """
    T, raw, raw_f = answers.T, answers.raw, answers.raw_f
    z = T[k, at, at]
    if link is not None:
        z = z - T[k, at, link] * T[k, link, at] / (T[k, link, link] + LINK_OHMS)
        raw = raw_f = None
    if raw is not None and raw_f is not None:
        P = answers.volts.shape[1]
        both = np.concatenate([np.tile(np.arange(P), (len(at), 1)), P + at[:, None]], axis=1)
        raw = raw[k[:, None, None], both[:, :, None], both[:, None, :]]
        raw_f = raw_f[k[:, None], both]
    return replace(
        answers, f=answers.f[k, at][:, None], T=z[:, None, None], volts=answers.volts[k],
        amps=answers.amps[k], held=answers.held[k, at][:, None], at={PORT: 0}, raw=raw, raw_f=raw_f,
    )  # fmt: skip


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


def reachable(plan: Plan) -> tuple[V, ...]:
    """Metalwork that people reach: every frame, and the protective conductor at each place."""
    frames = [V(load.frame, EARTH) for load in plan.loads if load.frame and load.connected]
    earths = [
        V(node(spot.name, "E", "front" if spot.front else ""), EARTH)
        for spot in sorted(plan.spots, key=lambda spot: not spot.circuit)
        if "E" in spot.conductors and spot.access != "sealed" and spot.kind != "origin"
    ]
    return (*frames, *earths)
