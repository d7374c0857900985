"""Terminals, devices, switches and loads as people name them, found in an installation.

Node names are those of ``wiring.plan.node``. Readings at a socket-outlet are at its front contacts
unless said otherwise; at a board with a circuit named, at that circuit's way.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from halfsplit.form.cursor import Cursor, nearest
from halfsplit.form.tree import Node
from halfsplit.form.words import CONDUCTORS, FRAMES, TAPS, TRUE_EARTH
from halfsplit.wiring.layout import bar, board_lines, lines_of
from halfsplit.wiring.model import Board, Circuit, Device, Installation, Load, Point, Run
from halfsplit.wiring.plan import EARTH, node

MAINS = frozenset({"main", "mains", "main switch", "main breaker", "main fuse", "main device",
                   "main rcd"})  # fmt: skip
SIDES = {
    "front": "front", "plug": "front", "terminals": "", "terminal": "", "behind": "", "in": "in",
    "incoming": "in", "out": "out", "outgoing": "out",
}  # fmt: skip


@dataclass(slots=True)
class Site:
    """An installation with its parts by name, for finding what a reading means."""

    cursor: Cursor
    installation: Installation
    points: dict[str, tuple[Circuit, Point]] = field(default_factory=dict)
    boards: dict[str, Board] = field(default_factory=dict)
    devices: dict[str, Device] = field(default_factory=dict)
    switches: dict[str, tuple[str, ...]] = field(default_factory=dict)
    metals: dict[str, str] = field(default_factory=dict)  # metal by itself: its node

    def __post_init__(self) -> None:
        for board in self.installation.boards:
            self.boards[board.name] = board
            self.devices[board.main.name] = board.main
            for group in board.groups:
                self.devices[group.device.name] = group.device
        for circuit in self.installation.circuits:
            self.devices[circuit.device.name] = circuit.device
            for point in circuit.points:
                self.points[point.name] = (circuit, point)
                if point.device is not None:
                    self.devices[point.device.name] = point.device
                for switch in point.switches:
                    self.switches[switch.name] = switch.positions
        loads = {x.name for c in self.installation.circuits for p in c.points for x in p.loads}
        for source in self.installation.sources:
            isolator = Device(source.isolator, "isolator")
            self.devices[source.isolator] = isolator
            if source.name not in loads:
                self.devices.setdefault(source.name, isolator)
        for end in (end for path in self.installation.paths for end in (path.a, path.b)):
            name, _, key = end.partition(".")
            if key == "E" and name not in (*self.points, *self.boards, "origin"):
                self.metals[name] = end

    # Places

    def place(self, at: Node, text: str) -> str | None:
        """A point, a board, "origin" or "earth" by its name, letter case forgiven."""
        known = (*self.points, *self.boards, *self.metals, "origin")
        folded = {name.casefold(): name for name in known}
        word = " ".join(text.split()).casefold()
        if word in TRUE_EARTH:
            return EARTH
        if word in folded:
            return folded[word]
        if word in ("board", "consumer unit", "panel", "distribution board") and self.boards:
            return next(iter(self.boards))
        near = nearest(text, known)
        self.cursor.note(at, "a point or board of this job: " + ", ".join(known[:12]), text,
                         f'did you mean "{near}"?' if near else "")  # fmt: skip
        return None

    def run(self, text: str) -> str | None:
        """A run by its name, or by its two ends: "Board–Shed", "Board to Shed"."""
        runs = [run for circuit in self.installation.circuits for run in circuit.runs]
        word = " ".join(text.split()).casefold()
        ends = {part.strip() for part in re.split(r"\s*[–-]\s*|\s+to\s+", word)}
        for run in runs:
            if run.name.casefold() == word:
                return run.name
        for run in runs:
            if {run.start.casefold(), run.end.casefold()} == ends:
                return run.name
        return None

    def device(self, text: str) -> str | None:
        """A device by its name, the main one as people call it, or the only one of its kind."""
        word = " ".join(text.split()).casefold()
        names = {name.casefold(): name for name in self.devices}
        if word in names:
            return names[word]
        if word in MAINS:
            return next((b.main.name for b in self.boards.values() if not b.fed_by), None)
        alike = [name for name, device in self.devices.items() if device.kind == word]
        return alike[0] if len(alike) == 1 else None

    def circuit(self, at: Node) -> Circuit | None:
        """A circuit by its name."""
        names = {c.name.casefold(): c for c in self.installation.circuits}
        found = names.get(at.text.casefold())
        if found is None:
            near = nearest(at.text, [c.name for c in names.values()])
            self.cursor.note(at, "a circuit: " + ", ".join(c.name for c in names.values()), None,
                             f'did you mean "{near}"?' if near else "")  # fmt: skip
        return found

    def circuit_at(self, place: str) -> Circuit | None:
        """The circuit a place is on; the only circuit where there is one."""
        if place in self.points:
            return self.points[place][0]
        circuits = self.installation.circuits
        return circuits[0] if len(circuits) == 1 else None

    def keys_at(self, place: str) -> tuple[str, ...]:
        """The conductors present at a place."""
        if place in self.points:
            return self.points[place][1].conductors
        if place in self.boards:
            return (*board_lines(self.installation, self.boards[place]), "N", "E")
        if place in self.metals:
            return ("E",)
        return (*lines_of(self.installation.supply), "N", "E")

    def key(self, at: Node, place: str, word: str) -> str | None:
        """A conductor at a place: L means the switched line, or the first line, where L is not."""
        keys = self.keys_at(place)
        key = CONDUCTORS.get(word.casefold(), word if word in keys else None)
        if key in keys:
            return key
        if word.casefold() == "a" and "L" in keys:  # active
            return "L"
        if key == "L":
            near = [k for k in ("SL", "L1", "L2", "L3") if k in keys]
            if near:
                return near[0]
        if key in ("L1", "L2", "L3") and place in self.points:
            circuit = self.points[place][0]
            if dict(circuit.legs).get("L") == key or (len(circuit.legs) > 1 and "L" in keys):
                return "L"
        self.cursor.note(at, f"a conductor at {place}: " + ", ".join(keys), word)
        return None

    def terminal(
        self, at: Node, place: str, word: str, side: str = "", circuit: Circuit | None = None
    ) -> str | None:
        """The node of one conductor at one place. ``side`` is front, behind, in, out or ""."""
        if place == EARTH:
            return EARTH
        key = self.key(at, place, word)
        if key is None:
            return None
        if place in self.boards:
            return self._at_board(self.boards[place], key, side, circuit)
        if place not in self.points:
            return node(place, key)
        owner, point = self.points[place]
        if side in ("in", "out"):
            return self._at_core(at, owner, place, key, side)
        if side == "behind" or not point.front:
            return node(place, key)
        return node(place, key, "front")

    def _at_board(self, board: Board, key: str, side: str, circuit: Circuit | None) -> str:
        if side == "in" and key != "E":
            return node(board.name, key, "in")
        if circuit is None or circuit.board != board.name or key == "E":
            return node(board.name, key)
        if key == "N":
            device = circuit.device
            if "N" in device.poles or device.residual_amps:
                return node(board.name, key, f"way {circuit.name}")
            return bar(board, circuit.name, "N")
        own = {leg: mine for mine, leg in circuit.legs}
        return node(board.name, own.get(key, circuit.legs[0][0]), f"way {circuit.name}")

    def _at_core(self, at: Node, circuit: Circuit, place: str, key: str, side: str) -> str | None:
        runs = self.runs_at(circuit, place, side)
        for run in runs:
            if key in [c.end if side == "in" else c.start for c in run.cores]:
                return node(place, key, run.name)
        self.cursor.note(at, f"a place with a cable going {side}", place)
        return None

    def runs_at(self, circuit: Circuit, place: str, side: str) -> tuple[Run, ...]:
        """Runs of a circuit arriving at ("in") or leaving ("out") a place."""
        return tuple(
            run for run in circuit.runs if (run.end if side == "in" else run.start) == place
        )

    def named_terminal(
        self, at: Node, text: str, side: str = "", circuit: Circuit | None = None
    ) -> str | None:
        """A terminal in full: "Bench N", "Sail loft N in", "rod", "Board E", "Bench case"."""
        if "." in text and text.split(".")[0] in (
            *self.points, *self.boards, *self.metals, "origin",
        ):  # fmt: skip
            return text
        if (metal := self._metal_named(text)) is not None:
            return metal
        if ":" in text and "/" in text:
            return text
        if text.strip().casefold() in TRUE_EARTH:
            return EARTH
        words = text.replace(",", " ").split()
        if len(words) > 2 and words[-1].casefold() in SIDES:
            side = _side(words.pop())
        for cut in range(len(words) - 1, 0, -1):
            name, word = " ".join(words[:cut]), " ".join(words[cut:])
            place = self._known(name)
            if place is None:
                continue
            if word.casefold() in FRAMES:
                return self.frame(place, "")
            return self.terminal(at, place, word, side, circuit)
        self.cursor.note(at, 'a terminal such as "Bench N", "Board E", "Bench L in" or "rod"', text)
        return None

    def _known(self, name: str) -> str | None:
        folded = {n.casefold(): n for n in (*self.points, *self.boards, "origin")}
        return folded.get(name.casefold())

    def _metal_named(self, text: str) -> str | None:
        """The node of metal by itself: by its name, or "Shower tray case"."""
        nodes = {name.casefold(): end for name, end in self.metals.items()}
        words = text.casefold().split()
        if words and words[-1] in FRAMES and " ".join(words) not in nodes:
            words.pop()
        return nodes.get(" ".join(words))

    def frame(self, place: str, load: str) -> str:
        """The frame of the load meant, of the first framed load there, or the place's earth."""
        if place in self.points:
            for item in self.points[place][1].loads:
                if item.frame and load in ("", item.name):
                    return f"{place}/{item.name}:frame"
        return EARTH if place == EARTH else node(place, "E")

    def metal(self) -> str:
        """Pipework that people touch: bonded to the board's earth where bonding is stated."""
        first = next(iter(self.boards))
        for path in self.installation.paths:
            if path.kind in ("bond", "pipe"):
                return path.a if path.a != EARTH else path.b
        return node(first, "E")

    def touched(
        self, at: Node, text: str, place: str, load: str, circuit: Circuit | None
    ) -> str | None:
        """What somebody touched: case, tap, a conductor here, or a terminal in full."""
        word = text.strip().casefold()
        if word in FRAMES or word in ("yes", "it"):
            return self.frame(place, load) if place else self.metal()
        if word in TAPS:
            return self.metal()
        if word in TRUE_EARTH:
            return EARTH
        if place and CONDUCTORS.get(word):
            return self.terminal(at, place, word, "behind", circuit)
        return self.named_terminal(at, text, "", circuit)

    # Loads

    def loads(self) -> dict[str, Load]:
        """Every load by its id, "point/load"."""
        return {
            f"{point.name}/{load.name}": load
            for _, point in self.points.values()
            for load in point.loads
        }

    def load(self, at: Node, text: str, place: str = "") -> str | None:
        """A load's id from its id or its name (at a place, where one is given)."""
        ids = self.loads()
        if text in ids:
            return text
        found = [i for i in ids if i.split("/", 1)[1].casefold() == text.casefold()]
        here = [i for i in found if not place or i.startswith(f"{place}/")]
        if len(here) == 1:
            return here[0]
        if len(here) > 1:
            self.cursor.note(at, "one of " + ", ".join(here[:8]), text)
            return None
        near = nearest(text, [i.split("/", 1)[1] for i in ids])
        known = ", ".join(list(ids)[:8]) or "none is stated"
        self.cursor.note(at, f"a load of this job: {known}", text,
                         f'did you mean "{near}"?' if near else "")  # fmt: skip
        return None

    def lamp(self, place: str) -> str:
        """What glows at a place: its only load's id, or the place itself."""
        if place in self.points:
            loads = self.points[place][1].loads
            if len(loads) == 1:
                return f"{place}/{loads[0].name}"
        return place


def _side(word: str) -> str:
    return SIDES[word.casefold()] or "behind"


def side_of(cursor: Cursor, at: Node) -> str:
    """Which terminals of an accessory: front, behind (its own terminals), in or out."""
    return cursor.choice(at, {word: _side(word) for word in SIDES}, "")


def split_port(text: str) -> tuple[str, str] | None:
    """The two sides of "L-E" or "hot-ground"; None when it is not a pair."""
    found = re.fullmatch(r"\s*([^-–]+?)(?:\s*[-–]\s*|\s+to\s+)([^-–]+?)\s*", text)
    return (found[1], found[2]) if found else None
