"""The table of floors in CONTRIBUTING.md, made from the table that the test enforces."""

from __future__ import annotations

from tools.floors import ROOMS, Room
from tools.page import Page


def table() -> str:
    """One row for each room, lowest floor first."""
    rows = ["| floor | folder | what lives there | outside packages |", "| --- | --- | --- | --- |"]
    return "\n".join(rows + [_row(room) for room in ROOMS])


def _row(room: Room) -> str:
    names = " ".join(f"`{name}`" for name in room.names)
    used = [f"`{name}`" for name in sorted(room.outside)]
    late = [f"`{name}` (inside functions)" for name in sorted(room.deferred)]
    return f"| {room.floor} | {names} | {room.holds} | {', '.join(used + late) or '-'} |"


PAGES = (Page("CONTRIBUTING.md", table, "floors"),)
