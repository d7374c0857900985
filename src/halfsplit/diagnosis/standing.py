"""How a scene stands under every hypothesis before anything is asked: loads and trips settled.

What is not linear hangs on ports: the loads' laws are solved jointly, and only rows whose loads
sit more than a tenth off their voltage in the sound circuit are solved again. Trips are discrete
states solved in their order: the device that would part first is opened and the row is solved
again, until nothing more parts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halfsplit.behaviour import trips
from halfsplit.diagnosis.encoded import Encoded
from halfsplit.diagnosis.scene import Scene
from halfsplit.network import (
    TOLERATED_VOLTS,
    Batch,
    I,
    Law,
    admittances,
    alike,
    apply_guarded,
    settle,
)
from halfsplit.wiring.plan import Way

Array = NDArray[np.complex128]
Real = NDArray[np.float64]
OFF_BY = 0.1  # a load's voltage this far from the sound circuit's is settled by its law again
STILL = 0.02  # and so is one that a second look at its law moves by this much
CHUNK_BYTES = 24e6  # of the transfers held at a time
ROUNDS = 4  # devices in series that may part one after another
CLASSES = trips.OVERLOAD  # at once, seconds, minutes, holds


@dataclass(frozen=True, slots=True)
class Standing:
    """H rows of one scene.

    ``rows`` are their touches, the poles that parted included; ``volts`` and ``drawn`` (H, P)
    stand at the load ports (amperes less what rests in the network); ``parted`` (H, W) says which
    devices opened, ``chance`` (H, W, 4) is that of each class in ``CLASSES``, residual trips
    counted at once, ``residual`` (H, W) amperes.
    """

    rows: Encoded
    volts: Array
    drawn: Array
    parted: NDArray[np.bool_]
    chance: Real
    residual: Real

    def part(self, which: NDArray[np.intp]) -> Standing:
        """Some of the rows."""
        return Standing(
            self.rows.part(which),
            self.volts[which],
            self.drawn[which],
            self.parted[which],
            self.chance[which],
            self.residual[which],
        )


def stand(
    scene: Scene,
    rows: Encoded,
    stuck: frozenset[tuple[int, str]] = frozenset(),
    tolerated: float = TOLERATED_VOLTS,
) -> Standing:
    """Settle loads and trips; ``stuck`` holds (row, device) pairs that cannot part.

    ``tolerated`` volts may be lost to rounding.
    """
    H, W = len(rows), len(scene.ways)
    parted = np.zeros((H, W), dtype=np.bool_)
    chance = np.zeros((H, W, len(CLASSES)))
    chance[..., -1] = 1.0
    residual = np.zeros((H, W))
    volts, drawn, poles = _settled(scene, rows, tolerated)
    todo = np.arange(H)
    for _ in range(ROUNDS if W else 0):
        first, shares, leak = _trips(scene, poles, parted[todo], todo, stuck)
        fresh = ~parted[todo]
        chance[todo] = np.where(fresh[..., None], shares, chance[todo])
        residual[todo] = np.where(fresh, leak, residual[todo])
        going = np.flatnonzero(first >= 0)
        if going.size == 0:
            break
        todo, first = todo[going], first[going]
        parted[todo, first] = True
        again = rows.part(todo).with_open([_opened(scene, parted[int(h)]) for h in todo])
        volts[todo], drawn[todo], poles = _settled(scene, again, tolerated)
    if parted.any():
        rows = rows.with_open([_opened(scene, one) if one.any() else NOTHING for one in parted])
    return Standing(rows, volts, drawn, parted, chance, residual)


NOTHING = np.zeros(0, dtype=np.intp)


def _opened(scene: Scene, parted: NDArray[np.bool_]) -> NDArray[np.intp]:
    """View indices of the poles of the parted devices."""
    poles = [p for w in np.flatnonzero(parted) for p in scene.ways[int(w)].poles]
    return np.array([scene.index[I(p)] for p in poles if I(p) in scene.index], dtype=np.intp)


def changed(
    scene: Scene,
    rows: Encoded,
    wide: NDArray[np.intp],
    narrow: NDArray[np.intp],
    tolerated: float,
) -> tuple[Array, Array]:
    """(values (H, r), transfers (H, r, c)) of rows, each solved at its own number of touches."""
    f = np.empty((len(rows), wide.size), dtype=np.complex128)
    T = np.empty((len(rows), wide.size, narrow.size), dtype=np.complex128)
    for k in np.unique(rows.count) if wide.size else ():
        here = np.flatnonzero(rows.count == k)
        batch, n = rows.batch.part(here), max(int(k), 1)
        emf = None if batch.emf is None else batch.emf[:, :n]
        batch = Batch(
            batch.touch[:, :n],
            batch.alpha[:, :n],
            batch.beta[:, :n],
            emf if emf is not None and emf.any() else None,
        )
        found = apply_guarded(scene.factored, scene.view, batch, wide, narrow, tolerated)
        f[here], T[here] = found.values, found.transfer
    return f, T


def _settled(
    scene: Scene, rows: Encoded, tolerated: float
) -> tuple[Array, Array, dict[str, Array]]:
    """(volts, drawn, amperes of each pole) of rows without trips, some rows at a time."""
    names = dict.fromkeys(p for w in scene.ways for p in (*w.senses, *w.poles))
    poles = [p for p in names if I(p) in scene.index]
    wide = scene.ports.size + len(poles)
    step = max(200, int(CHUNK_BYTES / (16 * wide * scene.ports.size + 1)))
    H = len(rows)
    volts = np.empty((H, scene.ports.size), dtype=np.complex128)
    drawn, flows = np.empty_like(volts), np.empty((H, len(poles)), dtype=np.complex128)
    for start in range(0, H, step):
        here = np.arange(start, min(start + step, H))
        found = _Settled(scene, rows if step >= H else rows.part(here), poles, tolerated)
        volts[here], drawn[here], flows[here] = found.volts, found.drawn, found.flows
    return volts, drawn, {pole: flows[:, k] for k, pole in enumerate(poles)}


class _Settled:
    """One pass over the rows without trips: the update, then the loads' laws."""

    def __init__(self, scene: Scene, rows: Encoded, poles: Sequence[str], tolerated: float) -> None:
        self.scene, self.P = scene, scene.ports.size
        places = np.array([scene.index[I(p)] for p in poles], dtype=np.intp)
        wide = np.concatenate([scene.ports, places])
        self.f, self.T = changed(scene, rows, wide, scene.ports, tolerated)
        self.volts: Array = self.f[:, : self.P]
        self.drawn: Array = self.volts
        if self.P:
            self.volts, self.drawn = self._loads()
        P = self.P
        self.flows = self.f[:, P:] - np.einsum("hrp,hp->hr", self.T[:, P:], self.drawn)

    def _loads(self) -> tuple[Any, Any]:
        """Volts across and amperes into each load port, by its law."""
        scene, P = self.scene, self.P
        voc: Any = self.f[:, :P]
        Z: Any = self.T[:, :P]
        rest_v, rest_i = scene.rest.v[0], scene.rest.i[0]
        y = _chord(rest_v, rest_i, scene)
        eye = np.eye(P)
        first = _solve(eye + Z * y, voc)
        v = first
        y_now = load_admittance(scene.law, np.abs(v))
        v = _solve(eye + Z * y_now[:, None, :], voc)
        off = np.abs(np.abs(v) - np.abs(rest_v)) > OFF_BY * np.maximum(np.abs(rest_v), 1.0)
        off |= np.abs(v - first) > STILL * np.maximum(np.abs(v), 1.0)
        again = np.flatnonzero(off.any(axis=1) | ~np.isfinite(v).all(axis=1))
        amps = load_admittance(scene.law, np.abs(v)) * v
        if again.size:
            if scene.dead:
                voc, Z = voc.real, Z.real
            start: Any = np.where(np.isfinite(v[again]), v[again], 0)
            start = start.real if scene.dead else start
            settled = settle(voc[again], Z[again], scene.law, start=start)
            v[again], amps[again] = settled.v, settled.i
        return v, amps


def load_admittance(laws: Sequence[Law], size: Real) -> Array:
    """Admittance (H, P) of each load's law at ``size`` (H, P) volts, less what rests."""
    return np.asarray(admittances(alike(laws), size)[0])


def loading(laws: Sequence[Law], Z: Array, v: Array, i: Array) -> Array:
    """(I + Y Z)^-1 Y (H, P, P): how the loads, at their present admittances, load the rest.

    ``Z`` (H, P, P) among the load ports, ``v`` and ``i`` (H, P) across and into them.
    """
    P = v.shape[1]
    small = np.abs(v) <= 1e-9
    y = np.where(small, 0.0, i / np.where(small, 1.0, v))
    if small.any():
        y = np.where(small, load_admittance(laws, np.zeros(v.shape)), y)
    return np.asarray(np.linalg.solve(np.eye(P) + y[:, :, None] * Z, y[:, :, None] * np.eye(P)))


def _chord(v: Array, i: Array, scene: Scene) -> Array:
    """Admittance of each load in the sound circuit, (P,) siemens."""
    y = np.zeros(v.shape, dtype=np.complex128)
    for k, law in enumerate(scene.law):
        if abs(v[k]) > 1e-9:
            y[k] = i[k] / v[k]
        else:
            y[k] = complex(np.asarray(law.admittance(np.zeros(1))[0])[0])
    return y


def _solve(systems: Array, right: Array) -> Array:
    return np.asarray(np.linalg.solve(systems, right[..., None])[..., 0])


def _trips(
    scene: Scene,
    poles: dict[str, Array],
    parted: NDArray[np.bool_],
    rows: NDArray[np.intp],
    held: frozenset[tuple[int, str]],
) -> tuple[NDArray[np.intp], NDArray[np.float64], NDArray[np.float64]]:
    """(index of the device that parts first or -1 (H,), chances (H, W, 4), residual (H, W) A)."""
    count = len(rows)
    shares = np.zeros((count, len(scene.ways), len(CLASSES)))
    leaks = np.zeros((count, len(scene.ways)))
    seconds = np.full((count, len(scene.ways)), np.inf)
    for w, way in enumerate(scene.ways):
        amps, leak = way_amps(poles, way, count)
        over = trips.overload_class(way, amps)
        by_leak = trips.residual_trip(way, leak)
        shares[:, w] = over * (1 - by_leak)[:, None]
        shares[:, w, 0] += by_leak
        leaks[:, w] = leak
        parts = shares[:, w, 0] + shares[:, w, 1] > 0.5
        if held:
            parts &= np.array([(int(h), way.name) not in held for h in rows])
        if (parts & ~parted[:, w]).any():
            time = trips.typical_seconds(way, amps, leak)
            seconds[:, w] = np.where(parts & ~parted[:, w], np.minimum(time, 1e3), np.inf)
    if held:
        for w, way in enumerate(scene.ways):
            mine = np.array([(int(h), way.name) in held for h in rows])
            shares[mine, w] = (0.0, 0.0, 0.0, 1.0)
    # A device further from the source and of smaller rating goes first when times are equal.
    rating = np.array([way.amps for way in scene.ways])
    rank = seconds * (1 + 1e-6 * rating)
    first = np.where(np.isfinite(rank).any(axis=1), np.argmin(rank, axis=1), -1)
    return first.astype(np.intp), shares, leaks


def way_amps(poles: dict[str, Array], way: Way, count: int) -> tuple[Real, Real]:
    """(largest pole current (H,), residual current (H,)) of a device, amperes."""
    own = [poles[p] for p in way.poles if p in poles]
    sensed = [poles[p] for p in way.senses if p in poles]
    amps = np.abs(np.stack(own)).max(axis=0) if own else np.zeros(count)
    if way.residual_amps > 0 and sensed:
        return amps, np.abs(np.sum(sensed, axis=0))
    return amps, np.zeros(count)
