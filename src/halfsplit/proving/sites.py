"""Where tests are made: the terminals of a circuit at its board, and what lies beyond a place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import product

from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.layout import lay_out
from halfsplit.wiring.model import Board, Circuit, Installation, Point
from halfsplit.wiring.plan import Element, Plan, node

LINE_KEYS = ("L", "SL", "L1", "L2", "L3")
MOST_SETTINGS = 16  # settings of a circuit's switches that are tried to reach a point


@dataclass(frozen=True, slots=True)
class Route:
    """A path of metal: from which terminal to which, with the switches set so."""

    start: str
    end: str
    setting: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Sites:
    """An installation with its plan, asked for places and terminals."""

    inst: Installation
    plan: Plan
    nodes: frozenset[str] = field(default_factory=frozenset)

    @staticmethod
    def of(inst: Installation, plan: Plan | None = None) -> Sites:
        """The sites of an installation; a plan of one's own may be given."""
        plan = lay_out(inst) if plan is None else plan
        nodes = frozenset(end for e in plan.elements for end in (e.a, e.b))
        return Sites(inst, plan, nodes)

    def board(self, name: str) -> Board | None:
        """The board of that name."""
        return next((board for board in self.inst.boards if board.name == name), None)

    def circuit(self, name: str) -> Circuit | None:
        """The circuit of that name."""
        return next((c for c in self.inst.circuits if c.name == name), None)

    def point(self, circuit: Circuit, place: str) -> Point | None:
        """A point of a circuit; None for its board."""
        return next((p for p in circuit.points if p.name == place), None)

    def ways(self, circuit: Circuit) -> tuple[str, ...]:
        """The circuit's line terminals at its board, device side left out."""
        return tuple(node(circuit.board, key, f"way {circuit.name}") for key, _ in circuit.legs)

    def neutral_way(self, circuit: Circuit) -> str:
        """Where the circuit's neutral lands at its board."""
        own = node(circuit.board, "N", f"way {circuit.name}")
        if own in self.nodes:
            return own
        board = self.board(circuit.board)
        for group in board.groups if board else ():
            if circuit.name in group.circuits:
                return node(circuit.board, "N", f"group {group.device.name}")
        return node(circuit.board, "N")

    def earth_bar(self, circuit: Circuit) -> str:
        """The protective bar of the circuit's board."""
        return node(circuit.board, "E")

    def keys(self, circuit: Circuit, place: str) -> tuple[str, ...]:
        """The conductors present at a place of a circuit."""
        point = self.point(circuit, place)
        if point is not None:
            return point.conductors
        cores = [core for run in circuit.runs if run.start == place for core in run.cores]
        return tuple(dict.fromkeys(core.start for core in cores))

    def at(self, circuit: Circuit, place: str, key: str) -> str:
        """A terminal for a test: the front contact where a plug goes, else the terminal."""
        point = self.point(circuit, place)
        front = node(place, key, "front")
        return front if point is not None and front in self.nodes else node(place, key)

    def lines_at(self, circuit: Circuit, place: str) -> tuple[str, ...]:
        """The line conductors of a place that a test can be made on, the point's own first."""
        keys = self.keys(circuit, place)
        own = [key for key in LINE_KEYS if key in keys]
        return tuple(sorted(own, key=lambda key: (key != "SL", own.index(key)))) if own else ()

    def ring(self, circuit: Circuit) -> frozenset[str]:
        """The points of a ring itself, its spurs left out; none where there is no ring."""
        on = {run.start for run in circuit.runs if run.end == circuit.board}
        while more := {run.start for run in circuit.runs if run.end in on} - on:
            on |= more
        return frozenset(on - {circuit.board})

    def beyond(self, circuit: Circuit, place: str) -> tuple[str, ...]:
        """Every place fed through ``place``, nearest first; all of the circuit from its board.

        Beyond a point of a ring lie its spurs alone: the ring is fed from the other side as well.
        """
        ring = self.ring(circuit)
        closed = {place, circuit.board} | (ring if place in ring else frozenset())
        found: dict[str, None] = {}
        waiting = [place]
        while waiting:
            here = waiting.pop(0)
            for run in circuit.runs:
                if run.start == here and run.end not in closed:
                    closed.add(run.end)
                    found[run.end] = None
                    waiting.append(run.end)
        return tuple(found)

    def ends(self, circuit: Circuit, place: str) -> tuple[str, ...]:
        """The far ends fed through a place (itself where nothing follows)."""
        beyond = (place, *self.beyond(circuit, place))
        on = {run.start for run in circuit.runs if run.end != circuit.board}
        return tuple(p for p in beyond if p not in on and p != circuit.board)

    def settings(self, circuit: Circuit) -> tuple[tuple[tuple[str, str], ...], ...]:
        """Settings of the circuit's switches, as they stand first; a bounded number of them."""
        switches = [switch for point in circuit.points for switch in point.switches]
        if not switches:
            return ((),)
        choices = [
            tuple((s.name, p) for p in dict.fromkeys((s.position, *s.positions))) for s in switches
        ]
        every = product(*choices)
        return tuple(setting for _, setting in zip(range(MOST_SETTINGS), every, strict=False))

    def route(self, circuit: Circuit, starts: Sequence[str], ends: Sequence[str]) -> Route | None:
        """The first way in that metal leads from a start to an end: terminals and settings.

        Ends come in the order given, then starts, then settings as they stand; None without one.
        """
        parts = [e for e in self.plan.elements if e.circuit == circuit.name]
        for setting in self.settings(circuit):
            reached = {start: _reached(start, parts, dict(setting)) for start in starts}
            for end in ends:
                for start in starts:
                    if end in reached[start]:
                        return Route(start, end, setting)
        return None

    def isolated(self, **more: object) -> Conditions:
        """Dead, everything unplugged, every board's main device off."""
        mains = tuple(board.main.name for board in self.inst.boards)
        return Conditions(off=mains, unplugged=("all",), dead=True, **more)  # type: ignore[arg-type]


def _reached(start: str, parts: Sequence[Element], setting: dict[str, str]) -> frozenset[str]:
    """Every terminal of a circuit that metal joins to ``start`` with its switches set so."""
    joined: dict[str, list[str]] = {}
    for part in parts:
        if part.kind in ("flex", "pole") and not (part.kind == "pole" and part.closed):
            continue
        if part.kind == "switch":
            position = setting.get(part.control)
            if position not in part.closed_in if position else not part.closed:
                continue
        joined.setdefault(part.a, []).append(part.b)
        joined.setdefault(part.b, []).append(part.a)
    found, waiting = {start}, [start]
    while waiting:
        for other in joined.get(waiting.pop(), ()):
            if other not in found:
                found.add(other)
                waiting.append(other)
    return frozenset(found)
