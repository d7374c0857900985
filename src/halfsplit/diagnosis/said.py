"""What people say of a sound installation, and what a report supposes beside what it reports.

Somebody has called an electrician: a symptom that comes back is hardly said of an installation in
which nothing is wrong. So for every word that complains there is a chance that it is said where
nothing of the kind is there, the same under every cause; what a cause adds to the sound circuit's
own chance weighs beyond it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from halfsplit.diagnosis.evidence import (
    COMPLAINT,
    MISTAKEN,
    in_common,
    in_one_breath,
    soften,
)
from halfsplit.diagnosis.hypotheses import Hypotheses
from halfsplit.diagnosis.predict import threshold_of
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.effects import (
    Added,
    Bridged,
    Effect,
    LoadChange,
    ReadingChange,
    StateChange,
)
from halfsplit.wiring.plan import Plan

Real = NDArray[np.float64]
FOUND_ON = 0.15  # of devices that stand open so many are taken for closed: handles that tripped
# stand midway, fuses look whole (judgement)

# Chance that a word is said where nothing of the kind is there. All judgement: what is looked at
# every day and comes back is hardly imagined; what is felt or flickers is, now and then.
SAID_ANYWAY: Mapping[tuple[str, str], float] = MappingProxyType(
    {
        ("works", "dead"): 0.006,  # the wrong outlet tried, or the thing itself does not work
        ("works", "weak"): 0.010,  # old appliances, and what runs slowly when cold
        ("works", "destroyed"): 0.006,  # appliances also die by themselves
        ("glow", "off"): 0.006,
        ("glow", "glimmer"): 0.004,  # nobody looks for it, so it is there when it is said
        ("glow", "dim"): 0.006,
        ("glow", "bright"): 0.005,
        ("glow", "flicker"): 0.012,  # the network's own, by large loads that start elsewhere
        ("glow", "normal"): 0.006,
        ("trips", "at once"): 0.003,  # a device that parts again and again is not imagined
        ("trips", "seconds"): 0.003,
        ("trips", "minutes"): 0.004,
        ("trips", "trips"): 0.012,  # once, by a surge or by too much plugged in
        ("touch", "tingle"): 0.012,  # static, wool, expectation
        ("touch", "shock"): 0.005,
        ("lamps", ""): 0.004,  # three lamps are hard to misread; the wrong outlet is tried
    }
)

# An unknown cause: an observation is as in the sound circuit, or any of the words there are of its
# kind; a complaint made again (of another place, or in other conditions) is the more likely to come
# from it too.
NONE_WORD = {"lamps": 0.15, "sense": 0.2, "glow": 0.25}
NONE_OTHER_WORD, NONE_AGAIN = 0.35, 0.6

# How often people say nothing, tingle or shock of what they feel: one says shock where another says
# tingle (judgement). Of nothing they say either only by SAID_ANYWAY.
FELT_AS: Mapping[str, Mapping[str, float]] = MappingProxyType(
    {
        "nothing": {"nothing": 1.0, "tingle": 0.10, "shock": 0.01},
        "tingle": {"nothing": 0.0, "tingle": 0.70, "shock": 0.14},
        "shock": {"nothing": 0.0, "tingle": 0.20, "shock": 0.85},
    }
)

# How readily each sort of fault comes and goes by itself, against a bad contact. Damp dries; what
# was left off or wired wrongly stays so. Judgement.
GOES_CONTACT, GOES_LEAK, GOES_OTHER, STAYS = 1.0, 0.5, 0.3, 0.07

# Whoever loses everything says the house, not one room. Chance that so few circuits are named and
# nothing is said of the rest, where all of it is touched: judgement.
NAMED_ALONE = {1: 0.25, 2: 0.5}
# The same where it was measured, not noticed: whoever has a tester in hand tries the next outlet
# too, more often than not.
MEASURED_ALONE = {1: 0.5, 2: 0.7}
TOUCHED_FROM_OHMS = 30.0  # more than this in a house's line or neutral is noticed everywhere
SOUND_LAMPS = "110"  # what a plug tester shows of a sound outlet
OUTSIDE = 0.1  # of nominal: what a supply keeps within (common practice)
UNTOLD = 0.1  # a device parted and was put back between two readings, and nobody says so: judgement
COMPLAINTS = {
    "works": ("dead", "weak"),
    "glow": ("off", "glimmer", "dim", "bright", "flicker"),
    "touch": ("tingle", "shock"),
}


# Where a fault is seen to come and go, so many readings of which nobody said whether it showed were
# taken while it did not: judgement.
HIDES = 0.25


class Said:
    """The observations of a job as evidence: their words, and what they suppose of any cause.

    ``prior`` (H,) is the hypotheses' log prior, less where a fault is said to come and go that by
    its nature stays, and where it would touch the whole house and one room is complained of.
    """

    def __init__(
        self,
        hypotheses: Hypotheses,
        plan: Plan,
        readings: Sequence[Reading],
        sights: Sequence[Reading],
        ways: Sequence[Sequence[str]] = (),
    ) -> None:
        self.readings, self.ways = tuple(readings), tuple(ways)
        self.sights = tuple(sights)
        self.anyway = said_anyway(sights)
        prior = hypotheses.prior + comes_and_goes(readings, hypotheses)
        self.prior: Real = prior + unremarked(readings, hypotheses, plan)
        self.hides: Real = hides(readings, hypotheses)
        self.sentences = _sentences(sights)
        self.shared = _together(sights, plan)
        self.unsaid = np.array([_unsaid(r) for r in sights], dtype=np.bool_)

    def each(self, leaning: Real, rows: NDArray[np.intp]) -> Real:
        """(K, m) log likelihood of each observation, of chances (K, m, L), the sound row first.

        The first of L is by anybody's threshold. What was said in one sentence shares its log
        evenly, and what turns on one threshold what it gains by that.
        """
        if self.hides.any() and self.unsaid.any():
            hidden = (self.hides[rows][:, None] * self.unsaid)[:, :, None]
            leaning = (1 - hidden) * leaning + hidden * leaning[:1]
        chances = leaning[..., 0]
        logs = soften(chances, self.anyway)
        for some in self.sentences:
            logs[:, some] = in_one_breath(chances[:, some], float(self.anyway[some[0]]))[
                :, None
            ] / len(some)
        for some in self.shared:
            gain = in_common(leaning[:, some, 1:], chances[0, some], self.anyway[some])
            logs[:, some] += gain[:, None] / len(some)
        return logs

    def untold(self, parted: NDArray[np.int64]) -> Real:
        """(K,) log chance that nobody told of what ``parted`` (K, s); see ``untold``."""
        return untold(self.readings, self.ways, parted)

    def none(self, sound: Real) -> float:
        """Log chance of all observations under a cause that nobody thought of.

        ``sound`` (m,) are the sound circuit's chances. An unknown cause leaves half of what is seen
        as it was; complaints of one kind come together, so each further one says less, and the same
        said again of the same thing says nothing.
        """
        log, before, told = 0.0, set(), set()
        for reading, chance in zip(self.sights, sound, strict=True):
            same = replace(reading, id="", text="", line=None)
            if same in told:
                continue
            told.add(same)
            if chance < COMPLAINT and (reading.kind, reading.seen) in before:
                log += math.log(NONE_AGAIN)
                continue
            before.add((reading.kind, reading.seen))
            word = NONE_WORD.get(reading.kind, NONE_OTHER_WORD)
            log += math.log((float(chance) + word) / 2)
        return log


def _sentences(sights: Sequence[Reading]) -> tuple[list[int], ...]:
    """Columns of observations that were written down together, of several things."""
    found: dict[object, list[int]] = {}
    for k, r in enumerate(sights):
        if r.line is not None and r.kind in ("works", "glow"):
            key = (r.kind, r.seen, r.showing, r.conditions.key(), r.line)
            found.setdefault(key, []).append(k)
    return tuple(some for some in found.values() if len(some) > 1)


def _together(sights: Sequence[Reading], plan: Plan) -> tuple[list[int], ...]:
    """Columns of observations that turn on one threshold."""
    found: dict[tuple[str, ...], list[int]] = {}
    for k, reading in enumerate(sights):
        if key := threshold_of(reading, plan):
            found.setdefault(key, []).append(k)
    return tuple(some for some in found.values() if len(some) > 1)


def said_anyway(readings: Sequence[Reading]) -> Real:
    """(m,) the chance of each observation's word where nothing of the kind is there."""
    return np.array(
        [SAID_ANYWAY.get((r.kind, "" if r.kind == "lamps" else r.seen), MISTAKEN) for r in readings]
    )


def goes(effects: Sequence[Effect]) -> float:
    """How readily what these effects come from goes by itself and comes back; 1 of none."""
    added = [e for e in effects if isinstance(e, Added)]
    bridged = [e for e in effects if isinstance(e, Bridged)]
    if not effects or (len(added) == 1 and not bridged):
        return GOES_CONTACT
    if len(bridged) == 1 and not added:
        return GOES_LEAK
    if any(isinstance(e, (ReadingChange, LoadChange)) for e in effects):
        return GOES_OTHER
    return STAYS


def comes_and_goes(readings: Sequence[Reading], hypotheses: Hypotheses) -> Real:
    """(H,) log of how readily each comes and goes, where it is said to have done so."""
    if not restless(readings):
        return np.zeros(len(hypotheses))
    found: Real = np.log([_goes(hypotheses, h) for h in range(len(hypotheses))])
    return found


def restless(readings: Sequence[Reading]) -> bool:
    """Whether the fault was seen to come and go: shown and not, or one thing in two ways."""
    if {True, False} <= {r.showing for r in readings} or not all(r.settled for r in readings):
        return True
    words: dict[object, set[str]] = {}
    for r in readings:
        if r.kind in ("works", "glow") and r.showing is not False:
            words.setdefault((r.kind, r.a, r.b, r.of, r.conditions.key()), set()).add(r.seen)
    return any(len(some) > 1 for some in words.values())


def hides(readings: Sequence[Reading], hypotheses: Hypotheses) -> Real:
    """(H,) chance that a reading was taken while the fault did not show, where nobody said.

    Only where it was seen to come and go or something flickers, and only of faults that come and
    go readily.
    """
    if not restless(readings) and all(r.seen != "flicker" for r in readings):
        return np.zeros(len(hypotheses))
    goes_off = [_goes(hypotheses, h) >= GOES_LEAK for h in range(len(hypotheses))]
    found: Real = HIDES * np.array(goes_off, dtype=np.float64)
    found[0] = 0.0
    return found


def _unsaid(reading: Reading) -> bool:
    """Whether it is open if the fault showed: what will not settle is seen while it does."""
    return reading.showing is None and reading.settled and reading.seen != "flicker"


def _goes(hypotheses: Hypotheses, h: int) -> float:
    """How readily a row's fault goes and comes; of two at once, the one that does so more."""
    own, second = hypotheses.own(h), int(hypotheses.second[h])
    first = len(own) - second
    return max(goes(own[:first]), goes(own[first:])) if second else goes(own)


def unremarked(readings: Sequence[Reading], hypotheses: Hypotheses, plan: Plan) -> Real:
    """(H,) log chance that what touches the whole house is complained of in so few circuits.

    Nought where the supply or a board was looked at, or another circuit is said to be well: then
    the readings themselves tell.
    """
    of = {spot.name: spot.circuit for spot in plan.spots if spot.circuit}
    bad, named, noticed, of_earth = set(), set(), False, False
    for r in readings:
        place = (r.of or r.place).partition("/")[0]
        if r.kind in ("works", "glow", "lamps", "volts") and place not in of:
            return np.zeros(len(hypotheses))
        named |= {of[place]} if place in of and r.kind != "sense" else set()
        said = r.seen in COMPLAINTS.get(r.kind, ())
        if place in of and (said or _measured_bad(r, plan)):
            bad.add(of[place])
            noticed |= said
            of_earth |= r.kind in ("touch", "lamps") or "E" in (_key(r.a), _key(r.b))
    alone = NAMED_ALONE if noticed else MEASURED_ALONE
    chance = alone.get(len(bad), 1.0) if bad == named else 1.0
    if chance == 1.0:
        return np.zeros(len(hypotheses))
    shared = [e for e in plan.elements if not e.circuit]
    common = {e.id: TOUCHED_FROM_OHMS for e in shared if e.conductor not in ("E", "earth")}
    if of_earth:  # of an earth nobody notices less than its loss
        common |= {e.id: math.inf for e in shared if e.id not in common}
    covers = {w.name for w in plan.ways if not w.circuit and len(w.covers) == len(set(of.values()))}
    touched = [_touches(hypotheses.own(h), common, covers) for h in range(len(hypotheses))]
    return np.where(touched, math.log(chance), 0.0)


def _key(node: str) -> str:
    """The conductor a node belongs to."""
    return node.rpartition(".")[2].partition(":")[0]


def _measured_bad(reading: Reading, plan: Plan) -> bool:
    """Whether a plug tester or a voltmeter found what a sound outlet does not show."""
    here = reading.conditions
    if reading.kind == "lamps":
        return any(q not in ("?", p) for p, q in zip(SOUND_LAMPS, reading.seen, strict=True))
    if reading.kind != "volts" or reading.value is None or here.off or not here.energised:
        return False
    keys = {_key(reading.a), _key(reading.b)}
    lines = {key for key in keys if key.startswith(("L", "SL"))}
    if len(keys) != 2 or len(lines) > 1 or not keys - lines <= {"N", "E"}:
        return False
    return abs(reading.value - (plan.volts if lines else 0.0)) > OUTSIDE * plan.volts


def untold(
    readings: Sequence[Reading], ways: Sequence[Sequence[str]], parted: NDArray[np.int64]
) -> Real:
    """(K,) log chance that nobody tells of a device that parts in one scene and is live in another.

    ``ways`` are the devices of each scene (none where the fault was not showing), ``parted``
    (K, s) which of them have opened, the w-th told by the bit w.
    """
    about = {r.of for r in readings if r.kind in ("trips", "ramp")}
    found = np.zeros(len(parted), dtype=np.bool_)
    for name in dict.fromkeys(name for some in ways for name in some):
        opened = [
            (parted[:, k] >> some.index(name) % 62) & 1
            for k, some in enumerate(ways)
            if name in some
        ]
        if "" not in about and name not in about and len(opened) > 1:
            count = np.sum(opened, axis=0)
            found |= (count > 0) & (count < len(opened))
    return np.where(found, math.log(UNTOLD), 0.0)


def _touches(effects: Sequence[Effect], common: Mapping[str, float], covers: set[str]) -> bool:
    """Whether effects add as many ohms as matter to what the whole house hangs on, or open it."""
    return any(
        (isinstance(e, Added) and e.ohms >= common.get(e.element, math.nan))
        or (isinstance(e, StateChange) and e.control in covers)
        for e in effects
    )


def stands_open(reading: Reading, effects: Sequence[Effect], open_states: Sequence[str]) -> bool:
    """Whether a device is said to hold that stands open by a fault of its own."""
    return (
        reading.kind == "trips"
        and reading.seen == "holds"
        and reading.of not in reading.conditions.off
        and any(
            isinstance(e, StateChange) and e.control == reading.of and e.state in open_states
            for e in effects
        )
    )
