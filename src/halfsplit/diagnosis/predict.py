"""What each reading would show under each hypothesis, before it is compared with what it did show.

A ``Question`` is one reading in its scene: the functionals it reads and how the instrument turns
them into a figure. Any instrument sees a Thévenin source and shows a number.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from halfsplit.behaviour import body, output
from halfsplit.behaviour.soft import ANYBODY, Lean, leans, reached
from halfsplit.diagnosis.scene import Scene
from halfsplit.diagnosis.solve import Answers
from halfsplit.diagnosis.standing import OFF_BY, loading
from halfsplit.instruments import show
from halfsplit.instruments.instrument import Instrument
from halfsplit.instruments.reading import Reading
from halfsplit.network import Functional, I, V, attach, settle
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.plan import LoadPort, Plan, Way

Real = NDArray[np.float64]
Array = NDArray[np.complex128]

NUMERIC = ("volts", "ohms", "megohms", "loop", "amps", "ramp")
LOG_SCALE = ("megohms",)  # compared as ratios: an insulation reading is good to a factor
# What may be plugged in where somebody says "works" of a place and names nothing: kind, ohm at
# 230 V, share (judgement).
TRIALS = (("electronics", 900.0, 0.5), ("heater", 40.0, 0.25), ("filament", 900.0, 0.25))
# What a load of unknown kind may be, for what is seen of it (judgement).
UNKNOWN_KINDS = {
    "works": (("electronics", 0.6), ("heater", 0.2), ("motor", 0.2)),
    "glow": (("filament", 0.4), ("led", 0.4), ("electronics", 0.2)),
}
# How often people say works, weak or dead of what works, is weak, is dead: they use "dead" of what
# will not start and "weak" of what hardly does. Without a tenth of its volts nothing hums, warms or
# glows, and only a slip of the tongue calls it weak. Judgement.
SAID_FOR = {
    "works": (0.97, 0.02, 0.01),
    "weak": (0.10, 0.65, 0.25),
    "dead": (0.01, 0.14, 0.85),
    "nothing": (0.005, 0.01, 0.985),
}
# How much of the thresholds' variance stays the same: of one tester from port to port, and of
# things of one kind in one house, named by one person. Judgement.
ALIKE_TESTER, ALIKE = 0.97, 0.93
TESTERS = ("lamps", "proved dead")
NOTHING_BELOW, NOTHING_SPREAD = 0.1, 0.2  # of rated volts, log spread
DESTROYED_FROM = 1.3  # of rated volts: from about here things are destroyed (judgement)
DESTROYED_SPREAD = 0.08
LAMPS_MADE_FOR = 120.0  # V: a plug tester's lamps are chosen for its supply, and scale with it
HUGE = 1e15


@dataclass(frozen=True, slots=True)
class Question:
    """One reading in its scene, ready to be asked of every hypothesis."""

    reading: Reading
    scene: int
    ports: tuple[Functional, ...]
    load: LoadPort | None
    candidates: tuple[tuple[Instrument, float], ...]

    @property
    def numeric(self) -> bool:
        """Whether it is a figure to compare, not an observation."""
        return self.reading.kind in NUMERIC and self.reading.bound in ("=", "~")


def ports_of(reading: Reading, plan: Plan) -> tuple[tuple[Functional, ...], LoadPort | None]:
    """The functionals a reading needs, and the load it is about."""
    if reading.kind == "amps":
        return tuple(I(element.removeprefix("-")) for element in reading.conductors), None
    if reading.kind == "lamps":
        line, neutral, earth = _trio(reading, plan)
        return (V(line, earth), V(neutral, earth)), None
    if reading.kind in ("works", "glow"):
        load = _load_of(reading, plan)
        if load is not None:
            return (V(load.a, load.b),), load
        if reading.a:
            return (V(reading.a, reading.b),), None
        pair = supply_pair(plan, reading.of or reading.place)
        return ((V(*pair),) if pair else ()), None
    if reading.kind == "sense":
        pair = supply_pair(plan, reading.of)
        return ((V(*pair),) if pair and _neutral(pair[1]) else ()), None
    if reading.kind in ("trips", "ramp", "count"):
        return (), None
    return (V(reading.a, reading.b),), None


def signs_of(reading: Reading) -> tuple[float, ...]:
    """+1 for each conductor a clamp holds, -1 for one that runs the other way ("-" before it)."""
    return tuple(-1.0 if element.startswith("-") else 1.0 for element in reading.conductors)


def _load_of(reading: Reading, plan: Plan) -> LoadPort | None:
    named = [x for x in plan.loads if x.id == reading.of]
    if named:
        return named[0]
    if reading.a:
        return None
    here = [x for x in plan.loads if x.place == reading.of and _draws(x, reading.conditions)]
    return here[0] if here else None


def _neutral(node: str) -> bool:
    return node.rpartition(".")[2].partition(":")[0] == "N"


def _draws(load: LoadPort, conditions: Conditions) -> bool:
    """Whether something stands switched on there: what is off says nothing of its place."""
    if load.id in conditions.plugged:
        return True
    away = {load.id, load.place, "all"} & set(conditions.unplugged)
    return load.on and load.connected and not away


def supply_pair(plan: Plan, place: str) -> tuple[str, str] | None:
    """The two terminals between which something at ``place`` is fed; None where there are none."""
    for spot in plan.spots:
        if spot.name != place:
            continue
        keys = spot.conductors
        line = next((k for k in ("SL", "L", "L1", "L2", "L3") if k in keys), None)
        if spot.front:
            line = next((k for k in ("L", "L1", "L2", "L3", "SL") if k in keys), None)
        back = "N" if "N" in keys else next((k for k in ("L2", "L3") if k in keys), None)
        if line is None or back is None or line == back:
            return None
        part = ":front" if spot.front else ""
        return f"{place}.{line}{part}", f"{place}.{back}{part}"
    return None


def _trio(reading: Reading, plan: Plan) -> tuple[str, str, str]:
    place = reading.of or reading.place
    spot = next(s for s in plan.spots if s.name == place)
    line = next((k for k in ("L", "L1", "L2", "L3", "SL") if k in spot.conductors), "L")
    part = ":front" if spot.front else ""
    return f"{place}.{line}{part}", f"{place}.N{part}", f"{place}.E{part}"


def meter_volts(scene: Scene, answers: Answers, port: Functional, y: complex) -> Array:
    """The phasor a meter of admittance ``y`` finds across a port, (H,) volts.

    Where it drags a load more than a tenth off its voltage, the two are solved jointly.
    """
    at = answers.at[port]
    found: Array = answers.f[:, at] / (1 + answers.T[:, at, at] * y)
    if answers.raw is None or answers.raw_f is None:
        return found
    moved = np.abs(answers.held[:, at] * (y * found)[:, None])
    drags = moved > OFF_BY * np.maximum(np.abs(answers.volts), 1.0)
    rows, dragged = np.flatnonzero(drags.any(axis=1)), np.flatnonzero(drags.any(axis=0))
    if rows.size:
        voc, Z = _without(scene, answers, rows, dragged, at)
        P = dragged.size
        voc, Z = attach(voc, Z, P, y)
        laws = tuple(scene.law[p] for p in dragged)
        start = answers.volts[np.ix_(rows, dragged)]
        settled = settle(voc[:, :P], Z[:, :P, :P], laws, start=start)
        found[rows] = voc[:, P] - np.einsum("hp,hp->h", Z[:, P, :P], settled.i)
    return found


def _without(
    scene: Scene, answers: Answers, rows: NDArray[np.intp], out: NDArray[np.intp], at: int
) -> tuple[Array, Array]:
    """(voc (h, p + 1), Z) at the load ports ``out``, free of their loads, and at an asked port.

    The other loads draw at their present admittances.
    """
    assert answers.raw is not None
    assert answers.raw_f is not None
    P = scene.ports.size
    rest = np.setdiff1d(np.arange(P), out)
    here = np.append(out, P + at)
    raw, voc = answers.raw[rows], answers.raw_f[rows]
    Z = raw[:, here[:, None], here]
    if not rest.size:
        return voc[:, here], Z
    v = answers.volts[np.ix_(rows, rest)]
    i = answers.amps[np.ix_(rows, rest)] - scene.resting[rest] * v
    laws = tuple(scene.law[p] for p in rest)
    load = loading(laws, raw[:, rest[:, None], rest], v, i)
    to = raw[:, here[:, None], rest] @ load
    left = voc[:, here] - np.einsum("hip,hp->hi", to, voc[:, rest])
    return left, Z - to @ raw[:, rest[:, None], here]


def figure(
    question: Question, scene: Scene, answers: Answers, instrument: Instrument
) -> tuple[Real, Real]:
    """(figure shown (H,), chance that it shows a figure at all (H,)) with ``instrument``."""
    reading, count = question.reading, answers.f.shape[0]
    sure = np.ones(count)
    if reading.kind == "volts":
        y = show.admittance(instrument, scene.lowered.omega)
        return np.abs(meter_volts(scene, answers, question.ports[0], y)), sure
    if reading.kind in ("ohms", "megohms"):
        at = answers.at[question.ports[0]]
        z = np.minimum(np.abs(answers.T[:, at, at].real), HUGE)
        if answers.raw is not None and scene.dead:
            z = np.minimum(_driven(scene, answers, at, instrument), HUGE)
        return z + instrument.lead_ohms, 1 - show.chance_over(instrument, z)
    if reading.kind == "loop":
        at = answers.at[question.ports[0]]
        z = answers.T[:, at, at]
        through = any(w.residual_amps > 0 for w in scene.ways)
        bias, _ = show.loop_bias(instrument, through)
        return show.shown_loop(answers.f[:, at], z, instrument, bias)
    if reading.kind == "amps":
        total = np.zeros(count, dtype=np.complex128)
        for port, sign in zip(question.ports, signs_of(reading), strict=True):
            if port in answers.at:
                total += sign * answers.f[:, answers.at[port]]
        return np.abs(total), sure
    raise ValueError(f"{reading.kind} has no figure")


def _driven(scene: Scene, answers: Answers, at: int, instrument: Instrument) -> Real:
    """Ohms shown when the tester drives what is still connected, by its laws, (H,).

    The tester is a source behind a resistance; it and the loads are solved jointly.
    """
    volts, ohms = show.source_of(instrument)
    assert answers.raw is not None
    P = scene.ports.size
    m = P + at
    Z = np.ascontiguousarray(answers.raw.real)
    voc, Z = attach(Z[:, :, m] * (volts / ohms), Z, m, 1.0 / ohms)
    settled = settle(voc[:, :P], Z[:, :P, :P], scene.law)
    across = voc[:, m] - np.einsum("hp,hp->h", Z[:, m, :P], settled.i)
    return show.shown_by_source(across, (volts - across) / ohms)


def ramp_figure(question: Question, scene: Scene, answers: Answers) -> tuple[Real, Real, float]:
    """(amperes added when the device trips (H,), chance (H,), sigma A) of a ramp test.

    The standing leakage does part of the work: it adds as a phasor, mostly in quadrature.
    """
    names = [w.name for w in scene.ways]
    name = question.reading.of
    if name not in names:
        return np.zeros(answers.f.shape[0]), np.zeros(answers.f.shape[0]), 1.0
    way = scene.ways[names.index(name)]
    leak = answers.residual[:, names.index(name)]
    typical = 0.8 * (way.residual_amps or 0.03)
    left = np.sqrt(np.maximum(typical**2 - leak**2, 1e-8))
    return left, np.ones_like(leak), 0.1 * typical


def threshold_of(reading: Reading, plan: Plan) -> tuple[str, ...]:
    """Whose threshold an observation turns on, as a key; () where it turns on none.

    One tester lights from the same volts everywhere, things of one kind in one house are much
    alike and are named by the same person, who stands in the same shoes.
    """
    if reading.kind in ("works", "glow"):
        _, load = ports_of(reading, plan)
        what = "" if load is None else load.kind or load.id
        return (reading.kind, what, reading.instrument)
    if reading.kind in TESTERS:
        return (reading.kind, reading.instrument)
    return (reading.kind,) if reading.kind == "touch" else ()


def whose(reading: Reading) -> tuple[Lean, ...]:
    """Anybody first, then the few that stand for all that its threshold may be."""
    return leans(ALIKE_TESTER if reading.kind in TESTERS else ALIKE)


def chance_seen(question: Question, scene: Scene, answers: Answers) -> Real:
    """Chance (H,) of the observation as made, under every hypothesis of ``answers``."""
    return chances_seen(question, scene, answers, (ANYBODY,))[:, 0]


def chances_seen(question: Question, scene: Scene, answers: Answers, whose: Sequence[Lean]) -> Real:
    """The same (H, L) for each of those whose threshold it may be."""
    reading = question.reading
    if reading.kind in ("works", "glow"):
        return _load_seen(question, scene, answers, whose)
    if reading.kind == "touch":
        return _touch_seen(question, answers, whose)
    if reading.kind == "lamps":
        return _lamps_seen(question, scene, answers, whose)
    if reading.kind == "proved dead":
        return _dead_seen(question, scene, answers, whose)
    count = answers.f.shape[0]
    chance = _trip_seen(reading, scene, answers) if reading.kind == "trips" else np.ones(count)
    return np.repeat(chance[:, None], len(whose), axis=1)


def _load_seen(question: Question, scene: Scene, answers: Answers, whose: Sequence[Lean]) -> Real:
    reading, load = question.reading, question.load
    if not question.ports or question.ports[0] not in answers.at:
        return np.full((answers.f.shape[0], len(whose)), 0.5)
    if load is not None:
        kinds = ((load.kind, 1.0),) if load.kind else UNKNOWN_KINDS[reading.kind]
        ids = [x.id for x in scene.lowered.loads]
        if load.id in ids:
            volts = np.abs(answers.volts[:, ids.index(load.id)])
        else:
            volts = np.abs(answers.f[:, answers.at[question.ports[0]]])
        rated, watts = load.rated_volts, load.watts
        return sum(
            (share * _word(reading, kind, volts, rated, watts, whose) for kind, share in kinds),
            np.zeros((volts.size, len(whose))),
        )
    total = np.zeros((answers.f.shape[0], len(whose)))
    rated = scene.plan.volts
    trials = TRIALS if reading.kind == "works" else (("filament", 900.0, 0.5), ("led", 4e4, 0.5))
    for kind, ohms, share in trials:
        siemens = (230.0 / rated) ** 2 / ohms
        volts = np.abs(meter_volts(scene, answers, question.ports[0], siemens))
        total += share * _word(reading, kind, volts, rated, 10.0, whose)
    return total


def _word(
    reading: Reading, kind: str, volts: Real, rated: float, watts: float, whose: Sequence[Lean]
) -> Real:
    """(H, L) chance of the word for a load at ``volts`` (H,)."""
    found = [_word_of(reading, kind, volts, rated, watts, lean) for lean in whose]
    return np.stack(found, axis=1)


def _word_of(
    reading: Reading, kind: str, volts: Real, rated: float, watts: float, lean: Lean
) -> Real:
    words = output.WORKS if reading.kind == "works" else output.GLOW
    if reading.seen == "destroyed":
        return reached(volts / rated, DESTROYED_FROM, DESTROYED_SPREAD, lean)
    if kind in ("nothing", "surge protector"):
        return np.full(volts.shape, 0.5)
    shares = (
        output.works(kind, volts, rated, lean)
        if reading.kind == "works"
        else output.glow(kind, volts, rated, watts, lean)
    )
    seen = reading.seen
    if reading.kind == "works" and seen in words:
        said = [SAID_FOR[word][words.index(seen)] for word in (*words, "nothing")]
        nothing = shares[..., -1] * (1 - reached(volts / rated, NOTHING_BELOW, NOTHING_SPREAD))
        return np.asarray(shares @ said[:-1] + nothing * (said[-1] - said[-2]), dtype=np.float64)
    if seen in words:
        return np.asarray(shares[..., words.index(seen)], dtype=np.float64)
    if seen == "lit" and "off" in words:
        return np.asarray(1 - shares[..., words.index("off")], dtype=np.float64)
    return np.full(volts.shape, 0.5)


# Chance of each word for a device that parts at once, in seconds, in minutes, or holds. A fault
# that dries, warms or works loose is not the same each time: judgement.
TRIP_WORDS = {
    "at once": (1.0, 0.2, 0.05, 0.0),
    "seconds": (0.15, 1.0, 0.2, 0.0),
    "minutes": (0.08, 0.2, 1.0, 0.05),
    "trips": (1.0, 1.0, 1.0, 0.02),
    "holds": (0.0, 0.02, 0.3, 1.0),
}


def _trip_seen(reading: Reading, scene: Scene, answers: Answers) -> Real:
    names = [w.name for w in scene.ways]
    weights = np.array(TRIP_WORDS.get(reading.seen, (0.5, 0.5, 0.5, 0.5)))
    if reading.of in names and not _never(scene.ways[names.index(reading.of)]):
        return np.asarray(answers.chance[:, names.index(reading.of)] @ weights)
    # A device that stands open here cannot part; one that never parts by itself (a plain switch)
    # stands for whatever is upstream: the likeliest of all that could part.
    if reading.of and not any(w.name == reading.of and _never(w) for w in scene.plan.ways):
        return np.full(answers.f.shape[0], weights[-1])
    holds = answers.chance[..., -1].min(axis=1) if names else np.ones(answers.f.shape[0])
    return np.asarray((1 - holds) * weights[:3].max() + holds * weights[-1])


def _never(way: Way) -> bool:
    """Whether a device parts only by hand."""
    return way.kind in ("switch", "none") and way.residual_amps <= 0


def _touch_seen(question: Question, answers: Answers, whose: Sequence[Lean]) -> Real:
    at = answers.at[question.ports[0]]
    voc, z = answers.f[:, at], answers.T[:, at, at]
    felt, shares = [], []
    at_word = body.TOUCH.index(question.reading.seen)
    for person, share in body.touches():
        size = np.abs(voc)
        for _ in range(3):  # the body's impedance falls with the voltage it takes
            y = np.real(person.admittance(size)[0])
            size = np.abs(voc) / np.abs(1 + z * y)
        said = body.touch_words(size * np.real(person.admittance(size)[0]))
        felt.append(said[..., at_word])
        shares.append(share)
    each, upto = np.stack(felt, axis=1), np.cumsum(shares)
    weight = np.array(shares)
    one = np.eye(len(shares))
    who = [weight if x is ANYBODY else one[np.searchsorted(upto, x.share)] for x in whose]
    return np.asarray(each @ np.stack(who, axis=1))


def _leaning(instrument: Instrument, lean: Lean) -> Instrument:
    """One specimen of an indicator, that lights from its own volts."""
    own = instrument.lit_at * math.exp(instrument.lit_spread * lean.shift)
    return replace(instrument, lit_at=own, lit_spread=instrument.lit_spread * lean.narrow)


def _lamps_seen(question: Question, scene: Scene, answers: Answers, whose: Sequence[Lean]) -> Real:
    at = [answers.at[p] for p in question.ports]
    voc = answers.f[:, at]
    Z = answers.T[:, at][:, :, at]
    known = question.candidates[0][0]
    scale = scene.plan.volts / LAMPS_MADE_FOR
    instrument = replace(known, lit_at=known.lit_at * scale, r_in=known.r_in * scale)
    volts = show.plug_volts(instrument, voc, Z, scene.lowered.omega)
    pattern = question.reading.seen
    fits = [
        k
        for k, shown in enumerate(show.PATTERNS)
        if all(p in ("?", q) for p, q in zip(pattern, shown, strict=True))
    ]
    found = [show.lamps(_leaning(instrument, x), volts)[..., fits].sum(axis=-1) for x in whose]
    return np.stack(found, axis=1)


def _dead_seen(question: Question, scene: Scene, answers: Answers, whose: Sequence[Lean]) -> Real:
    total = np.zeros((answers.f.shape[0], len(whose)))
    for instrument, share in question.candidates:
        y = show.admittance(instrument, scene.lowered.omega)
        volts = np.abs(meter_volts(scene, answers, question.ports[0], y))
        live = np.stack([show.lit(_leaning(instrument, x), volts) for x in whose], axis=1)
        total += share * (live if question.reading.seen == "live" else 1 - live)
    return total
