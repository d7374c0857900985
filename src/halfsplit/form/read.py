"""The written form into a job: supply, boards, circuits, paths, then the readings taken."""

from __future__ import annotations

from dataclasses import replace
from typing import cast

from halfsplit.errors import raise_if_errors
from halfsplit.form.afterwards import read_after
from halfsplit.form.cursor import Cursor, nearest
from halfsplit.form.devices import read_device
from halfsplit.form.expand import Expander
from halfsplit.form.job import Job
from halfsplit.form.paths import read_paths
from halfsplit.form.places import Names
from halfsplit.form.readings import read_readings
from halfsplit.form.sources import read_sources
from halfsplit.form.supply import default_supply, read_supply
from halfsplit.form.terminals import Site
from halfsplit.form.tree import Node, parse
from halfsplit.form.tried import with_tried
from halfsplit.form.words import REGIONS, TOOLS, UNPLACED
from halfsplit.problems import Problem
from halfsplit.wiring.layout import lines_of
from halfsplit.wiring.model import (
    Board,
    Circuit,
    Device,
    Group,
    Installation,
    Region,
)


def read_job(text: str | bytes, name: str = "the form") -> Job:
    """The job a written form says; ``name`` is the file's name for messages.

    Raises: BadInput with every problem found, each with its place, what was read there and what
    is accepted.
    """
    job, problems = read_with_problems(text, name)
    raise_if_errors(problems)
    assert job is not None  # a job is missing only with errors noted
    return job


def read_with_problems(text: str | bytes, name: str) -> tuple[Job | None, tuple[Problem, ...]]:
    """The job (None when nothing can be made of the text) and every problem found."""
    root, found = parse(text, name)
    if root is None:
        return None, tuple(found)
    reader = _Reader(name)
    reader.cursor.problems.extend(found)
    return reader.read(root), reader.cursor.problems.all()


class _Reader:
    def __init__(self, name: str) -> None:
        self.cursor = Cursor(name)
        self.names = Names()
        self.region = "uk"
        self.supply = default_supply("uk")

    def read(self, root: Node) -> Job:
        cursor = self.cursor
        if root.kind != "map":
            cursor.note(root, 'a mapping that begins with "title:", "supply:" or "circuits:"')
            return Job(Installation())
        fields = cursor.fields(root, "job")
        if "region" in fields:
            self.region = cursor.choice(fields["region"], REGIONS, "uk")
        self.supply = default_supply(self.region)
        if "supply" in fields:
            self.supply = read_supply(cursor, fields["supply"], self.region)
        boards = self._boards(fields)
        circuits = self._circuits(fields, root)
        installation = Installation(
            (cursor.text(fields["title"]) or "") if "title" in fields else "",
            cast(Region, self.region), self.supply, self._fed(boards, circuits, fields), circuits,
            history=cursor.history(fields["history"]) if "history" in fields else (),
        )  # fmt: skip
        words: tuple[str, ...] = ()
        if "other sources" in fields:
            words, sources = read_sources(cursor, installation.boards, fields["other sources"])
            installation = replace(installation, sources=sources)
        site = Site(cursor, installation)
        if "other paths" in fields:
            paths = read_paths(cursor, site, self.names, fields["other paths"])
            installation = replace(installation, paths=paths)
            site = Site(cursor, installation)
        readings = read_readings(cursor, site, fields["readings"]) if "readings" in fields else ()
        after = read_after(cursor, site, fields)
        return Job(
            with_tried(installation, after), readings, self._tools(fields),
            words, fields["notes"].text if "notes" in fields else "",
            fields["edition"].text if "edition" in fields else "",
            after,
        )  # fmt: skip

    def _tools(self, fields: dict[str, Node]) -> tuple[str, ...]:
        if "tools" not in fields:
            return ()
        found = [self.cursor.choice(i, TOOLS, "") for i in self.cursor.texts(fields["tools"])]
        return tuple(dict.fromkeys(tool for tool in found if tool))

    # Boards

    def _boards(self, fields: dict[str, Node]) -> tuple[Board, ...]:
        """Boards as typed; a job that names none has one, called Board."""
        given: list[tuple[str, Node | None]] = []
        if "boards" in fields:
            node = fields["boards"]
            if node.kind == "map" and node.pairs:
                given = list(node.pairs)
            else:
                self.cursor.note(node, "boards by name: {Board: {}, Shed board: {}}")
            if "board" in fields:
                self.cursor.note(fields["board"], "board or boards, not both")
        elif "board" in fields:
            given = [("Board", fields["board"])]
        boards: list[Board] = []
        for name, typed in given or [("Board", None)]:
            at = typed or Node("text", "", 1, 1)
            clean = self.cursor.name_of(at, name)
            if clean is not None:
                self.names.boards[clean] = at.line
                boards.append(self._board(clean, typed, first=not boards))
        return tuple(boards) or (Board(),)

    def _board(self, name: str, node: Node | None, first: bool) -> Board:
        lines = lines_of(self.supply)
        poles = (*lines, "N") if self.supply.live != "centre tap" else lines
        label = "main switch" if first else f"{name} main switch"
        main = Device(label, "switch", 100.0, "", poles=poles)
        if self.region == "na" and first:
            main = Device(label, "breaker", 200.0, "C", poles=lines)
        if node is None or (node.kind == "text" and not node.text):
            return Board(name, main)
        if node.kind == "text":
            return Board(name, read_device(self.cursor, node, label, main, lines))
        fields = self.cursor.fields(node, "board")
        if "main" in fields:
            main = read_device(self.cursor, fields["main"], label, main, lines)
        groups = self._groups(fields["groups"], lines) if "groups" in fields else ()
        history = self.cursor.history(fields["history"]) if "history" in fields else ()
        return Board(name, main, groups, fields["fed by"].text if "fed by" in fields else "",
                     history)  # fmt: skip

    def _groups(self, node: Node, lines: tuple[str, ...]) -> tuple[Group, ...]:
        if node.kind != "map":
            self.cursor.note(node, "shared devices with their circuits: {RCD 1: [lights, sockets]}")
            return ()
        groups = []
        for name, value in node.pairs:
            device = Device(name, "rcd", 63.0, "", 0.03, "A", (*lines, "N"))
            if value.kind == "map":
                fields = self.cursor.fields(value, "group")
                if "device" in fields:
                    device = read_device(self.cursor, fields["device"], name, device, lines)
                value = fields.get("circuits", Node("list", value.path, value.line, value.column))
            members = tuple(item.text for item in self.cursor.texts(value))
            groups.append(Group(device, members))
        return tuple(groups)

    def _fed(
        self, boards: tuple[Board, ...], circuits: tuple[Circuit, ...], fields: dict[str, Node]
    ) -> tuple[Board, ...]:
        """Boards with the circuit that reaches them; groups and feeders are checked."""
        names = [circuit.name for circuit in circuits]
        node = fields.get("boards", fields.get("board", Node("text", "boards", 1, 1)))
        feeders = {run.end: c.name for c in circuits for run in c.runs
                   if run.end in self.names.boards and run.end != c.board}  # fmt: skip
        found = []
        for board in boards:
            for group in board.groups:
                for member in group.circuits:
                    if member not in names:
                        near = nearest(member, names)
                        self.cursor.note(node, "a circuit of this job: " + ", ".join(names), member,
                                         f'did you mean "{near}"?' if near else "")  # fmt: skip
            fed_by = board.fed_by or feeders.get(board.name, "")
            if fed_by and feeders.get(board.name) != fed_by:
                self.cursor.note(node, f"a circuit whose run ends at {board.name}", fed_by,
                                 "give that circuit a run such as [20 m, "
                                 f"{board.name}]", key=board.name)  # fmt: skip
                fed_by = ""
            found.append(replace(board, fed_by=fed_by))
        self._looped(node, found, circuits)
        self._device_names(node, boards, circuits)
        return tuple(found)

    def _looped(self, node: Node, boards: list[Board], circuits: tuple[Circuit, ...]) -> None:
        """Every board must lead back to one fed by the supply."""
        above = {
            b.name: next((c.board for c in circuits if c.name == b.fed_by), "") for b in boards
        }
        for board in boards:
            seen, here = set[str](), board.name
            while here and here not in seen:
                seen.add(here)
                here = above.get(here, "")
            if here:
                self.cursor.note(node, "boards that lead back to the supply", board.name,
                                 "the boards feed each other in a circle")  # fmt: skip
                return

    # Circuits

    def _circuits(self, fields: dict[str, Node], root: Node) -> tuple[Circuit, ...]:
        if "circuits" not in fields:
            self.cursor.note(
                root, "circuits by name, each with a run", "no circuits", key="circuits"
            )
            return ()
        node = fields["circuits"]
        if node.kind != "map" or not node.pairs:
            self.cursor.note(node, "circuits by name: {east wall: {run: [8 m, Bench]}}")
            return ()
        circuits = []
        for name, value in node.pairs:
            clean = self.cursor.name_of(value, name)
            if clean is not None:
                expander = Expander(self.cursor, self.region, self.supply, self.names)
                circuits.append(expander.read(clean, value))
        return tuple(self._feeding(node, circuit, circuits) for circuit in circuits)

    def _feeding(self, node: Node, circuit: Circuit, circuits: list[Circuit]) -> Circuit:
        """The circuit with its points' other feeds by name: "unknown" is every one of its board."""
        others = [c.name for c in circuits if c.name != circuit.name]
        beside = tuple(c.name for c in circuits if c.name in others and c.board == circuit.board)
        folded = {name.casefold(): name for name in others}
        points = []
        for point in circuit.points:
            names: list[str] = []
            for word in point.may_be_on:
                if word.casefold() in UNPLACED:
                    names += beside
                elif word.casefold() in folded:
                    names.append(folded[word.casefold()])
                elif word.casefold() != circuit.name.casefold():
                    near = nearest(word, others)
                    self.cursor.note(node, "unknown, or circuits: " + ", ".join(others), word,
                                     f'did you mean "{near}"?' if near else "",
                                     f"{circuit.name}, {point.name}, fed by")  # fmt: skip
            points.append(replace(point, may_be_on=tuple(dict.fromkeys(names))))
        return replace(circuit, points=tuple(points))

    def _device_names(
        self, node: Node, boards: tuple[Board, ...], circuits: tuple[Circuit, ...]
    ) -> None:
        """Devices are told apart by name alone, so no two may share one."""
        devices = [d for b in boards for d in (b.main, *(g.device for g in b.groups))]
        seen: set[str] = {device.name for device in devices}
        if len(seen) < len(devices):
            self.cursor.note(node, "each device's name once", ", ".join(d.name for d in devices))
        for circuit in circuits:
            for device in (circuit.device, *(p.device for p in circuit.points if p.device)):
                if device.name in seen:
                    self.cursor.note(node, "each device's name once", device.name)
                seen.add(device.name)
