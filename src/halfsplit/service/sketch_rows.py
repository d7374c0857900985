"""A circuit as rows a thumb can change, read from the written form and written back to it.

A circuit that is written in one of the plain patterns (a run, a ring, lights, one appliance, points
in an unknown order) becomes a :class:`Drawn` of :class:`Place` rows, branches after the place they
leave from. Keys of the form that the sketch does not show are kept as they were. Anything else is
left to the written form.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

WRITTEN = "written"
ALL_LINES = ("L1", "L2", "L3")
_BARE = re.compile(r"[\d.,]+")
_MEASURE = re.compile(
    r"(?i)(?:about|around|approx\.?|~|>|<|over|under)?\s*[-+]?[\d.,]*\d[\d.,]*"
    r"\s*(m|ft|cm|mm|'|feet|metres?|meters?)?(?:\s+to\s+.*)?|unknown"
)


@dataclass(frozen=True, slots=True)
class Place:
    """A row of the sketch. ``length`` is the cable to it as typed; ``depth`` 1 on a branch.

    ``leg`` is the line it takes where its circuit has several; ``was`` its name before, "" for a
    new one; ``rest`` are details the sketch does not show.
    """

    name: str
    length: str = ""
    kind: str = "socket"
    loads: str = ""
    switches: str = ""
    depth: int = 0
    leg: str = ""
    was: str = ""
    rest: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Drawn:
    """A circuit as drawn. ``home`` is a ring's last length.

    ``board`` is the board it starts from, "" for the first; ``legs`` the board's lines it takes.
    """

    name: str
    pattern: str
    device: str = ""
    cable: str = ""
    places: tuple[Place, ...] = ()
    home: str = ""
    board: str = ""
    legs: tuple[str, ...] = ()
    was: str = ""
    rest: Mapping[str, Any] = field(default_factory=dict)

    @property
    def plain(self) -> bool:
        """Whether it can be changed by rows."""
        return self.pattern != WRITTEN


def drawn(name: str, data: Any) -> Drawn:
    """One circuit of the form as rows."""
    if not isinstance(data, Mapping):
        return Drawn(name, WRITTEN, was=name)
    for pattern, read in (("run", _run), ("ring", _run), ("lighting", _lights), ("feeds", _feeds),
                          ("points", _points)):  # fmt: skip
        if pattern in data and not (pattern == "points" and {"runs", "run", "ring"} & data.keys()):
            found = read(name, pattern, data)
            return found if found is not None else Drawn(name, WRITTEN, was=name)
    return Drawn(name, WRITTEN, was=name)


def _head(name: str, pattern: str, data: Mapping[str, Any], used: set[str]) -> Drawn:
    rest = {key: value for key, value in data.items() if key not in used | {"device", "cable"}}
    legs = _legs(rest)
    board = rest.pop("board", "") if isinstance(rest.get("board"), str) else ""
    device, cable = data.get("device", ""), data.get("cable", "")
    if not isinstance(device, str):
        rest, device = {**rest, "device": device}, ""
    if not isinstance(cable, str):
        rest, cable = {**rest, "cable": cable}, ""
    return Drawn(name, pattern, device, cable, board=board, legs=legs, was=name, rest=rest)


def _legs(rest: dict[str, Any]) -> tuple[str, ...]:
    """The lines a circuit takes, taken out of what is left; () where rows cannot say them."""
    given = rest.get("legs")
    legs = (given,) if isinstance(given, str) else given
    if not isinstance(legs, list | tuple) or not set(legs) <= set(ALL_LINES):
        return ()
    del rest["legs"]
    return tuple(legs)


def is_length(item: Any) -> bool:
    """Whether an item of a run is a length and not a place."""
    return isinstance(item, str | int | float) and bool(_MEASURE.fullmatch(str(item).strip()))


def _chain(items: Any) -> tuple[list[tuple[str, str]], str] | None:
    """[(length, place)] and a last length, or None where a length has details of its own."""
    if isinstance(items, str):
        items = [items]
    if not isinstance(items, Sequence):
        return None
    found: list[tuple[str, str]] = []
    waiting = ""
    for item in items:
        if isinstance(item, Mapping) or not isinstance(item, str | int | float):
            return None
        if is_length(item):
            waiting = str(item)
        else:
            found.append((waiting, str(item)))
            waiting = ""
    return found, waiting


def _run(name: str, pattern: str, data: Mapping[str, Any]) -> Drawn | None:
    chain = _chain(data[pattern])
    key = next((k for k in ("branches", "spurs", "branch", "spur") if k in data), "")
    branches = data.get(key) or {}
    if chain is None or not isinstance(branches, Mapping):
        return None
    details = data.get("points") or {}
    loads_key = next((k for k in ("plugged in", "loads") if k in data), "plugged in")
    loads = data.get(loads_key) or {}
    if not isinstance(details, Mapping) or not isinstance(loads, Mapping):
        return None
    places: list[Place] = []
    left = dict(branches)
    for length, place in chain[0]:
        places.append(_row(place, length, 0, details, loads))
        branch = left.pop(place, None)
        if branch is None:
            continue
        below = _chain(branch)
        if below is None or below[1]:
            return None
        places += [_row(inner, far, 1, details, loads) for far, inner in below[0]]
    if left or (chain[1] and pattern != "ring"):
        return None
    used = {pattern, key, "points", loads_key}
    return replace(_head(name, pattern, data, used), places=tuple(places), home=chain[1])


def _row(
    place: str, length: str, depth: int, details: Mapping[str, Any], loads: Mapping[str, Any]
) -> Place:
    own = details.get(place, {})
    own = {"kind": own} if isinstance(own, str) else dict(own)
    kind = str(own.pop("kind", "socket"))
    inside = own.pop("loads", None) if place not in loads else None
    leg = own.pop("leg") if own.get("leg") in ALL_LINES else ""
    return Place(place, length, kind, listed(loads.get(place, inside or "")), depth=depth,
                 leg=leg, was=place, rest=own)  # fmt: skip


def listed(value: Any) -> str:
    """A list of words as one line."""
    if isinstance(value, list | tuple):
        return ", ".join(listed(item) for item in value)
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {listed(item)}" for key, item in value.items())
    return str(value)


def _lights(name: str, pattern: str, data: Mapping[str, Any]) -> Drawn | None:
    items = data[pattern]
    if not isinstance(items, list):
        return None
    places: list[Place] = []
    waiting = ""
    for item in items:
        if is_length(item):
            waiting = str(item)
            continue
        if isinstance(item, str):
            item = {item: {}}
        if not isinstance(item, Mapping) or len(item) != 1:
            return None
        ((place, own),) = item.items()
        if not isinstance(own, Mapping):
            return None
        own = dict(own)
        switches = listed(own.pop("switched by", own.pop("switch", "")))
        lamp = own.pop("lamp", "")
        places.append(Place(place, waiting, "light", listed(lamp), switches, was=place, rest=own))
        waiting = ""
    return replace(_head(name, pattern, data, {pattern}), places=tuple(places))


def _feeds(name: str, pattern: str, data: Mapping[str, Any]) -> Drawn | None:
    place = data[pattern]
    loads = data.get("plugged in") or data.get("loads") or {}
    if not isinstance(place, str) or not isinstance(loads, Mapping):
        return None
    row = Place(place, str(data.get("length", "")), "appliance", listed(loads.get(place, "")),
                was=place)  # fmt: skip
    used = {pattern, "length", "plugged in", "loads"}
    return replace(_head(name, pattern, data, used), places=(row,))


def _points(name: str, pattern: str, data: Mapping[str, Any]) -> Drawn | None:
    points = data[pattern]
    loads = data.get("plugged in") or {}
    if not isinstance(points, list) or not isinstance(loads, Mapping):
        return None
    rows = tuple(_row(str(place), "", 0, {}, loads) for place in points)
    return replace(_head(name, pattern, data, {pattern, "order", "plugged in"}), places=rows)


# Back to the form


def as_form(circuit: Drawn, region: str = "uk") -> dict[str, Any]:
    """One circuit as the written form has it."""
    data: dict[str, Any] = {}
    if circuit.board:
        data["board"] = circuit.board
    if circuit.legs:
        data["legs"] = circuit.legs[0] if len(circuit.legs) == 1 else list(circuit.legs)
    if circuit.device:
        data["device"] = circuit.device
    if circuit.cable:
        data["cable"] = circuit.cable
    data |= circuit.rest
    unit = "ft" if region == "na" else "m"
    if circuit.pattern == "lighting":
        return data | {"lighting": _lights_form(circuit, unit)}
    if circuit.pattern == "feeds":
        return data | _feeds_form(circuit, unit)
    if circuit.pattern == "points":
        data |= {"points": [p.name for p in circuit.places], "order": "unknown"}
        return _with_loads(data, circuit)
    main: list[str] = []
    branches: dict[str, list[str]] = {}
    here = ""
    for place in circuit.places:
        chain = main
        if place.depth and here:
            chain = branches.setdefault(here, [])
        else:
            here = place.name
        chain += [_long(place.length, unit)] if place.length.strip() else []
        chain.append(place.name)
    if circuit.pattern == "ring" and circuit.home.strip():
        main.append(_long(circuit.home, unit))
    data[circuit.pattern] = main
    if branches:
        data["spurs" if circuit.pattern == "ring" else "branches"] = branches
    details = {p.name: _detail(p) for p in circuit.places if p.kind != "socket" or p.leg or p.rest}
    if details:
        data["points"] = details
    return _with_loads(data, circuit)


def _with_loads(data: dict[str, Any], circuit: Drawn) -> dict[str, Any]:
    loads = {p.name: words(p.loads) for p in circuit.places if p.loads.strip()}
    return data | ({"plugged in": loads} if loads else {})


def _detail(place: Place) -> Any:
    if not place.leg and not place.rest:
        return place.kind
    kind = {"kind": place.kind} if place.kind != "socket" else {}
    return {**({"leg": place.leg} if place.leg else {}), **kind, **place.rest}


def _lights_form(circuit: Drawn, unit: str) -> list[Any]:
    items: list[Any] = []
    for place in circuit.places:
        items += [_long(place.length, unit)] if place.length.strip() else []
        own: dict[str, Any] = {}
        switches = words(place.switches)
        if switches:
            own["switched by"] = switches[0] if len(switches) == 1 else switches
        if place.loads.strip():
            own["lamp"] = place.loads.strip()
        items.append({place.name: own | dict(place.rest)})
    return items


def _feeds_form(circuit: Drawn, unit: str) -> dict[str, Any]:
    if not circuit.places:
        return {"feeds": ""}
    place = circuit.places[0]
    data: dict[str, Any] = {"feeds": place.name}
    if place.length.strip():
        data["length"] = _long(place.length, unit)
    return _with_loads(data, circuit)


def words(text: str) -> list[str]:
    """A line of words parted by commas as a list."""
    return [word.strip() for word in text.split(",") if word.strip()]


def _long(text: str, unit: str) -> str:
    """A length with its unit; a bare number takes the region's."""
    text = text.strip()
    return f"{text} {unit}" if _BARE.fullmatch(text) else text
