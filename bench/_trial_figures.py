"""Shares, intervals and scores over the rows of a run of trials."""

from __future__ import annotations

import math
import statistics
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from random import Random
from typing import Any

Z = 1.959964  # of a normal, two-sided 95 %
RESAMPLES = 400
BINS = 10
LEAST_BELIEF = 1e-4  # a truth believed less counts as this in the log loss
ALARM = 0.5  # belief in some fault at a sound installation from which it is a false alarm
Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Share:
    """Hits out of a total, with Wilson's interval (Wilson, J. Am. Stat. Assoc. 22, 1927)."""

    hits: int
    total: int

    @property
    def value(self) -> float:
        """The share; nought of nothing."""
        return self.hits / self.total if self.total else 0.0

    @property
    def interval(self) -> tuple[float, float]:
        """95 %; (0, 1) of nothing."""
        if not self.total:
            return 0.0, 1.0
        p, n = self.value, self.total
        middle = (p + Z * Z / (2 * n)) / (1 + Z * Z / n)
        half = Z / (1 + Z * Z / n) * math.sqrt(p * (1 - p) / n + Z * Z / (4 * n * n))
        return max(middle - half, 0.0), min(middle + half, 1.0)


def share(rows: Sequence[Row], hit: Callable[[Row], bool]) -> Share:
    """How many of the rows are hits."""
    return Share(sum(map(hit, rows)), len(rows))


@dataclass(frozen=True, slots=True)
class Mean:
    """A figure over rows with its bootstrap interval, 95 %."""

    value: float
    low: float
    high: float


def bootstrap(rows: Sequence[Row], figure: Callable[[Sequence[Row]], float]) -> Mean:
    """A figure with its interval over resampled rows; the same each time."""
    if not rows:
        return Mean(math.nan, math.nan, math.nan)
    random = Random(20)
    again = sorted(figure(random.choices(rows, k=len(rows))) for _ in range(RESAMPLES))
    return Mean(figure(rows), again[int(0.025 * RESAMPLES)], again[int(0.975 * RESAMPLES)])


def mean_of(key: str) -> Callable[[Sequence[Row]], float]:
    """The mean of one column."""
    return lambda rows: statistics.fmean(float(row[key]) for row in rows)


def log_loss(rows: Sequence[Row]) -> float:
    """Mean of -ln(belief in what is truly wrong)."""
    return statistics.fmean(-math.log(max(row["belief"], LEAST_BELIEF)) for row in rows)


def brier(rows: Sequence[Row]) -> float:
    """Mean square of what the first suspect claimed against whether it was right."""
    return statistics.fmean((row["claimed"] - (row["rank"] == 1)) ** 2 for row in rows)


def bins(rows: Sequence[Row], count: int = BINS) -> list[tuple[float, float, int]]:
    """(claimed, right, rows) in bins of equal number, the least sure first."""
    ordered = sorted(rows, key=lambda row: (row["claimed"], row["seed"]))
    found = []
    for k in range(count):
        some = ordered[k * len(ordered) // count : (k + 1) * len(ordered) // count]
        if some:
            claimed = statistics.fmean(row["claimed"] for row in some)
            right = statistics.fmean(row["rank"] == 1 for row in some)
            found.append((claimed, right, len(some)))
    return found


def calibration_error(rows: Sequence[Row]) -> float:
    """Expected calibration error: how far claimed and right lie apart, bin by bin."""
    table = bins(rows)
    return sum(n * abs(a - b) for a, b, n in table) / max(sum(n for _, _, n in table), 1)


def answered(rows: Sequence[Row]) -> list[Row]:
    """Rows with an answer."""
    return [row for row in rows if not row["failed"]]


def alarmed(row: Row) -> bool:
    """Whether a sound installation was said to have a fault."""
    return bool(row["leader"] not in ("nothing wrong", "none of these") and row["claimed"] >= ALARM)


def by_family(rows: Sequence[Row]) -> dict[str, list[Row]]:
    """Rows of one fault each, by its family, the most frequent first."""
    found: dict[str, list[Row]] = {}
    for row in rows:
        found.setdefault(row["family"], []).append(row)
    return dict(sorted(found.items(), key=lambda item: (-len(item[1]), item[0])))
