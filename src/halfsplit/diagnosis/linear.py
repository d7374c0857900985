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
Rows = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Ports:
    """``f`` (..., P) what stands at P functionals and ``z`` (..., P) their own transfers."""

    f: Array
    z: Array


@dataclass(frozen=True, slots=True)
class _Alike:
    """The partners that touch k functionals each, in the sound circuit.

    ``at`` (B,) are their places among all partners, ``t`` (B, k) what they touch (places in
    ``Picture.used``), ``own`` (B, k, k) the transfers among it, ``alpha``, ``beta`` (B, k) as in
    a batch and ``emf`` (B, k) or None.
    """

    at: Rows
    t: Rows
    own: Array
    alpha: Array
    beta: Array
    emf: Array | None


class Picture:
    """A scene seen through P ports, for what B partners touch."""

    def __init__(
        self, scene: Scene, encoded: Encoded, ports: Sequence[Functional], partners: Rows
    ) -> None:
        self.places = np.array([scene.index[p] for p in ports], dtype=np.intp)
        self.view, self.encoded, self.P = scene.view, encoded, len(ports)
        self.used, inverse = np.unique(encoded.batch.touch[partners], return_inverse=True)
        inverse = inverse.reshape(partners.size, -1)
        self.to = self.view.block(self.places, self.used).astype(np.complex128)
        counts = encoded.count[partners]
        self.alike = [
            self._alike(at := np.flatnonzero(counts == k), partners[at], inverse[at, :k])
            for k in np.unique(counts)
        ]

    def _alike(self, at: Rows, rows: Rows, t: Rows) -> _Alike:
        batch, k = self.encoded.batch, t.shape[1]
        touch = batch.touch[rows, :k]
        emf = None if batch.emf is None else batch.emf[rows, :k]
        own = self.view.at(touch[:, :, None], touch[:, None, :]).astype(np.complex128)
        alpha, beta = batch.alpha[rows, :k], batch.beta[rows, :k]
        return _Alike(at, t, own, alpha, beta, emf if emf is not None and emf.any() else None)

    def given(self, row: int, which: NDArray[np.bool_]) -> tuple[Ports, Ports]:
        """(row alone (P,), row with each of the partners that are in ``which`` (B,), (b, P))."""
        after = _After(self, row)
        shape = (int(which.sum()), self.P)
        both = Ports(np.empty(shape, np.complex128), np.empty(shape, np.complex128))
        place = np.cumsum(which) - 1
        for alike in self.alike:
            here = np.flatnonzero(which[alike.at])
            to = place[alike.at[here]]
            both.f[to], both.z[to] = after.with_partners(alike, here)
        return Ports(after.f, after.z), both


class _After:
    """The ports and the partners' touches once a row's own touches are made."""

    def __init__(self, picture: Picture, row: int) -> None:
        view, batch = picture.view, picture.encoded.batch
        k = int(picture.encoded.count[row])
        t, alpha, beta = batch.touch[row, :k], batch.alpha[row, :k], batch.beta[row, :k]
        own, f0 = view.block(t, t), view.f0
        from_used, from_ports = view.block(picture.used, t), view.block(picture.places, t)
        # What one unit at the row's touches moves, and what that costs: G' = G - right @ across.
        gain = np.linalg.pinv(beta[:, None] * own + np.diag(alpha)) * beta
        self.right, self.across = from_used @ gain, from_used.astype(np.complex128)
        emf = batch.emf[row, :k] if batch.emf is not None else np.zeros(k)
        moved = gain @ (f0[t] - own @ emf) + emf
        self.f: Array = f0[picture.places] - from_ports @ moved
        self.held: Array = f0[picture.used] - from_used @ moved
        self.to: Array = picture.to - from_ports @ self.right.T
        sound = view.at(picture.places, picture.places)
        self.z: Array = sound - ((from_ports @ gain) * from_ports).sum(axis=1)

    def with_partners(self, alike: _Alike, here: Rows) -> tuple[Array, Array]:
        """(f, z) (b, P) of the ports with each of some partners added."""
        t = alike.t[here]
        k = t.shape[1]
        if k == 0:
            return np.tile(self.f, (here.size, 1)), np.tile(self.z, (here.size, 1))
        own = alike.own[here] - self.right[t] @ self.across[t].transpose(0, 2, 1)
        to = self.to.T[t]  # (b, k, P)
        held, base = self.held[t], self.f
        if alike.emf is not None:
            added = alike.emf[here]
            held = held - np.einsum("bij,bj->bi", own, added)
            base = base - np.einsum("bkp,bk->bp", to, added)
        alpha, beta = alike.alpha[here], alike.beta[here]
        with np.errstate(divide="ignore", invalid="ignore"):
            if k == 1:
                gain = beta / (alpha + beta * own[:, :, 0])
                across = to[:, 0]
                return base - across * (gain * held), self.z - across**2 * gain
            K = beta[:, :, None] * own
            K[:, np.arange(k), np.arange(k)] += alpha
            felt = (_inverse(K) * beta[:, None, :]).transpose(0, 2, 1) @ to
            return base - (felt * held[:, :, None]).sum(axis=1), self.z - (felt * to).sum(axis=1)


def _inverse(K: Array) -> Array:
    """Batched inverse; zero where there is none, so that the row changes nothing."""
    size = np.abs(K).max(axis=(1, 2), keepdims=True)
    singular = ~(np.abs(np.linalg.det(K / np.where(size > 0, size, 1.0))) > 0)
    safe = np.where(singular[:, None, None], np.eye(K.shape[1]), K)
    found = np.linalg.inv(safe)
    found[singular] = 0.0
    return np.asarray(found)
