"""Conditions of a reading, from the mapping under ``with``."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from halfsplit.form.cursor import nearest
from halfsplit.form.loads import node_with
from halfsplit.form.terminals import MAINS, SIDES, Site, split_port
from halfsplit.form.tree import Node
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.model import Circuit

_WHEN = re.compile(
    r"(?i)(?P<what>.+?)\s+(?:is |are )?(?:switched |turned )?(?P<how>on|off|unplugged|plugged in)"
)
_PARTS = ("joint ", "path ", "flex ", "tail ", "service ")  # parts of a plan by their ids
_ADDED = re.compile(r"(?:(?P<kind>[a-z]*)\s+(?P<watts>[\d.eE+-]+)\s*W\s+at\s+)?(?P<place>.+)")


def read_with(site: Site, at: Node, circuit: Circuit | None) -> Conditions:
    """What differed from the installation as described while the reading was taken."""
    cursor = site.cursor
    if at.kind == "text":
        return read_when(site, at, at.text, circuit)
    loose = {name.casefold(): name for name in (*site.switches,)}

    def named(key: str) -> bool:
        return _bare(key) in loose

    fields = cursor.fields(at, "with", named)
    found = Conditions()
    for key, value in fields.items():
        if key in ("off", "on"):
            for item in cursor.texts(value):
                found = _switched(site, found, item, key, circuit)
        elif _bare(key) in loose:
            found = _positioned(site, found, value, loose[_bare(key)], value.text)
        elif key in ("dead", "energised", "warm"):
            change: dict[str, Any] = {key: cursor.yes(value, bool(getattr(found, key)))}
            found = replace(found, **change)
        elif key == "rain":
            found = replace(found, wet=cursor.yes(value, False))
        else:
            found = _HANDLERS[key](site, found, value, circuit)
    return found


def read_when(site: Site, at: Node, text: str, circuit: Circuit | None) -> Conditions:
    """Conditions in a few words: "kettle on", "main switch off, all unplugged"."""
    found = Conditions()
    for part in text.split(","):
        said = _WHEN.fullmatch(part.strip())
        if said is None:
            site.cursor.note(at, 'conditions such as "kettle on" or {off: [main switch]}', part)
            continue
        item, word = node_with(at, said["what"]), said["how"].casefold()
        if word in ("on", "off"):
            found = _switched(site, found, item, word, circuit)
        else:
            found = (_unplugged if word == "unplugged" else _plugged)(site, found, item, circuit)
    return found


def _bare(key: str) -> str:
    return re.sub(r"^switch\s+", "", key.casefold())


def _switched(
    site: Site, found: Conditions, at: Node, how: str, circuit: Circuit | None
) -> Conditions:
    """Something off or on: a device, a switch or a load, looked for in that order."""
    word = at.text.casefold()
    devices = {name.casefold(): device.name for name, device in site.devices.items()}
    current: tuple[str, ...] = found.off if how == "off" else found.on
    if word in ("all", "everything", *MAINS):
        mains = tuple(b.main.name for b in site.boards.values() if not b.fed_by)
        return _with(found, how, (*current, *mains))
    if word in devices:
        return _with(found, how, (*current, devices[word]))
    switches = {name.casefold(): name for name in site.switches}
    if _bare(word) in switches:
        return _positioned(site, found, at, switches[_bare(word)], how)
    ids = site.loads()
    points = {name.casefold(): name for name in site.points}
    names = [i for i in ids if word in (i.casefold(), i.split("/", 1)[1].casefold())]
    names = names or [i for i in ids if points.get(word) == i.split("/", 1)[0]]
    if not names:
        known = [*site.devices, *site.switches, *(i.split("/", 1)[1] for i in ids)]
        near = nearest(at.text, known)
        site.cursor.note(at, "a device, switch or load: " + ", ".join(known[:12]), None,
                         f'did you mean "{near}"?' if near else "")  # fmt: skip
        return found
    if how == "off":
        return replace(found, unplugged=(*found.unplugged, *names))
    return replace(found, plugged=(*found.plugged, *names))


def _with(found: Conditions, how: str, names: tuple[str, ...]) -> Conditions:
    return replace(found, off=names) if how == "off" else replace(found, on=names)


def _positioned(site: Site, found: Conditions, at: Node, name: str, position: str) -> Conditions:
    positions = site.switches[name]
    if position not in positions:
        site.cursor.note(at, f"a position of {name}: " + ", ".join(positions), position)
        return found
    return replace(found, positions=(*found.positions, (name, position)))


def _set(site: Site, found: Conditions, at: Node, circuit: Circuit | None) -> Conditions:
    if at.kind != "map":
        site.cursor.note(at, "switches with their positions: {Hall switch: up}")
        return found
    switches = {name.casefold(): name for name in site.switches}
    for key, value in at.pairs:
        name = switches.get(key.casefold())
        if name is None:
            near = nearest(key, site.switches)
            site.cursor.note(value, "a switch: " + (", ".join(site.switches) or "none is stated"),
                             key, f'did you mean "{near}"?' if near else "")  # fmt: skip
        else:
            found = _positioned(site, found, value, name, value.text)
    return found


def _unplugged(site: Site, found: Conditions, at: Node, circuit: Circuit | None) -> Conditions:
    names = list(found.unplugged)
    points = {name.casefold(): name for name in site.points}
    for item in site.cursor.texts(at):
        word = item.text.casefold()
        if word in ("all", "everything", "yes"):
            names.append("all")
        elif word in points:
            names.append(points[word])
        elif load := site.load(item, item.text):
            names.append(load)
    return replace(found, unplugged=tuple(names))


def _plugged(site: Site, found: Conditions, at: Node, circuit: Circuit | None) -> Conditions:
    names = [load for item in site.cursor.texts(at) if (load := site.load(item, item.text))]
    return replace(found, plugged=(*found.plugged, *names))


def _linked(site: Site, found: Conditions, at: Node, circuit: Circuit | None) -> Conditions:
    links = list(found.links)
    for item in site.cursor.texts(at):
        full = [part.strip() for part in item.text.split(" to ")]
        if len(full) == 2:
            a, b = (site.named_terminal(item, part, "", circuit) for part in full)
        else:
            port, _, where = item.text.partition(" at ")
            pair = split_port(port)
            place = site.place(item, where) if where else None
            if pair is None or (where and place is None):
                if pair is None:
                    site.cursor.note(item, 'a link such as "L-E at Board" or "Bench L to Bench E"')
                continue
            place = place or next(iter(site.boards))
            a, b = (site.terminal(item, place, word, "", circuit) for word in pair)
        if a and b:
            links.append((a, b))
    return replace(found, links=tuple(links))


def _parted(site: Site, found: Conditions, at: Node, circuit: Circuit | None) -> Conditions:
    """Paths parted: a jumper taken off, a bond or a rod disconnected."""
    known = {path.name.casefold(): f"path {path.name}" for path in site.installation.paths}
    if site.installation.supply.electrode_ohms is not None:
        known |= dict.fromkeys(("electrode", "rod", "earth rod", "ground rod"), "electrode")
    parts = list(found.lifted)
    for item in site.cursor.texts(at):
        part = known.get(item.text.casefold())
        if part is None:
            near = nearest(item.text, known)
            site.cursor.note(item, "one of the other paths: " + (", ".join(known) or "none stated"),
                             None, f'did you mean "{near}"?' if near else
                             "name it under other paths")  # fmt: skip
        else:
            parts.append(part)
    return replace(found, lifted=tuple(dict.fromkeys(parts)))


def _left_in(site: Site, found: Conditions, at: Node, circuit: Circuit | None) -> Conditions:
    """Switched off at the appliance, which parts its line alone; the rest of its flex stays in."""
    loads = site.loads()
    parts = list(found.lifted)
    for item in site.cursor.texts(at):
        if load := site.load(item, item.text):
            parts.append(f"flex {load} {loads[load].across[0]}")
    return replace(found, lifted=tuple(dict.fromkeys(parts)))


def _lifted(site: Site, found: Conditions, at: Node, circuit: Circuit | None) -> Conditions:
    joints = list(found.lifted)
    for item in site.cursor.texts(at):
        if item.text.startswith(_PARTS) or item.text in ("electrode", "neutral-earth link"):
            joints.append(item.text)
            continue
        word, _, where = item.text.partition(" at ")
        parts = where.split()
        side = parts.pop().casefold() if len(parts) > 1 and parts[-1].casefold() in SIDES else ""
        if not where:
            site.cursor.note(item, 'a core such as "L at Bench in" or "N at Board"')
            continue
        place = site.place(item, " ".join(parts))
        owner = (circuit or site.circuit_at(place)) if place else None
        if place is None or owner is None:
            if place is not None:
                site.cursor.note(item, "a place of one circuit; name the circuit", place)
            continue
        key = site.key(item, place, word.strip())
        for way in ("in", "out"):
            if side and SIDES[side] not in (way, ""):
                continue
            for run in site.runs_at(owner, place, way):
                ends = [core.end if way == "in" else core.start for core in run.cores]
                if key in ends:
                    joints.append(f"joint {place} {key} {run.name}")
    return replace(found, lifted=tuple(dict.fromkeys(joints)))


def _lamp_in(site: Site, found: Conditions, at: Node, circuit: Circuit | None) -> Conditions:
    added = list(found.added)
    for item in site.cursor.texts(at):
        parts = _ADDED.fullmatch(item.text)
        if (
            parts is None
            or (place := site.place(node_with(item, item.text), parts["place"])) is None
        ):
            continue
        if place not in site.points and place not in site.boards:
            site.cursor.note(item, "a point or a board with line and neutral", place)
            continue
        watts = float(parts["watts"]) if parts["watts"] else 60.0
        added.append((place, parts["kind"] if parts["watts"] else "filament", watts))
    return replace(found, added=tuple(added))


_HANDLERS: dict[str, Callable[[Site, Conditions, Node, Circuit | None], Conditions]] = {
    "set": _set,
    "unplugged": _unplugged,
    "plugged": _plugged,
    "linked": _linked,
    "lifted": _lifted,
    "parted": _parted,
    "left in": _left_in,
    "lamp in": _lamp_in,
}
