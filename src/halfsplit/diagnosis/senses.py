"""What was felt, heard or smelt as evidence: heat where a joint or a leak turns power into it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from types import MappingProxyType

from halfsplit.instruments.reading import Reading
from halfsplit.wiring.effects import Added, Bridged, Effect

IN_USE_WATTS = 2000.0  # what runs beyond a joint now and then: judgement
WARM_FROM_WATTS = 4.0  # in a box, from here somebody notices: judgement
BY_CHANCE = 0.03  # noticed where nothing is wrong
ARCING = 0.35  # a contact that parts has usually sparked before: judgement
ELSEWHERE = 0.15  # the sense is right and the place is the next box: judgement


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


def heat_watts(effects: Sequence[Effect], volts: float) -> float:
    """Watts turned into heat at the fault when something of ``IN_USE_WATTS`` runs beyond it."""
    use = volts**2 / IN_USE_WATTS
    most = 0.0
    for effect in effects:
        if isinstance(effect, Added) and math.isfinite(effect.ohms):
            most = max(most, effect.ohms * (volts / (use + effect.ohms)) ** 2)
        elif isinstance(effect, Bridged) and math.isfinite(effect.siemens):
            most = max(most, effect.siemens * volts**2)
    return most


def chance_felt(
    reading: Reading, places: Sequence[str], effects: Sequence[Effect], volts: float
) -> float:
    """Chance that the sense would be reported at its place, given the fault's place and effects."""
    opens = any(isinstance(e, Added) and math.isinf(e.ohms) for e in effects)
    watts = heat_watts(effects, volts)
    warm = watts / (watts + WARM_FROM_WATTS)
    chance = max(0.85 * warm, ARCING if opens else 0.0)
    if reading.of and reading.of not in places:
        chance *= ELSEWHERE
    return max(BY_CHANCE, chance)
