"""Columns of a ladder: each conductor keeps its column from the board down, whatever it is called.

On a circuit with two lines the one that feeds a point goes by "L" on that point's own terminal and
by "L2" in the cable; its rail is one and the same.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from halfsplit.service import Chain, Link

LEFT_TO_RIGHT = ("L", "L1", "L2", "L3", "SL", "SL1", "SL2", "T1", "T2", "T3", "T4", "N", "E")
LINES = frozenset({"L", "L1", "L2", "L3"})


@dataclass(frozen=True, slots=True)
class Threads:
    """A chain's columns from left to right; by step, column to key on the cable and at the place.

    ``upper`` and ``lower`` are a cable's keys where it starts and where it ends; ``here`` the keys
    of the place that it reaches.
    """

    columns: tuple[str, ...]
    upper: tuple[Mapping[str, str], ...]
    lower: tuple[Mapping[str, str], ...]
    here: tuple[Mapping[str, str], ...]


def threads(chain: Chain) -> Threads:
    """Follow every rail of a chain from its start down."""
    now: dict[str, str] = {}
    seen: dict[str, None] = {}
    upper, lower, here = [], [], []
    for link, rung in chain.steps:
        above = _carried(link, now, seen)
        upper.append({column: a for column, (a, _) in above.items()})
        lower.append({column: b for column, (_, b) in above.items()})
        now = {column: b for column, (_, b) in above.items()}
        taken = set(now.values())
        for mark in rung.marks:
            if mark.key != "frame" and mark.key not in taken:
                column = _free(mark.key, now)
                now[column] = mark.key
                seen[column] = None
        here.append(dict(now))
    return Threads(_in_order(tuple(seen)), tuple(upper), tuple(lower), tuple(here))


def _carried(
    link: Link, now: Mapping[str, str], seen: dict[str, None]
) -> dict[str, tuple[str, str]]:
    found: dict[str, tuple[str, str]] = {}
    at = {key: column for column, key in now.items()}
    for a, b in link.rails:
        column = at.get(a) or _free(a, {**now, **found})
        found[column] = (a, b)
        seen[column] = None
    return found


def _free(key: str, taken: Mapping[str, object]) -> str:
    column = key
    while column in taken:
        column += "'"
    return column


def _in_order(columns: Sequence[str]) -> tuple[str, ...]:
    def rank(column: str) -> tuple[int, str]:
        key = column.rstrip("'")
        place = LEFT_TO_RIGHT.index(key) if key in LEFT_TO_RIGHT else len(LEFT_TO_RIGHT)
        return place, column

    return tuple(sorted(columns, key=rank))


def changed(link: Link) -> tuple[tuple[str, str], ...]:
    """Cores that serve another conductor where they end; a line under another name is not one."""
    return tuple((a, b) for a, b in link.rails if a != b and not {a, b} <= LINES)
