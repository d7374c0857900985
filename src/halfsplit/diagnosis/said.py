"""What people say of a sound installation, and what a report supposes beside what it reports.

Somebody has called an electrician: a symptom that comes back is hardly said of an installation in
which nothing is wrong. So for every word that complains there is a chance that it is said where
nothing of the kind is there, the same under every cause; what a cause adds to the sound circuit's
own chance weighs beyond it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from halfsplit.instruments.reading import Reading
from halfsplit.wiring.effects import Added, Bridged, Effect, LoadChange, ReadingChange, StateChange

Real = NDArray[np.float64]
MISTAKEN = 0.0067  # any other word said by mistake: judgement, as for slips
COMPLAINT = 0.05  # a word to which the sound circuit itself gives less than this is a complaint
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
        ("trips", "trips"): 0.006,  # once, by a surge or by too much plugged in
        ("touch", "tingle"): 0.012,  # static, wool, expectation
        ("touch", "shock"): 0.005,
        ("lamps", ""): 0.004,  # three lamps are hard to misread; the wrong outlet is tried
    }
)

# How often each sort of fault comes and goes by itself, so that there are times when it does not
# show. A bad contact does; damp dries; what was left off or wired wrongly stays so (judgement).
GOES_CONTACT, GOES_LEAK, GOES_LOAD, GOES_READING, STAYS = 0.30, 0.15, 0.10, 0.10, 0.02


def said_anyway(readings: Sequence[Reading]) -> Real:
    """(m,) the chance of each observation's word where nothing of the kind is there."""
    return np.array(
        [
            SAID_ANYWAY.get((r.kind, "" if r.kind == "lamps" else r.seen), MISTAKEN)
            for r in readings
        ]
    )


def goes(effects: Sequence[Effect]) -> float:
    """How often what these effects come from goes by itself and comes back."""
    if not effects or any(isinstance(e, StateChange) for e in effects):
        return STAYS
    if any(isinstance(e, ReadingChange) for e in effects):
        return GOES_READING
    if any(isinstance(e, LoadChange) for e in effects):
        return GOES_LOAD
    added = [e for e in effects if isinstance(e, Added)]
    bridged = [e for e in effects if isinstance(e, Bridged)]
    if len(added) == 1 and not bridged:
        return GOES_CONTACT
    if len(bridged) == 1 and not added:
        return GOES_LEAK
    return STAYS


def comes_and_goes(readings: Sequence[Reading], effects: Sequence[Sequence[Effect]]) -> Real:
    """(H,) log chance that the fault comes and goes, where a reading says that it did not show."""
    if not any(r.showing is False for r in readings):
        return np.zeros(len(effects))
    known: dict[tuple[type, ...], float] = {}
    found = np.empty(len(effects))
    for h, row in enumerate(effects):
        sort = tuple(type(e) for e in row)
        chance = known.get(sort)
        if chance is None:
            chance = known[sort] = math.log(goes(row))
        found[h] = chance
    return found


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
