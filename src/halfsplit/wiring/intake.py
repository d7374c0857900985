"""Supply and boards as elements: sources, service, tails, main switch, groups, ways, bars."""

from __future__ import annotations

import cmath
import math

from halfsplit.wiring.model import About, Board, Circuit, Device, Installation, Supply
from halfsplit.wiring.plan import EARTH, Element, Spot, Way, node
from halfsplit.wiring.sheet import JOINT_OHMS, LINK_OHMS, POLE_OHMS, Sheet, lines_of, phasors


def stamp_supply(sheet: Sheet, installation: Installation) -> None:
    """Sources, service conductors, electrodes and the neutral-earth link where it belongs."""
    supply = installation.supply
    combined = supply.earthing in ("TN-C-S", "TN-C")
    if supply.earthing != "IT":
        _electrode(sheet, "source electrode", "source.N", "source", supply.source_electrode_ohms)
    for key, volts in phasors(supply).items():
        sheet.add(
            Element(f"source {key}", "source", "source.N", f"source.{key}", key, ("source",), 0.0,
                    emf=volts, spread=supply.volts.spread)
        )  # fmt: skip
        _service(sheet, key, key, supply.line_ohms)
    if combined and supply.live == "single":
        _street(sheet, supply)
    _service(sheet, "N", "PEN" if combined else "N", supply.neutral_ohms)
    if combined:
        sheet.add(
            Element("neutral-earth link", "link", "origin.N", "origin.E", "E", ("origin",),
                    LINK_OHMS, spread=0.5)
        )  # fmt: skip
    elif supply.earthing == "TN-S":
        _service(sheet, "E", "E", supply.earth_ohms, "N")
    if supply.electrode_ohms is not None:
        _electrode(sheet, "electrode", "origin.E", "origin", supply.electrode_ohms)
    sheet.spots.append(Spot("origin", "origin", "", (*lines_of(supply), "N", "E"), False, "sealed"))


def _street(sheet: Sheet, supply: Supply) -> None:
    """The two phases that only the neighbours have: they pull on a combined conductor that is
    broken before all of them."""
    for k in (1, 2):
        volts = supply.volts.value * cmath.exp(-2j * math.pi * k / 3)
        id, line = f"source street {k + 1}", f"street.{k + 1}"
        sheet.add(Element(id, "source", "source.N", line, "L", ("source",), 0.0, emf=volts))


def _electrode(sheet: Sheet, id: str, a: str, place: str, ohms: About) -> None:
    sheet.add(Element(id, "electrode", a, EARTH, "E", (place,), ohms.value, spread=ohms.spread))


def _service(sheet: Sheet, key: str, conductor: str, ohms: About, start: str = "") -> None:
    sheet.add(
        Element(f"service {conductor}", "service", f"source.{start or key}", f"origin.{key}",
                conductor, ("origin",), ohms.value, spread=ohms.spread)
    )  # fmt: skip


def stamp_pole(
    sheet: Sheet, device: Device, key: str, a: str, b: str, place: str, circuit: str
) -> str:
    """One pole of a device; a conductor it only senses stays closed whatever its state. Its id."""
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


def stamp_board(sheet: Sheet, installation: Installation, board: Board) -> None:
    """Tails, main switch, shared devices with their bars, and every way of a board."""
    keys, name = board_lines(installation, board), board.name
    if not board.fed_by:
        for key in (*keys, "N", "E"):
            arrival = node(name, key, "in") if key != "E" else node(name, "E")
            sheet.add(
                Element(f"tail {name} {key}", "joint", f"origin.{key}", arrival, key, (name,),
                        JOINT_OHMS, scale="contact")
            )  # fmt: skip
    covered = tuple(c.name for c in installation.circuits if c.board == name)
    _stamp_shared(sheet, board, board.main, (*keys, "N"), "in", "", covered)
    for group in board.groups:
        part = f"group {group.device.name}"
        _stamp_shared(sheet, board, group.device, (*keys, "N"), "", part, group.circuits)
    sheet.spots.append(Spot(name, "board", board.fed_by, (*keys, "N", "E"), False, "cover"))
    for circuit in installation.circuits:
        if circuit.board == name:
            _stamp_circuit_way(sheet, board, circuit)


def _stamp_shared(
    sheet: Sheet, board: Board, device: Device, keys: tuple[str, ...], before: str, after: str,
    covers: tuple[str, ...],
) -> None:  # fmt: skip
    """A device that several circuits share, between two parts of the board's bars."""
    name = board.name
    poles = [
        stamp_pole(sheet, device, key, node(name, key, before), node(name, key, after), name, "")
        for key in keys
    ]
    stamp_way(sheet, device, poles, covers, "")


def board_lines(installation: Installation, board: Board) -> tuple[str, ...]:
    """The line keys present at a board: the supply's, or those its feeder brings."""
    if not board.fed_by:
        return lines_of(installation.supply)
    feeder = installation.circuit(board.fed_by)
    return tuple(key for key, _ in feeder.legs)


def stamp_way(
    sheet: Sheet, device: Device, poles: list[str], covers: tuple[str, ...], circuit: str
) -> None:
    """A device as it trips: the poles it opens, the ones it senses, what is behind it."""
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


def _stamp_circuit_way(sheet: Sheet, board: Board, circuit: Circuit) -> None:
    device = circuit.device
    poles = []
    for key, leg in circuit.legs:
        way = node(board.name, key, f"way {circuit.name}")
        poles.append(
            stamp_pole(
                sheet, device, key, bar(board, circuit.name, leg), way, board.name, circuit.name
            )
        )
        sheet.landings[circuit.name, key] = way
    neutral = bar(board, circuit.name, "N")
    if "N" in device.poles or device.residual_amps:
        way = node(board.name, "N", f"way {circuit.name}")
        poles.append(stamp_pole(sheet, device, "N", neutral, way, board.name, circuit.name))
        neutral = way
    sheet.landings[circuit.name, "N"] = neutral
    sheet.landings[circuit.name, "E"] = node(board.name, "E")
    stamp_way(sheet, device, poles, (circuit.name,), circuit.name)
