"""Every hypothesis solved in one scene: what trips, what the loads draw, what each port sees.

What is not linear hangs on ports: the loads' laws are solved jointly with the ports, and only
rows whose loads sit more than a tenth off their voltage in the sound circuit are solved again.
Trips are discrete states solved in their order: the device that would part first is opened and
the row is solved again, until nothing more parts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halfsplit.behaviour import trips
from halfsplit.diagnosis.encoded import Encoded
from halfsplit.diagnosis.scene import Scene
from halfsplit.network import Batch, Functional, I, apply_guarded, settle
from halfsplit.wiring.plan import Way

Array = NDArray[np.complex128]
OFF_BY = 0.1  # a load's voltage this far from the sound circuit's is settled by its law again
STILL = 0.02  # and so is one that a second look at its law moves by this much
ROUNDS = 4  # devices in series that may part one after another
CLASSES = trips.OVERLOAD  # at once, seconds, minutes, holds


@dataclass(frozen=True, slots=True)
class Answers:
    """Rows of one scene after change, trips and loads.

    ``f`` (H, R) are values at the functionals in the order of ``at``, ``T`` (H, R, C) transfers to
    them from the first C, the asked ports, both with the loads drawing; ``volts`` and ``amps``
    (H, P) stand at the load ports; ``parted`` (H, W) says which devices opened; ``chance``
    (H, W, 4) is that of each class in ``CLASSES``, residual trips counted at once; ``residual``
    (H, W) amperes. A functional that does not exist in this scene is absent from ``at``. ``held``
    (H, R, P) is what one more ampere into each load's law would move. ``raw`` (H, P + C, P + C)
    are the transfers among loads and asked ports without the loads, ``raw_f`` (H, P + C) the
    values there: an instrument that drives or drags them far from where they rest is solved
    jointly with them from these.
    """

    f: Array
    T: Array
    volts: Array
    amps: Array
    parted: NDArray[np.bool_]
    chance: NDArray[np.float64]
    residual: NDArray[np.float64]
    held: Array
    at: dict[Functional, int]
    raw: Array | None = None
    raw_f: Array | None = None

    def part(self, rows: NDArray[np.intp]) -> Answers:
        """The answers of some rows."""
        return replace(
            self,
            f=self.f[rows],
            T=self.T[rows],
            volts=self.volts[rows],
            amps=self.amps[rows],
            parted=self.parted[rows],
            chance=self.chance[rows],
            residual=self.residual[rows],
            held=self.held[rows],
            raw=None if self.raw is None else self.raw[rows],
            raw_f=None if self.raw_f is None else self.raw_f[rows],
        )


def solve_rows(
    scene: Scene,
    rows: Encoded,
    asked: Sequence[Functional],
    also: Sequence[Functional] = (),
    stuck: frozenset[tuple[int, str]] = frozenset(),
) -> Answers:
    """Solve ``rows`` (the touches of each hypothesis): ports ``asked``, and values of ``also``.

    ``stuck`` holds (row, device) pairs that cannot part ("will not trip").
    """
    present = tuple(dict.fromkeys(g for g in asked if g in scene.index))
    beside = tuple(dict.fromkeys(g for g in also if g in scene.index and g not in present))
    base = _Solved(scene, rows, present, beside)
    parted = np.zeros((len(rows), len(scene.ways)), dtype=np.bool_)
    chance = np.zeros((len(rows), len(scene.ways), len(CLASSES)))
    chance[..., -1] = 1.0
    residual = np.zeros((len(rows), len(scene.ways)))
    answers = base.answers()
    todo = np.arange(len(rows))
    for _ in range(ROUNDS if scene.ways else 0):
        first, shares, leak = _trips(scene, answers.part(todo), parted[todo], todo, stuck)
        fresh = ~parted[todo]
        chance[todo] = np.where(fresh[..., None], shares, chance[todo])
        residual[todo] = np.where(fresh, leak, residual[todo])
        going = np.flatnonzero(first >= 0)
        if going.size == 0:
            break
        todo, first = todo[going], first[going]
        parted[todo, first] = True
        again = rows.with_open(todo, [_opened(scene, parted[int(h)]) for h in todo])
        redone = _Solved(scene, again, present, beside).answers()
        for name in ("f", "T", "volts", "amps", "held", "raw", "raw_f"):
            if getattr(answers, name) is not None:
                getattr(answers, name)[todo] = getattr(redone, name)
    return replace(answers, parted=parted, chance=chance, residual=residual)


def _opened(scene: Scene, parted: NDArray[np.bool_]) -> NDArray[np.intp]:
    """View indices of the poles of the parted devices."""
    poles = [p for w in np.flatnonzero(parted) for p in scene.ways[int(w)].poles]
    return np.array([scene.index[I(p)] for p in poles if I(p) in scene.index], dtype=np.intp)


class _Solved:
    """One pass over the rows without trips: the update, then the loads' laws."""

    def __init__(
        self,
        scene: Scene,
        rows: Encoded,
        asked: Sequence[Functional],
        also: Sequence[Functional],
    ) -> None:
        self.scene = scene
        poles = [I(p) for w in scene.ways for p in (*w.senses, *w.poles) if I(p) in scene.index]
        order = tuple(dict.fromkeys((*asked, *also, *poles)))
        self.at = {functional: k for k, functional in enumerate(order)}
        places = np.array([scene.index[g] for g in order], dtype=np.intp)
        self.P, self.C = scene.ports.size, len(asked)
        wide = np.concatenate([scene.ports, places])
        narrow = wide[: self.P + self.C]
        self.f = np.empty((len(rows), wide.size), dtype=np.complex128)
        self.T = np.empty((len(rows), wide.size, narrow.size), dtype=np.complex128)
        for k in np.unique(rows.count):
            here = np.flatnonzero(rows.count == k)
            batch = rows.batch.part(here)
            emf = None if batch.emf is None else batch.emf[:, : max(k, 1)]
            batch = Batch(
                batch.touch[:, : max(k, 1)],
                batch.alpha[:, : max(k, 1)],
                batch.beta[:, : max(k, 1)],
                emf if emf is not None and emf.any() else None,
            )
            changed = apply_guarded(scene.factored, scene.view, batch, wide, narrow)
            self.f[here] = changed.values
            self.T[here] = changed.transfer

    def answers(self) -> Answers:
        """Loads settled and folded into what the asked functionals see."""
        P = self.P
        f, T = self.f[:, P:], self.T[:, P:, P:]
        volts = np.zeros((f.shape[0], P), dtype=np.complex128)
        amps = np.zeros_like(volts)
        held = np.zeros((f.shape[0], f.shape[1], P), dtype=np.complex128)
        if P:
            volts, amps = self._loads()
            to = self.T[:, P:, :P]
            f = f - np.einsum("hrp,hp->hr", to, amps)
            loading = self._held(volts, amps)
            T = T - to @ (loading @ self.T[:, :P, P:])
            held = to - to @ (loading @ self.T[:, :P, :P])
            amps = amps + self.scene.resting * volts
        nothing = np.zeros((f.shape[0], len(self.scene.ways)))
        shares = np.zeros((*nothing.shape, len(CLASSES)))
        raw = self.T[:, : P + self.C] if P else None
        raw_f = self.f[:, : P + self.C] if P else None
        return Answers(f, T, volts, amps, nothing > 0, shares, nothing, held, self.at, raw, raw_f)

    def _loads(self) -> tuple[Any, Any]:
        """Volts across and amperes into each load port, by its law."""
        scene, P = self.scene, self.P
        voc: Any = self.f[:, :P]
        Z: Any = self.T[:, :P, :P]
        rest_v, rest_i = scene.rest.v[0], scene.rest.i[0]
        y = _chord(rest_v, rest_i, scene)
        eye = np.eye(P)
        first = _solve(eye + Z * y, voc)
        v = first
        y_now = self._law(np.abs(v))
        v = _solve(eye + Z * y_now[:, None, :], voc)
        off = np.abs(np.abs(v) - np.abs(rest_v)) > OFF_BY * np.maximum(np.abs(rest_v), 1.0)
        off |= np.abs(v - first) > STILL * np.maximum(np.abs(v), 1.0)
        again = np.flatnonzero(off.any(axis=1) | ~np.isfinite(v).all(axis=1))
        amps = self._law(np.abs(v)) * v
        if again.size:
            if scene.dead:
                voc, Z = voc.real, Z.real
            start: Any = np.where(np.isfinite(v[again]), v[again], 0)
            start = start.real if scene.dead else start
            settled = settle(voc[again], Z[again], scene.law, start=start)
            v[again], amps[again] = settled.v, settled.i
        return v, amps

    def _law(self, size: NDArray[np.float64]) -> Array:
        return np.stack(
            [
                np.asarray(law.admittance(size[:, k])[0], dtype=np.complex128)
                for k, law in enumerate(self.scene.law)
            ],
            axis=1,
        )

    def _held(self, v: Array, i: Array) -> Array:
        """(I + Y Z)^-1 Y (H, P, P): how the loads, at their present admittances, load the rest."""
        y = np.where(np.abs(v) > 1e-9, i / np.where(np.abs(v) > 1e-9, v, 1.0), 0.0)
        small = np.abs(v) <= 1e-9
        if small.any():
            y = np.where(small, self._law(np.zeros(v.shape)), y)
        Z = self.T[:, : self.P, : self.P]
        Y = y[:, :, None] * np.eye(self.P)
        held: Any = np.linalg.solve(np.eye(self.P) + y[:, :, None] * Z, Y)
        return np.asarray(held)


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
    answers: Answers,
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
        amps, leak = way_amps(answers, way)
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


def way_amps(answers: Answers, way: Way) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """(largest pole current (H,), residual current (H,)) of a device, amperes."""
    at = [answers.at[I(p)] for p in way.poles if I(p) in answers.at]
    sense = [answers.at[I(p)] for p in way.senses if I(p) in answers.at]
    amps = np.abs(answers.f[:, at]).max(axis=1) if at else np.zeros(answers.f.shape[0])
    leak = np.zeros(answers.f.shape[0])
    if way.residual_amps > 0 and sense:
        leak = np.abs(answers.f[:, sense].sum(axis=1))
    return amps, leak
