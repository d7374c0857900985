"""From what is installed to its elements: supply, boards, runs, points, loads, strays.

Each ``_stamp`` function adds the elements of one kind of part; ``lay_out`` calls them in order.
"""

from __future__ import annotations

from halfsplit.tables import practice
from halfsplit.wiring.cabling import SURROUNDINGS_FARADS_PER_M, cable_constants, run_coupling
from halfsplit.wiring.intake import (
    bar,
    board_lines,
    stamp_board,
    stamp_pole,
    stamp_supply,
    stamp_way,
)
from halfsplit.wiring.model import Circuit, Installation, Load, Point, Run, Supply
from halfsplit.wiring.plan import EARTH, Coupling, Element, LoadPort, Plan, Spot, node
from halfsplit.wiring.second import stamp_sources
from halfsplit.wiring.sheet import (
    CONTACT_OHMS,
    FLEX_OHMS,
    JOINT_OHMS,
    LINK_OHMS,
    STRAY_FARADS,
    STRAY_SIEMENS,
    Sheet,
    lines_of,
    phasors,
)

SNUBBED = ("dimmer", "photocell")  # switched by electronics that live on what they pass

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
            _stamp_point(sheet, installation, circuit, point)
        for run in circuit.runs:
            _stamp_run(sheet, installation, circuit, run)
        for point in circuit.points:
            for load in point.loads:
                _stamp_load(sheet, installation, circuit, point, load)
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


def _stamp_point(sheet: Sheet, inst: Installation, circuit: Circuit, point: Point) -> None:
    place = (point.name,)
    for key in point.conductors:
        if point.carries == "pigtail" and key != "SL":
            sheet.add(
                Element(
                    f"pigtail {point.name} {key}",
                    "joint",
                    node(point.name, key, "splice"),
                    node(point.name, key, "line" if _through_device(point, key) else ""),
                    key,
                    place,
                    JOINT_OHMS,
                    circuit=circuit.name,
                    scale="contact",
                )
            )
        passing = key in ("L1", "L2", "L3") and "L" in point.conductors
        if point.front and not passing:
            sheet.add(
                Element(
                    f"front {point.name} {key}",
                    "contact",
                    node(point.name, key),
                    node(point.name, key, "front"),
                    key,
                    place,
                    CONTACT_OHMS,
                    circuit=circuit.name,
                    scale="contact",
                )
            )
    if point.device is not None:
        poles = [
            stamp_pole(
                sheet,
                point.device,
                key,
                node(point.name, key, "line"),
                node(point.name, key),
                point.name,
                circuit.name,
            )
            for key in point.conductors
            if key in (*point.device.poles, "N")
        ]
        stamp_way(sheet, point.device, poles, (), circuit.name)
    for switch in point.switches:
        for contact in switch.contacts:
            sheet.add(
                Element(
                    f"switch {switch.name} {contact.a}-{contact.b}",
                    "switch",
                    node(point.name, contact.a),
                    node(point.name, contact.b),
                    contact.b,
                    place,
                    CONTACT_OHMS,
                    circuit=circuit.name,
                    control=switch.name,
                    closed=switch.position in contact.closed_in,
                    closed_in=contact.closed_in,
                    scale="contact",
                )
            )
    if point.kind in SNUBBED:
        _stamp_snubbers(sheet, circuit, point)
    arriving = tuple(run.name for run in circuit.runs if run.end == point.name)
    leaving = tuple(run.name for run in circuit.runs if run.start == point.name)
    sheet.spots.append(
        Spot(
            point.name,
            point.kind,
            circuit.name,
            point.conductors,
            point.front,
            point.access,
            arriving,
            leaving,
        )
    )


def _stamp_snubbers(sheet: Sheet, circuit: Circuit, point: Point) -> None:
    """What passes through an electronic switch that is off, across each of its contacts."""
    for switch in point.switches:
        for contact in switch.contacts:
            sheet.couple(
                Coupling(
                    f"snubber {switch.name} {contact.a}-{contact.b}",
                    "snubber",
                    node(point.name, contact.a),
                    node(point.name, contact.b),
                    1.0 / practice.ELECTRONIC_SWITCH_OHMS.value,
                    practice.SNUBBER.value,
                    point.name,
                    circuit.name,
                )
            )


def landing(inst: Installation, circuit: Circuit, place: str, key: str, arrives: bool) -> str:
    """The terminal node on which a run's core lands at a point or at a board it feeds."""
    for board in inst.boards:
        if board.name == place:
            return node(place, key) if key == "E" else node(place, key, "in")
    point = next(p for p in circuit.points if p.name == place)
    if point.carries == "pigtail" and key != "SL":
        return node(place, key, "splice")  # ahead of the point's own device, where it has one
    return node(place, key, "line" if arrives and _through_device(point, key) else "")


def _through_device(point: Point, key: str) -> bool:
    """Whether a conductor passes the point's own device on its way to the accessory."""
    return point.device is not None and key in (*point.device.poles, "N")


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
                Element(
                    f"joint {place} {key} {run.name}",
                    "joint",
                    a,
                    b,
                    key,
                    (place,),
                    JOINT_OHMS,
                    circuit=circuit.name,
                    run=run.name,
                    scale="contact",
                )
            )
            nodes.append(end)
            ends[side].append(end)
        ohms, henry = cable_constants(core, run)
        sheet.add(
            Element(
                f"core {run.name} {core.start}",
                "core",
                nodes[0],
                nodes[1],
                core.end,
                (run.start, run.end),
                ohms,
                henry,
                circuit=circuit.name,
                run=run.name,
                scale=run.name,
            )
        )
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


def _stamp_load(
    sheet: Sheet, inst: Installation, circuit: Circuit, point: Point, load: Load
) -> None:
    id = f"{point.name}/{load.name}"
    part = "front" if point.front and load.plugged else ""
    ends = {"a": load.across[0], "b": load.across[1]}
    if load.frame:
        ends["frame"] = "E"
    for end, key in ends.items():
        sheet.add(
            Element(
                f"flex {id} {key}",
                "flex",
                node(point.name, key, part),
                f"{id}:{end}",
                key,
                (point.name,),
                FLEX_OHMS,
                circuit=circuit.name,
                control=f"plug {id}",
                closed=load.connected,
            )
        )
    a, b, frame = f"{id}:a", f"{id}:b", f"{id}:frame" if load.frame else ""
    around = frame or EARTH
    for end, other in ((a, around), (b, around)):
        sheet.couple(
            Coupling(
                f"stray {id} {end[-1]}",
                "stray",
                end,
                other,
                STRAY_SIEMENS,
                10 * STRAY_FARADS,
                id,
                circuit.name,
            )
        )
        if load.frame and load.filter_farads:
            sheet.couple(
                Coupling(
                    f"filter {id} {end[-1]}",
                    "filter",
                    end,
                    frame,
                    0.0,
                    load.filter_farads,
                    id,
                    circuit.name,
                )
            )
    if load.frame:
        sheet.couple(
            Coupling(
                f"stray {id} frame",
                "stray",
                frame,
                EARTH,
                STRAY_SIEMENS,
                10 * STRAY_FARADS,
                id,
                circuit.name,
            )
        )
    rated = rated_volts(inst.supply, circuit, load.across)
    sheet.loads.append(
        LoadPort(
            id,
            point.name,
            a,
            b,
            frame,
            load.kind,
            load.watts.value,
            load.watts.spread,
            rated,
            load.on,
            load.connected,
            circuit.name,
            load.mentioned,
            load.warm_leak_ohms,
        )
    )


def rated_volts(supply: Supply, circuit: Circuit, across: tuple[str, str]) -> float:
    """Nominal volts between two conductors of a circuit (0 between earth and neutral)."""
    legs = dict(circuit.legs)
    table = phasors(supply)
    ends = [
        table.get(legs.get("L", key) if key == "SL" else legs.get(key, key), 0j) for key in across
    ]
    return abs(ends[0] - ends[1]) or abs(next(iter(table.values())))


def _stamp_strays(sheet: Sheet) -> None:
    """A few picofarad to true earth for every terminal that has no coupling of its own."""
    held = {EARTH} | {c.a for c in sheet.couplings} | {c.b for c in sheet.couplings}
    for name in dict.fromkeys(n for e in sheet.elements for n in (e.a, e.b)):
        if name not in held:
            sheet.couple(
                Coupling(f"stray {name}", "stray", name, EARTH, STRAY_SIEMENS, STRAY_FARADS, name)
            )
