"""From what is installed to its elements: supply, boards, runs, points, loads, strays.

Each ``_stamp`` function adds the elements of one kind of part; ``lay_out`` calls them in order.
Contact and stray values are common practice: a good joint is a few milliohm, a terminal has a
few picofarad to what surrounds it (real, not a numerical crutch: a part held by nothing else
hangs on it, and a meter there reads what its own input makes of it).
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass, field

from halfsplit.wiring.cabling import SURROUNDINGS_FARADS_PER_M, cable_constants, run_coupling
from halfsplit.wiring.model import Board, Circuit, Device, Installation, Load, Point, Run, Supply
from halfsplit.wiring.plan import EARTH, Coupling, Element, LoadPort, Plan, Spot, Way, node

JOINT_OHMS = 0.003  # a good screwed joint or splice: a few milliohm (common practice)
CONTACT_OHMS = 0.01  # a socket's plug contact (common practice)
POLE_OHMS = 0.004  # a device's closed pole (common practice)
FLEX_OHMS = 0.03  # two metres of flexible cord core
LINK_OHMS = 0.001
STRAY_FARADS = 2e-12
STRAY_SIEMENS = 1e-13

LINES = {
    "single": ("L",),
    "split": ("L1", "L2"),
    "three": ("L1", "L2", "L3"),
    "centre tap": ("L1", "L2"),
    "high leg": ("L1", "L2", "L3"),
}


def lines_of(supply: Supply) -> tuple[str, ...]:
    """The line keys of a supply, in phase order."""
    return LINES[supply.live]


def phasors(supply: Supply) -> dict[str, complex]:
    """Open-circuit line-to-neutral phasors (V r.m.s.) by line key.

    High leg: a 240 V delta with the middle of L1-L3 earthed, so L2 stands at 208 V.
    """
    volts = supply.volts.value
    if supply.live == "single":
        return {"L": volts + 0j}
    if supply.live in ("split", "centre tap"):
        return {"L1": volts + 0j, "L2": -volts + 0j}
    if supply.live == "high leg":
        return {"L1": volts + 0j, "L2": 1j * math.sqrt(3.0) * volts, "L3": -volts + 0j}
    turn = cmath.exp(-2j * math.pi / 3)
    return {"L1": volts + 0j, "L2": volts * turn, "L3": volts * turn**2}


@dataclass(slots=True)
class _Sheet:
    """The lists being filled while an installation is laid out."""

    elements: list[Element] = field(default_factory=list)
    couplings: list[Coupling] = field(default_factory=list)
    loads: list[LoadPort] = field(default_factory=list)
    ways: list[Way] = field(default_factory=list)
    spots: list[Spot] = field(default_factory=list)
    landings: dict[tuple[str, str], str] = field(default_factory=dict)

    def add(self, element: Element) -> str:
        self.elements.append(element)
        return element.id

    def couple(self, coupling: Coupling) -> None:
        self.couplings.append(coupling)


def lay_out(installation: Installation) -> Plan:
    """Every element of the installation, in a fixed order: the same input, the same plan."""
    sheet = _Sheet()
    _stamp_supply(sheet, installation)
    for board in installation.boards:
        _stamp_board(sheet, installation, board)
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


def _stamp_supply(sheet: _Sheet, installation: Installation) -> None:
    supply = installation.supply
    combined = supply.earthing in ("TN-C-S", "TN-C")
    if supply.earthing != "IT":
        _series(
            sheet,
            "source electrode",
            "electrode",
            "source.N",
            EARTH,
            "E",
            "source",
            supply.source_electrode_ohms.value,
            supply.source_electrode_ohms.spread,
        )
    for key, volts in phasors(supply).items():
        sheet.add(
            Element(
                f"source {key}",
                "source",
                "source.N",
                f"source.{key}",
                key,
                ("source",),
                0.0,
                emf=volts,
                spread=supply.volts.spread,
            )
        )
        _service(sheet, key, key, supply.line_ohms.value, supply.line_ohms.spread)
    neutral = supply.neutral_ohms
    _service(sheet, "N", "PEN" if combined else "N", neutral.value, neutral.spread)
    if combined:
        _series(
            sheet,
            "neutral-earth link",
            "link",
            "origin.N",
            "origin.E",
            "E",
            "origin",
            LINK_OHMS,
            0.5,
        )
    elif supply.earthing == "TN-S":
        _service(sheet, "E", "E", supply.earth_ohms.value, supply.earth_ohms.spread, "N")
    if supply.electrode_ohms is not None:
        _series(
            sheet,
            "electrode",
            "electrode",
            "origin.E",
            EARTH,
            "E",
            "origin",
            supply.electrode_ohms.value,
            supply.electrode_ohms.spread,
        )
    sheet.spots.append(Spot("origin", "origin", "", (*lines_of(supply), "N", "E"), False, "sealed"))


def _series(
    sheet: _Sheet,
    id: str,
    kind: str,
    a: str,
    b: str,
    conductor: str,
    place: str,
    ohms: float,
    spread: float = 0.0,
) -> str:
    return sheet.add(Element(id, kind, a, b, conductor, (place,), ohms, spread=spread))


def _service(
    sheet: _Sheet, key: str, conductor: str, ohms: float, spread: float, start: str = ""
) -> None:
    sheet.add(
        Element(
            f"service {conductor}",
            "service",
            f"source.{start or key}",
            f"origin.{key}",
            conductor,
            ("origin",),
            ohms,
            spread=spread,
        )
    )


def _pole(sheet: _Sheet, device: Device, key: str, a: str, b: str, place: str, circuit: str) -> str:
    return sheet.add(
        Element(
            f"pole {device.name} {key}",
            "pole",
            a,
            b,
            key,
            (place,),
            POLE_OHMS,
            circuit=circuit,
            control=device.name if key in device.poles else "",
            closed=device.closed or key not in device.poles,
            scale="contact",
        )
    )


def _stamp_board(sheet: _Sheet, installation: Installation, board: Board) -> None:
    keys = board_lines(installation, board)
    if not board.fed_by:
        for key in (*keys, "N", "E"):
            arrival = node(board.name, key, "in") if key != "E" else node(board.name, "E")
            sheet.add(
                Element(
                    f"tail {board.name} {key}",
                    "joint",
                    f"origin.{key}",
                    arrival,
                    key,
                    (board.name,),
                    JOINT_OHMS,
                    scale="contact",
                )
            )
    poles = [
        _pole(
            sheet,
            board.main,
            key,
            node(board.name, key, "in"),
            node(board.name, key),
            board.name,
            "",
        )
        for key in (*keys, "N")
    ]
    covered = tuple(c.name for c in installation.circuits if c.board == board.name)
    _way(sheet, board.main, poles, covered, "")
    for group in board.groups:
        poles = [
            _pole(
                sheet,
                group.device,
                key,
                node(board.name, key),
                node(board.name, key, f"group {group.device.name}"),
                board.name,
                "",
            )
            for key in (*keys, "N")
        ]
        _way(sheet, group.device, poles, group.circuits, "")
    sheet.spots.append(Spot(board.name, "board", board.fed_by, (*keys, "N", "E"), False, "cover"))
    for circuit in installation.circuits:
        if circuit.board == board.name:
            _stamp_way(sheet, board, circuit)


def board_lines(installation: Installation, board: Board) -> tuple[str, ...]:
    """The line keys present at a board: the supply's, or those its feeder brings."""
    if not board.fed_by:
        return lines_of(installation.supply)
    feeder = installation.circuit(board.fed_by)
    return tuple(key for key, _ in feeder.legs)


def _way(
    sheet: _Sheet, device: Device, poles: list[str], covers: tuple[str, ...], circuit: str
) -> None:
    opened = {e.id for e in sheet.elements if e.control == device.name}
    sheet.ways.append(
        Way(
            device.name,
            circuit,
            device.kind,
            device.amps,
            device.curve,
            device.residual_amps,
            device.residual_type,
            tuple(p for p in poles if p in opened),
            tuple(poles),
            covers,
        )
    )


def bar(board: Board, circuit: str, key: str) -> str:
    """The node a circuit's way hangs on: its group's bar, or the board's."""
    for group in board.groups:
        if circuit in group.circuits and key != "E":
            return node(board.name, key, f"group {group.device.name}")
    return node(board.name, key)


def _stamp_way(sheet: _Sheet, board: Board, circuit: Circuit) -> None:
    device = circuit.device
    poles = []
    for key, leg in circuit.legs:
        way = node(board.name, key, f"way {circuit.name}")
        poles.append(
            _pole(sheet, device, key, bar(board, circuit.name, leg), way, board.name, circuit.name)
        )
        sheet.landings[circuit.name, key] = way
    neutral = bar(board, circuit.name, "N")
    if "N" in device.poles or device.residual_amps:
        way = node(board.name, "N", f"way {circuit.name}")
        poles.append(_pole(sheet, device, "N", neutral, way, board.name, circuit.name))
        neutral = way
    sheet.landings[circuit.name, "N"] = neutral
    sheet.landings[circuit.name, "E"] = node(board.name, "E")
    _way(sheet, device, poles, (circuit.name,), circuit.name)


def _stamp_point(sheet: _Sheet, inst: Installation, circuit: Circuit, point: Point) -> None:
    place = (point.name,)
    for key in point.conductors:
        if point.carries == "pigtail" and key != "SL":
            sheet.add(
                Element(
                    f"pigtail {point.name} {key}",
                    "joint",
                    node(point.name, key, "splice"),
                    node(point.name, key),
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
            _pole(
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
        _way(sheet, point.device, poles, (), circuit.name)
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


def landing(inst: Installation, circuit: Circuit, place: str, key: str, arrives: bool) -> str:
    """The terminal node on which a run's core lands at a point or at a board it feeds."""
    for board in inst.boards:
        if board.name == place:
            return node(place, key) if key == "E" else node(place, key, "in")
    point = next(p for p in circuit.points if p.name == place)
    if point.device is not None and arrives and key in (*point.device.poles, "N"):
        return node(place, key, "line")
    if point.carries == "pigtail" and key != "SL":
        return node(place, key, "splice")
    return node(place, key)


def _stamp_run(sheet: _Sheet, inst: Installation, circuit: Circuit, run: Run) -> None:
    ends: list[list[str]] = [[], []]
    for core in run.cores:
        nodes = []
        for side, (place, key) in enumerate(((run.start, core.start), (run.end, core.end))):
            if place == circuit.board:
                terminal = sheet.landings[circuit.name, key]
            else:
                terminal = landing(inst, circuit, place, key, arrives=side == 1)
            end = node(place, key, run.name)
            pair = (terminal, end) if side == 0 else (end, terminal)
            sheet.add(
                Element(
                    f"joint {place} {key} {run.name}",
                    "joint",
                    *pair,
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
                *nodes,
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


def _couple_run(sheet: _Sheet, circuit: Circuit, run: Run, ends: list[list[str]]) -> None:
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
    sheet: _Sheet,
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
    sheet: _Sheet, inst: Installation, circuit: Circuit, point: Point, load: Load
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


def _stamp_strays(sheet: _Sheet) -> None:
    """A few picofarad to true earth for every terminal that has no coupling of its own."""
    held = {EARTH} | {c.a for c in sheet.couplings} | {c.b for c in sheet.couplings}
    for name in dict.fromkeys(n for e in sheet.elements for n in (e.a, e.b)):
        if name not in held:
            sheet.couple(
                Coupling(f"stray {name}", "stray", name, EARTH, STRAY_SIEMENS, STRAY_FARADS, name)
            )
