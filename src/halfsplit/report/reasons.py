"""Why: what holds each conductor where it stands, beside what would hold it if nothing were wrong.

No sentence is chosen by the kind of fault. Each is read off the solved circuit: the volts of every
terminal and the impedance it has to true earth, under the cause and in the sound circuit.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from halfsplit.diagnosis.result import Hold
from halfsplit.faults.words import conductor_words
from halfsplit.quantity import ohms
from halfsplit.report.places import things
from halfsplit.wiring.model import Installation, Region

MOVED_SHARE = 0.05  # of the supply's voltage: from here a conductor stands elsewhere
HIGHER_TIMES = 20.0  # an impedance this many times the sound one is a different hold


def reasons(
    installation: Installation, holds: Sequence[Hold], sound: Sequence[Hold]
) -> tuple[str, ...]:
    """One sentence for each conductor that is not held as it should be, board first."""
    before = {(h.place, h.conductor): h for h in sound}
    groups: dict[tuple[str, str, int], list[Hold]] = {}
    limit = MOVED_SHARE * installation.supply.volts.value
    for hold in holds:
        was = before.get((hold.place, hold.conductor))
        if was is None or hold.place == "origin":
            continue
        moved = abs(hold.volts - was.volts) > limit
        loose = hold.ohms > HIGHER_TIMES * was.ohms and hold.held != was.held
        if moved or loose:
            step = round(hold.volts / limit)
            groups.setdefault((hold.held, was.held, step), []).append(hold)
    return tuple(
        _sentence(held, was, found, before, installation)
        for (held, was, _), found in groups.items()
    )


def _sentence(
    held: str,
    was: str,
    found: Sequence[Hold],
    before: Mapping[tuple[str, str], Hold],
    installation: Installation,
) -> str:
    names = _names(installation.region)
    what = things([(h.conductor, h.place) for h in found], installation)
    low, high = (f(round(h.volts) for h in found) for f in (min, max))
    at = f"{high} V" if high - low < 2 else f"{low} to {high} V"
    size = ohms(max(h.ohms for h in found))
    one = {h.conductor for h in found} == {found[0].conductor} and ", and " not in what
    now = _HELD[held].format(at=at, size=size, be="is" if one else "are", **names)
    now = now if one else now.replace("hangs", "hang", 1)
    then = _SHOULD[was].format(it="it" if one else "they", **names)
    if held == was:
        then = f"without it {max(before[h.place, h.conductor].volts for h in found):.0f} V"
    return f"{what[:1].upper()}{what[1:]} {now}; {then}."


def _names(region: Region) -> dict[str, str]:
    return {
        "line": conductor_words("L", region),
        "earthed": "grounded" if region == "na" else "earthed",
        "earth": "ground" if region == "na" else "earth",
    }


# How a terminal is held, said of any conductor; "held" comes from its impedance and its volts.
_HELD = {
    "floats": "hangs free, held only by cable, filters and what is plugged in ({size}): {at}",
    "line": "{be} held at the {line}'s voltage, {at} behind {size}",
    "earthed": "{be} held near {earth} ({at} behind {size})",
    "between": "{be} pulled between {line} and {earth}: {at} behind {size}",
}
_SHOULD = {
    "floats": "nothing else should hold it",
    "line": "{it} should be at the {line}'s voltage",
    "earthed": "{it} should be {earthed}, near 0 V",
    "between": "in a sound circuit too it would stand between",
}
