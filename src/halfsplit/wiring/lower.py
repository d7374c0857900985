"""A plan in given conditions becomes a network: what is open is left out, what is linked is in.

The wiring is linear; what is not (lamps, electronics, bodies) is left as kept ports. Live, the
frequency is the supply's. Dead, it is 0 Hz, the sources give nothing, every way stands open
unless the conditions say otherwise, and the instrument itself is the source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfsplit.network import Branch, Network, Shunt
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.layout import LINK_OHMS
from halfsplit.wiring.plan import EARTH, Element, LoadPort, Plan, node


@dataclass(frozen=True, slots=True)
class Lowered:
    """A network at ``omega`` rad/s with its load ports, and which elements stand open in it."""

    network: Network
    omega: float
    loads: tuple[LoadPort, ...]
    open: frozenset[str]
    conditions: Conditions


def lower(plan: Plan, conditions: Conditions) -> Lowered:
    """The network of ``plan`` in ``conditions``; elements keep their ids as branch names."""
    dead = conditions.dead
    opened = frozenset(e.id for e in plan.elements if _stands_open(plan, e, conditions))
    branches = [
        Branch(e.id, e.a, e.b, e.ohms, e.henry, 0j if dead or _stopped(e, conditions) else e.emf)
        for e in plan.elements
        if e.id not in opened
    ]
    for k, (a, b) in enumerate(conditions.links):
        branches.append(Branch(f"link {k}", a, b, LINK_OHMS))
    shunts = [Shunt(c.id, c.a, c.b, c.siemens, 0.0 if dead else c.farads) for c in plan.couplings]
    shunts += [
        Shunt(f"warm {x.id}", x.a, x.frame, 1 / x.warm_ohms)
        for x in plan.loads
        if conditions.warm and x.warm_ohms and x.frame
    ]
    loads = tuple(load for load in plan.loads if _drawing(load, conditions))
    loads += tuple(_added(plan, *added) for added in conditions.added)
    omega = 0.0 if dead else 2 * math.pi * plan.hertz
    return Lowered(Network(EARTH, tuple(branches), tuple(shunts)), omega, loads, opened, conditions)


def _stopped(element: Element, conditions: Conditions) -> bool:
    """Whether a source gives nothing for want of the supply: the supply itself, or what follows."""
    return not conditions.energised and (element.at == ("source",) or bool(element.control))


def _added(plan: Plan, place: str, kind: str, watts: float) -> LoadPort:
    """A lamp or load put in at a place for the test, from line to neutral."""
    spot = next(s for s in plan.spots if s.name == place)
    line = next(key for key in ("L", "L1", "SL", "L2") if key in spot.conductors)
    part = "front" if spot.front else ""
    a, b = node(place, line, part), node(place, "N", part)
    return LoadPort(
        f"added {place} {kind}",
        place,
        a,
        b,
        "",
        kind,
        watts,
        0.0,
        plan.volts,
        True,
        True,
        spot.circuit,
    )


def _stands_open(plan: Plan, element: Element, conditions: Conditions) -> bool:
    """Whether an element is open in these conditions, before any fault."""
    if element.id in conditions.lifted or (not element.closed and element.kind == "bond"):
        return True
    if not element.control:
        return False
    control = element.control
    if control.startswith("plug "):
        if _switched_off(plan, element, conditions):
            return True
        return not _connected(plan, control[5:], element.closed, conditions)
    if element.kind == "switch":
        for name, position in conditions.positions:
            if name == control:
                return position not in element.closed_in
        return not element.closed
    if control in conditions.on:
        return False
    if control in conditions.off or (conditions.dead and _at_board(plan, element)):
        return True
    return not element.closed


def _at_board(plan: Plan, element: Element) -> bool:
    """Whether a pole belongs to a board, which is isolated for a dead test, not to a point."""
    return any(spot.name == element.at[0] and spot.kind == "board" for spot in plan.spots)


def _switched_off(plan: Plan, flex: Element, conditions: Conditions) -> bool:
    """Whether a flex's line core ends at an appliance's own switch that stands off.

    A mains filter sits before the switch, so what has one stays on the line.
    """
    filtered = {c.owner for c in plan.couplings if c.kind == "filter"}
    return any(
        flex.b == load.a
        and not load.on
        and load.id not in filtered
        and load.id not in conditions.plugged
        for load in plan.loads
    )


def _connected(plan: Plan, load: str, connected: bool, conditions: Conditions) -> bool:
    if load in conditions.plugged:
        return True
    place = load.split("/", 1)[0]
    if {load, place, "all"} & set(conditions.unplugged):
        return False
    return connected


def _drawing(load: LoadPort, conditions: Conditions) -> bool:
    """Whether a load's law acts: connected and switched on."""
    if not load.on and load.id not in conditions.plugged:
        return False
    plugged = {load.id, load.place, "all"} & set(conditions.unplugged)
    return load.id in conditions.plugged or (load.connected and not plugged)
