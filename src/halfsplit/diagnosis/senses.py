"""What was felt, heard or smelt as evidence: heat where a joint or a leak turns power into it.

A contact that parts sparks, a dead short flashes, water leaks current and corrodes. Each sense
weighs by what the fault does there, and less where it is only near; heat by the watts solved.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from halfsplit.instruments.reading import Reading
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Added, Bridged, Effect

# In a box, from here half of those who use the place notice: judgement. The log spread is that of
# noticing, and of the load, whose watts may be half or twice (the loss goes as its square).
WARM_FROM_WATTS, WARM_SPREAD = 4.0, 1.25
BY_CHANCE = 0.03  # noticed where nothing is wrong
ELSEWHERE = 0.15  # the sense is right and the place is the next box: judgement
BURNS = 0.5  # what is plugged in smokes, smells or is scorched where too much voltage stands
BURNT = ("heat", "smell", "scorch", "smoke", "spark")
ARCS = ("spark", "buzz", "flicker")  # of a loose contact at any load that it carries: practice
CARRIES_WATTS = 0.01  # about: 1 ohm carries 0.1 A
BESIDE = 0.5  # noticed along a cable whose end is at fault: judgement


@dataclass(frozen=True, slots=True)
class Sense:
    """How often a sense is reported of what could cause it there. All judgement.

    ``heat`` where watts are lost, ``parting`` of a contact that opens, ``flash`` of a dead short,
    ``leak`` of insulation that lets current through, whatever its watts.
    """

    heat: float
    parting: float
    flash: float
    leak: float


# A contact that parts has sparked before; a short that held for an instant leaves soot and a
# bang; water is seen where insulation leaks, and beside joints that it has corroded.
SENSES: Mapping[str, Sense] = MappingProxyType(
    {
        "heat": Sense(0.85, 0.20, 0.15, 0.0),
        "smell": Sense(0.85, 0.30, 0.40, 0.0),
        "scorch": Sense(0.85, 0.35, 0.50, 0.0),
        "smoke": Sense(0.75, 0.30, 0.50, 0.0),
        "spark": Sense(0.60, 0.50, 0.60, 0.0),
        "buzz": Sense(0.70, 0.45, 0.10, 0.0),
        "flicker": Sense(0.60, 0.60, 0.0, 0.0),
        "wet": Sense(0.10, 0.10, 0.50, 0.50),
    }
)

# What asks for isolation before anything else, by kind of reading, with the words for it.
ALARMS: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "sense": {
            "heat": "heat",
            "smell": "a smell of burning",
            "scorch": "scorching",
            "smoke": "smoke",
            "spark": "sparks",
            "wet": "water",
        },
        "touch": {"tingle": "tingle", "shock": "shock"},
        "works": {"destroyed": "something destroyed"},
    }
)


def alarming(reading: Reading) -> str:
    """What a reading reports that is dangerous by itself, in words; "" for nothing."""
    return ALARMS.get(reading.kind, {}).get(reading.seen, "")


def in_use(reading: Reading) -> Conditions:
    """The conditions a reading is of: what burnt did so in use, not as it was isolated to look."""
    here = reading.conditions
    if reading.kind != "sense" or reading.seen not in BURNT:
        return here
    return replace(here, off=(), unplugged=(), links=(), lifted=(), dead=False, energised=True)


def chance_felt(
    reading: Reading,
    places: Sequence[str],
    effects: Sequence[Effect],
    watts: float,
    ends: Mapping[str, tuple[str, str]] = MappingProxyType({}),
) -> float:
    """Chance that the sense would be reported where it was, given the fault's places and effects.

    ``watts`` is what it turns to heat, ``ends`` are the two places of each run, for a sense along
    a cable.
    """
    sense = SENSES.get(reading.seen)
    if sense is None:
        return BY_CHANCE
    added = [e for e in effects if isinstance(e, Added) and e.when != "dead"]
    bridged = [e for e in effects if isinstance(e, Bridged)]
    chance = sense.heat * _passes(watts, WARM_FROM_WATTS, WARM_SPREAD)
    if any(math.isinf(e.ohms) for e in added):
        chance = max(chance, sense.parting)
    elif added and reading.seen in ARCS:
        chance = max(chance, sense.parting * _passes(watts, CARRIES_WATTS, 1.0))
    if not added and any(math.isinf(e.siemens) for e in bridged):
        chance = max(chance, sense.flash)
    if not added and any(0 < e.siemens < math.inf for e in bridged):
        chance = max(chance, sense.leak)
    return max(BY_CHANCE, chance * _nearness(reading.of, places, ends))


def _passes(watts: float, half: float, spread: float) -> float:
    """A soft threshold as ``reached`` has it, of one figure: this is asked of every row."""
    found: float = 1 / (1 + (half / max(watts, 1e-30)) ** (1 / spread))
    return found


def _nearness(of: str, places: Sequence[str], ends: Mapping[str, tuple[str, str]]) -> float:
    """1 where the sense is at the fault or nobody said where, less beside it and elsewhere."""
    if not of or of in places:
        return 1.0
    if of in ends and places:
        if set(places) == set(ends[of]):
            return 1.0
        return BESIDE if set(places) <= set(ends[of]) else ELSEWHERE
    return ELSEWHERE
