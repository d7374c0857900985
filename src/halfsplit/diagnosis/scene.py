"""One set of conditions, factorised once and seen through everything the readings and faults touch.

The fixed order of the functionals (load ports, reading ports, device poles, nuisances, touches)
is what the rest of the floor counts on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halfsplit.behaviour import laws
from halfsplit.diagnosis.touches import Touches
from halfsplit.network import (
    Factored,
    Functional,
    I,
    Law,
    Settled,
    Shunt,
    V,
    View,
    factorise,
    settle,
)
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Effect
from halfsplit.wiring.lower import Lowered, lower
from halfsplit.wiring.plan import Plan, Way

UNKNOWN_LOAD = "electronics"  # the law of a load whose kind was not said


@dataclass(frozen=True, slots=True)
class Scene:
    """A set of conditions with its factorisation, view and load laws.

    ``index`` places every functional in the view; ``ports`` are the load ports' places, ``law``
    their laws less ``resting`` (P,) siemens, which stand in the network itself, ``rest`` (P,) the
    complex volts and amperes (less the same) of the sound circuit's loads.
    """

    plan: Plan
    conditions: Conditions
    lowered: Lowered
    factored: Factored
    view: View
    index: dict[Functional, int]
    ports: NDArray[np.intp]
    law: tuple[Law, ...]
    rest: Settled
    resting: NDArray[np.float64]
    ways: tuple[Way, ...]

    @property
    def dead(self) -> bool:
        """Whether it is a dead test: 0 Hz, the instrument is the source."""
        return self.conditions.dead


def kept_laws(lowered: Lowered) -> tuple[Law, ...]:
    """The law of each load that acts here: at supply frequency, or at 0 Hz for a dead test."""
    kept: list[Law] = []
    for load in lowered.loads:
        kind = load.kind or UNKNOWN_LOAD
        if lowered.conditions.dead:
            kept.append(laws.dead_law(kind, load.watts, load.rated_volts))
        else:
            kept.append(laws.law(kind, load.watts, load.rated_volts, lowered.omega))
    return tuple(kept)


@dataclass(frozen=True, slots=True)
class Less:
    """A load's law less what already stands in the network for it, ``siemens``."""

    law: Law
    siemens: float

    def admittance(self, vmag: NDArray[np.float64]) -> tuple[Any, Any]:
        """The rest of its admittance, and the same slope."""
        y, slope = self.law.admittance(vmag)
        return np.asarray(y) - self.siemens, slope


def with_loads(lowered: Lowered) -> tuple[Lowered, tuple[Law, ...], NDArray[np.float64]]:
    """The network with each load's resting conductance in it, and what is left of the laws.

    A dead circuit is held by leakage alone, at 1e12 ohm; a load of a few ohms hung on that from
    outside would be a small difference of large numbers. In the network it is a branch like any
    other, and only what the law adds to it stays on the port.
    """
    laws_kept = kept_laws(lowered)
    resting = []
    for load, law in zip(lowered.loads, laws_kept, strict=True):
        size = np.array([0.0 if lowered.conditions.dead else load.rated_volts])
        resting.append(max(float(np.real(law.admittance(size)[0])[0]), 0.0))
    shunts = tuple(
        Shunt(f"load {load.id}", load.a, load.b, g)
        for load, g in zip(lowered.loads, resting, strict=True)
    )
    network = replace(lowered.network, shunts=(*lowered.network.shunts, *shunts))
    left = tuple(Less(law, g) for law, g in zip(laws_kept, resting, strict=True))
    return replace(lowered, network=network), left, np.array(resting)


def build_scene(
    plan: Plan,
    conditions: Conditions,
    wanted: Sequence[Functional],
    effects: Sequence[Sequence[Effect]],
) -> tuple[Scene, Touches]:
    """Lower, factorise and view the plan in ``conditions``.

    ``wanted`` are functionals that will be read (those of elements open here are left out);
    ``effects`` those of every hypothesis, whose touches must be in the view.
    """
    lowered, law, resting = with_loads(lower(plan, conditions))
    touches = Touches(plan, lowered)
    factored = factorise(lowered.network, lowered.omega)
    order: dict[Functional, None] = {}
    for load in lowered.loads:
        order[V(load.a, load.b)] = None
    present = set(factored.branch_index)
    ways = tuple(w for w in plan.ways if any(p in present for p in w.poles))
    for functional in wanted:
        if not isinstance(functional, I) or functional.branch in present:
            order[functional] = None
    for way in ways:
        for pole in (*way.senses, *way.poles):
            if pole in present:
                order[I(pole)] = None
    for row in effects:
        for effect in row:
            for touch in touches.of(effect):
                order[touch.functional] = None
    view = factored.view(tuple(order))
    index = {functional: k for k, functional in enumerate(order)}
    ports = np.array([index[V(x.a, x.b)] for x in lowered.loads], dtype=np.intp)
    voc, Z = view.f0[ports][None, :], view.block(ports, ports)[None]
    rest = settle(voc, Z, law) if law else Settled(voc, voc, np.ones(1, dtype=np.bool_))
    tripping = () if conditions.dead or not conditions.energised else ways
    scene = Scene(
        plan, conditions, lowered, factored, view, index, ports, law, rest, resting, tripping
    )
    return scene, touches


def seen_through(scene: Scene, wanted: Sequence[Functional]) -> Scene:
    """The scene with further functionals in its view, at no new factorisation.

    Those of elements that stand open, or of nodes that do not exist here, are left out.
    """
    known = scene.factored
    new: list[Functional] = []
    for functional in dict.fromkeys(wanted):
        if functional in scene.index:
            continue
        if isinstance(functional, I):
            if functional.branch in known.branch_index:
                new.append(functional)
        elif {functional.a, functional.b} <= known.node_index.keys():
            new.append(functional)
    if not new:
        return scene
    view = known.extend(scene.view, new)
    start = len(scene.view.functionals)
    index = {**scene.index, **{g: start + k for k, g in enumerate(new)}}
    return replace(scene, view=view, index=index)
