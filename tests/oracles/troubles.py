"""Several faults for any plan, chosen by a seeded draw, in the program's own words for effects."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Added, Bridged, Effect, StateChange
from halfsplit.wiring.plan import Element, Plan


@dataclass(frozen=True)
class Trouble:
    """A fault by its name and effects."""

    name: str
    effects: tuple[Effect, ...]


SOUND = Trouble("sound", ())


def troubles(plan: Plan, seed: str) -> list[Trouble]:
    """Sound, opens, tired joints, shorts, leaks, crossed cores, double opens, opened devices."""
    draw = random.Random(seed)
    found = [SOUND]
    for key in ("L", "N", "E"):
        some = [e for e in plan.elements if e.kind == "joint" and e.conductor.startswith(key)]
        found.append(_added(draw.choice(some), math.inf))
    for kind in ("core", "pole", "service"):
        found.append(_added(draw.choice([e for e in plan.elements if e.kind == kind]), math.inf))
    for kind, ohms in (("joint", 1.7), ("joint", 40.0), ("core", 2.2e5), ("contact", 900.0)):
        some = [e for e in plan.elements if e.kind == kind]
        if some:
            found.append(_added(draw.choice(some), ohms))
    for siemens, farads in ((math.inf, 0.0), (0.8, 0.0), (2e-5, 8e-9), (1e-7, 0.0)):
        found.append(_bridged(plan, draw, siemens, farads))
    found += [_crossed(plan, draw) for _ in range(2)]
    found.append(_cut_off(plan, draw))
    found.append(_cut_twice(plan, draw))
    device = draw.choice([e.control for e in plan.elements if e.kind == "pole" and e.control])
    found.append(Trouble(f"{device} off", (StateChange(device, "open"),)))
    return found


def _added(element: Element, ohms: float) -> Trouble:
    return Trouble(f"{element.id} + {ohms:g} ohm", (Added(element.id, ohms),))


def _bridged(plan: Plan, draw: random.Random, siemens: float, farads: float) -> Trouble:
    spot = draw.choice([s for s in plan.spots if s.kind not in ("origin", "board")])
    a, b = draw.sample(spot.conductors, 2)
    effect = Bridged(f"{spot.name}.{a}", f"{spot.name}.{b}", siemens, farads)
    return Trouble(f"{spot.name} {a}-{b} {siemens:g} S", (effect,))


def landings(plan: Plan) -> list[tuple[Element, Element]]:
    """Pairs of joints of one run at one point: cores that could have been changed over."""
    at = [e for e in plan.elements if e.kind == "joint" and e.run]
    return [
        (p, q)
        for k, p in enumerate(at)
        for q in at[:k]
        if p.run == q.run and p.at == q.at and p.conductor != q.conductor
    ]


def _crossed(plan: Plan, draw: random.Random) -> Trouble:
    """Each of two cores on the other's terminal. A core's end is the node named after its run."""
    p, q = draw.choice(landings(plan))
    (end_p, terminal_p), (end_q, terminal_q) = (_sides(joint) for joint in (p, q))
    effects = (
        Added(p.id, math.inf),
        Added(q.id, math.inf),
        Bridged(end_p, terminal_q, math.inf),
        Bridged(end_q, terminal_p, math.inf),
    )
    return Trouble(f"{p.id} crossed with {q.conductor}", effects)


def _sides(joint: Element) -> tuple[str, str]:
    """(core's end, terminal) of a run's joint."""
    return (joint.a, joint.b) if joint.a.endswith(f":{joint.run}") else (joint.b, joint.a)


def _cut_off(plan: Plan, draw: random.Random) -> Trouble:
    """A core parted at both its ends, so that nothing but its insulation holds it."""
    core = draw.choice([e for e in plan.elements if e.kind == "core"])
    ends = [e for e in plan.elements if e.kind == "joint" and {e.a, e.b} & {core.a, core.b}]
    return Trouble(f"{core.id} cut off", tuple(Added(e.id, math.inf) for e in ends))


def _cut_twice(plan: Plan, draw: random.Random) -> Trouble:
    """Two joints of one circuit open on the same conductor, and damp beyond."""
    core = draw.choice([e for e in plan.elements if e.kind == "core"])
    same = [
        e
        for e in plan.elements
        if e.kind == "joint" and (e.circuit, e.conductor) == (core.circuit, core.conductor)
    ]
    one, two = draw.sample(same, 2)
    effects = (Added(one.id, math.inf), Added(two.id, math.inf), Bridged(one.b, "earth", 3e-7))
    return Trouble(f"{one.id} and {two.id} open, damp", effects)


LIVE = Conditions()
DEAD = Conditions(dead=True)


def other_conditions(plan: Plan, seed: str) -> dict[str, Conditions]:
    """Live and dead conditions that move what the plan lets be moved."""
    draw = random.Random(seed)
    switches = {e.control: e for e in plan.elements if e.kind == "switch"}
    turned = tuple(
        (name, e.closed_in[0] if not e.closed else "off") for name, e in switches.items()
    )
    devices = [w.name for w in plan.ways if w.circuit]
    mains = [w.name for w in plan.ways if not w.circuit]
    joint = draw.choice([e.id for e in plan.elements if e.kind == "joint" and e.run])
    spot = [s for s in plan.spots if s.kind not in ("origin", "board")][-1]
    link = (f"{spot.name}.{spot.conductors[0]}", f"{spot.name}.{spot.conductors[-1]}")
    load = draw.choice(plan.loads).id
    return {
        "switches turned": Conditions(positions=turned),
        "a device off": Conditions(off=(draw.choice(devices),)),
        "an appliance out": Conditions(unplugged=(load,)),
        "not energised": Conditions(energised=False),
        "a joint lifted": Conditions(lifted=(joint,)),
        "dead, linked, all out": Conditions(dead=True, links=(link,), unplugged=("all",)),
        "dead, supply still in": Conditions(dead=True, on=tuple(mains), unplugged=("all",)),
        "dead, lifted": Conditions(dead=True, lifted=(joint,), unplugged=("all",)),
    }
