"""The trials' own electrical parts: what truly stands between the terminals of an installation.

Written beside the program's lowering and its solver, from the names of the wiring alone: metal has
its resistivity, a cable is several sections, a joint its own resistance, and nobody knows any of it
exactly. Ohm, henry, siemens, farad, volt r.m.s., metres.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from random import Random

from halfsplit.errors import NotInTable
from halfsplit.tables import cables
from halfsplit.wiring.model import Installation, Run
from halfsplit.wiring.plan import Element, Plan

SECTIONS = 3  # of a run of cable
RESISTIVITY = {"copper": 18.4e-9, "aluminium": 30.0e-9}  # ohm·m at 20 °C, stranding included
PER_KELVIN = 0.0039
HENRY_PER_M = 0.25e-6  # of one core of a flat or round cable, return included
EARTH = "earth"
AROUND_FARADS_PER_M = 25e-12  # from a protective core to damp masonry
TERMINAL_FARADS, TERMINAL_SIEMENS = 2e-12, 1e-13
SOUND_OHMS = {"joint": 0.003, "contact": 0.01, "pole": 0.004, "switch": 0.01, "flex": 0.03,
              "link": 0.001}  # fmt: skip
INSULATION_SIEMENS_PER_M = 2e-11
UNSEEN = ((60.0, 4.7e-9, 0.6), (2.0, 0.0, 0.4))  # watts, filter farads, share of what is plugged in


@dataclass(frozen=True, slots=True)
class Spreads:
    """How far the truth lies from what was written, as log standard deviations (or volts)."""

    length: float = 0.05
    ohms: float = 0.03
    capacitance: float = 0.35
    insulation: float = 1.5
    contact: float = 0.7
    neutral_volts: float = 0.7
    unseen: float = 0.12  # chance of something plugged in at the end of a circuit, not mentioned


@dataclass(frozen=True, slots=True)
class Wire:
    """A conductor from ``a`` to ``b``; ``emf`` lifts ``b`` above ``a``."""

    id: str
    a: str
    b: str
    ohms: float
    henry: float = 0.0
    emf: complex = 0j


@dataclass(frozen=True, slots=True)
class Shunt:
    """What passes between two nodes beside the conductors."""

    a: str
    b: str
    siemens: float
    farads: float = 0.0


@dataclass(frozen=True, slots=True)
class Parts:
    """The values of one true installation: every element's sections, and what lies between."""

    plan: Plan
    wires: Mapping[str, tuple[Wire, ...]]  # by element
    shunts: tuple[Shunt, ...]
    watts: Mapping[str, float]
    inside: Mapping[str, tuple[str, ...]] = field(default_factory=dict)  # nodes along a core


def scaled(random: Random, spread: float) -> float:
    """A log-normal factor about one."""
    return math.exp(random.gauss(0.0, spread)) if spread else 1.0


def draw_parts(
    installation: Installation, plan: Plan, spreads: Spreads, random: Random
) -> Parts:  # fmt: skip
    """One true installation that fits what was written, its unknowns drawn."""
    runs = {run.name: run for circuit in installation.circuits for run in circuit.runs}
    metres = {
        name: run.length.value * scaled(random, max(run.length.spread, spreads.length))
        for name, run in runs.items()
    }
    warm = {name: scaled(random, spreads.ohms) for name in runs}
    grip = {c.name: scaled(random, spreads.contact) for c in installation.circuits}
    wires: dict[str, tuple[Wire, ...]] = {}
    inside: dict[str, tuple[str, ...]] = {}
    volts = scaled(random, max(installation.supply.volts.spread, 0.005))
    for element in plan.elements:
        if element.kind == "core":
            run = runs[element.run]
            nodes = _along(element)
            inside[element.id] = nodes
            wires[element.id] = tuple(_sections(element, run, metres[run.name], nodes,
                                                warm[run.name]))  # fmt: skip
        else:
            wires[element.id] = (_wire(element, grip, volts, spreads, random),)
    shunts = [
        shunt
        for run in runs.values()
        for shunt in _between(run, plan, metres[run.name], spreads, random)
    ]
    shunts += _held(plan)
    watts = {load.id: load.watts * scaled(random, load.spread) for load in plan.loads}
    shunts += _unseen(plan, spreads, random)
    return Parts(plan, wires, tuple(shunts), watts, inside)


def _along(element: Element) -> tuple[str, ...]:
    middle = tuple(f"{element.id} at {k}" for k in range(1, SECTIONS))
    return (element.a, *middle, element.b)


def _sections(
    element: Element, run: Run, metres: float, nodes: tuple[str, ...], warm: float
) -> Iterator[Wire]:
    start = element.id.removeprefix(f"core {run.name} ")
    core = next(c for c in run.cores if c.start == start)
    metal = "aluminium" if core.metal == "aluminium" else "copper"
    hot = 1 + PER_KELVIN * (run.temperature_c - 20.0)
    ohms = RESISTIVITY[metal] / (core.mm2 * 1e-6) * hot * warm * metres / SECTIONS
    for k in range(SECTIONS):
        henry = HENRY_PER_M * metres if k == 0 else 0.0
        yield Wire(element.id, nodes[k], nodes[k + 1], ohms, henry)


def _wire(
    element: Element, grip: Mapping[str, float], volts: float, spreads: Spreads, random: Random
) -> Wire:
    """An element that is no core: a contact of some kind, or a part of the supply as written."""
    ohms = SOUND_OHMS.get(element.kind, element.ohms) if not element.spread else element.ohms
    if element.kind in ("joint", "contact", "pole", "switch"):
        ohms *= grip.get(element.circuit, 1.0)
    if element.kind == "source":
        return Wire(element.id, element.a, element.b, 1e-4, 0.0, element.emf * volts)
    emf = 0j
    if element.kind == "service" and element.conductor in ("N", "PEN"):
        emf = complex(random.gauss(0.0, spreads.neutral_volts), 0.0)
    return Wire(element.id, element.a, element.b, ohms * scaled(random, element.spread), 0.0, emf)


def _between(
    run: Run, plan: Plan, metres: float, spreads: Spreads, random: Random
) -> Iterator[Shunt]:
    """Capacitance and insulation between the cores of a run, section by section."""
    try:
        build = cables.cable(run.cable).build
    except NotInTable:
        build = "round"
    usual, leak = scaled(random, spreads.capacitance), scaled(random, spreads.insulation)
    core_core = cables.CORE_CORE[build].value * usual
    core_earth = cables.CORE_EARTH[build].value * usual
    mine = [e for e in plan.elements if e.kind == "core" and e.run == run.name]
    share = [1 / (2 * SECTIONS), *[1 / SECTIONS] * (SECTIONS - 1), 1 / (2 * SECTIONS)]
    bare = not any("E" in (core.start, core.end) for core in run.cores)
    for i, one in enumerate(mine):
        keys = {run.cores[i].start, run.cores[i].end}
        for k, node in enumerate(_along(one)):
            length = metres * share[k]
            if "E" in keys or bare:
                yield Shunt(node, EARTH, INSULATION_SIEMENS_PER_M * length,
                            AROUND_FARADS_PER_M * usual * length)  # fmt: skip
            for j in range(i):
                other = {run.cores[j].start, run.cores[j].end}
                farads = core_earth if "E" in keys | other else core_core
                yield Shunt(_along(mine[j])[k], node, INSULATION_SIEMENS_PER_M * leak * length,
                            farads * length)  # fmt: skip


def _held(plan: Plan) -> Iterator[Shunt]:
    """A few picofarad for every terminal, and the filters and strays of what is plugged in."""
    for name in dict.fromkeys(n for e in plan.elements for n in (e.a, e.b)):
        if name != EARTH:
            yield Shunt(name, EARTH, TERMINAL_SIEMENS, TERMINAL_FARADS)
    for coupling in plan.couplings:
        if coupling.kind in ("filter", "stray", "snubber") and EARTH not in (
            coupling.a,
            coupling.b,
        ):
            yield Shunt(coupling.a, coupling.b, coupling.siemens, coupling.farads)


def _unseen(plan: Plan, spreads: Spreads, random: Random) -> Iterator[Shunt]:
    """Something that nobody mentioned, plugged in at the end of a circuit."""
    for circuit in dict.fromkeys(spot.circuit for spot in plan.spots if spot.circuit):
        ends = [s for s in plan.spots
                if s.circuit == circuit and s.front and not s.downstream
                and {"L", "N"} <= set(s.conductors)]  # fmt: skip
        there, pick = random.random() < spreads.unseen, random.random()
        if not ends or not there:
            continue
        spot = ends[int(random.random() * len(ends))]
        watts, farads, _ = UNSEEN[0] if pick < UNSEEN[0][2] else UNSEEN[1]
        a, b, e = (f"{spot.name}.{key}:front" for key in ("L", "N", "E"))
        yield Shunt(a, b, watts / plan.volts**2)
        if farads and "E" in spot.conductors:
            yield Shunt(a, e, 0.0, farads)
            yield Shunt(b, e, 0.0, farads)
