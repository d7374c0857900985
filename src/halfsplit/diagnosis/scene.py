"""One set of conditions, factorised once and seen through everything the readings and faults touch.

The fixed order of the functionals (load ports, reading ports, device poles, nuisances, touches)
is what the rest of the floor counts on.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halfsplit.behaviour import laws
from halfsplit.network import (
    Batch,
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
from halfsplit.wiring.effects import (
    Added,
    Bridged,
    Effect,
    LoadChange,
    Scaled,
    StateChange,
)
from halfsplit.wiring.lower import Lowered, lower
from halfsplit.wiring.plan import Element, Plan, Way

OPEN_STATES = ("open", "off", "tripped", "off or tripped")
UNKNOWN_LOAD = "electronics"  # the law of a load whose kind was not said


@dataclass(frozen=True, slots=True)
class Touch:
    """One change as the solver takes it: a functional, its stiffness, an added e.m.f."""

    functional: Functional
    alpha: complex
    beta: complex
    emf: complex = 0j


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


def _stiffness(value: complex) -> tuple[complex, complex]:
    """One number's (alpha, beta), as ``network.changes`` has it for arrays: value = beta/alpha."""
    if math.isinf(abs(value)):
        return 0j, 1 + 0j
    return (1 / value, 1 + 0j) if abs(value) > 1.0 else (1 + 0j, value + 0j)


class Touches:
    """Turns effects into touches in one set of conditions; remembers what it has turned."""

    def __init__(self, plan: Plan, lowered: Lowered) -> None:
        self._elements = {e.id: e for e in plan.elements}
        self._controls: dict[str, list[Element]] = {}
        for element in plan.elements:
            if element.control:
                self._controls.setdefault(element.control, []).append(element)
        self._present = {b.name for b in lowered.network.branches}
        self._loads = {load.id: load for load in plan.loads}
        self._fixed = {name for name, _ in lowered.conditions.positions}
        self._fixed |= set(lowered.conditions.on)
        self._lowered = lowered
        flexes = [e for e in plan.elements if e.kind == "flex"]
        plugged = {e.control for e in flexes if e.id not in lowered.open}
        self._unplugged = {e.control for e in flexes} - plugged
        self._omega = lowered.omega
        self._known: dict[Effect, tuple[Touch, ...]] = {}

    def of(self, effect: Effect) -> tuple[Touch, ...]:
        """The touches of one effect; none where it cannot be felt in these conditions."""
        found = self._known.get(effect)
        if found is None:
            found = self._known[effect] = tuple(self._turn(effect))
        return found

    def all(self, effects: Sequence[Effect]) -> list[Touch]:
        """The touches of several effects together."""
        return [touch for effect in effects for touch in self.of(effect)]

    def series(self, element: str, ohms: float) -> list[Touch]:
        """Resistance added to an element that conducts here."""
        if element not in self._present:
            return []
        alpha, beta = _stiffness(ohms)
        return [Touch(I(element), -alpha, beta)]

    def bridge(self, a: str, b: str, siemens: float, farads: float = 0.0) -> list[Touch]:
        """Admittance added between two nodes."""
        if self._apart(a) != self._apart(b):
            return []  # the load's own end of a bridge went with its plug
        infinite = math.isinf(siemens)
        y = complex(math.inf) if infinite else siemens + 1j * self._omega * farads
        if y == 0 or a == b:
            return []
        return [Touch(V(a, b), *_stiffness(y))]

    def _apart(self, node: str) -> str:
        """The load a node belongs to, when that load is unplugged here; "" otherwise."""
        load = node.rpartition(":")[0]
        if load not in self._loads:
            return ""
        return load if f"plug {load}" in self._unplugged else ""

    def _turn(self, effect: Effect) -> list[Touch]:
        if isinstance(effect, Added):
            return self.series(effect.element, effect.ohms)
        if isinstance(effect, Bridged):
            return self.bridge(effect.a, effect.b, effect.siemens, effect.farads)
        if isinstance(effect, Scaled):
            return self._scale(effect)
        if isinstance(effect, LoadChange):
            return self._load(effect)
        if isinstance(effect, StateChange):
            return self._state(effect)
        return []

    def _scale(self, effect: Scaled) -> list[Touch]:
        if self._lowered.conditions.dead or effect.element not in self._present:
            return []
        emf = self._elements[effect.element].emf * (effect.factor - 1)
        return [Touch(I(effect.element), -1 + 0j, 0j, emf)]

    def _load(self, effect: LoadChange) -> list[Touch]:
        load = self._loads[effect.load]
        if effect.kind:
            return self.bridge(load.a, load.b, effect.watts / load.rated_volts**2)
        flexes = [e.id for e in self._elements.values() if e.kind == "flex" and e.b == load.a]
        return [touch for flex in flexes for touch in self.series(flex, math.inf)]

    def _state(self, effect: StateChange) -> list[Touch]:
        if effect.control in self._fixed:
            return []
        found: list[Touch] = []
        for element in self._controls.get(effect.control, ()):
            if element.kind == "switch":
                closes = effect.state in element.closed_in
            elif effect.state in OPEN_STATES:
                closes = False
            elif effect.state in ("closed", "on"):
                closes = True
            else:
                continue
            if not closes:
                found += self.series(element.id, math.inf)
            elif element.id not in self._present:
                found += self.bridge(element.a, element.b, math.inf)
        return found


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
    voc, Z = view.f0[ports][None, :], view.G[np.ix_(ports, ports)][None]
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


@dataclass(frozen=True, slots=True)
class Encoded:
    """Rows of touches as the solver takes them.

    ``batch`` (H, k) padded with no-ops; ``count`` (H,) touches of each row; ``grows`` (H, k) is 1
    where a finite series resistance, -1 where a finite admittance scales with the severity, and
    ``extra`` (H, k) marks what belongs to a load nobody mentioned.
    """

    batch: Batch
    count: NDArray[np.intp]
    grows: NDArray[np.int8]
    extra: NDArray[np.bool_]

    def __len__(self) -> int:
        return int(self.count.shape[0])

    def part(self, rows: NDArray[np.intp], size: NDArray[np.float64] | None = None) -> Encoded:
        """Some rows, each with its severity (in ohms) multiplied by its ``size``."""
        batch, grows = self.batch.part(rows), self.grows[rows]
        if size is not None:
            # D = alpha/beta is -1/R for a series resistance and 1/y for an admittance.
            alpha = batch.alpha * size[:, None] ** -grows.astype(np.float64)
            batch = replace(batch, alpha=alpha)
        return Encoded(batch, self.count[rows], grows, self.extra[rows])

    def without(self, which: NDArray[np.bool_]) -> Encoded:
        """The same rows with some touches (H, k) made no-ops."""
        alpha = np.where(which, 1.0, self.batch.alpha)
        beta = np.where(which, 0.0, self.batch.beta)
        emf = None if self.batch.emf is None else np.where(which, 0.0, self.batch.emf)
        return replace(self, batch=Batch(self.batch.touch, alpha, beta, emf))

    def with_open(self, rows: NDArray[np.intp], open_at: Sequence[NDArray[np.intp]]) -> Encoded:
        """Some rows, each with further functionals (view indices) opened after its own touches."""
        part = self.part(rows)
        more = max(len(x) for x in open_at)
        wide = ((0, 0), (0, more))
        touch = np.pad(part.batch.touch, wide)
        alpha = np.pad(part.batch.alpha, wide, constant_values=1.0)
        beta = np.pad(part.batch.beta, wide)
        emf = np.pad(_or_zeros(part.batch), wide)
        count = part.count.copy()
        for h, places in enumerate(open_at):
            at = slice(int(count[h]), int(count[h]) + len(places))
            touch[h, at], alpha[h, at], beta[h, at] = places, 0.0, 1.0
            count[h] += len(places)
        grows, extra = np.pad(part.grows, wide), np.pad(part.extra, wide)
        return Encoded(Batch(touch, alpha, beta, emf if emf.any() else None), count, grows, extra)


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
    return Encoded(Batch(touch, alpha, beta, emf if emf.any() else None), count, grows, beyond)
