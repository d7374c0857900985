"""Why: what holds each conductor where it stands, beside what would hold it if nothing were wrong.

No sentence is chosen by the kind of fault. Each is read off the solved circuit: the volts of every
terminal and the impedance it has to true earth, under the cause and in the sound circuit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from halfsplit.diagnosis.result import Hold
from halfsplit.faults.words import conductor_words, joined, place_words
from halfsplit.quantity import ohms, volts
from halfsplit.wiring.model import Installation, Region

MOVED_SHARE = 0.05  # of the supply's voltage: from here a conductor stands elsewhere
HIGHER_TIMES = 20.0  # an impedance this many times the sound one is a different hold


@dataclass(frozen=True, slots=True)
class _Moved:
    conductor: str
    held: str
    was: str
    places: tuple[Hold, ...]


def reasons(
    installation: Installation, holds: Sequence[Hold], sound: Sequence[Hold]
) -> tuple[str, ...]:
    """One sentence for each conductor that is not held as it should be, board first."""
    before = {(h.place, h.conductor): h for h in sound}
    groups: dict[tuple[str, str, str], list[Hold]] = {}
    limit = MOVED_SHARE * installation.supply.volts.value
    for hold in holds:
        was = before.get((hold.place, hold.conductor))
        if was is None or hold.place == "origin":
            continue
        moved = abs(hold.volts - was.volts) > limit
        loose = hold.ohms > HIGHER_TIMES * was.ohms and hold.held != was.held
        if moved or loose:
            groups.setdefault((hold.conductor, hold.held, was.held), []).append(hold)
    return tuple(
        _sentence(_Moved(c, held, was, tuple(found)), installation.region)
        for (c, held, was), found in groups.items()
    )


def _sentence(moved: _Moved, region: Region) -> str:
    where = joined(tuple(place_words(h.place, region) for h in moved.places))
    thing = "metalwork" if moved.conductor == "frame" else conductor_words(moved.conductor, region)
    low, high = (f(h.volts for h in moved.places) for f in (min, max))
    at = volts(high) if high - low < max(1.0, 0.02 * high) else f"{volts(low)} to {volts(high)}"
    size = ohms(max(h.ohms for h in moved.places))
    now = _HELD[moved.held].format(at=at, size=size, **_names(region))
    then = _SHOULD[moved.was].format(**_names(region))
    return f"The {thing} at {where} {now}; {then}."


def _names(region: Region) -> dict[str, str]:
    return {
        "line": conductor_words("L", region),
        "earthed": "grounded" if region == "na" else "earthed",
        "earth": "ground" if region == "na" else "earth",
    }


# How a terminal is held, said of any conductor; "held" comes from its impedance and its volts.
_HELD = {
    "floats": "hangs free, held only by cable, filters and what is plugged in ({size}): {at}",
    "line": "is held at the {line}'s voltage, {at} behind {size}",
    "earthed": "is held near {earth} ({at} behind {size})",
    "between": "is pulled between {line} and {earth}: {at} behind {size}",
}
_SHOULD = {
    "floats": "it hangs free in a sound circuit too",
    "line": "it should be at the {line}'s voltage",
    "earthed": "it should be {earthed}, near 0 V",
    "between": "in a sound circuit too it stands between",
}
