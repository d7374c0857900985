"""Patterns of circuits, from the few words typed to runs, cores and points."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from halfsplit.errors import BadQuantity
from halfsplit.form.cursor import Cursor, nearest
from halfsplit.form.lighting import Lighting
from halfsplit.form.parts import (
    Cabling,
    read_cable,
    read_device,
    read_loads,
    usual_cable,
    usual_device,
)
from halfsplit.form.places import Names
from halfsplit.form.points import SWITCHING, Draft, conductor, in_order, listed_items
from halfsplit.form.tree import Node
from halfsplit.form.words import history_words
from halfsplit.quantity import parse_farads, parse_length, parse_megohms
from halfsplit.wiring.model import (
    About,
    Circuit,
    Contact,
    Core,
    Load,
    Point,
    Run,
    Supply,
    Switch,
)

LONGEST = 2000.0
UNKNOWN_LENGTH = {
    "uk": About(6.0, 0.8), "eu": About(6.0, 0.8), "au": About(7.0, 0.8), "na": About(5.0, 0.8)
}  # fmt: skip
_LIKE_LENGTH = re.compile(
    r"(?i)(?:about|around|approx\.?|~|>|<|over|under)?\s*[-+]?[\d.,]*\d[\d.,]*\s*[a-zµΩ²'\"]{0,3}"
    r"|[-+]?\.?(?:nan|inf)(?:\s*m)?"
)
_COUNT = re.compile(r"(?i)(\d{1,3})\s*(?:points?)?\s*(?:,?\s*order\s+(unknown|known))?")


@dataclass(frozen=True, slots=True)
class Step:
    """One length and the place it reaches, with what is special about the cable."""

    length: About
    place: str
    node: Node
    cabling: Cabling
    name: str = ""
    exposed: tuple[str, ...] = ()
    temperature: float = 20.0


class Expander:
    """Reads one circuit."""

    def __init__(self, cursor: Cursor, region: str, supply: Supply, names: Names) -> None:
        self.cursor, self.region, self.supply, self.names = cursor, region, supply, names
        self.drafts: dict[str, Draft] = {}
        self.runs: list[Run] = []
        self.name = ""
        self.board = ""
        self.lines: tuple[str, ...] = ("L",)
        self.tail: tuple[str, ...] = ("N", "E")
        self.cabling = Cabling("", 2.5, 1.5)
        self.unknown = UNKNOWN_LENGTH[region]

    def read(self, name: str, node: Node) -> Circuit:
        """The circuit of that name from its fields."""
        cursor, self.name = self.cursor, name
        fields = cursor.fields(node, "circuit")
        self.board = self._board(fields)
        legs = self._legs(fields)
        self.lines = tuple(key for key, _ in legs)
        centre = self.supply.live == "centre tap"
        if centre or ("neutral" in fields and not cursor.yes(fields["neutral"], True)):
            self.tail = ("E",)
        if "earth" in fields and not cursor.yes(fields["earth"], True):
            self.tail = tuple(key for key in self.tail if key != "E")
        lighting = "lighting" in fields
        device = usual_device(name, self.region, self.lines, lighting)
        if "device" in fields:
            device = read_device(cursor, fields["device"], name, device, self.lines)
        rating = min(device.amps, 20.0) if "ring" in fields else device.amps  # each leg shares it
        self.cabling = usual_cable(self.region, rating)
        if "cable" in fields:
            self.cabling = read_cable(cursor, fields["cable"], self.region, self.cabling)
        shape, known = self._pattern(node, fields)
        self._details(fields)
        return Circuit(
            name, device, tuple(self.runs), self._points(), self.board, legs, shape, known,
            history_words(cursor.words(fields["history"])) if "history" in fields else (),
        )  # fmt: skip

    def _board(self, fields: dict[str, Node]) -> str:
        first = next(iter(self.names.boards))
        if "board" not in fields:
            return first
        text = fields["board"].text
        if text in self.names.boards:
            return text
        near = nearest(text, self.names.boards)
        self.cursor.note(fields["board"], "a board: " + ", ".join(self.names.boards), None,
                         f'did you mean "{near}"?' if near else "add it under boards")  # fmt: skip
        return first

    def _legs(self, fields: dict[str, Node]) -> tuple[tuple[str, str], ...]:
        there = {"single": ("L",), "split": ("L1", "L2"), "centre tap": ("L1", "L2")}.get(
            self.supply.live, ("L1", "L2", "L3")
        )
        if "legs" not in fields:
            if self.supply.live == "centre tap":
                return tuple((key, key) for key in there)
            return (("L", there[0]),)
        found = []
        for word in self.cursor.words(fields["legs"]):
            for part in re.split(r"[-–+]", word):
                key = conductor(self.cursor, fields["legs"], part)
                if key and key not in there:
                    self.cursor.note(
                        fields["legs"], "lines of this supply: " + ", ".join(there), key
                    )
                elif key and key not in found:
                    found.append(key)
        if len(found) == 1:
            return (("L", found[0]),)
        return tuple((key, key) for key in found) or (("L", there[0]),)

    # Patterns

    def _pattern(self, node: Node, fields: dict[str, Node]) -> tuple[str, bool]:
        """Read the one pattern given; (shape, whether the order of points is known)."""
        patterns = [k for k in ("run", "ring", "feeds", "lighting", "runs") if k in fields]
        known = not ("order" in fields and fields["order"].text.casefold() == "unknown")
        if len(patterns) > 1:
            self.cursor.note(fields[patterns[1]], "one pattern: run, ring, lighting or feeds",
                             " and ".join(patterns))  # fmt: skip
        if not patterns:
            return self._loose(node, fields, known)
        pattern = patterns[0]
        if pattern == "runs":
            self._longhand(fields)
            shape = fields["shape"].text if "shape" in fields else "radial"
            return shape, known
        if pattern == "lighting":
            Lighting(self).read(fields["lighting"], fields)
            shape = "lighting"
        elif pattern == "feeds":
            shape = self._feeds(fields)
        else:
            shape = self._chain_pattern(fields, pattern)
        self._branches(fields)
        return shape, known

    def _chain_pattern(self, fields: dict[str, Node], pattern: str) -> str:
        steps = self.chain(fields[pattern], self.board, closing=pattern == "ring")
        self._stage(fields)
        self.link(self.board, steps)
        if pattern == "ring":
            return "ring"
        if any(step.place in self.names.boards for step in steps):
            return "feeder"
        return "shared neutral" if len(self.lines) > 1 and "N" in self.tail else "radial"

    def _feeds(self, fields: dict[str, Node]) -> str:
        node = fields["feeds"]
        text = self.cursor.text(node) or ""
        length = self.unknown
        if "length" in fields:
            length = self.cursor.about(fields["length"], parse_length, length, high=LONGEST)
        place = text if text in self.names.boards else self.declare(node, text, "appliance")
        if place is None:
            return "fixed"
        self._stage(fields)
        self.link(self.board, [Step(length, place, node, self.cabling)])
        return "feeder" if place in self.names.boards else "fixed"

    def _branches(self, fields: dict[str, Node]) -> None:
        if "branches" not in fields:
            return
        node = fields["branches"]
        if node.kind != "map":
            self.cursor.note(node, "points, each with a list: {Hall: [3 m, Porch]}")
            return
        for name, value in node.pairs:
            if not self._is_point(value, name):
                continue
            many = value.kind == "list" and value.items and value.items[0].kind == "list"
            for chain in value.items if many else (value,):
                steps = self.chain(chain, name)
                self._stage(fields, missing_ok=True)
                self.link(name, steps)

    def _loose(self, node: Node, fields: dict[str, Node], known: bool) -> tuple[str, bool]:
        """Points without an order: a number, names, or details alone."""
        points = fields.get("points")
        if points is None:
            self.cursor.note(node, "a pattern: run, ring, lighting, feeds or points",
                             "no run", key="run")  # fmt: skip
            return "radial", known
        names: list[tuple[Node, str]] = []
        if points.kind == "text":
            found = _COUNT.fullmatch(points.text)
            if not found or not 1 <= int(found[1]) <= 200:
                self.cursor.note(points, 'a number of points such as "6, order unknown", or names')
                return "radial", False
            known = False
            names = [(points, f"{self.name} {k + 1}") for k in range(int(found[1]))]
        elif points.kind == "list":
            known = False
            names = [(item, item.text) for item in self.cursor.texts(points)]
        else:
            known = False
            names = [(value, key) for key, value in points.pairs]
        places = [(n, p) for n, text in names if (p := self.declare(n, text))]
        self._stage(fields)
        steps = [Step(self.unknown, p, n, self.cabling) for n, p in places]
        self.link(self.board, steps)
        return "radial", known

    # Chains

    def declare(self, node: Node, text: str, kind: str = "socket") -> str | None:
        """A new point of that name; None with a problem where the name will not do."""
        name = self.cursor.name_of(node, text)
        if name is None or not self.names.claim(self.cursor, node, name):
            return None
        self.drafts[name] = Draft(name, node, kind)
        return name

    def chain(
        self, node: Node, start: str, closing: bool = False, kind: str = "socket"
    ) -> list[Step]:
        """Lengths and places in turn; a missing length is unknown, a missing place is noted."""
        items = node.items if node.kind == "list" else (node,) if node.kind == "text" else ()
        if not items:
            self.cursor.note(node, "lengths and points in turn, such as [8 m, Bench, 4 m, Shelf]")
        steps: list[Step] = []
        waiting: Step | None = None
        for item in items:
            leg = self.leg(item)
            if leg is not None:
                if waiting is not None:
                    self.cursor.note(item, "a point between two lengths")
                waiting = leg
                continue
            place = self._place(item, kind)
            if place is None:
                waiting = None
                continue
            here = waiting or Step(self.unknown, "", item, self.cabling)
            steps.append(replace(here, place=place, node=item))
            waiting = None
        if closing and steps:
            last = waiting or Step(self.unknown, "", node, self.cabling)
            steps.append(replace(last, place=self.board))
        elif waiting is not None:
            self.cursor.note(waiting.node, "a point after the last length", None,
                             "name the point it reaches, or take the length away")  # fmt: skip
        return steps

    def leg(self, item: Node) -> Step | None:
        """A length, plain or with details; None when the item is not one."""
        if item.kind == "map" and any(key.casefold() == "length" for key, _ in item.pairs):
            fields = self.cursor.fields(item, "leg")
            length = self.cursor.about(fields["length"], parse_length, self.unknown, high=LONGEST)
            cabling = self.cabling
            if "cable" in fields:
                cabling = read_cable(self.cursor, fields["cable"], self.region, cabling)
            exposed = (
                history_words(self.cursor.words(fields["history"])) if "history" in fields else ()
            )
            name = fields["name"].text if "name" in fields else ""
            return Step(length, "", item, cabling, name, exposed, self.celsius(fields))
        if item.kind != "text":
            return None
        spread = re.sub(r"\s+spread\s+[\d.eE+-]+$", "", item.text)
        try:
            parse_length(spread)
        except BadQuantity:
            if not _LIKE_LENGTH.fullmatch(item.text):
                return None
        length = self.cursor.about(item, parse_length, self.unknown, high=LONGEST)
        return Step(length, "", item, self.cabling)

    def celsius(self, fields: dict[str, Node]) -> float:
        """The conductor's temperature, 20 °C when not stated."""
        if "temperature" not in fields:
            return 20.0
        text = re.sub(r"(?i)\s*(?:°?\s*c|degrees)$", "", fields["temperature"].text)
        try:
            value = float(text)
        except ValueError:
            value = float("nan")
        if -50.0 <= value <= 250.0:
            return value
        self.cursor.note(fields["temperature"], "a temperature from -50 to 250 degrees Celsius")
        return 20.0

    def _place(self, item: Node, kind: str) -> str | None:
        if item.kind == "text":
            if item.text in self.names.boards and item.text != self.board:
                return item.text
            return self.declare(item, item.text, kind)
        if item.kind == "map" and len(item.pairs) == 1:
            name, detail = item.pairs[0]
            place = self.declare(item, name, kind)
            if place is not None:
                self.drafts[place].detail(self.cursor, detail)
            return place
        self.cursor.note(item, "a length such as 8 m, or a point's name")
        return None

    def _stage(self, fields: dict[str, Node], missing_ok: bool = False) -> None:
        """Details that decide how cores run (kind, leg, half switched) before runs are laid."""
        if "points" in fields and fields["points"].kind == "map":
            for name, value in fields["points"].pairs:
                draft = self.drafts.get(name)
                if draft is not None and name not in self._staged:
                    self._staged.add(name)
                    draft.detail(self.cursor, value)

    @property
    def _staged(self) -> set[str]:
        return self.names.staged

    def link(self, start: str, steps: list[Step]) -> None:
        """Lay a run for each step, one after another."""
        here = start
        for step in steps:
            self.lay(here, step, self._cores(here, step))
            here = step.place

    def _cores(self, here: str, step: Step) -> list[Core]:
        cores = []
        a, b = self.drafts.get(here), self.drafts.get(step.place)
        half = a is not None and b is not None and (b.half == a.name or a.half == b.name)
        for key in (*self.lines, *self.tail):
            start, end = (a.local(key) if a else key), (b.local(key) if b else key)
            if a and key in self.lines and a.kind in SWITCHING and not half:
                a.land(start)
                start = f"S{start}"
            cores.append(step.cabling.core(start, end))
        if half:
            cores.insert(len(self.lines), step.cabling.core("SL", "SL"))
        return cores

    def lay(self, here: str, step: Step, cores: list[Core]) -> None:
        """Add the run and let its cores land at both ends."""
        for place, keys in ((here, [c.start for c in cores]), (step.place, [c.end for c in cores])):
            if place in self.drafts:
                self.drafts[place].keys += keys
        name = self.names.run(step.name or f"{here}–{step.place}")
        self.runs.append(
            Run(name, here, step.place, step.length, tuple(cores), step.cabling.name,
                step.temperature, exposed=step.exposed)
        )  # fmt: skip

    # Longhand

    def _longhand(self, fields: dict[str, Node]) -> None:
        points = fields.get("points")
        if points is not None and points.kind == "map":
            for name, value in points.pairs:
                self.declare(value, name)
        self._stage(fields)
        for item in listed_items(self.cursor, fields["runs"]):
            self._run(item)

    def _run(self, node: Node) -> None:
        fields = self.cursor.fields(node, "run")
        if not {"from", "to", "length", "cores"} <= fields.keys():
            return
        ends = []
        for key in ("from", "to"):
            place = fields[key].text
            if place not in self.drafts and place not in self.names.boards:
                near = nearest(place, (*self.drafts, *self.names.boards))
                self.cursor.note(fields[key], "a point of this circuit, or a board", None,
                                 f'did you mean "{near}"?' if near else "")  # fmt: skip
                return
            ends.append(place)
        length = self.cursor.about(fields["length"], parse_length, self.unknown, high=LONGEST)
        cores = [c for item in self.cursor.texts(fields["cores"]) if (c := self._core(item))]
        for place, keys in ((ends[0], [c.start for c in cores]), (ends[1], [c.end for c in cores])):
            if place in self.drafts:
                self.drafts[place].keys += keys
        name = fields["name"].text if "name" in fields else f"{ends[0]}–{ends[1]}"
        wide = About(1e-10, 1.0)
        capacitance = fields.get("capacitance")
        insulation = fields.get("insulation")
        leaky = About(5e10, 1.0)
        self.runs.append(
            Run(
                self.names.run(name), ends[0], ends[1], length, tuple(cores),
                fields["cable"].text if "cable" in fields else "", self.celsius(fields),
                self.cursor.about(capacitance, parse_farads, wide) if capacitance else None,
                self.cursor.about(insulation, parse_megohms, leaky) if insulation else None,
                history_words(self.cursor.words(fields["history"])) if "history" in fields else (),
            )
        )  # fmt: skip

    def _core(self, node: Node) -> Core | None:
        found = re.fullmatch(
            r"(\w+)(?:\s*>\s*(\w+))?\s+([\d.eE+-]+)(?:\s+(copper|aluminium))?(?:\s+(\S.*))?",
            node.text,
        )
        if not found:
            self.cursor.note(node, 'a core such as "L 2.5", "L>SL 1.5" or "N 16 aluminium blue"')
            return None
        try:
            size = float(found[3])
        except ValueError:
            size = 0.0
        if not 0.05 <= size <= 1000.0:
            self.cursor.note(node, "a core of 0.05 to 1000 mm²")
            return None
        start = conductor(self.cursor, node, found[1])
        end = conductor(self.cursor, node, found[2]) if found[2] else start
        return (
            Core(start, end, size, found[4] or "copper", found[5] or "") if start and end else None
        )

    # Points

    def _is_point(self, node: Node, name: str) -> bool:
        if name in self.drafts:
            return True
        near = nearest(name, self.drafts)
        known = ", ".join(list(self.drafts)[:12])
        self.cursor.note(node, f"a point of this circuit: {known}", name,
                         f'did you mean "{near}"?' if near else "")  # fmt: skip
        return False

    def _details(self, fields: dict[str, Node]) -> None:
        points = fields.get("points")
        if points is not None and points.kind == "map":
            for name, value in points.pairs:
                self._is_point(value, name)
        if "plugged in" not in fields:
            return
        node = fields["plugged in"]
        if node.kind != "map":
            self.cursor.note(node, "points with their loads: {Bench: [60 W, electronics]}")
            return
        for name, value in node.pairs:
            if self._is_point(value, name):
                self.drafts[name].loads.append(value)

    def _points(self) -> tuple[Point, ...]:
        found = []
        for draft in self.drafts.values():
            self._switching(draft)
            point = draft.finish(self.cursor, self.region)
            if point.kind == "appliance" and not point.loads and not draft.loads:
                point = replace(point, loads=self._appliance(point))
            found.append(point)
        return tuple(found)

    def _switching(self, draft: Draft) -> None:
        if draft.half and draft.half not in self.drafts:
            self._is_point(draft.node, draft.half)
        if draft.kind not in SWITCHING or draft.made or draft.switches is not None:
            return
        lines = [k for k in in_order(draft.keys) if k in ("L", "L1", "L2", "L3")] or ["L"]
        contacts = tuple(Contact(key, f"S{key}", ("on",)) for key in lines)
        position = draft.position or "on"
        if position not in ("on", "off"):
            self.cursor.note(draft.node, "a position on or off", position)
            position = "on"
        draft.made.append(Switch(draft.name, contacts, ("on", "off"), position))

    def _appliance(self, point: Point) -> tuple[Load, ...]:
        """The load that a fixed appliance is, across the lines it has; its name tells its kind."""
        lines = [key for key in point.conductors if key in ("L", "L1", "L2", "L3")]
        node = Node("text", "", 0, 0, point.name)
        if len(lines) == 3:
            pairs = (
                [(a, "N") for a in lines]
                if "N" in point.conductors
                else [(lines[k], lines[(k + 1) % 3]) for k in range(3)]
            )
        elif len(lines) == 2:
            pairs = [(lines[0], lines[1])]
        else:
            first = lines[0] if lines else "SL"
            pairs = [(first, "N" if "N" in point.conductors else "E")]
        loads = []
        for pair in pairs:
            for load in read_loads(self.cursor, node, pair, False):
                suffix = f" {pair[0]}" if len(pairs) > 1 else ""
                watts = About(load.watts.value / len(pairs), load.watts.spread)
                loads.append(replace(load, name=load.name + suffix, watts=watts))
        return tuple(loads)
