"""The sketch: circuits and boards added in a pattern, rows moved and renamed, nothing dropped."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from halfsplit.errors import BadInput, NotFound
from halfsplit.problems import Problem
from halfsplit.service.sketch_house import follow, proper
from halfsplit.service.sketch_rows import Drawn, Place, as_form, drawn, is_length
from halfsplit.service.written import check_wiring
from halfsplit.wiring.sheet import lines_of

PATTERNS: Mapping[str, str] = {
    "run": "one after another",
    "ring": "a ring back to the board",
    "lighting": "lights and switches",
    "feeds": "one fixed appliance",
    "points": "order not known",
    "pair": "two lines, one neutral",
    "board": "a board further on",
}
ONE_PLACE = ("feeds", "board")
MOST_POINTS = 40
KINDS = ("socket", "light", "switch", "fused unit", "joint box", "appliance", "gfci outlet",
         "isolator")  # fmt: skip


def new_circuit(
    wiring: Mapping[str, Any], pattern: str, count: int, device: str, cable: str, name: str = "",
    board: str = "",
) -> dict[str, Any]:  # fmt: skip
    """The wiring with one more circuit in a pattern, its places named to be renamed.

    ``board`` is where it starts, "" for the first. A new board further on is fed by its circuit.
    Raises: BadInput for a pattern, a number or a board that is not offered.
    """
    wiring = proper(wiring)
    lines = lines_in(wiring)
    offered = patterns_for(lines)
    if pattern not in offered:
        raise BadInput([Problem("pattern", pattern, ", ".join(offered))])
    if not 1 <= count <= MOST_POINTS:
        raise BadInput([Problem("points", str(count), f"1 to {MOST_POINTS}")])
    known = boards_in(wiring)
    if board and board not in known:
        raise BadInput([Problem("board", board, ", ".join(known))])
    circuits = dict(wiring.get("circuits") or {})
    name = name.strip() or fresh("Circuit", set(circuits))
    if name in circuits:
        raise BadInput([Problem("name of the circuit", name, "a name that no other circuit has")])
    places = _new_places(pattern, count, names_in(wiring) | set(known), lines)
    legs = {"pair": lines[:2], "board": lines if len(lines) > 1 else ()}.get(pattern, ())
    shape = "run" if pattern in ("pair", "board") else pattern
    start = board if board != known[0] else ""
    made = Drawn(name, shape, device, cable, places, board=start, legs=legs)
    circuits[name] = as_form(made)
    found = {**wiring, "circuits": circuits}
    return _with_board(found, known, places[0].name) if pattern == "board" else found


def _new_places(
    pattern: str, count: int, taken: set[str], lines: tuple[str, ...]
) -> tuple[Place, ...]:
    stem = {"lighting": "Light", "feeds": "Appliance", "board": "Board"}.get(pattern, "Point")
    places = []
    for k in range(1 if pattern in ONE_PLACE else count):
        own = fresh(stem, taken, 2 if pattern == "board" else 1)
        taken.add(own)
        switch = own.replace("Light", "Switch") if pattern == "lighting" else ""
        places.append(Place(own, switches=switch, leg=lines[k % 2] if pattern == "pair" else ""))
    return tuple(places)


def lines_in(wiring: Mapping[str, Any]) -> tuple[str, ...]:
    """The supply's lines by their keys; one where there is one, or none can be read."""
    bare = {key: value for key, value in proper(wiring).items() if key in ("region", "supply")}
    try:
        return lines_of(
            check_wiring({**bare, "circuits": {"a": {"run": ["b"]}}}).installation.supply
        )
    except BadInput:
        return ("L",)


def patterns_for(lines: tuple[str, ...]) -> dict[str, str]:
    """What is offered on a supply: a neutral is shared by lines only where there are several."""
    return {key: words for key, words in PATTERNS.items() if key != "pair" or len(lines) > 1}


def boards_in(wiring: Mapping[str, Any]) -> tuple[str, ...]:
    """The boards by name, the first being where the supply comes in."""
    boards = proper(wiring).get("boards")
    return tuple(boards) if isinstance(boards, Mapping) and boards else ("Board",)


def _with_board(wiring: dict[str, Any], known: tuple[str, ...], name: str) -> dict[str, Any]:
    boards = wiring.get("boards")
    if not isinstance(boards, Mapping) or not boards:
        first = wiring.pop("board", {})
        boards = {known[0]: first if isinstance(first, Mapping) else {"main": first}}
    return {**wiring, "boards": {**boards, name: {}}}


def fresh(stem: str, taken: set[str], number: int = 1) -> str:
    """A name nobody has yet: "Point 1", "Point 2"."""
    while f"{stem} {number}" in taken:
        number += 1
    return f"{stem} {number}"


def names_in(wiring: Mapping[str, Any]) -> set[str]:
    """Every place named in a sketch."""
    found = set[str]()
    for circuit in drawn_circuits(wiring):
        found |= {place.name for place in circuit.places}
    return found


def drawn_circuits(wiring: Mapping[str, Any]) -> tuple[Drawn, ...]:
    """Every circuit as rows, or marked as written where rows cannot say it."""
    circuits = proper(wiring).get("circuits") or {}
    return tuple(drawn(name, data) for name, data in circuits.items())


def change(
    wiring: Mapping[str, Any], circuit: Drawn, op: str = ""
) -> tuple[dict[str, Any], dict[str, str]]:
    """(wiring, renamed places) after a circuit's rows were edited and one button was pressed.

    ``op`` is "" to keep the edits only, or "up 2", "down 2", "remove 2", "after 2", "spur 2",
    "drop circuit"; rows count from 0. Raises: BadInput, NotFound.
    """
    wiring = proper(wiring)
    circuits = dict(wiring.get("circuits") or {})
    if circuit.was not in circuits:
        raise NotFound(f'no circuit "{circuit.was}" in this sketch; it has {", ".join(circuits)}')
    if op == "drop circuit":
        del circuits[circuit.was]
        fed = {place.was for place in circuit.places} & set(boards_in(wiring)[1:])
        return follow(
            _without_boards({**wiring, "circuits": circuits}, fed), {}, (circuit.was,)
        ), {}
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
    made_wiring = _boards_renamed({**wiring, "circuits": made}, renamed)
    return (follow(made_wiring, renamed) if renamed else made_wiring), renamed


def _without_boards(wiring: dict[str, Any], gone: set[str]) -> dict[str, Any]:
    """The wiring less boards that nothing feeds any more. Raises: BadInput when one is in use."""
    for name, data in wiring["circuits"].items():
        if isinstance(data, Mapping) and data.get("board") in gone:
            remedy = f'drop "{name}" first, or start it from another board'
            raise BadInput([Problem("circuit", name, "a board that is still fed", remedy)])
    if not gone:
        return wiring
    boards = {name: data for name, data in wiring["boards"].items() if name not in gone}
    return {**wiring, "boards": boards}


def _boards_renamed(wiring: dict[str, Any], renamed: Mapping[str, str]) -> dict[str, Any]:
    """The wiring with a renamed board's own entry and its circuits following."""
    boards = wiring.get("boards")
    if not isinstance(boards, Mapping) or not renamed.keys() & boards.keys():
        return wiring
    circuits = {
        name: {**data, "board": renamed[data["board"]]}
        if isinstance(data, Mapping) and data.get("board") in renamed
        else data
        for name, data in wiring["circuits"].items()
    }
    named = {renamed.get(name, name): data for name, data in boards.items()}
    return {**wiring, "boards": named, "circuits": circuits}


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
