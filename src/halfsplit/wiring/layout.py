"""From what is installed to its elements: supply, boards, runs, points, loads, strays.

Each ``_stamp`` function adds the elements of one kind of part; ``lay_out`` calls them in order.
"""

from __future__ import annotations

from halfsplit.wiring.cabling import SURROUNDINGS_FARADS_PER_M, cable_constants, run_coupling
from halfsplit.wiring.intake import (
    bar,
    board_lines,
    stamp_board,
    stamp_supply,
)
from halfsplit.wiring.loads import rated_volts, stamp_load
from halfsplit.wiring.model import Circuit, Installation, Run
from halfsplit.wiring.plan import EARTH, Coupling, Element, Plan, node
from halfsplit.wiring.points import landing, stamp_point
from halfsplit.wiring.second import stamp_sources
from halfsplit.wiring.sheet import (
    JOINT_OHMS,
    LINK_OHMS,
    STRAY_FARADS,
    STRAY_SIEMENS,
    Sheet,
    lines_of,
    phasors,
)

__all__ = [
    "LINK_OHMS",
    "bar",
    "board_lines",
    "landing",
    "lay_out",
    "lines_of",
    "phasors",
    "rated_volts",
]


def lay_out(installation: Installation) -> Plan:
    """Every element of the installation, in a fixed order: the same input, the same plan."""
    sheet = Sheet()
    stamp_supply(sheet, installation)
    for board in installation.boards:
        stamp_board(sheet, installation, board)
    for circuit in installation.circuits:
        for point in circuit.points:
            stamp_point(sheet, circuit, point)
        for run in circuit.runs:
            _stamp_run(sheet, installation, circuit, run)
        for point in circuit.points:
            for load in point.loads:
                stamp_load(sheet, installation, circuit, point, load)
    for path in installation.paths:
        sheet.add(
            Element(
                f"path {path.name}",
                path.kind,
                path.a,
                path.b,
                "E",
                (path.name,),
                path.ohms.value,
                spread=path.ohms.spread,
                closed=path.certain,
            )
        )
    stamp_sources(sheet, installation)
    _stamp_strays(sheet)
    return Plan(
        tuple(sheet.elements),
        tuple(sheet.couplings),
        tuple(sheet.loads),
        tuple(sheet.ways),
        tuple(sheet.spots),
        installation.supply.hertz,
        installation.supply.volts.value,
    )


def _stamp_run(sheet: Sheet, inst: Installation, circuit: Circuit, run: Run) -> None:
    ends: list[list[str]] = [[], []]
    for core in run.cores:
        nodes: list[str] = []
        for side, (place, key) in enumerate(((run.start, core.start), (run.end, core.end))):
            if place == circuit.board:
                terminal = sheet.landings[circuit.name, key]
            else:
                terminal = landing(inst, circuit, place, key, arrives=side == 1)
            end = node(place, key, run.name)
            a, b = (terminal, end) if side == 0 else (end, terminal)
            sheet.add(
                Element(f"joint {place} {key} {run.name}", "joint", a, b, key, (place,),
                        JOINT_OHMS, circuit=circuit.name, run=run.name, scale="contact")
            )  # fmt: skip
            nodes.append(end)
            ends[side].append(end)
        ohms, henry = cable_constants(core, run)
        sheet.add(
            Element(f"core {run.name} {core.start}", "core", nodes[0], nodes[1], core.end,
                    (run.start, run.end), ohms, henry, circuit=circuit.name, run=run.name,
                    scale=run.name)
        )  # fmt: skip
    _couple_run(sheet, circuit, run, ends)


def _couple_run(sheet: Sheet, circuit: Circuit, run: Run, ends: list[list[str]]) -> None:
    """Insulation and capacitance between every two cores, half at each end of the run."""
    siemens, between, to_protective = run_coupling(run)
    half = run.length.value / 2
    for side, nodes in enumerate(ends):
        keys = [core.start if side == 0 else core.end for core in run.cores]
        for i, a in enumerate(nodes):
            for j in range(i):
                farads = to_protective if "E" in (keys[i], keys[j]) else between
                _insulate(
                    sheet,
                    f"{keys[j]}-{keys[i]} {side}",
                    nodes[j],
                    a,
                    siemens * half,
                    farads * half,
                    run,
                    circuit,
                )
            if keys[i] == "E" or "E" not in keys:
                _insulate(
                    sheet,
                    f"{keys[i]}-earth {side}",
                    a,
                    EARTH,
                    siemens * half,
                    SURROUNDINGS_FARADS_PER_M * half,
                    run,
                    circuit,
                )


def _insulate(
    sheet: Sheet,
    what: str,
    a: str,
    b: str,
    siemens: float,
    farads: float,
    run: Run,
    circuit: Circuit,
) -> None:
    sheet.couplings.append(
        Coupling(
            f"insulation {run.name} {what}",
            "insulation",
            a,
            b,
            siemens,
            farads,
            run.name,
            circuit.name,
            run.name,
        )
    )


def _stamp_strays(sheet: Sheet) -> None:
    """A few picofarad to true earth for every terminal that has no coupling of its own."""
    held = {EARTH} | {c.a for c in sheet.couplings} | {c.b for c in sheet.couplings}
    for name in dict.fromkeys(n for e in sheet.elements for n in (e.a, e.b)):
        if name not in held:
            sheet.couple(
                Coupling(f"stray {name}", "stray", name, EARTH, STRAY_SIEMENS, STRAY_FARADS, name)
            )
