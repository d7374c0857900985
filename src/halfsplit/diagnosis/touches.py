"""Effects as the solver takes them: each a touch of one functional, in one set of conditions."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halfsplit.network import Functional, I, V
from halfsplit.wiring.effects import (
    Added,
    Bridged,
    Effect,
    LoadChange,
    Scaled,
    StateChange,
    felt,
)
from halfsplit.wiring.lower import Lowered
from halfsplit.wiring.plan import Element, Plan

OPEN_STATES = ("open", "off", "tripped", "off or tripped")


@dataclass(frozen=True, slots=True)
class Touch:
    """One change as the solver takes it: a functional, its stiffness, an added e.m.f."""

    functional: Functional
    alpha: complex
    beta: complex
    emf: complex = 0j


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
        if not felt(effect, self._lowered.conditions):
            return []
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
