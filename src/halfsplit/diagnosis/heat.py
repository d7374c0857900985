"""Watts that a fault turns to heat: by the solved currents and volts of what it adds.

A joint warms by its resistance and the current through it, a leak by its conductance and the volts
across it. Both are solved with the loads as described, and again with something in everyday use
beyond it; loads draw as they do in the sound circuit. A leak that parts a device has grown: it was
as hot as that device let it be.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfsplit.diagnosis.encoded import Encoded
from halfsplit.diagnosis.predict import supply_pair
from halfsplit.diagnosis.scene import Scene, seen_through
from halfsplit.diagnosis.standing import loading
from halfsplit.network import I, V
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Added, Bridged, Effect
from halfsplit.wiring.plan import Plan, Spot

Real = NDArray[np.float64]
Array = NDArray[np.complex128]
Rows = NDArray[np.intp]
# W that are used now and then where nothing as large is described: a kettle or a fan heater at an
# outlet, as far as the circuit's device carries it for long; lamps at a light. Common practice.
OUTLET_WATTS, LIGHT_WATTS = 2000.0, 150.0
CARRIES = 0.8  # of a device's rating, for hours, or of its residual current: common practice
SINGULAR = 1e-10  # of a determinant whose rows have been scaled
LIGHTS = ("light", "switch")


@dataclass(frozen=True, slots=True)
class Uses:
    """What may be in use: ``ports`` (S,) places in the scene's view, ``siemens`` (S,) more."""

    scene: Scene
    ports: Rows
    siemens: Real


def everyday(scene: Scene) -> Uses:
    """Something in use at each place that has a supply, beyond what draws there as described."""
    plan, drawn = scene.plan, _drawn(scene)
    found: dict[V, float] = {}
    for spot in plan.spots:
        pair = supply_pair(plan, spot.name) if spot.circuit else None
        more = _watts(plan, spot) - drawn.get(spot.name, 0.0)
        if pair is not None and more > 0 and _may_be_used(scene.conditions, spot):
            found[V(*pair)] = more / plan.volts**2
    scene = seen_through(scene, list(found))
    here = [port for port in found if port in scene.index]
    return Uses(
        scene,
        np.array([scene.index[port] for port in here], dtype=np.intp),
        np.array([found[port] for port in here]),
    )


def _drawn(scene: Scene) -> dict[str, float]:
    """Watts that the described loads draw at each place."""
    found: dict[str, float] = {}
    for load in scene.lowered.loads:
        found[load.place] = found.get(load.place, 0.0) + load.watts
    return found


def _watts(plan: Plan, spot: Spot) -> float:
    if spot.kind in LIGHTS:
        return LIGHT_WATTS
    ratings = [w.amps for w in plan.ways if spot.circuit in w.covers and w.amps > 0]
    return min([OUTLET_WATTS, *(CARRIES * amps * plan.volts for amps in ratings)])


def _may_be_used(conditions: Conditions, spot: Spot) -> bool:
    live = conditions.energised and not conditions.dead
    return live and not {"all", spot.name} & set(conditions.unplugged)


def lost(
    uses: Uses,
    rows: Encoded,
    effects: Sequence[Sequence[Effect]],
    places: Sequence[Sequence[str]],
    parted: NDArray[np.bool_],
) -> Real:
    """(H,) the most that each row's fault turns to heat at one of its resistances or leaks, W.

    ``effects`` and ``places`` are the fault's own, ``parted`` (H, W) the devices that have opened.
    In use is the place whose use the fault carries most of.
    """
    which = _counted(uses.scene, rows, effects, places)
    found = np.zeros(len(rows))
    some, holds = which.any(axis=1), _holds(uses.scene, parted)
    for k in np.unique(rows.count[some]):  # few touch much
        here = np.flatnonzero(some & (rows.count == k))
        mine, seen = which[here, :k], _Loaded(uses.scene, rows.part(here).first(int(k)))
        watts = seen.losses()
        if uses.ports.size:
            carried = np.abs(seen.towards(uses.ports)[seen.at]) * mine[:, :, None]
            best = np.argmax(carried.max(axis=1), axis=1)
            watts = np.maximum(watts, seen.losses(uses.ports[best], uses.siemens[best]))
        watts = np.minimum(watts, seen.let(holds[here]))
        found[here] = np.where(mine, watts, 0.0).max(axis=1)
    return found


def _holds(scene: Scene, parted: NDArray[np.bool_]) -> Real:
    """(H,) amperes that the devices which have opened let through for long; no limit of none."""
    amps = [CARRIES * (way.residual_amps or way.amps) for way in scene.ways]
    found: Real = np.where(parted, amps, np.inf).min(axis=1, initial=np.inf)
    return found


def _counted(
    scene: Scene,
    rows: Encoded,
    effects: Sequence[Sequence[Effect]],
    places: Sequence[Sequence[str]],
) -> NDArray[np.bool_]:
    """(H, k) touches whose loss is heat at the fault: its own resistances, and its leaks.

    A bridge beside something parted is the way that current takes instead: it warms the fault only
    where both its ends are.
    """
    found = np.zeros(rows.batch.touch.shape, dtype=np.bool_)
    for h, (own, mine) in enumerate(zip(effects, places, strict=True)):
        parts = any(isinstance(e, Added) for e in own)
        for effect in own:
            if isinstance(effect, Added) and math.isfinite(effect.ohms):
                functional: I | V = I(effect.element)
            elif isinstance(effect, Bridged) and (not parts or _within(effect, mine)):
                functional = V(effect.a, effect.b)
            else:
                continue
            if functional in scene.index:
                here = rows.batch.touch[h, : rows.count[h]] == scene.index[functional]
                found[h, : rows.count[h]] |= here
    return found


def _within(bridge: Bridged, places: Sequence[str]) -> bool:
    return {end.rpartition(".")[0] for end in (bridge.a, bridge.b)} <= set(places)


class _Loaded:
    """The rows' touches as seen with the loads drawing as they do in the sound circuit."""

    def __init__(self, scene: Scene, rows: Encoded) -> None:
        self.scene, self.rows, view = scene, rows, scene.view
        self.touch = rows.batch.touch
        self.used, inverse_ = np.unique(self.touch, return_inverse=True)
        self.at = inverse_.reshape(self.touch.shape)
        ports, rest = scene.ports, scene.rest
        self.to = view.block(self.used, ports)
        Z = view.block(ports, ports)[None].astype(np.complex128)
        self.load = loading(scene.law, Z, rest.v, rest.i)[0] if ports.size else np.zeros((0, 0))
        self.f: Array = view.f0[self.used] - (self.to @ rest.i[0] if ports.size else 0)
        self.own: Array = view.at(self.touch[:, :, None], self.touch[:, None, :]) - np.einsum(
            "hip,hjp->hij", (self.to @ self.load)[self.at], self.to[self.at]
        )

    def towards(self, ports: Rows) -> Array:
        """(U, S): what one more ampere drawn at each port moves at all that is touched."""
        view = self.scene.view
        back = view.block(self.scene.ports, ports)
        return np.asarray(view.block(self.used, ports) - self.to @ (self.load @ back))

    def let(self, amps: Real) -> Real:
        """(H, k) watts of a leak, at the volts it has while small, that carries ``amps`` (H,)."""
        leak = np.array([isinstance(g, V) for g in self.scene.view.functionals])[self.touch]
        with np.errstate(invalid="ignore"):
            most = np.abs(self.f[self.at]) * amps[:, None]
        return np.where(leak & np.isfinite(amps)[:, None], most, np.inf)

    def losses(self, port: Rows | None = None, siemens: Real | None = None) -> Real:
        """(H, k) watts lost at each touch, with ``siemens`` (H,) more at ``port`` (H,)."""
        batch = self.rows.batch
        f, G = self.f[self.at], self.own
        if port is not None and siemens is not None:
            ports, which = np.unique(port, return_inverse=True)
            view, back = self.scene.view, self.scene.view.block(self.scene.ports, ports)
            b = self.towards(ports)[self.at, which[:, None]]
            z = (view.at(ports, ports) - (back * (self.load @ back)).sum(axis=0))[which]
            rest = self.scene.rest.i[0]
            v = (view.f0[ports] - (rest @ back if rest.size else 0))[which]
            y = siemens / (1 + siemens * z)
            f = f - b * (y * v)[:, None]
            G = G - y[:, None, None] * b[:, :, None] * b[:, None, :]
        emf = np.zeros(f.shape) if batch.emf is None else batch.emf
        K = batch.beta[:, :, None] * G
        every = np.arange(K.shape[1])
        K[:, every, every] += batch.alpha
        right = batch.beta * (f - np.einsum("hij,hj->hi", G, emf))
        moved = _solved(K, right) + emf
        after = f - np.einsum("hij,hj->hi", G, moved)
        return np.asarray(np.abs(np.real(moved * np.conj(after))))


def _solved(K: Array, right: Array) -> Array:
    """(H, k) the currents and volts added; the least of them where two touches are one (singular).

    Rows of K are in ohm, siemens or neither: each is scaled by itself.
    """
    size = np.abs(K).max(axis=2, initial=0.0)
    size = np.where(size > 0, size, 1.0)
    K, right = K / size[:, :, None], right / size
    twice = np.abs(np.linalg.det(K)) < SINGULAR
    found = np.empty(right.shape, dtype=np.complex128)
    found[~twice] = np.linalg.solve(K[~twice], right[~twice, :, None])[..., 0]
    least = np.linalg.pinv(K[twice], rcond=SINGULAR)
    found[twice] = np.einsum("hij,hj->hi", least, right[twice])
    return found
