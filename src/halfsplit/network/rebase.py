"""Several opens on the way of one current, seen through its differences.

The currents of two opened conductors of one cable, or of one conductor opened twice, are equal
but for what leaks between them, and K becomes a small difference of large numbers. Opening
{i1, i2} is the same as opening {i1, i2 - i1}; the difference is taken before the solve, where the
elimination keeps its digits, and K is well conditioned again. No new factorisation is needed.
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from halfsplit.network.factor import Factored, View
from halfsplit.network.functionals import I
from halfsplit.network.update import Batch, Changed, equilibrated_inverse

NEAR_ONE = 0.2  # currents whose ratio is this near to 1 or -1 are looked at by their difference
MOST_COLUMNS = 4000  # solved at a time


def can_rebase(view: View, batch: Batch) -> NDArray[np.bool_]:
    """(H,): two opens or more, and no e.m.f. added."""
    opens = _opens(view, batch).sum(axis=1) >= 2
    return np.asarray(opens if batch.emf is None else opens & ~batch.emf.any(axis=1))


def apply_rebased(
    factored: Factored, view: View, batch: Batch, rows: NDArray[np.intp], cols: NDArray[np.intp]
) -> Changed:
    """As `apply`, for hypotheses that `can_rebase`; `flagged` is left to the caller."""
    H, k = batch.touch.shape
    dtype = factored.x.dtype
    values = np.empty((H, rows.size), dtype=dtype)
    transfer = np.empty((H, rows.size, cols.size), dtype=dtype)
    condition = np.empty(H)
    step = max(1, MOST_COLUMNS // k)
    for start in range(0, H, step):
        here = slice(start, start + step)
        found = _rebased(factored, view, batch.part(here), rows, cols)
        values[here], transfer[here], condition[here] = found
    return Changed(values, transfer, condition, np.zeros(0, dtype=np.intp))


def _opens(view: View, batch: Batch) -> NDArray[np.bool_]:
    """(H, k): touches that open a branch."""
    used, inverse = np.unique(batch.touch, return_inverse=True)
    current = np.array([isinstance(view.functionals[k], I) for k in used], dtype=np.bool_)
    opened = current[inverse.reshape(batch.touch.shape)]
    return np.asarray((batch.alpha == 0) & (batch.beta != 0) & opened)


def _basis(view: View, batch: Batch) -> NDArray[np.float64]:
    """(H, k, k): whole-number combinations of the touches, the opens told apart by differences."""
    H, k = batch.touch.shape
    opens = _opens(view, batch)
    B = np.zeros((H, k, k))
    B[:, np.arange(k), np.arange(k)] = 1.0
    G = _beside(view, batch, opens)
    pairs = [(j, i) for j in range(k) for i in range(k) if i != j]
    for j, i in [(j, i) for j, i in pairs if i < j] + pairs:
        both = opens[:, i] & opens[:, j]
        if not both.any():
            continue
        to = np.einsum("hpq,hq->hp", G, B[:, i])
        own = np.einsum("hp,hp->h", B[:, i], to)
        across = np.einsum("hp,hp->h", B[:, j], to)
        ratio = np.where(both, across / np.where(own == 0, np.inf, own), 0.0)
        whole = np.round(ratio.real)
        alike = (np.abs(ratio - whole) < NEAR_ONE) & (np.abs(whole) == 1)
        B[:, j] -= np.where(alike, whole, 0.0)[:, None] * B[:, i]
    return B


def _beside(view: View, batch: Batch, opens: NDArray[np.bool_]) -> NDArray[Any]:
    """(H, k, k): what the touches see of each other once all but the opens are in place.

    A load beyond two opens ties their currents together. Only to choose by: digits do not matter.
    """
    k = batch.touch.shape[1]
    G = view.at(batch.touch[:, :, None], batch.touch[:, None, :])
    felt = np.where(opens[:, :, None], 0.0, batch.beta[:, :, None] * G)
    K = np.where(opens[:, None, :], 0.0, felt)
    K[:, np.arange(k), np.arange(k)] += np.where(opens, 1.0, batch.alpha)
    inverse = np.nan_to_num(equilibrated_inverse(K)[0])
    return np.asarray(G - np.where(opens[:, None, :], 0.0, G) @ (inverse @ felt))


def _rebased(
    factored: Factored, view: View, batch: Batch, rows: NDArray[np.intp], cols: NDArray[np.intp]
) -> tuple[NDArray[Any], NDArray[Any], NDArray[np.float64]]:
    H, k = batch.touch.shape
    B = _basis(view, batch)
    plus, minus = factored.encode(view.functionals)
    n = factored.size
    right = np.zeros((n + 1, H * k), dtype=factored.x.dtype)
    column = np.arange(H * k).reshape(H, k)
    for i in range(k):  # member i enters every combination (j) by its share
        shares = B[:, :, i]
        np.add.at(right, (plus[batch.touch[:, i]][:, None], column), shares)
        np.add.at(right, (minus[batch.touch[:, i]][:, None], column), -shares)
    right[n] = 0.0
    solved = np.zeros_like(right)
    solved[:n] = factored.solve(right[:n])

    def through(functionals: NDArray[np.intp]) -> NDArray[Any]:
        """(f, H, k): what one unit into each combination moves of some functionals."""
        moved = solved[plus[functionals]] - solved[minus[functionals]]
        return np.asarray(moved.reshape(functionals.size, H, k))

    # Volts of the sources reach a combination as its columns say (A is symmetric): a difference
    # of two currents of x would have lost its digits.
    before = (factored.parts.rhs @ solved[:n]).reshape(H, k)
    pairs = np.einsum("nhj,nhi->hij", solved.reshape(n + 1, H, k), right.reshape(n + 1, H, k))
    alpha: NDArray[Any] = batch.alpha
    beta: NDArray[Any] = batch.beta
    if solved.dtype.kind == "f":
        alpha, beta = alpha.real, beta.real
    K = beta[:, :, None] * pairs
    K[:, np.arange(k), np.arange(k)] += alpha
    inverse, condition = equilibrated_inverse(K)
    inverse = inverse * beta[:, None, :]
    w = np.einsum("hij,hj->hi", inverse, before)
    to_rows = through(rows).transpose(1, 0, 2)
    from_cols = through(cols).transpose(1, 2, 0)
    values = view.f0[rows] - np.einsum("hrj,hj->hr", to_rows, w)
    transfer = view.block(rows, cols) - to_rows @ (inverse @ from_cols)
    return values, transfer, condition
