"""What a mend disturbed: places opened, cables, devices, loads, the intake; from its parts.

A fault's own parts come from the catalogue; a mend told in words names its part itself. Either way
what was disturbed is worked out on the plan: opening a point disturbs every conductor landed there.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from halfsplit.diagnosis.expect import find_fault
from halfsplit.diagnosis.touches import OPEN_STATES
from halfsplit.errors import NotFound
from halfsplit.faults.fault import Fault
from halfsplit.faults.words import conductor_words, joined, place_words, vocabulary
from halfsplit.form.after import Mended
from halfsplit.wiring.effects import Bridged, Scaled, StateChange
from halfsplit.wiring.model import Circuit, Installation, Run
from halfsplit.wiring.plan import Element, Plan

INTAKE = ("source", "service", "electrode", "link")


@dataclass(frozen=True, slots=True)
class Disturbed:
    """One thing disturbed. Exactly one of the groups below is filled, or ``nothing`` is set.

    ``place`` with ``circuit``: a point, or a circuit's terminals at its board; ``run`` a cable;
    ``device`` by name; ``load`` by id; ``path`` by name; ``intake`` one of source, service,
    electrode, link, tail. ``conductors`` are those known to have been touched.
    """

    why: str
    circuit: str = ""
    place: str = ""
    run: str = ""
    device: str = ""
    load: str = ""
    path: str = ""
    intake: str = ""
    conductors: tuple[str, ...] = ()
    nothing: bool = False


def disturbed_by(mend: Mended, installation: Installation, plan: Plan) -> tuple[Disturbed, ...]:
    """What one mend disturbed, each part once, in the order of the plan."""
    found: list[Disturbed] = []
    if mend.fault:
        found += _by_fault(mend, installation, plan)
    if not (mend.fault and mend.kind == "accessory" and found):
        found += _by_words(mend, installation)
    keys: dict[Disturbed, tuple[str, ...]] = {}
    for item in found:
        part = replace(item, conductors=())
        keys[part] = tuple(dict.fromkeys((*keys.get(part, ()), *item.conductors)))
    return tuple(replace(part, conductors=named) for part, named in keys.items())


def _by_words(mend: Mended, inst: Installation) -> Iterable[Disturbed]:
    did = mend.did
    if mend.kind in ("joint", "accessory"):
        return _opened(did, mend.place, mend.conductors, inst)
    if mend.kind == "cable":
        return [Disturbed(did, circuit.name, run=run.name)
                for circuit, run in _runs(inst) if run.name == mend.part]  # fmt: skip
    if mend.kind == "device":
        return [Disturbed(did, _circuit_of_device(inst, mend.part), device=mend.part)]
    if mend.kind == "load":
        return [Disturbed(did, _circuit_at(inst, mend.part.split("/")[0]), load=mend.part)]
    if mend.kind == "bond":
        return [Disturbed(did, path=mend.part)]
    if mend.kind in ("electrode", "link"):
        return [Disturbed(did, intake=mend.kind)]
    if mend.kind == "supply":
        return [Disturbed(did, intake="service")]
    return [Disturbed(did, _circuit_at(inst, mend.place), place=mend.place, nothing=True)]


def _opened(did: str, place: str, keys: tuple[str, ...], inst: Installation) -> Iterable[Disturbed]:
    """A point opened; at a board every circuit landed there, for nobody said which."""
    boards = {board.name for board in inst.boards}
    if place == "origin":
        return [Disturbed(did, intake="tail", conductors=keys)]
    if place not in boards:
        return [Disturbed(did, _circuit_at(inst, place), place, conductors=keys)]
    return [Disturbed(did, c.name, place, conductors=keys)
            for c in inst.circuits if c.board == place]  # fmt: skip


def _by_fault(mend: Mended, inst: Installation, plan: Plan) -> list[Disturbed]:
    try:
        fault = find_fault(inst, plan, mend.fault)
    except NotFound:
        return []
    elements = {element.id: element for element in plan.elements}
    found: list[Disturbed] = []
    for part in fault.parts:
        if part in elements:
            found += _by_element(mend.did, elements[part], inst)
        elif any(load.id == part for load in plan.loads):
            found.append(Disturbed(mend.did, fault.circuit, load=part))
        elif any(way.name == part for way in plan.ways):
            found.append(
                Disturbed(mend.did, fault.circuit, place=fault.places[0], nothing=True)
                if _only_stood_open(fault)
                else Disturbed(mend.did, fault.circuit, device=part)
            )
    if not fault.parts:
        return _without_parts(mend, fault, inst)
    if any(item.run for item in found):  # a core's joints went with its cable
        found = [item for item in found if item.run or not item.place]
    return found


def _without_parts(mend: Mended, fault: Fault, inst: Installation) -> list[Disturbed]:
    """A fault that names no part: what joined two conductors is taken out at each of its places.

    What was only plugged in, switched or misread had nothing opened.
    """
    bridges = [e for s in fault.severities for e in s.effects if isinstance(e, Bridged)]
    fixed = [e for e in bridges if not (e.a.endswith(":front") or e.b.endswith(":front"))]
    known = {p.name for p in inst.points()} | {b.name for b in inst.boards}
    places = [place for place in fault.places if place in known]
    if fixed and places:
        return [item for place in places
                for item in _opened(mend.did, place, fault.conductors, inst)]  # fmt: skip
    if any(isinstance(e, Scaled) for s in fault.severities for e in s.effects):
        return [Disturbed(mend.did, intake="source")]
    paths = [path.name for path in inst.paths if path.name in fault.places]
    if paths:
        return [Disturbed(mend.did, path=name) for name in paths]
    place = places[0] if places else ""
    return [Disturbed(mend.did, fault.circuit or _circuit_at(inst, place), place, nothing=True)]


def _only_stood_open(fault: Fault) -> bool:
    """Whether the device did no more than stand off or tripped: nobody has to open it."""
    effects = [effect for severity in fault.severities for effect in severity.effects]
    return all(isinstance(e, StateChange) and e.state in OPEN_STATES for e in effects)


def _by_element(did: str, element: Element, inst: Installation) -> list[Disturbed]:
    keys, circuit = (element.conductor,), element.circuit
    if element.kind in INTAKE:
        return [Disturbed(did, intake=element.kind, conductors=keys)]
    if element.id.startswith("tail "):
        return [Disturbed(did, intake="tail", conductors=keys)]
    if element.id.startswith("path "):
        return [Disturbed(did, path=element.id[5:])]
    if element.kind == "core":
        return [Disturbed(did, circuit, run=element.run, conductors=keys)]
    if element.kind == "pole":
        name = element.control or element.id.removeprefix("pole ").rpartition(" ")[0]
        return [Disturbed(did, circuit, device=name, conductors=keys)]
    if element.kind == "flex":
        return [Disturbed(did, circuit, load=element.b.rpartition(":")[0], conductors=keys)]
    return [Disturbed(did, circuit, element.at[0], conductors=keys)]


def words(item: Disturbed, inst: Installation) -> str:
    """What was disturbed, in the region's words."""
    region = inst.region
    if item.nothing:
        return f"{item.why}: nothing fixed was opened"
    if item.run:
        return f"{item.why}: every core of the cable {item.run}, with its joints at both ends"
    if item.device:
        return f"{item.why}: the terminals and contacts of {item.device}"
    if item.load:
        return f"{item.why}: {item.load.rpartition('/')[2]} and its connection"
    if item.path:
        return f"{item.why}: the connection {item.path}"
    if item.intake:
        origin = place_words("origin", region)
        what = {"electrode": "the electrode and its conductor", "link": "the neutral-earth link"}
        return f"{item.why}: {what.get(item.intake, f'conductors at {origin}')}"
    keys = joined(tuple(conductor_words(key, region) for key in item.conductors))
    board = any(board.name == item.place for board in inst.boards)
    where = f"{item.place}, circuit {item.circuit}" if board else item.place
    named = f" ({keys} first of all)" if keys else ""
    return f"{item.why}: every conductor landed at {where}{named}"


def has(inst: Installation, word: str) -> str:
    """A trade word of the region."""
    return vocabulary(inst.region)[word]


def _runs(inst: Installation) -> Iterable[tuple[Circuit, Run]]:
    return ((circuit, run) for circuit in inst.circuits for run in circuit.runs)


def _circuit_at(inst: Installation, place: str) -> str:
    for circuit in inst.circuits:
        if any(point.name == place for point in circuit.points):
            return circuit.name
    return ""


def _circuit_of_device(inst: Installation, device: str) -> str:
    for circuit in inst.circuits:
        if circuit.device.name == device:
            return circuit.name
        if any(point.device and point.device.name == device for point in circuit.points):
            return circuit.name
    return ""
