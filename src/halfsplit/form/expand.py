"""Patterns of circuits, from the few words typed to runs, cores and points."""

from __future__ import annotations

import re
from dataclasses import replace

from halfsplit.form.appliances import LINES, appliance
from halfsplit.form.cabling import read_cable, usual_cable
from halfsplit.form.chains import LONGEST, Chains, Step
from halfsplit.form.cursor import nearest
from halfsplit.form.devices import read_device, usual_device
from halfsplit.form.lighting import Lighting
from halfsplit.form.loads import POWER, Seat, read_loads
from halfsplit.form.longhand import Longhand
from halfsplit.form.points import SWITCHING, Draft, conductor, in_order
from halfsplit.form.tree import Node
from halfsplit.form.words import CARRIES
from halfsplit.quantity import parse_length
from halfsplit.wiring.model import (
    FIRST_KNOWN,
    UNKNOWN_LEG,
    UNKNOWN_RATING,
    About,
    Circuit,
    Contact,
    Device,
    Load,
    Point,
    Switch,
)

_UNKNOWN = re.compile(r"(?i)\b(?:unknown|not known|not stated)\b")
_AFTER_FIRST = re.compile(r"(?i)\bunknown (?:after|beyond) (?:the )?first\b")
_LIGHTS = re.compile(r"(?i)\b(?:lights?|lighting)\b")
_COUNT = re.compile(r"(?i)(\d{1,3})\s*(?:points?)?\s*(?:,?\s*order\s+(unknown|known))?")


class Expander(Chains):
    """Reads one circuit."""

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
        if "carries" in fields:
            self.carries = cursor.choice(fields["carries"], CARRIES, self.carries)
        device = self._usual_device(fields)
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
            tuple(dict.fromkeys((*self._guessed(fields), *self._said(fields)))),
        )  # fmt: skip

    def _usual_device(self, fields: dict[str, Node]) -> Device:
        """The device where none is stated: large enough for the one appliance a circuit feeds."""
        fed = appliance(fields["feeds"].text, self.region) if "feeds" in fields else None
        lines = tuple(key for key in self.lines if key in LINES)
        amps = 0.0
        if fed is not None:
            pair = (lines[0], lines[1] if len(lines) > 1 else "N")
            volts = self.supply.volts.value * len(lines)
            amps = fed.usual(self.region, pair).value / volts
        return usual_device(self.name, self.region, self.lines, "lighting" in fields, amps)

    def _said(self, fields: dict[str, Node]) -> tuple[str, ...]:
        return self.cursor.history(fields["history"]) if "history" in fields else ()

    def _guessed(self, fields: dict[str, Node]) -> tuple[str, ...]:
        """Words for what was said not to be known, kept with the circuit."""
        device = fields.get("device")
        parts = [device] if device is not None else []
        if device is not None and device.kind == "map":
            parts = [value for key, value in device.pairs if key.casefold() in ("rating", "amps")]
        legs, order, one = fields.get("legs"), fields.get("order"), len(self.lines) == 1
        return tuple(
            word
            for word, node, said in (
                (UNKNOWN_LEG, legs if one and self.supply.live != "single" else None, _UNKNOWN),
                (FIRST_KNOWN, order, _AFTER_FIRST),
                (UNKNOWN_RATING, parts[0] if parts else None, _UNKNOWN),
            )
            if node is not None and said.search(node.text)
        )

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
        if "legs" not in fields or _UNKNOWN.search(fields["legs"].text):
            if self.supply.live == "centre tap" or self._takes_two(fields, there):
                return tuple((key, key) for key in there[:2])
            if "legs" not in fields or self.supply.live != "split":
                return (("L", there[0]),)
            self.names.legless += 1  # the ways of a panel take its two legs in turn
            return (("L", there[1 - self.names.legless % 2]),)
        found = []
        for word in self.cursor.words(fields["legs"]):
            for part in re.split(r"\s*(?:[-–+&/]|\band\b)\s*", word):
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

    def _takes_two(self, fields: dict[str, Node], there: tuple[str, ...]) -> bool:
        """Whether it feeds an appliance made for two North American lines, nothing else said."""
        if self.region != "na" or len(there) < 2 or "feeds" not in fields:
            return False
        fed = appliance(fields["feeds"].text, self.region)
        return fed is not None and fed.two_lines > 0.0

    def _pattern(self, node: Node, fields: dict[str, Node]) -> tuple[str, bool]:
        """Read the one pattern given; (shape, whether the order of points is known)."""
        patterns = [k for k in ("run", "ring", "feeds", "lighting", "runs") if k in fields]
        known = not ("order" in fields and self._unordered(fields["order"]))
        if len(patterns) > 1:
            self.cursor.note(fields[patterns[1]], "one pattern: run, ring, lighting or feeds",
                             " and ".join(patterns))  # fmt: skip
        if not patterns:
            return self._loose(node, fields, known)
        pattern = patterns[0]
        if pattern == "runs":
            Longhand(self).read(fields)
            shape = fields["shape"].text if "shape" in fields else "radial"
            return shape, known
        if pattern == "lighting":
            Lighting(self).read(fields["lighting"], fields)
            self.stage(fields, missing_ok=True)
            shape = "lighting"
        elif pattern == "feeds":
            shape = self._feeds(fields)
        else:
            shape = self._chain_pattern(fields, pattern)
        self._branches(fields)
        return shape, known

    def _unordered(self, node: Node) -> bool:
        """Whether the order of points is not known, or not beyond the first."""
        words = {"unknown": "unknown", "not known": "unknown", "known": "known"}
        if _AFTER_FIRST.search(node.text):
            return True
        return self.cursor.choice(node, words, "unknown") == "unknown"

    def _chain_pattern(self, fields: dict[str, Node], pattern: str) -> str:
        steps = self.chain(fields[pattern], self.board, closing=pattern == "ring")
        self.stage(fields)
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
        power = POWER.search(text) if text not in self.names.boards else None
        name = " ".join(text.replace(power[0], " ").split()) if power else text  # "Shower 8.5 kW"
        place = text if text in self.names.boards else self.declare(node, name, "appliance")
        if place is not None and power is not None:
            self.drafts[place].loads.append(node)
        if place is None:
            return "fixed"
        self.stage(fields)
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
            if not self.is_point(value, name):
                continue
            many = value.kind == "list" and value.items and value.items[0].kind == "list"
            for chain in value.items if many else (value,):
                steps = self.chain(chain, name)
                self.stage(fields, missing_ok=True)
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
        kind = "light" if _LIGHTS.search(self.name) and points.kind == "text" else "socket"
        places = [(n, p) for n, text in names if (p := self.declare(n, text, kind))]
        self.stage(fields)
        steps = [Step(self.unknown, p, n, self.cabling) for n, p in places]
        self.link(self.board, steps)
        return "radial", known

    def _details(self, fields: dict[str, Node]) -> None:
        points = fields.get("points")
        if points is not None and points.kind == "map":
            for name, value in points.pairs:
                self.is_point(value, name)
        if "plugged in" not in fields:
            return
        node = fields["plugged in"]
        if node.kind != "map":
            self.cursor.note(node, "points with their loads: {Bench: [60 W, electronics]}")
            return
        for name, value in node.pairs:
            if self.is_point(value, name):
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
            self.is_point(draft.node, draft.half)
        draft.stand(self.cursor)
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
            for load in read_loads(self.cursor, node, Seat(pair, False, self.region)):
                suffix = f" {pair[0]}" if len(pairs) > 1 else ""
                watts = About(load.watts.value / len(pairs), load.watts.spread)
                loads.append(replace(load, name=load.name + suffix, watts=watts))
        return tuple(loads)
