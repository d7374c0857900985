"""What a published number is: a figure or a table, each pointing at its source."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Generic, Literal, Protocol, TypeVar, runtime_checkable

from halfsplit.errors import NotInTable

Kind = Literal["published", "common practice", "from memory", "computed", "judgement"]
Key = TypeVar("Key", float, int, str)


@dataclass(frozen=True, slots=True)
class Source:
    """Where numbers come from: title words, edition, and how it came to be used here."""

    id: str
    title: str
    edition: str = ""
    kind: Kind = "published"

    def words(self) -> str:
        """One line to print beside a number."""
        edition = f", {self.edition}" if self.edition else ""
        return f"{self.title}{edition} ({self.kind})"


@runtime_checkable
class Row(Protocol):
    """Anything published: it has an id of its own and the id of its source."""

    @property
    def id(self) -> str:
        """Unique among all rows."""

    @property
    def source(self) -> str:
        """The id of a row in :data:`halfsplit.tables.sources.SOURCES`."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One number in ``unit``, with the band it may lie in.

    ``low`` and ``high`` bound the middle nine tenths and equal ``value`` where the number is a
    definition or a limit. ``temp_c`` is the conductor temperature it holds at, where it matters.
    """

    id: str
    value: float
    unit: str
    source: str
    low: float = math.nan
    high: float = math.nan
    temp_c: float | None = None
    note: str = ""

    def __post_init__(self) -> None:
        if math.isnan(self.low):
            object.__setattr__(self, "low", self.value)
        if math.isnan(self.high):
            object.__setattr__(self, "high", self.value)

    @property
    def log_spread(self) -> float:
        """Standard deviation of the natural logarithm implied by the band; 0 without one."""
        return math.log(self.high / self.low) / (2 * 1.645) if self.high > self.low > 0 else 0.0


@dataclass(frozen=True, slots=True)
class Table(Generic[Key]):
    """Many numbers of one kind: a size, rating or name against a value in ``unit``.

    ``uncertainty`` is relative (0.01 is one per cent): rounding of the print, or doubt.
    """

    id: str
    unit: str
    source: str
    values: Mapping[Key, float]
    temp_c: float | None = None
    uncertainty: float = 0.0
    note: str = ""
    key: str = field(default="size")

    def __post_init__(self) -> None:
        object.__setattr__(self, "values", MappingProxyType(dict(self.values)))

    def __getitem__(self, key: Key) -> float:
        """The value in the row for ``key``. Raises: NotInTable, listing the rows there are."""
        try:
            return self.values[key]
        except KeyError:
            raise NotInTable(f"{self.id} ({self.key})", key, self.values) from None

    def __contains__(self, key: object) -> bool:
        return key in self.values

    def __iter__(self) -> Iterator[Key]:
        return iter(self.values)

    def __len__(self) -> int:
        return len(self.values)

    def rows(self) -> tuple[Figure, ...]:
        """The table as figures, one a row, for the manual and the screen."""
        return tuple(
            Figure(f"{self.id}/{key}", value, self.unit, self.source, temp_c=self.temp_c)
            for key, value in self.values.items()
        )


def log_log(points: Mapping[float, float], at: float) -> float:
    """Straight lines between points on logarithmic axes; flat beyond both ends."""
    xs = sorted(points)
    if at <= xs[0]:
        return points[xs[0]]
    if at >= xs[-1]:
        return points[xs[-1]]
    upper = next(x for x in xs if x >= at)
    if upper == at:
        return points[upper]
    lower = xs[xs.index(upper) - 1]
    share = math.log(at / lower) / math.log(upper / lower)
    return math.exp((1 - share) * math.log(points[lower]) + share * math.log(points[upper]))
