"""Sparse elimination on pivots chosen beforehand, for matrices that are nearly trees.

The pivots are not this module's to choose (see `order`): along a tree they keep small currents
exact. Leaves first, so almost nothing fills in; each row and column is then a handful of numbers.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Eliminated:
    """The triangular factors of an N x N matrix in elimination order.

    Step k divides by `pivot[k]`; `below[k]` are (rows, factors) of the column under it and
    `right[k]` (columns, values) of the row beside it.
    """

    pivot: NDArray[Any]
    below: tuple[tuple[NDArray[np.intp], NDArray[Any]] | None, ...]
    right: tuple[tuple[NDArray[np.intp], NDArray[Any]] | None, ...]

    def solve(self, rhs: NDArray[Any]) -> NDArray[Any]:
        """The solution for `rhs` (N,) or (N, s), both in elimination order."""
        y = rhs[:, None].copy() if rhs.ndim == 1 else rhs.copy()
        for k, part in enumerate(self.below):
            if part is not None:
                y[part[0]] -= part[1][:, None] * y[k]
        for k in range(len(self.pivot) - 1, -1, -1):
            part = self.right[k]
            if part is not None:
                # Row by row: each column's digits are the same whatever stands beside it.
                y[k] -= (part[1][:, None] * y[part[0]]).sum(axis=0)
            y[k] /= self.pivot[k]
        return y[:, 0] if rhs.ndim == 1 else y


def eliminate(
    row: Sequence[int], col: Sequence[int], value: Sequence[Any], size: int, dtype: np.dtype[Any]
) -> Eliminated:
    """Factorise the matrix with these entries (repeated ones add up), pivots on the diagonal.

    Raises ZeroDivisionError at a pivot of nothing.
    """
    rows: list[dict[int, Any]] = [{} for _ in range(size)]
    under: list[set[int]] = [set() for _ in range(size)]
    for i, j, v in zip(row, col, value, strict=True):
        rows[i][j] = rows[i].get(j, 0.0) + v
        if i > j:
            under[j].add(i)
    pivot = np.empty(size, dtype=dtype)
    below: list[tuple[NDArray[np.intp], NDArray[Any]] | None] = []
    right: list[tuple[NDArray[np.intp], NDArray[Any]] | None] = []
    for k in range(size):
        own = rows[k].pop(k, 0.0)
        if own == 0:
            raise ZeroDivisionError(f"nothing to divide by at step {k}")
        pivot[k] = own
        beside = [(j, v) for j, v in rows[k].items() if j > k]
        lower = sorted(under[k])
        factors = []
        for i in lower:
            factor = rows[i].pop(k) / own
            factors.append(factor)
            line = rows[i]
            for j, v in beside:
                if j in line:
                    line[j] -= factor * v
                else:
                    line[j] = -factor * v
                    if i > j:
                        under[j].add(i)
        below.append(_arrays(lower, factors, dtype))
        right.append(_arrays([j for j, _ in beside], [v for _, v in beside], dtype))
    return Eliminated(pivot, tuple(below), tuple(right))


def _arrays(
    places: list[int], values: list[Any], dtype: np.dtype[Any]
) -> tuple[NDArray[np.intp], NDArray[Any]] | None:
    if not places:
        return None
    return np.array(places, dtype=np.intp), np.array(values, dtype=dtype)
