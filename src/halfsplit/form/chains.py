"""Lengths and places in turn: the runs and points of one circuit while it is read."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from halfsplit.errors import BadQuantity
from halfsplit.form.cabling import Cabling, read_cable
from halfsplit.form.cursor import Cursor, nearest
from halfsplit.form.places import Names
from halfsplit.form.points import SWITCHING, Draft, in_order
from halfsplit.form.tree import Node
from halfsplit.form.words import kind_named
from halfsplit.quantity import parse_length
from halfsplit.wiring.model import (
    About,
    Core,
    Run,
    Supply,
)

LONGEST = 2000.0
UNKNOWN_LENGTH = {
    "uk": About(6.0, 0.8), "eu": About(6.0, 0.8), "au": About(7.0, 0.8), "na": About(5.0, 0.8)
}  # fmt: skip
_LIKE_LENGTH = re.compile(
    r"(?i)(?:about|around|approx\.?|~|>|<|over|under)?\s*[-+]?[\d.,]*\d[\d.,]*\s*[a-zµΩ²'\"]{0,3}"
    r"|[-+]?\.?(?:nan|inf)(?:\s*m)?"
)


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


class Chains:
    """Reads chains of lengths and points, and lays runs between them."""

    def __init__(self, cursor: Cursor, region: str, supply: Supply, names: Names) -> None:
        self.cursor, self.region, self.supply, self.names = cursor, region, supply, names
        self.drafts: dict[str, Draft] = {}
        self.runs: list[Run] = []
        self.name = ""
        self.board = ""
        self.lines: tuple[str, ...] = ("L",)
        self.tail: tuple[str, ...] = ("N", "E")
        self.cabling = Cabling("", 2.5, 1.5)
        self.carries = "accessory"
        self.unknown = UNKNOWN_LENGTH[region]

    def declare(self, node: Node, text: str, kind: str = "socket") -> str | None:
        """A new point of that name; None with a problem where the name will not do."""
        name = self.cursor.name_of(node, text)
        if name is None or not self.names.claim(self.cursor, node, name):
            return None
        self.drafts[name] = Draft(
            name, node, kind if kind != "socket" else kind_named(name), carries=self.carries
        )
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
            exposed = self.cursor.history(fields["history"]) if "history" in fields else ()
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

    def stage(self, fields: dict[str, Node], missing_ok: bool = False) -> None:
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
            if a and a.made:
                start = self._from_switch(a, key, step)
            elif a and key in self.lines and a.kind in SWITCHING and not half:
                a.land(start)
                start = f"S{start}"
            cores.append(step.cabling.core(start, end))
        if half:
            cores.insert(len(self.lines), step.cabling.core("SL", "SL"))
        return cores

    def _from_switch(self, a: Draft, key: str, step: Step) -> str:
        """The terminal a branch leaves from at a switch of a lighting pattern: none is added."""
        there = {*a.keys, *(end for s in a.made for c in s.contacts for end in (c.a, c.b))}
        found = next((k for k in ("SL", "L") if k in there), "") if key in self.lines else key
        if found not in there:
            self.cursor.note(step.node, "a branch from a place with a line and a neutral",
                             f"{a.name} with {', '.join(in_order(there))}",
                             "branch from the light, or say looped at: switch")  # fmt: skip
        return found or key

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

    def is_point(self, node: Node, name: str) -> bool:
        """Whether that is a point of this circuit; noted where it is not."""
        if name in self.drafts:
            return True
        near = nearest(name, self.drafts)
        known = ", ".join(list(self.drafts)[:12])
        self.cursor.note(node, f"a point of this circuit: {known}", name,
                         f'did you mean "{near}"?' if near else "")  # fmt: skip
        return False
