"""The oracles' own reading of a plan: which parts are really there, with the faults really made.

Written from the words of the plan, the conditions and the effects, beside and not through the
program's lowering, and without its solver: an open conductor is taken out, a tired joint has its
ohms, two conductors in solid contact are one node. Ohm, henry, siemens, farad, volt r.m.s.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field

from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Added, Bridged, Effect, Scaled, StateChange
from halfsplit.wiring.plan import Element, LoadPort, Plan

GROUND = "earth"
TEMPORARY_LINK_OHMS = 0.001


@dataclass(frozen=True)
class Wire:
    """A conductor from ``a`` to ``b``; ``emf`` lifts ``b`` above ``a``."""

    name: str
    a: str
    b: str
    ohms: float
    henry: float
    emf: complex


@dataclass(frozen=True)
class Leak:
    """What passes between two nodes beside the conductors."""

    a: str
    b: str
    siemens: float
    farads: float


@dataclass(frozen=True)
class Drawing:
    """A load that draws: kind, watts at rated volts."""

    name: str
    a: str
    b: str
    kind: str
    watts: float
    rated: float


@dataclass
class Circuit:
    """Everything between the nodes at ``hertz`` (0 on a dead test); nodes in contact are one."""

    hertz: float
    wires: list[Wire] = field(default_factory=list)
    leaks: list[Leak] = field(default_factory=list)
    loads: list[Drawing] = field(default_factory=list)
    contacts: dict[str, str] = field(default_factory=dict)

    def at(self, node: str) -> str:
        """The name of the node that ``node`` is in solid contact with."""
        while node in self.contacts:
            node = self.contacts[node]
        return node

    def touch(self, a: str, b: str) -> None:
        """Solid contact; true earth keeps its name."""
        a, b = self.at(a), self.at(b)
        if a == GROUND:
            a, b = b, a
        if a != b:
            self.contacts[a] = b

    def nodes(self) -> list[str]:
        """Every node's own name, true earth left out, in a fixed order."""
        parts: list[Wire | Leak | Drawing] = [*self.wires, *self.leaks, *self.loads]
        names = dict.fromkeys(self.at(n) for part in parts for n in (part.a, part.b))
        names.pop(GROUND, None)
        return list(names)


def plugged_in(load: str, described: bool, conditions: Conditions) -> bool:
    """Whether an appliance's plug is in."""
    if load in conditions.plugged:
        return True
    named = {load, load.split("/")[0], "all"}
    return described and named.isdisjoint(conditions.unplugged)


def stands_closed(
    plan: Plan, element: Element, conditions: Conditions, states: dict[str, str]
) -> bool:
    """Whether a conductor is there at all: lifted, switched off, unplugged or not certain."""
    if element.id in conditions.lifted:
        return False
    if element.kind == "flex":
        return plugged_in(element.control.removeprefix("plug "), element.closed, conditions)
    if not element.control:
        return element.closed or element.kind != "bond"
    if element.kind == "switch":
        set_to = dict(conditions.positions).get(element.control, states.get(element.control))
        return element.closed if set_to is None else set_to in element.closed_in
    if element.control in conditions.on:
        return True
    if element.control in states:
        return states[element.control] in ("closed", "on")
    boards = {spot.name for spot in plan.spots if spot.kind == "board"}
    isolated = conditions.dead and element.at[0] in boards
    return element.closed and not isolated and element.control not in conditions.off


def make(
    plan: Plan,
    conditions: Conditions,
    effects: Sequence[Effect] = (),
    parted: Collection[str] = (),
) -> Circuit:
    """The circuit in ``conditions`` with ``effects`` made; ``parted`` poles have opened."""
    circuit = Circuit(0.0 if conditions.dead else plan.hertz)
    states = {e.control: e.state for e in effects if isinstance(e, StateChange)}
    for element in plan.elements:
        if element.id in parted or not stands_closed(plan, element, conditions, states):
            continue
        more = [e.ohms for e in effects if isinstance(e, Added) and e.element == element.id]
        if math.inf in more:
            continue
        scale = [e.factor for e in effects if isinstance(e, Scaled) and e.element == element.id]
        gives = not conditions.dead and (conditions.energised or _alone(element))
        emf = element.emf * math.prod(scale) if gives else 0j
        ohms = element.ohms + math.fsum(more)
        circuit.wires.append(Wire(element.id, element.a, element.b, ohms, element.henry, emf))
    for k, (a, b) in enumerate(conditions.links):
        circuit.wires.append(Wire(f"link {k}", a, b, TEMPORARY_LINK_OHMS, 0.0, 0j))
    circuit.leaks += [Leak(c.a, c.b, c.siemens, c.farads) for c in plan.couplings]
    for effect in effects:
        if isinstance(effect, Bridged) and math.isinf(effect.siemens):
            circuit.touch(effect.a, effect.b)
        elif isinstance(effect, Bridged):
            circuit.leaks.append(Leak(effect.a, effect.b, effect.siemens, effect.farads))
    circuit.loads += [_drawing(load) for load in plan.loads if _draws(load, conditions)]
    return circuit


def _alone(element: Element) -> bool:
    """Whether a source needs no supply: it stands at a board, tied to no main switch."""
    return element.at != ("source",) and not element.control


def _draws(load: LoadPort, conditions: Conditions) -> bool:
    wanted = load.on or load.id in conditions.plugged
    return wanted and plugged_in(load.id, load.connected, conditions)


def _drawing(load: LoadPort) -> Drawing:
    return Drawing(load.id, load.a, load.b, load.kind, load.watts, load.rated_volts)
