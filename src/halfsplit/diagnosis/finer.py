"""Severities in finer steps than the catalogue's, for the rows whose figures they move."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Real = NDArray[np.float64]
Rows = NDArray[np.intp]
Flags = NDArray[np.bool_]

# (step in spreads of the severity, share) of a single fault, and of each of two at once.
SINGLE = ((-1.2, 0.12), (-0.6, 0.23), (0.0, 0.30), (0.6, 0.23), (1.2, 0.12))
ONE = ((0.0, 1.0),)
OF_TWO = ((-1.1, 0.27), (0.0, 0.46), (1.1, 0.27))
SINGLE_SPREAD, OF_TWO_SPREAD = 0.22, 0.36  # log spread left about each step


@dataclass(frozen=True, slots=True)
class Finer:
    """K rows: ``rows`` of the hypotheses, ``size`` (K, 2) of their severities, log ``share`` (K,).

    ``beside`` (K, 4) are the rows one step smaller or larger in either severity (itself where there
    is none), ``loose`` (K, 2) the log spread left about each severity.
    """

    rows: Rows
    size: Real
    share: Real
    beside: Rows
    loose: Real

    def part(self, keep: Rows) -> Finer:
        """Some of the rows; who stood beside them is no longer asked."""
        return Finer(
            self.rows[keep], self.size[keep], self.share[keep], keep[:, None], self.loose[keep]
        )


def finer(rows: Rows, spread: Real, paired: Flags, rough: Flags) -> Finer:
    """Each row at every step of its severities that have a ``spread`` (K, 2).

    ``paired`` rows are two faults at once; a ``rough`` row stays as it is.
    """
    out: list[tuple[int, float, float, float, float, float]] = []
    beside: list[tuple[int, int, int, int]] = []
    for row, s, two, whole in zip(
        rows.tolist(), spread.tolist(), paired.tolist(), rough.tolist(), strict=True
    ):
        steps, left = (OF_TWO, OF_TWO_SPREAD) if two else (SINGLE, SINGLE_SPREAD)
        first = steps if s[0] and not whole else ONE
        second = steps if s[1] and not whole else ONE
        n, m, start = len(first), len(second), len(out)
        loose = tuple(s) if whole else (left if n > 1 else 0.0, left if m > 1 else 0.0)
        for i, (a, share_a) in enumerate(first):
            for j, (b, share_b) in enumerate(second):
                size = (math.exp(a * s[0]), math.exp(b * s[1]))
                out.append((row, *size, math.log(share_a * share_b), *loose))
                near = ((i - 1, j), (i + 1, j), (i, j - 1), (i, j + 1))
                here = start + i * m + j
                beside.append(
                    tuple(  # type: ignore[arg-type]
                        start + p * m + q if 0 <= p < n and 0 <= q < m else here for p, q in near
                    )
                )
    table = np.array(out, dtype=np.float64).reshape(-1, 6)
    return Finer(
        table[:, 0].astype(np.intp),
        table[:, 1:3],
        table[:, 3],
        np.array(beside, dtype=np.intp).reshape(-1, 4),
        table[:, 4:6],
    )
