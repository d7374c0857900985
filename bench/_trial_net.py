"""The circuit as it truly stands: parts, conditions, what is wrong, what has parted.

An open conductor is taken out, a tired joint has its ohms, a solid short is a good contact. Written
from the words of the conditions and the effects, beside the program's lowering.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field, replace

from bench._trial_parts import Parts, Shunt, Wire
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import (
    Added,
    Bridged,
    Effect,
    LoadChange,
    Scaled,
    StateChange,
)
from halfsplit.wiring.plan import Element, LoadPort, Plan

SOLID_OHMS = 2e-3  # two conductors under one screw
LINK_OHMS = 1e-3


@dataclass(frozen=True, slots=True)
class Draw:
    """Something that draws by a law, between two nodes."""

    id: str
    a: str
    b: str
    kind: str
    watts: float
    rated: float


@dataclass(slots=True)
class Net:
    """Everything between the nodes, at ``hertz`` (0 on a dead test)."""

    hertz: float
    wires: list[Wire] = field(default_factory=list)
    shunts: list[Shunt] = field(default_factory=list)
    draws: list[Draw] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Wrong:
    """What is truly wrong: effects, and for each core or cable where along it (0 to 1)."""

    effects: tuple[Effect, ...] = ()
    along: float = 0.5

    def states(self) -> dict[str, str]:
        """By control, the state in which it really stands."""
        return {e.control: e.state for e in self.effects if isinstance(e, StateChange)}


def assemble(
    parts: Parts, wrong: Wrong, conditions: Conditions, parted: Collection[str] = ()
) -> Net:
    """The circuit in ``conditions``; ``parted`` are poles that have opened by themselves."""
    plan = parts.plan
    net = Net(0.0 if conditions.dead else plan.hertz)
    states = wrong.states()
    asleep = conditions.dead or not conditions.energised
    for element in plan.elements:
        if element.id in parted or not _closed(plan, element, conditions, states):
            continue
        net.wires += _with(parts.wires[element.id], element, wrong, asleep)
    for k, (a, b) in enumerate(conditions.links):
        net.wires.append(Wire(f"link {k}", a, b, LINK_OHMS))
    net.shunts += parts.shunts
    for effect in wrong.effects:
        if isinstance(effect, Bridged) and _there(effect, conditions):
            net.shunts.append(_bridge(effect))
    net.draws += _draws(parts, wrong, conditions)
    for load in plan.loads:
        if conditions.warm and load.warm_ohms and load.frame:
            net.shunts.append(Shunt(load.a, load.frame, 1 / load.warm_ohms))
    if conditions.dead:
        net.shunts = [replace(s, farads=0.0) for s in net.shunts]
    return net


def _with(wires: Sequence[Wire], element: Element, wrong: Wrong, asleep: bool) -> Iterator[Wire]:
    """An element's wires with what was added to it, a core's somewhere along the way."""
    more = math.fsum(
        e.ohms for e in wrong.effects if isinstance(e, Added) and e.element == element.id
    )
    scale = math.prod(
        e.factor for e in wrong.effects if isinstance(e, Scaled) and e.element == element.id
    )
    where = min(int(wrong.along * len(wires)), len(wires) - 1)
    for k, wire in enumerate(wires):
        if k == where and math.isinf(more):
            continue
        ohms = wire.ohms + (more if k == where else 0.0)
        yield replace(wire, ohms=ohms, emf=0j if asleep else wire.emf * scale)


def _there(effect: Bridged, conditions: Conditions) -> bool:
    """Damp dries and an element cools: some paths are there in the wet or the warm alone."""
    return {"wet": conditions.wet, "warm": conditions.warm}.get(effect.when, True)


def _bridge(effect: Bridged) -> Shunt:
    siemens = 1 / SOLID_OHMS if math.isinf(effect.siemens) else effect.siemens
    return Shunt(effect.a, effect.b, siemens, effect.farads)


def _closed(plan: Plan, element: Element, conditions: Conditions, states: dict[str, str]) -> bool:
    if element.id in conditions.lifted:
        return False
    if element.kind == "flex":
        return _flexed(plan, element, conditions)
    if not element.control:
        return element.closed or element.kind != "bond"
    if element.kind == "switch":
        set_to = states.get(element.control, dict(conditions.positions).get(element.control))
        return element.closed if set_to is None else set_to in element.closed_in
    if element.control in conditions.on:
        return True
    if states.get(element.control) == "open" or element.control in conditions.off:
        return False
    boards = {spot.name for spot in plan.spots if spot.kind == "board"}
    if conditions.dead and element.at[0] in boards:
        return False
    return element.closed


def _flexed(plan: Plan, element: Element, conditions: Conditions) -> bool:
    """Whether an appliance's core reaches it: its plug is in, its own switch is not before it."""
    load = next(x for x in plan.loads if x.id == element.control.removeprefix("plug "))
    filtered = any(c.kind == "filter" and c.owner == load.id for c in plan.couplings)
    off = not load.on and load.id not in conditions.plugged
    if off and element.b == load.a and not filtered:
        return False
    return _plugged(load, conditions)


def _plugged(load: LoadPort, conditions: Conditions) -> bool:
    if load.id in conditions.plugged:
        return True
    named = {load.id, load.place, "all"}
    return load.connected and named.isdisjoint(conditions.unplugged)


def _draws(parts: Parts, wrong: Wrong, conditions: Conditions) -> Iterator[Draw]:
    changed = {e.load: e for e in wrong.effects if isinstance(e, LoadChange)}
    for load in parts.plan.loads:
        wanted = load.on or load.id in conditions.plugged
        if not (wanted and _plugged(load, conditions)):
            continue
        kind, watts = load.kind, parts.watts[load.id]
        if load.id in changed:
            kind, watts = changed[load.id].kind, changed[load.id].watts
        if kind and kind != "nothing":
            yield Draw(load.id, load.a, load.b, kind, watts, load.rated_volts)
    for place, kind, watts in conditions.added:
        spot = next(s for s in parts.plan.spots if s.name == place)
        line = next(key for key in ("L", "L1", "SL", "L2") if key in spot.conductors)
        part = ":front" if spot.front else ""
        yield Draw(f"added {place}", f"{place}.{line}{part}", f"{place}.N{part}", kind, watts,
                   parts.plan.volts)  # fmt: skip
