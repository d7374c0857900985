"""What a second fault would move, given a first: seen linearly, with the loads as they rest.

Enough to tell which partners matter; those are then solved as any other hypothesis.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfsplit.diagnosis.encoded import Encoded
from halfsplit.diagnosis.scene import Scene
from halfsplit.network import Functional

Array = NDArray[np.complex128]


@dataclass(frozen=True, slots=True)
class Ports:
    """``f`` (..., P) what stands at P functionals and ``z`` (..., P) their own transfers."""

    f: Array
    z: Array


class Picture:
    """A scene seen through some ports and what its hypotheses touch, small and dense."""

    def __init__(self, scene: Scene, encoded: Encoded, ports: Sequence[Functional]) -> None:
        touch = encoded.batch.touch
        self.P = len(ports)
        places = np.array([scene.index[p] for p in ports], dtype=np.intp)
        used, inverse = np.unique(touch, return_inverse=True)
        at = np.concatenate([places, used])
        self.G: Array = scene.view.G[np.ix_(at, at)].astype(np.complex128)
        self.f: Array = scene.view.f0[at].astype(np.complex128)
        self.touch = inverse.reshape(touch.shape) + self.P
        self.encoded = encoded

    def sound(self) -> Ports:
        """The sound circuit."""
        at = np.arange(self.P)
        return Ports(self.f[: self.P], self.G[at, at])

    def given(self, row: int, partners: NDArray[np.intp]) -> tuple[Ports, Ports]:
        """(row alone (P,), row with each of ``partners`` (B, P))."""
        G, f = self._after(row)
        alone = Ports(f[: self.P], G[np.arange(self.P), np.arange(self.P)])
        shape = (partners.size, self.P)
        both = Ports(np.empty(shape, np.complex128), np.empty(shape, np.complex128))
        counts = self.encoded.count[partners]
        for k in np.unique(counts):
            here = np.flatnonzero(counts == k)
            both.f[here], both.z[here] = self._with(G, f, partners[here], int(k))
        return alone, both

    def _after(self, row: int) -> tuple[Array, Array]:
        """G and f once a row's touches are made."""
        k = int(self.encoded.count[row])
        if not k:
            return self.G, self.f
        touch, alpha, beta = self._row(np.array([row]), k)
        t = touch[0]
        f = self.f
        emf = self.encoded.batch.emf
        if emf is not None and emf[row, :k].any():
            f = f - self.G[:, t] @ emf[row, :k]
        K = beta[0][:, None] * self.G[np.ix_(t, t)] + np.diag(alpha[0])
        right = self.G[:, t] @ (np.linalg.pinv(K) * beta[0])
        return self.G - right @ self.G[t], f - right @ f[t]

    def _row(self, rows: NDArray[np.intp], k: int) -> tuple[NDArray[np.intp], Array, Array]:
        batch = self.encoded.batch
        return self.touch[rows, :k], batch.alpha[rows, :k], batch.beta[rows, :k]

    def _with(self, G: Array, f: Array, rows: NDArray[np.intp], k: int) -> tuple[Array, Array]:
        """(f, z) (B, P) of the ports with each of the rows added, all of ``k`` touches."""
        P, at = self.P, np.arange(self.P)
        own = G[at, at]
        if k == 0:
            return np.tile(f[:P], (rows.size, 1)), np.tile(own, (rows.size, 1))
        t, alpha, beta = self._row(rows, k)
        to = G[:P][:, t].transpose(1, 0, 2)  # (B, P, k)
        held = f[t]
        emf = self.encoded.batch.emf
        if emf is not None and emf[rows, :k].any():
            added = emf[rows, :k]
            held = held - np.einsum("bij,bj->bi", G[t[:, :, None], t[:, None, :]], added)
            base = f[:P] - np.einsum("bpk,bk->bp", to, added)
        else:
            base = np.broadcast_to(f[:P], (rows.size, P))
        with np.errstate(divide="ignore", invalid="ignore"):
            if k == 1:
                gain = beta / (alpha + beta * G[t, t])
                across = to[:, :, 0]
                return base - across * (gain * held), own - across**2 * gain
            K = beta[:, :, None] * G[t[:, :, None], t[:, None, :]]
            K[:, np.arange(k), np.arange(k)] += alpha
            felt = to @ (_inverse(K) * beta[:, None, :])
            return base - (felt * held[:, None, :]).sum(axis=2), own - (felt * to).sum(axis=2)


def _inverse(K: Array) -> Array:
    """Batched inverse; zero where there is none, so that the row changes nothing."""
    size = np.abs(K).max(axis=(1, 2), keepdims=True)
    singular = ~(np.abs(np.linalg.det(K / np.where(size > 0, size, 1.0))) > 0)
    safe = np.where(singular[:, None, None], np.eye(K.shape[1]), K)
    found = np.linalg.inv(safe)
    found[singular] = 0.0
    return np.asarray(found)
