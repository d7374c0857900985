"""Loads on the sheet: cords, frames, filters, and the port where a load's law acts."""

from __future__ import annotations

from halfsplit.wiring.model import Circuit, Installation, Load, Point, Supply
from halfsplit.wiring.plan import EARTH, Coupling, Element, LoadPort, node
from halfsplit.wiring.sheet import FLEX_OHMS, STRAY_FARADS, STRAY_SIEMENS, Sheet, phasors


def stamp_load(
    sheet: Sheet, inst: Installation, circuit: Circuit, point: Point, load: Load
) -> None:
    """A load's cord, what its frame and filters let through, and its port."""
    id = f"{point.name}/{load.name}"
    part = "front" if point.front and load.plugged else ""
    ends = {"a": load.across[0], "b": load.across[1]}
    if load.frame:
        ends["frame"] = "E"
    for end, key in ends.items():
        sheet.add(
            Element(f"flex {id} {key}", "flex", node(point.name, key, part), f"{id}:{end}", key,
                    (point.name,), FLEX_OHMS, circuit=circuit.name, control=f"plug {id}",
                    closed=load.connected)
        )  # fmt: skip
    _stamp_around(sheet, circuit, load, id)
    a, b, frame = f"{id}:a", f"{id}:b", f"{id}:frame" if load.frame else ""
    rated = rated_volts(inst.supply, circuit, load.across)
    sheet.loads.append(
        LoadPort(id, point.name, a, b, frame, load.kind, load.watts.value, load.watts.spread,
                 rated, load.on, load.connected, circuit.name, load.mentioned,
                 load.warm_leak_ohms)
    )  # fmt: skip


def _stamp_around(sheet: Sheet, circuit: Circuit, load: Load, id: str) -> None:
    """Strays and filter capacitors between a load's ends and its frame, or true earth."""
    frame = f"{id}:frame" if load.frame else ""
    around = frame or EARTH
    for end in ("a", "b"):
        at = f"{id}:{end}"
        sheet.couple(
            Coupling(f"stray {id} {end}", "stray", at, around, STRAY_SIEMENS, 10 * STRAY_FARADS,
                     id, circuit.name)
        )  # fmt: skip
        if load.frame and load.filter_farads:
            sheet.couple(
                Coupling(f"filter {id} {end}", "filter", at, frame, 0.0, load.filter_farads, id,
                         circuit.name)
            )  # fmt: skip
    if load.frame:
        sheet.couple(
            Coupling(f"stray {id} frame", "stray", frame, EARTH, STRAY_SIEMENS, 10 * STRAY_FARADS,
                     id, circuit.name)
        )  # fmt: skip


def rated_volts(supply: Supply, circuit: Circuit, across: tuple[str, str]) -> float:
    """Nominal volts between two conductors of a circuit (0 between earth and neutral)."""
    legs = dict(circuit.legs)
    table = phasors(supply)
    ends = [
        table.get(legs.get("L", key) if key == "SL" else legs.get(key, key), 0j) for key in across
    ]
    return abs(ends[0] - ends[1]) or abs(next(iter(table.values())))
