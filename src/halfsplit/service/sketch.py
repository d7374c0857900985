"""The sketch: a circuit as rows a thumb can change, to and from the written form.

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

from halfsplit.errors import BadInput, NotFound
from halfsplit.problems import Problem

PATTERNS: Mapping[str, str] = {
    "run": "one after another",
    "ring": "a ring back to the board",
    "lighting": "lights and switches",
    "feeds": "one fixed appliance",
    "points": "order not known",
}
WRITTEN = "written"
MOST_POINTS = 40
KINDS = ("socket", "light", "switch", "fused unit", "joint box", "appliance", "gfci outlet",
         "isolator")  # fmt: skip
_BARE = re.compile(r"[\d.,]+")
_MEASURE = re.compile(
    r"(?i)(?:about|around|approx\.?|~|>|<|over|under)?\s*[-+]?[\d.,]*\d[\d.,]*"
    r"\s*(m|ft|cm|mm|'|feet|metres?|meters?)?(?:\s+to\s+.*)?|unknown"
)


@dataclass(frozen=True, slots=True)
class Place:
    """A row of the sketch. ``length`` is the cable to it as typed; ``depth`` 1 on a branch.

    ``was`` is its name before, "" for a new one; ``rest`` are details the sketch does not show.
    """

    name: str
    length: str = ""
    kind: str = "socket"
    loads: str = ""
    switches: str = ""
    depth: int = 0
    was: str = ""
    rest: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Drawn:
    """A circuit as drawn. ``home`` is a ring's last length."""

    name: str
    pattern: str
    device: str = ""
    cable: str = ""
    places: tuple[Place, ...] = ()
    home: str = ""
    was: str = ""
    rest: Mapping[str, Any] = field(default_factory=dict)

    @property
    def plain(self) -> bool:
        """Whether it can be changed by rows."""
        return self.pattern != WRITTEN


def new_circuit(
    wiring: Mapping[str, Any], pattern: str, count: int, device: str, cable: str, name: str = ""
) -> dict[str, Any]:
    """The wiring with one more circuit in a pattern, its places named to be renamed.

    Raises: BadInput for a pattern or a number that is not offered.
    """
    if pattern not in PATTERNS:
        raise BadInput([Problem("pattern", pattern, ", ".join(PATTERNS))])
    if not 1 <= count <= MOST_POINTS:
        raise BadInput([Problem("points", str(count), f"1 to {MOST_POINTS}")])
    taken = names_in(wiring)
    stem = {"lighting": "Light", "feeds": "Appliance"}.get(pattern, "Point")
    places = []
    for _ in range(1 if pattern == "feeds" else count):
        own = fresh(stem, taken)
        taken.add(own)
        switch = own.replace("Light", "Switch") if pattern == "lighting" else ""
        places.append(Place(own, switches=switch))
    circuits = dict(wiring.get("circuits") or {})
    name = name.strip() or fresh("Circuit", set(circuits))
    if name in circuits:
        raise BadInput([Problem("name of the circuit", name, "a name that no other circuit has")])
    circuits[name] = as_form(Drawn(name, pattern, device, cable, tuple(places)))
    return {**wiring, "circuits": circuits}


def fresh(stem: str, taken: set[str]) -> str:
    """A name nobody has yet: "Point 1", "Point 2"."""
    number = 1
    while f"{stem} {number}" in taken:
        number += 1
    return f"{stem} {number}"


def names_in(wiring: Mapping[str, Any]) -> set[str]:
    """Every place named in a sketch."""
    found = set[str]()
    for drawn in drawn_circuits(wiring):
        found |= {place.name for place in drawn.places}
    return found


def drawn_circuits(wiring: Mapping[str, Any]) -> tuple[Drawn, ...]:
    """Every circuit as rows, or marked as written where rows cannot say it."""
    circuits = wiring.get("circuits") or {}
    return tuple(drawn(name, data) for name, data in circuits.items())


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
    device, cable = data.get("device", ""), data.get("cable", "")
    if not isinstance(device, str):
        rest, device = {**rest, "device": device}, ""
    if not isinstance(cable, str):
        rest, cable = {**rest, "cable": cable}, ""
    return Drawn(name, pattern, device, cable, was=name, rest=rest)


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
    return Place(place, length, kind, listed(loads.get(place, inside or "")), depth=depth,
                 was=place, rest=own)  # fmt: skip


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
    details = {p.name: _detail(p) for p in circuit.places if p.kind != "socket" or p.rest}
    if details:
        data["points"] = details
    return _with_loads(data, circuit)


def _with_loads(data: dict[str, Any], circuit: Drawn) -> dict[str, Any]:
    loads = {p.name: words(p.loads) for p in circuit.places if p.loads.strip()}
    return data | ({"plugged in": loads} if loads else {})


def _detail(place: Place) -> Any:
    return {"kind": place.kind, **place.rest} if place.rest else place.kind


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


# Changes


def change(
    wiring: Mapping[str, Any], circuit: Drawn, op: str = ""
) -> tuple[dict[str, Any], dict[str, str]]:
    """(wiring, renamed places) after a circuit's rows were edited and one button was pressed.

    ``op`` is "" to keep the edits only, or "up 2", "down 2", "remove 2", "after 2", "spur 2",
    "drop circuit"; rows count from 0. Raises: BadInput, NotFound.
    """
    circuits = dict(wiring.get("circuits") or {})
    if circuit.was not in circuits:
        raise NotFound(f'no circuit "{circuit.was}" in this sketch; it has {", ".join(circuits)}')
    if op == "drop circuit":
        del circuits[circuit.was]
        return {**wiring, "circuits": circuits}, {}
    _named_once(circuit, wiring)
    circuit = _pressed(circuit, op, names_in(wiring) | {p.name for p in circuit.places})
    region = str(wiring.get("region", "uk"))
    made = {
        (circuit.name if name == circuit.was else name): (
            as_form(circuit, region) if name == circuit.was else data
        )
        for name, data in circuits.items()
    }
    renamed = {p.was: p.name for p in circuit.places if p.was and p.was != p.name}
    if circuit.name != circuit.was:
        renamed[circuit.was] = circuit.name
    return {**wiring, "circuits": made}, renamed


def _named_once(circuit: Drawn, wiring: Mapping[str, Any]) -> None:
    found = []
    names = [place.name.strip() for place in circuit.places]
    for k, name in enumerate(names, start=1):
        if not name:
            found.append(Problem(f"row {k}", "", "a name for the place"))
        elif is_length(name):
            found.append(Problem(f"row {k}", name, "a name that is not a length"))
        elif names.index(name) != k - 1:
            found.append(Problem(f"row {k}", name, "a name that no other place has"))
    others = [c for c in (wiring.get("circuits") or {}) if c != circuit.was]
    if not circuit.name.strip() or circuit.name in others:
        accepted = "a name that no other circuit has"
        found.append(Problem("name of the circuit", circuit.name, accepted))
    if found:
        raise BadInput(found)


def _pressed(circuit: Drawn, op: str, taken: set[str]) -> Drawn:
    if op in ("", "done"):
        return circuit
    what, _, at = op.partition(" ")
    places = list(circuit.places)
    if what == "end":
        places.append(Place(fresh("Light" if circuit.pattern == "lighting" else "Point", taken)))
        return replace(circuit, places=tuple(places))
    if not at.isdigit() or int(at) >= len(places):
        raise BadInput([Problem("button", op, "a row of this circuit")])
    k = int(at)
    own = places[k]
    if what == "up" and k > 0:
        places[k - 1], places[k] = own, places[k - 1]
    elif what == "down" and k + 1 < len(places):
        places[k + 1], places[k] = own, places[k + 1]
    elif what == "remove":
        del places[k]
        if not places:
            raise BadInput([Problem("button", op, "a circuit keeps one place; drop the circuit")])
    elif what in ("after", "spur"):
        stem = "Light" if circuit.pattern == "lighting" else "Point"
        branch = 1 if what == "spur" or own.depth else 0
        places.insert(k + 1, Place(fresh(stem, taken), depth=branch))
    elif what not in ("up", "down"):
        raise BadInput([Problem("button", op, "up, down, remove, after, spur or end")])
    if places and places[0].depth:
        places[0] = replace(places[0], depth=0)
    if len(places) > MOST_POINTS:
        raise BadInput([Problem("points", str(len(places)), f"at most {MOST_POINTS} in a circuit")])
    return replace(circuit, places=tuple(places))
