"""Every change to a factorised network is a small dense sum over the view.

x' = x - M U (D + U^T M U)^-1 U^T x, with D = 0 for an open or a solid joint, -1/R for added
series resistance, 1/y for added admittance. Seen through a view this needs nothing but G and
f0: f' = f0 - G[:, t] w with (D + G[t, t]) w = f0[t].
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halfsplit.network.changes import (
    Bridge,
    Change,
    Complex,
    Emf,
    Series,
    bridge_stiffness,
    series_stiffness,
    touched,
)
from halfsplit.network.factor import View

# The update may lose this many volts before a change is solved the long way instead.
TOLERATED_VOLTS = 1e-7
# Below this, in siemens or ohm, what an infinite change meets is rounding and not a circuit.
NOTHING = 1e-15
CHUNK_BYTES = 8_000_000


@dataclass(frozen=True, slots=True)
class Batch:
    """H hypotheses of k changes each, every change a view index and a stiffness.

    `touch` (H, k) int; `alpha`, `beta` (H, k) complex, see `changes`; padding is (1, 0). `emf`
    (H, k) volts added to the source of a touched branch, or None.
    """

    touch: NDArray[np.intp]
    alpha: Complex
    beta: Complex
    emf: Complex | None = None

    def __len__(self) -> int:
        return int(self.touch.shape[0])

    def part(self, which: slice | NDArray[np.intp]) -> "Batch":
        """The hypotheses at `which`, in that order."""
        emf = None if self.emf is None else self.emf[which]
        return Batch(self.touch[which], self.alpha[which], self.beta[which], emf)


@dataclass(frozen=True, slots=True)
class Changed:
    """What a batch leaves: `values` (H, r), `transfer` (H, r, c), `condition` (H,).

    `transfer` is G after the change. `flagged` (few,) are the hypotheses whose digits the guard
    does not trust; their rows are the unguarded ones, NaN where there was nothing to divide by.
    """

    values: NDArray[Any]
    transfer: NDArray[Any]
    condition: NDArray[np.float64]
    flagged: NDArray[np.intp]


def batch_of(view: View, hypotheses: Sequence[Sequence[Change]]) -> Batch:
    """Encode lists of changes, padded to the longest; every touched functional is in the view.

    Raises UnknownName when a change touches what the view does not hold.
    """
    shape = (len(hypotheses), max((len(changes) for changes in hypotheses), default=0) or 1)
    touch = np.zeros(shape, dtype=np.intp)
    alpha = np.ones(shape, dtype=np.complex128)
    beta = np.zeros(shape, dtype=np.complex128)
    emf = np.zeros(shape, dtype=np.complex128)
    for h, changes in enumerate(hypotheses):
        for j, change in enumerate(changes):
            touch[h, j] = view.touch_index(touched(change))
            if isinstance(change, Series):
                alpha[h, j], beta[h, j] = series_stiffness(change.added_ohm)
            elif isinstance(change, Bridge):
                alpha[h, j], beta[h, j] = bridge_stiffness(change.added_siemens)
            elif isinstance(change, Emf):
                emf[h, j] = change.added_volts
    return Batch(touch, alpha, beta, emf if emf.any() else None)


def apply(
    view: View,
    batch: Batch,
    rows: Sequence[int] | NDArray[np.intp],
    cols: Sequence[int] | NDArray[np.intp],
    tolerated: float = TOLERATED_VOLTS,
) -> Changed:
    """Apply each hypothesis: `rows` (r,) are read, `cols` (c,) are ports to attach to later.

    Rows that may have lost more than `tolerated` volts are flagged. Works in chunks: beyond its
    answer it holds well under 200 MB.
    """
    rows, cols = np.asarray(rows, dtype=np.intp), np.asarray(cols, dtype=np.intp)
    seen = _Seen(view, batch, rows, cols)
    dtype = seen.dtype(batch)
    count, k = batch.touch.shape
    values = np.empty((count, rows.size), dtype=dtype)
    transfer = np.empty((count, rows.size, cols.size), dtype=dtype)
    condition = np.empty(count)
    per_row = 16 * k * (rows.size + 2 * cols.size + 4 * k + 1)
    step = max(1, CHUNK_BYTES // per_row)
    for start in range(0, count, step):
        here = slice(start, start + step)
        condition[here] = seen.apply(batch.part(here), values[here], transfer[here])
    flagged = np.flatnonzero(~(lost_volts(condition, view) <= tolerated))
    return Changed(values, transfer, condition, flagged)


def lost_volts(condition: NDArray[np.float64], view: View) -> NDArray[np.float64]:
    """Volts (H,) that rounding may have cost, from the condition (H,) of each hypothesis's K."""
    with np.errstate(over="ignore"):
        return condition * np.finfo(np.float64).eps * view.drive


class _Seen:
    """The slices of a view that one batch needs, cut once."""

    def __init__(
        self, view: View, batch: Batch, rows: NDArray[np.intp], cols: NDArray[np.intp]
    ) -> None:
        self.view, self.f0 = view, view.f0
        used = np.unique(batch.touch)
        self.place = np.zeros(len(view.functionals), dtype=np.intp)
        self.place[used] = np.arange(used.size)
        self.to_rows = np.ascontiguousarray(view.block(rows, used).T)
        self.from_cols = view.block(used, cols)
        self.f_rows = view.f0[rows]
        self.sound = view.block(rows, cols)

    def dtype(self, batch: Batch) -> np.dtype[Any]:
        """Real as long as the view and every change are."""
        parts = [batch.alpha, batch.beta] + ([] if batch.emf is None else [batch.emf])
        real = self.f0.dtype.kind == "f" and not any(np.any(part.imag) for part in parts)
        return np.dtype(np.float64 if real else np.complex128)

    def apply(
        self, batch: Batch, values: NDArray[Any], transfer: NDArray[Any]
    ) -> NDArray[np.float64]:
        """Fill `values` (h, r) and `transfer` (h, r, c); return the condition (h,)."""
        touch = batch.touch
        alpha: NDArray[Any] = batch.alpha
        beta: NDArray[Any] = batch.beta
        if values.dtype.kind == "f":
            alpha, beta = alpha.real, beta.real
        f_touch, f_rows = self.f0[touch], self.f_rows
        G_rows = self.to_rows[self.place[touch]]
        if batch.emf is not None:
            emf = batch.emf.real if values.dtype.kind == "f" else batch.emf
            pairs = self.view.at(touch[:, :, None], touch[:, None, :])
            f_touch = f_touch - np.einsum("hij,hj->hi", pairs, emf)
            f_rows = f_rows - np.einsum("hjr,hj->hr", G_rows, emf)
        if touch.shape[1] == 1:
            return self._single(
                touch[:, 0], alpha, beta, (f_touch, f_rows, G_rows), values, transfer
            )
        return self._several(touch, alpha, beta, (f_touch, f_rows, G_rows), values, transfer)

    def _single(
        self,
        touch: NDArray[np.intp],
        alpha: NDArray[Any],
        beta: NDArray[Any],
        before: tuple[NDArray[Any], NDArray[Any], NDArray[Any]],
        values: NDArray[Any],
        transfer: NDArray[Any],
    ) -> NDArray[np.float64]:
        """One change each: an outer product."""
        f_touch, f_rows, G_rows = before
        K = alpha[:, 0] + beta[:, 0] * self.view.at(touch, touch)
        bad = np.abs(K) <= NOTHING
        scale = beta[:, 0] / np.where(bad, np.nan, K)
        np.subtract(f_rows, G_rows[:, 0] * (scale * f_touch[:, 0])[:, None], out=values)
        stiff = self.from_cols[self.place[touch]] * scale[:, None]
        np.multiply(G_rows[:, 0, :, None], stiff[:, None, :], out=transfer)
        np.subtract(self.sound, transfer, out=transfer)
        return np.where(bad, np.inf, 1.0)

    def _several(
        self,
        touch: NDArray[np.intp],
        alpha: NDArray[Any],
        beta: NDArray[Any],
        before: tuple[NDArray[Any], NDArray[Any], NDArray[Any]],
        values: NDArray[Any],
        transfer: NDArray[Any],
    ) -> NDArray[np.float64]:
        """Several changes each: a small solve per hypothesis."""
        f_touch, f_rows, G_rows = before
        K = beta[:, :, None] * self.view.at(touch[:, :, None], touch[:, None, :])
        k = np.arange(touch.shape[1])
        K[:, k, k] += alpha
        inverse, condition = equilibrated_inverse(K)
        inverse = inverse * beta[:, None, :]
        w = np.einsum("hij,hj->hi", inverse, f_touch)
        np.subtract(f_rows, np.einsum("hjr,hj->hr", G_rows, w), out=values)
        stiff = inverse @ self.from_cols[self.place[touch]]
        np.matmul(G_rows.transpose(0, 2, 1), stiff, out=transfer)
        np.subtract(self.sound, transfer, out=transfer)
        return condition


def equilibrated_inverse(K: NDArray[Any]) -> tuple[NDArray[Any], NDArray[np.float64]]:
    """Inverse (h, k, k) of each K, and its condition (h,) in the 1-norm once scaled.

    Rows, then columns, are scaled to a largest entry of 1, so that mixed units do not count as
    ill condition. NaN and inf where a row or column is nothing or K is singular.
    """
    by_row = np.abs(K).max(axis=2)
    bad = (by_row <= NOTHING).any(axis=1)
    by_row = np.where(by_row <= NOTHING, 1.0, by_row)
    scaled = K / by_row[:, :, None]
    by_col = np.abs(scaled).max(axis=1)
    bad |= (by_col == 0).any(axis=1)
    by_col = np.where(by_col == 0, 1.0, by_col)
    scaled = scaled / by_col[:, None, :]
    scaled[bad] = np.eye(K.shape[1])
    inverse, singular = _inverse(scaled)
    bad |= singular
    condition = np.abs(scaled).sum(axis=1).max(axis=1) * np.abs(inverse).sum(axis=1).max(axis=1)
    condition[bad] = np.inf
    inverse = inverse / by_col[:, :, None] / by_row[:, None, :]
    inverse[bad] = np.nan
    return inverse, condition


def _inverse(matrices: NDArray[Any]) -> tuple[NDArray[Any], NDArray[np.bool_]]:
    """Batched inverse that survives singular members, and which they are."""
    singular = np.zeros(matrices.shape[0], dtype=np.bool_)
    try:
        return np.linalg.inv(matrices), singular
    except np.linalg.LinAlgError:
        singular = np.linalg.det(matrices) == 0
        safe = np.where(singular[:, None, None], np.eye(matrices.shape[1]), matrices)
        return np.linalg.inv(safe), singular
