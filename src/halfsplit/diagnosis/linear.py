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
    """A scene seen through some ports, for what its hypotheses touch."""

    def __init__(self, scene: Scene, encoded: Encoded, ports: Sequence[Functional]) -> None:
        self.P = len(ports)
        self.places = np.array([scene.index[p] for p in ports], dtype=np.intp)
        self.view, self.encoded = scene.view, encoded

    def given(self, row: int, partners: NDArray[np.intp]) -> tuple[Ports, Ports]:
        """(row alone (P,), row with each of ``partners`` (B, P))."""
        touch = self.encoded.batch.touch[partners]
        used, inverse = np.unique(touch, return_inverse=True)
        G, f = self._after(row, np.concatenate([self.places, used]))
        alone = Ports(f[: self.P], G[np.arange(self.P), np.arange(self.P)])
        shape = (partners.size, self.P)
        both = Ports(np.empty(shape, np.complex128), np.empty(shape, np.complex128))
        counts = self.encoded.count[partners]
        for k in np.unique(counts):
            here = np.flatnonzero(counts == k)
            both.f[here], both.z[here] = self._with(
                G, f, partners[here], inverse.reshape(touch.shape)[here, :k] + self.P
            )
        return alone, both

    def _after(self, row: int, at: NDArray[np.intp]) -> tuple[Array, Array]:
        """G and f among the functionals ``at`` once a row's touches are made."""
        G = self.view.block(at, at).astype(np.complex128)
        f = self.view.f0[at].astype(np.complex128)
        batch, k = self.encoded.batch, int(self.encoded.count[row])
        if not k:
            return G, f
        t, alpha, beta = batch.touch[row, :k], batch.alpha[row, :k], batch.beta[row, :k]
        to, held = self.view.block(at, t), self.view.f0[t]
        own = self.view.block(t, t)
        if batch.emf is not None and batch.emf[row, :k].any():
            f = f - to @ batch.emf[row, :k]
            held = held - own @ batch.emf[row, :k]
        right = to @ (np.linalg.pinv(beta[:, None] * own + np.diag(alpha)) * beta)
        return G - right @ to.T, f - right @ held

    def _with(
        self, G: Array, f: Array, rows: NDArray[np.intp], t: NDArray[np.intp]
    ) -> tuple[Array, Array]:
        """(f, z) (B, P) of the ports with each of the rows added; ``t`` (B, k) are its touches."""
        P, at, k = self.P, np.arange(self.P), t.shape[1]
        own = G[at, at]
        if k == 0:
            return np.tile(f[:P], (rows.size, 1)), np.tile(own, (rows.size, 1))
        batch = self.encoded.batch
        alpha, beta = batch.alpha[rows, :k], batch.beta[rows, :k]
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
