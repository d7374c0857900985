"""The ladder as data: rails, rungs and the lengths of cable between, for one chosen cause.

A circuit stands as a chain of steps down from its board. Every place is a rung, with where each
conductor stands there, what holds it, what was read and what would hurt; between rungs the rails
carry their breaks, with both terminals named. A branch is a chain of its own that hangs on a rung;
a ring ends on the board again. How it is drawn, and in what colours, is for the edges to say.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from halfsplit.diagnosis.result import Compared, Danger, Hold
from halfsplit.faults.words import conductor_words, joined, terminal_words
from halfsplit.quantity import feet, metres, ohms
from halfsplit.report.loads import load_words
from halfsplit.report.readings import circuit_of, letter, shown_words, told
from halfsplit.report.rungs import Break, Chain, Ladder, Link, Mark, Note, Rung
from halfsplit.wiring.effects import Added, Bridged, Effect, StateChange
from halfsplit.wiring.model import About, Circuit, Installation, Point, Region, Run
from halfsplit.wiring.plan import Element, Plan

__all__ = ["Break", "Chain", "Ladder", "Link", "Mark", "Note", "Rung", "device_words", "hurt_words",
           "ladders", "length_words", "note_of", "ordered", "rail_words"]  # fmt: skip
T = TypeVar("T")
ORDER = ("L", "L1", "L2", "L3", "SL", "SL1", "SL2", "T1", "T2", "T3", "T4", "N", "E")
JOINS_FROM_OHMS = 1.0  # an added resistance below this is not drawn as a break


@dataclass(frozen=True, slots=True)
class _Source:
    installation: Installation
    holds: Mapping[tuple[str, str], Hold]
    hurts: Mapping[tuple[str, str], str]
    notes: Mapping[str, tuple[Note, ...]]
    cuts: Mapping[str, tuple[Break, ...]]  # by element id
    runs_cut: Mapping[str, tuple[Element, ...]]
    at: Mapping[tuple[str, str], tuple[Break, ...]]  # by place and circuit: cut in an accessory
    faults: Mapping[tuple[str, str], tuple[str, ...]]  # the same for joins and states


def ladders(
    installation: Installation,
    plan: Plan,
    holds: Sequence[Hold],
    effects: Sequence[Effect],
    compared: Sequence[Compared],
    dangers: Sequence[Danger],
) -> tuple[Ladder, ...]:
    """Every circuit's ladder for the cause with those ``effects``, circuits in their order."""
    source = _source(installation, plan, holds, effects, compared, dangers)
    found = []
    boards: set[str] = set()
    for circuit in installation.circuits:
        found.append(_ladder(circuit, source, first=circuit.board not in boards))
        boards.add(circuit.board)
    return tuple(found)


def _source(
    installation: Installation,
    plan: Plan,
    holds: Sequence[Hold],
    effects: Sequence[Effect],
    compared: Sequence[Compared],
    dangers: Sequence[Danger],
) -> _Source:
    cuts: dict[str, tuple[Break, ...]] = {}
    runs_cut: dict[str, tuple[Element, ...]] = {}
    inside: dict[tuple[str, str], tuple[Break, ...]] = {}
    for effect in effects:
        if not isinstance(effect, Added) or effect.ohms < JOINS_FROM_OHMS:
            continue
        element = plan.element(effect.element)
        cut = _break(element, effect.ohms, installation)
        cuts[element.id] = (*cuts.get(element.id, ()), cut)
        if element.run:
            runs_cut[element.run] = (*runs_cut.get(element.run, ()), element)
        else:
            place = (element.at[0] if element.at else "origin", element.circuit)
            inside[place] = (*inside.get(place, ()), cut)
    notes: dict[str, tuple[Note, ...]] = {}
    for item in compared:
        note = note_of(item, installation)
        notes[note.told.place] = (*notes.get(note.told.place, ()), note)
    return _Source(
        installation,
        {(h.place, h.conductor): h for h in holds},
        {(d.place, d.conductor): hurt_words(d) for d in reversed(dangers) if d.kind == "shock"},
        notes,
        cuts,
        runs_cut,
        inside,
        _faults(effects, plan, installation),
    )


def _break(element: Element, added: float, installation: Installation) -> Break:
    region = installation.region
    a, b = (terminal_words(end, region, installation) for end in (element.a, element.b))
    return Break(element.conductor, a, b, added)


def note_of(item: Compared, installation: Installation) -> Note:
    """One compared reading as it stands on its rung."""
    predicted = shown_words(item.reading, item.predicted)
    circuit = circuit_of(item.reading, installation)
    return Note(told(item.reading, installation), predicted, item.fits, circuit)


def hurt_words(danger: Danger) -> str:
    """What a person may find at a dangerous terminal, from its figures."""
    return f"up to {danger.volts:.0f} V"


def _faults(
    effects: Sequence[Effect], plan: Plan, installation: Installation
) -> dict[tuple[str, str], tuple[str, ...]]:
    """By place and circuit, what the cause joins there and what stands in another state."""
    region = installation.region
    found: dict[tuple[str, str], tuple[str, ...]] = {}
    boards = {board.name for board in installation.boards}
    for effect in effects:
        if isinstance(effect, Bridged):
            a, b = (terminal_words(end, region, installation) for end in (effect.a, effect.b))
            size = ""
            if not math.isinf(effect.siemens):
                if effect.siemens <= 0:
                    continue
                size = f" through {ohms(1 / effect.siemens)}"
            place, circuit = _place(effect.a, installation), ""
            if place in boards and _place(effect.b, installation) not in boards:
                place = _place(effect.b, installation)
            words = f"{a} joined to {b}{size}"
        elif isinstance(effect, StateChange):
            held = next((e for e in plan.elements if e.control == effect.control), None)
            place, circuit = (held.at[0], held.circuit) if held else ("", "")
            words = f"{effect.control} stands {effect.state}"
        else:
            continue
        key = (place, circuit if place in boards else "")
        found[key] = (*found.get(key, ()), words)
    return found


def _place(node: str, installation: Installation) -> str:
    places = [p.name for p in installation.points()] + [b.name for b in installation.boards]
    for place in sorted(places, key=len, reverse=True):
        if node.startswith((f"{place}.", f"{place}/")):
            return place
    return installation.boards[0].name


def _ladder(circuit: Circuit, source: _Source, first: bool) -> Ladder:
    """One circuit; the ``first`` of a board also bears what is shared there."""
    keys = _keys_at(circuit, circuit.board)
    head = _rung(circuit.board, "board", keys, "", (), source, circuit)
    own = (circuit.name, "") if first else (circuit.name,)
    head = replace(head, notes=tuple(n for n in head.notes if n.circuit in own))
    fed = next((b.fed_by for b in source.installation.boards if b.name == circuit.board), "")
    if first and not fed:  # what is wrong with the supply has no rung of its own
        head = replace(
            head,
            breaks=(*_every(source.at, "origin", ""), *head.breaks),
            faults=(*_every(source.faults, "origin", ""), *head.faults),
        )
    seen: set[str] = set()
    chains = []
    for run in circuit.runs:
        if run.start == circuit.board and run.name not in seen:
            chains.append(_chain(circuit, run, seen, source))
    places = {p.name for p in circuit.points}
    drawn = bool(head.notes) or any(source.notes.get(p) for p in places)
    drawn = drawn or _matters(circuit, source)
    device = device_words(circuit, source.installation.region)
    return Ladder(circuit.name, device, head, tuple(chains), circuit.order_known, drawn)


def _matters(circuit: Circuit, source: _Source) -> bool:
    places = {p.name for p in circuit.points}
    if any(run.name in source.runs_cut for run in circuit.runs):
        return True
    if any(place in places for place, _ in (*source.at, *source.faults)):
        return True
    return any((circuit.board, circuit.name) in what for what in (source.at, source.faults))


def device_words(circuit: Circuit, region: Region) -> str:
    """A circuit's device as it is printed: "B16", "B32 30 mA"; "20 A breaker" in North America."""
    device = circuit.device
    if device.kind == "none":
        return "no device"
    size = f"{device.amps:g} A"
    curved = device.kind in ("breaker", "rcbo") and device.curve in ("B", "C", "D")
    if curved and region != "na":
        size = f"{device.curve}{device.amps:g}"
    kind = "" if size[0] in "BCD" and device.kind == "breaker" else device.kind
    shown = {"rcbo": "RCBO", "rcd": "RCD", "gfci": "GFCI"}.get(kind, kind)
    residual = f"{device.residual_amps * 1e3:g} mA" if device.residual_amps else ""
    return " ".join(part for part in (size, shown, residual) if part)


def _keys_at(circuit: Circuit, place: str) -> tuple[str, ...]:
    found = {c.start for r in circuit.runs if r.start == place for c in r.cores}
    found |= {c.end for r in circuit.runs if r.end == place for c in r.cores}
    return ordered(found)


def ordered(keys: set[str]) -> tuple[str, ...]:
    """Conductor keys from left to right as their rails stand."""
    known = [key for key in ORDER if key in keys]
    return (*known, *sorted(keys - set(known)))


def _chain(circuit: Circuit, first: Run, seen: set[str], source: _Source) -> Chain:
    """The runs that follow one another from ``first``; the longest way on is the chain's own."""
    keys: set[str] = set()
    steps: list[tuple[Link, Rung]] = []
    run: Run | None = first
    while run is not None:
        seen.add(run.name)
        keys |= {key for core in run.cores for key in (core.start, core.end)}
        if run.end == circuit.board:
            rung = Rung(run.end, "return", (), (), "")
            steps.append((_link(run, source), rung))
            return Chain(ordered(keys), tuple(steps), returns=True)
        leaving = [r for r in circuit.runs if r.start == run.end and r.name not in seen]
        onward = max(leaving, key=lambda r: _rank(circuit, r, frozenset(seen)), default=None)
        spurs = []
        for branch in leaving:
            if branch is not onward and branch.name not in seen:
                spurs.append(_chain(circuit, branch, seen, source))
        point = next((p for p in circuit.points if p.name == run.end), None)
        keys_here = _keys_at(circuit, run.end)
        keys |= set(keys_here if point is None else point.conductors)
        steps.append((_link(run, source), _point_rung(run.end, point, keys_here, spurs, source)))
        run = onward
    return Chain(ordered(keys), tuple(steps))


def _rank(circuit: Circuit, run: Run, seen: frozenset[str]) -> tuple[bool, int]:
    """The way on is the one that takes the neutral on, then the one with most places."""
    return any(core.start == "N" for core in run.cores), _reach(circuit, run, seen)


def _reach(circuit: Circuit, run: Run, seen: frozenset[str]) -> int:
    """How many places follow a run; a way back to the board counts as the longest."""
    if run.end == circuit.board:
        return 1000
    on = [r for r in circuit.runs if r.start == run.end and r.name not in seen and r is not run]
    return 1 + max((_reach(circuit, r, seen | {run.name}) for r in on), default=0)


def _point_rung(
    place: str,
    point: Point | None,
    keys: tuple[str, ...],
    spurs: Sequence[Chain],
    source: _Source,
) -> Rung:
    if point is None:
        return _rung(place, "board", keys, "", spurs, source)
    loads = tuple(load_words(load) for load in point.loads)
    fitted = joined(tuple(words for words in loads if words != place))
    keys = ordered({*keys, *point.conductors})
    return _rung(place, point.kind, keys, fitted, spurs, source)


def _rung(
    place: str,
    kind: str,
    keys: tuple[str, ...],
    fitted: str,
    spurs: Sequence[Chain],
    source: _Source,
    circuit: Circuit | None = None,
) -> Rung:
    """A place; ``circuit`` is given at its board, whose lines may go by other keys."""
    marks = []
    legs = dict(circuit.legs) if circuit else {}
    whose = circuit.name if circuit else ""
    for key in keys:
        hold = source.holds.get((place, legs.get(key, key)))
        hurts = source.hurts.get((place, legs.get(key, key)), "")
        marks.append(Mark(key, hold.volts if hold else None, hold.held if hold else "", hurts))
    frame = source.holds.get((place, "frame"))
    if frame is not None:
        marks.append(Mark("frame", frame.volts, frame.held, source.hurts.get((place, "frame"), "")))
    return Rung(
        place,
        kind,
        tuple(marks),
        source.notes.get(place, ()),
        fitted,
        _every(source.at, place, whose),
        _every(source.faults, place, whose),
        tuple(spurs),
    )


def _every(
    found: Mapping[tuple[str, str], tuple[T, ...]], place: str, circuit: str
) -> tuple[T, ...]:
    """What is noted at a place: at a board only what is shared or the circuit's own."""
    return tuple(
        item
        for (where, whose), items in found.items()
        if where == place and (not circuit or whose in ("", circuit))
        for item in items
    )


def _link(run: Run, source: _Source) -> Link:
    rails = tuple((core.start, core.end) for core in run.cores)
    cut = source.runs_cut.get(run.name, ())

    def breaks(wanted: Callable[[Element], bool]) -> tuple[Break, ...]:
        return tuple(b for e in cut if wanted(e) for b in source.cuts[e.id])

    return Link(
        run.name,
        length_words(run.length, source.installation.region),
        rails,
        breaks(lambda e: e.kind == "joint" and e.at[0] == run.start),
        breaks(lambda e: e.kind != "joint"),
        breaks(lambda e: e.kind == "joint" and e.at[0] == run.end and run.end != run.start),
    )


def length_words(length: About, region: Region) -> str:
    """A length as it is known: "8 m", "about 6 m", in North America "20 ft"; "length unknown"."""
    if length.spread >= 0.5:
        return "length unknown"
    words = (feet if region == "na" else metres)(length.value)
    return ("about " if length.spread > 0.05 else "") + words


def rail_words(key: str, installation: Installation) -> tuple[str, str]:
    """(letter, words) that head a rail."""
    return letter(key, installation.region), conductor_words(key, installation.region)
