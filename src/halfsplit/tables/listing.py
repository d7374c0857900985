"""Every published row in one list, for the manual, the screen and the tests."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import ModuleType

from halfsplit.tables import (
    cables,
    conductors,
    disconnection,
    instruments_std,
    insulation,
    lamps,
    practice,
    procedure,
    residual,
    ring,
    shock,
    supplies,
    voltage_drop,
)
from halfsplit.tables.source import Figure, Row, Table

SUBJECTS: tuple[ModuleType, ...] = (
    conductors,
    cables,
    supplies,
    disconnection,
    insulation,
    residual,
    ring,
    shock,
    voltage_drop,
    instruments_std,
    lamps,
    practice,
    procedure,
)


def rows(subject: ModuleType) -> tuple[Row, ...]:
    """Figures, tables and other rows (anything with an id and a source) of one subject."""
    found: dict[int, Row] = {}
    for name, value in vars(subject).items():
        if name.isupper():
            found |= {id(row): row for row in _dig(value)}
    return tuple(found.values())


def every_row() -> tuple[Row, ...]:
    """The rows of every subject, in the order of :data:`SUBJECTS`."""
    return tuple(row for subject in SUBJECTS for row in rows(subject))


def every_figure() -> tuple[Figure, ...]:
    """Every single number: the figures themselves, and each table row as a figure."""
    found: list[Figure] = []
    for row in every_row():
        if isinstance(row, Figure):
            found.append(row)
        elif isinstance(row, Table):
            found.extend(row.rows())
    return tuple(found)


def _dig(value: object) -> Iterator[Row]:
    if isinstance(value, Row):
        yield value
    elif isinstance(value, Mapping):
        for inner in value.values():
            yield from _dig(inner)
    elif isinstance(value, tuple):
        for inner in value:
            yield from _dig(inner)
