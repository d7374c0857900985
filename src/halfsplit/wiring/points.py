"""Points on the sheet: splices, front contacts, a device or switches of their own."""

from __future__ import annotations

from halfsplit.tables import practice
from halfsplit.wiring.intake import stamp_pole, stamp_way
from halfsplit.wiring.model import Circuit, Installation, Point
from halfsplit.wiring.plan import Coupling, Element, Spot, node
from halfsplit.wiring.sheet import CONTACT_OHMS, JOINT_OHMS, Sheet

SNUBBED = ("dimmer", "photocell")  # switched by electronics that live on what they pass


def stamp_point(sheet: Sheet, circuit: Circuit, point: Point) -> None:
    """Everything of one point but its loads, and the spot it is on the ladder."""
    for key in point.conductors:
        _stamp_conductor(sheet, circuit, point, key)
    if point.device is not None:
        poles = [
            stamp_pole(sheet, point.device, key, node(point.name, key, "line"),
                       node(point.name, key), point.name, circuit.name)
            for key in point.conductors if _through_device(point, key)
        ]  # fmt: skip
        stamp_way(sheet, point.device, poles, (), circuit.name)
    _stamp_switches(sheet, circuit, point)
    if point.kind in SNUBBED:
        _stamp_snubbers(sheet, circuit, point)
    arriving = tuple(run.name for run in circuit.runs if run.end == point.name)
    leaving = tuple(run.name for run in circuit.runs if run.start == point.name)
    sheet.spots.append(
        Spot(point.name, point.kind, circuit.name, point.conductors, point.front, point.access,
             arriving, leaving)
    )  # fmt: skip


def _stamp_conductor(sheet: Sheet, circuit: Circuit, point: Point, key: str) -> None:
    """A conductor's pigtail and its front contact, where the point has them."""
    name = point.name
    if point.carries == "pigtail" and key != "SL":
        end = node(name, key, "line" if _through_device(point, key) else "")
        sheet.add(
            Element(f"pigtail {name} {key}", "joint", node(name, key, "splice"), end, key, (name,),
                    JOINT_OHMS, circuit=circuit.name, scale="contact")
        )  # fmt: skip
    passing = key in ("L1", "L2", "L3") and "L" in point.conductors
    if point.front and not passing:
        sheet.add(
            Element(f"front {name} {key}", "contact", node(name, key), node(name, key, "front"),
                    key, (name,), CONTACT_OHMS, circuit=circuit.name, scale="contact")
        )  # fmt: skip


def _stamp_switches(sheet: Sheet, circuit: Circuit, point: Point) -> None:
    for switch in point.switches:
        for contact in switch.contacts:
            sheet.add(
                Element(
                    f"switch {switch.name} {contact.a}-{contact.b}",
                    "switch",
                    node(point.name, contact.a),
                    node(point.name, contact.b),
                    contact.b,
                    (point.name,),
                    CONTACT_OHMS,
                    circuit=circuit.name,
                    control=switch.name,
                    closed=switch.position in contact.closed_in,
                    closed_in=contact.closed_in,
                    scale="contact",
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
