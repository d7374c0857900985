"""Rows of touches as arrays, for the solver."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halfsplit.diagnosis.hypotheses import Coded
from halfsplit.diagnosis.scene import Scene
from halfsplit.diagnosis.touches import Touch
from halfsplit.network import Batch, I


@dataclass(frozen=True, slots=True)
class Encoded:
    """Rows of touches as the solver takes them.

    ``batch`` (H, k) padded with no-ops; ``count`` (H,) touches of each row; ``grows`` (H, k) is 1
    where a finite series resistance, -1 where a finite admittance scales with the severity,
    ``extra`` (H, k) marks what belongs to a load nobody mentioned and ``second`` (H, k) what
    belongs to the second of two faults at once.
    """

    batch: Batch
    count: NDArray[np.intp]
    grows: NDArray[np.int8]
    extra: NDArray[np.bool_]
    second: NDArray[np.bool_]

    def __len__(self) -> int:
        return int(self.count.shape[0])

    def part(self, rows: NDArray[np.intp], size: NDArray[np.float64] | None = None) -> Encoded:
        """Some rows, each with its severities (in ohms) multiplied by its ``size`` (K, 2)."""
        batch, grows, second = self.batch.part(rows), self.grows[rows], self.second[rows]
        if size is not None:
            # D = alpha/beta is -1/R for a series resistance and 1/y for an admittance.
            mine = np.where(second, size[:, 1:], size[:, :1])
            batch = replace(batch, alpha=batch.alpha * mine ** -grows.astype(np.float64))
        return Encoded(batch, self.count[rows], grows, self.extra[rows], second)

    def and_pairs(self, first: NDArray[np.intp], second: NDArray[np.intp]) -> Encoded:
        """These rows, then one for each pair of rows ``first`` and ``second`` (N,).

        What was forgotten beside the first stays, what beside the second does not.
        """
        one, other = self.part(first), self.part(second)
        other = replace(other, second=np.ones(other.extra.shape, dtype=np.bool_))
        pairs = one.beside(other)
        wide = pairs.batch.touch.shape[1] - self.batch.touch.shape[1]
        return self.padded(max(wide, 0)).above(pairs.padded(max(-wide, 0)))

    def beside(self, other: Encoded) -> Encoded:
        """Row by row the touches of both, padding last; an extra of ``other`` is left out."""
        idle = np.arange(self.batch.touch.shape[1]) >= self.count[:, None]
        beyond = np.arange(other.batch.touch.shape[1]) >= other.count[:, None]
        rank = np.concatenate(
            [
                np.where(idle, 3, np.where(self.extra, 2, 0)),
                np.where(beyond | other.extra, 3, 1),
            ],
            axis=1,
        )
        order = np.argsort(rank, axis=1, kind="stable")
        count = (rank < 3).sum(axis=1)
        order = order[:, : max(int(count.max(initial=0)), 1)]

        def laid(a: NDArray[Any], b: NDArray[Any]) -> NDArray[Any]:
            return np.take_along_axis(np.concatenate([a, b], axis=1), order, axis=1)

        emf = laid(_or_zeros(self.batch), _or_zeros(other.batch))
        batch = Batch(
            laid(self.batch.touch, other.batch.touch),
            laid(self.batch.alpha, other.batch.alpha),
            laid(self.batch.beta, other.batch.beta),
            emf if emf.any() else None,
        )
        return Encoded(
            batch,
            count.astype(np.intp),
            laid(self.grows, other.grows),
            laid(self.extra, np.zeros_like(other.extra)),
            laid(self.second, other.second),
        )

    def first(self, k: int) -> Encoded:
        """The same rows with their first ``k`` touches alone."""
        batch = self.batch
        emf = None if batch.emf is None else batch.emf[:, :k]
        return Encoded(
            Batch(batch.touch[:, :k], batch.alpha[:, :k], batch.beta[:, :k], emf),
            np.minimum(self.count, k),
            self.grows[:, :k],
            self.extra[:, :k],
            self.second[:, :k],
        )

    def padded(self, more: int) -> Encoded:
        """The same rows with ``more`` no-ops at their end."""
        wide = ((0, 0), (0, more))
        batch = Batch(
            np.pad(self.batch.touch, wide),
            np.pad(self.batch.alpha, wide, constant_values=1.0),
            np.pad(self.batch.beta, wide),
            None if self.batch.emf is None else np.pad(self.batch.emf, wide),
        )
        return Encoded(
            batch,
            self.count,
            np.pad(self.grows, wide),
            np.pad(self.extra, wide),
            np.pad(self.second, wide),
        )

    def above(self, other: Encoded) -> Encoded:
        """These rows, then those of ``other``, padded alike."""
        a, b = self.batch, other.batch
        emf = None
        if a.emf is not None or b.emf is not None:
            emf = np.concatenate([_or_zeros(a), _or_zeros(b)])
        return Encoded(
            Batch(
                np.concatenate([a.touch, b.touch]),
                np.concatenate([a.alpha, b.alpha]),
                np.concatenate([a.beta, b.beta]),
                emf,
            ),
            np.concatenate([self.count, other.count]),
            np.concatenate([self.grows, other.grows]),
            np.concatenate([self.extra, other.extra]),
            np.concatenate([self.second, other.second]),
        )

    def without(self, which: NDArray[np.bool_]) -> Encoded:
        """The same rows with some touches (H, k) made no-ops."""
        alpha = np.where(which, 1.0, self.batch.alpha)
        beta = np.where(which, 0.0, self.batch.beta)
        emf = None if self.batch.emf is None else np.where(which, 0.0, self.batch.emf)
        return replace(self, batch=Batch(self.batch.touch, alpha, beta, emf))

    def with_open(self, open_at: Sequence[NDArray[np.intp]]) -> Encoded:
        """The same rows, each with further functionals (view indices) opened after its own."""
        found = self.padded(max((len(x) for x in open_at), default=0))
        touch, alpha, beta = found.batch.touch, found.batch.alpha, found.batch.beta
        count = self.count.copy()
        for h, places in enumerate(open_at):
            if len(places):
                at = slice(int(count[h]), int(count[h]) + len(places))
                touch[h, at], alpha[h, at], beta[h, at] = places, 0.0, 1.0
                count[h] += len(places)
        return replace(found, count=count)


def _or_zeros(batch: Batch) -> NDArray[np.complex128]:
    return np.zeros(batch.alpha.shape, dtype=np.complex128) if batch.emf is None else batch.emf


def encode(
    scene: Scene, rows: Sequence[Sequence[Touch]], extra: Sequence[int] | None = None
) -> Encoded:
    """Encode rows of touches, padded to the longest; the last ``extra[h]`` are not its own."""
    k = max((len(row) for row in rows), default=0) or 1
    shape = (len(rows), k)
    touch = np.zeros(shape, dtype=np.intp)
    alpha = np.ones(shape, dtype=np.complex128)
    beta = np.zeros(shape, dtype=np.complex128)
    emf = np.zeros(shape, dtype=np.complex128)
    grows = np.zeros(shape, dtype=np.int8)
    beyond = np.zeros(shape, dtype=np.bool_)
    index = scene.index
    for h, row in enumerate(rows):
        own = len(row) - (extra[h] if extra is not None else 0)
        for j, one in enumerate(row):
            touch[h, j] = index[one.functional]
            alpha[h, j], beta[h, j] = one.alpha, one.beta
            if one.emf:
                emf[h, j] = one.emf
            if j >= own:
                beyond[h, j] = True
            elif one.alpha != 0:
                grows[h, j] = 1 if isinstance(one.functional, I) else -1
    count = np.array([len(row) for row in rows], dtype=np.intp)
    batch = Batch(touch, alpha, beta, emf if emf.any() else None)
    return Encoded(batch, count, grows, beyond, np.zeros(shape, dtype=np.bool_))


def encode_coded(scene: Scene, touched: Sequence[Sequence[Touch]], coded: Coded) -> Encoded:
    """The same for rows written as numbers: ``touched[u]`` are the touches of unique effect u."""
    one = encode(scene, [*touched, ()])
    index = np.where(coded.index < 0, len(touched), coded.index)
    H, m = index.shape
    t = one.batch.touch.shape[1]
    valid = (np.arange(t) < one.count[index][:, :, None]).reshape(H, m * t)
    count = valid.sum(axis=1)
    order = np.argsort(~valid, axis=1, kind="stable")[:, : max(int(count.max(initial=0)), 1)]
    none = ~np.take_along_axis(valid, order, axis=1)
    extra = np.repeat(np.arange(m) >= coded.own[:, None], t, axis=1)

    def laid(values: NDArray[Any], empty: Any) -> NDArray[Any]:
        wide = np.take_along_axis(values[index].reshape(H, m * t), order, axis=1)
        return np.where(none, empty, wide)

    batch = one.batch
    emf = None if batch.emf is None else laid(batch.emf, 0.0)
    beyond = np.take_along_axis(extra, order, axis=1) & ~none
    return Encoded(
        Batch(laid(batch.touch, 0), laid(batch.alpha, 1.0), laid(batch.beta, 0.0), emf),
        count.astype(np.intp),
        np.where(beyond, 0, laid(one.grows, 0)).astype(np.int8),
        beyond,
        np.zeros_like(beyond),
    )
