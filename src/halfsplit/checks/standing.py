"""What lasts from the readings so far: isolated, unplugged, opened, linked, where one stands.

Every reading says in which conditions it was taken; taken in order, they say how things stand now.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from dataclasses import replace

from halfsplit.checks.check import Check
from halfsplit.checks.costs import State
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.plan import Plan

SEEN = ("works", "glow", "trips", "touch", "sense", "count", "ramp")  # nobody stands there for it


def stood(readings: Iterable[Reading], plan: Plan, looked: Collection[str] = ()) -> State:
    """How things stand after these readings, the last one last.

    ``looked`` are ids of looks that found nothing. That a reading was dead counts as isolated for
    what the next one costs; whether an alarm is answered is not taken from it.
    """
    state = State(looked=frozenset(looked))
    boards = frozenset(spot.name for spot in plan.spots if spot.kind in ("board", "origin"))
    points = frozenset(spot.name for spot in plan.spots) - boards
    for reading in readings:
        done = _as_check(reading, points, boards)
        if done is not None:
            state = state.after(done)
        elif reading.kind == "proved dead" and reading.seen == "dead":
            state = replace(state, isolated=True, board_open=True)
    return state


def as_taken(readings: Iterable[Reading]) -> list[Reading]:
    """Readings in the order in which they were written down: by line, then by their number.

    The diagnosis takes them in any order, and keeps them in its own.
    """
    return sorted(readings, key=lambda r: (r.line or 0, _number(r.id)))


def _number(id: str) -> int:
    found = re.match(r"r(\d+)", id)
    return int(found[1]) if found else 0


def _as_check(reading: Reading, points: Collection[str], boards: Collection[str]) -> Check | None:
    """The reading as the check that gave it; None where it was only seen, or asked."""
    if reading.kind in SEEN or reading.kind == "proved dead":
        return None
    ends = [end for end in (reading.a, reading.b) if end]
    at = [_place(end) for end in ends]
    where = reading.place or next((p for p in at if p in points), "")
    bare = any(not e.endswith(":front") and p in points for e, p in zip(ends, at, strict=True))
    kind = _kind(reading, at, boards, bare)
    access = "board" if where in boards else "cover" if bare else "plug"
    return Check(reading.id, kind, "", where, reading.instrument, reading, reading.conditions,
                 access)  # fmt: skip


def _kind(reading: Reading, ends: list[str], boards: Collection[str], bare: bool) -> str:
    if reading.kind == "ohms":
        if reading.conditions.links:
            return "link"
        if reading.conditions.lifted:
            return "ring"
        far = len(set(ends)) == 2 and any(end in boards for end in ends)
        return "lead" if far else "joint"
    kinds = {"megohms": "insulation", "loop": "loop", "lamps": "lamps", "amps": "clamp"}
    if reading.kind in kinds:
        return kinds[reading.kind]
    return (
        "open volts" if bare else "board volts" if all(end in boards for end in ends) else "volts"
    )


def _place(end: str) -> str:
    return end.rpartition(".")[0]
