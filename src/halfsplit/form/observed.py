"""What was seen, felt and heard: observations of an entry."""

from __future__ import annotations

import re
from dataclasses import replace

from halfsplit.errors import BadQuantity
from halfsplit.form.conditions import read_when
from halfsplit.form.cursor import NO, YES, Cursor
from halfsplit.form.entry import GLOWS, Entry, is_port
from halfsplit.form.loads import node_with
from halfsplit.form.tree import Node
from halfsplit.form.words import (
    GLOW,
    SENSES,
    TESTER,
    WORKS,
)
from halfsplit.quantity import (
    parse_seconds,
)
from halfsplit.wiring.conditions import Conditions

_WHERE = re.compile(r"(?i)(?P<what>.+?)\s+(?:along|at|in|on|near)\s+(?P<where>.+)")

_NOW_AND_THEN = ("sometimes", "intermittently", "randomly", "at random", "now and then",
                 "occasionally", "keeps tripping")  # fmt: skip
_FIGURES = re.compile(r"^(?:a few|a couple of|an?|one|two|three|four|five|six|seven|eight|nine|ten|"
                      r"fifteen|twenty|thirty)\b")  # fmt: skip
_NUMBERS = ("none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


class Observed(Entry):
    """Reads what was observed."""

    def _seen(self) -> None:
        for key, node in self.fields.items():
            if key in ("works", "weak") or (key == "dead" and node.kind != "map"):
                self._working(key, node)
            elif key in GLOWS:
                self._glowing(key, node)
            elif key in ("tingle", "shock", "no shock"):
                self._touched(key, node)
            elif key == "trips":
                self._tripped(node)
            elif key == "notice":
                for item in self.cursor.texts(node):
                    self._noticed(item)
            elif key == "destroyed":
                self._destroyed(node)
            elif key == "tester":
                self._tester(node)
            elif key in ("cables", "cores", "loose"):
                self._counted(key, node)
            elif (point := self.own_name(key)) is not None and not is_port(key):
                self._said_of(point, node)

    def _said_of(self, place: str, node: Node) -> None:
        """A word under a point's own name: of a light how it is lit, else whether it works."""
        word = self._plain(node)
        light = self.site.points[place][1].kind == "light" and word in GLOW
        if light or (word in GLOW and word not in WORKS):
            self._add("glow", node, of=self.site.lamp(place), place=place, seen=GLOW[word])
        elif seen := self.cursor.choice(node, {**GLOW, **WORKS}, ""):
            self._add("works", node, of=place, place=place, seen=seen)

    def _counted(self, key: str, node: Node) -> None:
        """Cables and cores in the opened box of a point, and cores there that end in nothing."""
        if not self._has_place(node):
            return
        if self.at not in self.site.points:
            self.cursor.note(node, "the box of a point", self.at)
        elif key == "loose":
            words = [part.strip() for t in self.cursor.texts(node) for part in t.text.split(",")]
            keys = [self.site.key(node, self.at, word) for word in words]
            if keys and all(keys):
                self._add("count", node, of=self.at, seen=key, conductors=tuple(keys), value=1.0)
        elif key == "cores" and node.kind == "map":
            for word, item in node.pairs:
                if conductor := self.site.key(item, self.at, word):
                    self._count(key, item, (conductor,))
        else:
            self._count(key, node, ())

    def _count(self, seen: str, node: Node, conductors: tuple[str, ...]) -> None:
        if (value := counted(self.cursor, node)) is not None:
            self._add("count", node, of=self.at, seen=seen, conductors=conductors, value=value)

    def _many(self, node: Node) -> list[tuple[Node, str]]:
        """Places in a list: points, whole circuits, or all."""
        found: list[tuple[Node, str]] = []
        circuits = {c.name.casefold(): c for c in self.site.installation.circuits}
        points = {name.casefold(): name for name in self.site.points}
        for item in self.cursor.texts(node):
            whole = item.text.casefold() in points or item.text.casefold() in circuits
            for part in [item.text] if whole else [p.strip() for p in item.text.split(",")]:
                word = part.casefold()
                if word in ("all", "everything"):
                    names = [p.name for p in self.circuit.points] if self.named and self.circuit \
                        else list(self.site.points)  # fmt: skip
                elif word in circuits and word not in points:
                    names = [p.name for p in circuits[word].points]
                else:
                    place = self.site.place(item, part)
                    names = [place] if place else []
                found += [(item, name) for name in names]
        return found

    def _plain(self, node: Node) -> str:
        return node.text.casefold() if node.kind == "text" else ""

    def _working(self, key: str, node: Node) -> None:
        seen = {"works": "works", "dead": "dead", "weak": "weak"}[key]
        word = self._plain(node)
        points = {name.casefold() for name in self.site.points}
        if word in WORKS and word not in points:
            if key == "works":
                seen = WORKS[word]
            elif word in NO:
                seen = "works"
            if self._has_place(node):
                self._add("works", node, of=self._of(), seen=seen)
            return
        for item, place in self._many(node):
            self._add("works", item, of=place, place=place, seen=seen)

    def _destroyed(self, node: Node) -> None:
        """What too much voltage destroyed: loads, points, circuits, all; or yes at a place."""
        word = self._plain(node)
        points = {name.casefold() for name in self.site.points}
        circuits = {c.name.casefold() for c in self.site.installation.circuits}
        if word in YES | NO and word not in points:
            if self._has_place(node):
                self._add("works", node, of=self._of(),
                          seen="destroyed" if word in YES else "works")  # fmt: skip
            return
        places = points | circuits | {"all", "everything"}
        loads = {name.casefold() for id in self.site.loads() for name in (id, id.split("/", 1)[1])}
        for item in self.cursor.texts(node):
            whole = item.text.casefold() in places | loads
            for part in [item.text] if whole else item.text.split(","):
                self._wrecked(node_with(item, part.strip()), places, loads)

    def _wrecked(self, item: Node, places: set[str], loads: set[str]) -> None:
        word = item.text.casefold()
        if word in loads and word not in places:
            if load := self.site.load(item, item.text, self.at):
                self._add("works", item, of=load, place=load.split("/", 1)[0], seen="destroyed")
            return
        for _, place in self._many(item):
            self._add("works", item, of=place, place=place, seen="destroyed")

    def _noticed(self, item: Node) -> None:
        """A sense at the place, along a run ("heat along Board–Shed"), or at a place not known."""
        found = _WHERE.fullmatch(item.text)
        where = self.along or self.at
        said = item
        if found is not None and found["what"].casefold() in SENSES:
            said = node_with(item, found["what"])
            run = self.site.run(found["where"])
            if (place := run or self.site.place(item, found["where"])) is None:
                return
            where = place
        if seen := self.cursor.choice(said, SENSES, ""):
            self._add("sense", item, of=where, place=where, seen=seen)

    def _glowing(self, key: str, node: Node) -> None:
        seen = GLOWS[key]
        word = self._plain(node)
        if word in YES | NO:
            if word in NO:
                seen = "off" if key in ("lit", "glows") else "normal"
            if self._has_place(node):
                of = self._of() if "of" in self.fields else self.site.lamp(self.at)
                self._add("glow", node, of=of, seen=seen)
            return
        for item, place in self._many(node):
            self._add("glow", item, of=self.site.lamp(place), place=place, seen=seen)

    def _touched(self, key: str, node: Node) -> None:
        text = self.cursor.text(node)
        if text is None:
            return
        load = ""
        if "of" in self.fields:
            found = self.site.load(self.fields["of"], self.fields["of"].text, self.at)
            load = found.split("/", 1)[1] if found else ""
        first, _, second = re.sub(r"(?i)\s+(?:to|and)\s+", "\x00", text).partition("\x00")
        other = self.fields["to touch"].text if "to touch" in self.fields else second or "earth"
        a = self.site.touched(node, first, self.at, load, self.circuit)
        b = self.site.touched(node, other, self.at, load, self.circuit)
        if a and b and a == b:
            b = "earth"
        if a and b:
            seen = "nothing" if key == "no shock" else key
            self._add("touch", node, a=a, b=b, seen=seen)

    def _tripped(self, node: Node) -> None:
        device = self._device()
        if device is None:
            return
        word = self._plain(node)
        if word in ("at once", "instantly", "instant", "immediately", "straight away"):
            seen = "at once"
        elif word in ("holds", "no", "false", "off", "never"):
            seen = "holds"
        elif word in ("yes", "trips", "true", "on", *_NOW_AND_THEN):
            seen = "trips"
        elif word in ("seconds", "after seconds", "after some seconds"):
            seen = "seconds"
        elif word in ("minutes", "after minutes", "after some minutes"):
            seen = "minutes"
        elif word.startswith("when "):
            when = read_when(self.site, node, node.text[5:], self.circuit)
            both = _together(self.conditions, when)
            self._add("trips", node, of=device, seen="trips", conditions=both)
            return
        else:
            try:
                after = parse_seconds(_FIGURES.sub(_figure, re.sub(r"^after\s+", "", word))).value
            except BadQuantity:
                self.cursor.note(node, "at once, after 4 min, when kettle on, yes or holds")
                return
            seen = "at once" if after < 1.0 else "seconds" if after < 60.0 else "minutes"
        self._add("trips", node, of=device, seen=seen)

    def _tester(self, node: Node) -> None:
        if not self._has_place(node):
            return
        if self.at not in self.site.points:
            self.cursor.note(node, "a plug tester's lamps at a point", self.at)
            return
        text = self._plain(node).replace(" ", "") if re.fullmatch(
            r"[10?\s]{3,5}", self._plain(node)) else ""  # fmt: skip
        seen = text if re.fullmatch(r"[10?]{3}", text) else self.cursor.choice(node, TESTER, "")
        if seen:
            self._add("lamps", node, of=self.at, seen=seen,
                      instrument=self.base.instrument or "plug tester")  # fmt: skip


def _figure(found: re.Match[str]) -> str:
    more = {"a few": 4, "a couple of": 2, "a": 1, "an": 1, "ten": 10, "fifteen": 15, "twenty": 20,
            "thirty": 30}  # fmt: skip
    return str(more.get(found[0]) or _NUMBERS.index(found[0]))


def counted(cursor: Cursor, node: Node) -> float | None:
    """A whole number from 0 to 99, in figures or as a word; None with a problem noted."""
    word = node.text.casefold() if node.kind == "text" else ""
    if word in _NUMBERS:
        return float(_NUMBERS.index(word))
    if re.fullmatch(r"\d{1,2}", word):
        return float(word)
    cursor.note(node, "how many were counted, such as 2")
    return None


def _together(one: Conditions, other: Conditions) -> Conditions:
    """Both sets of conditions at once."""
    return replace(
        one,
        off=(*one.off, *other.off),
        on=(*one.on, *other.on),
        positions=(*one.positions, *other.positions),
        unplugged=(*one.unplugged, *other.unplugged),
        plugged=(*one.plugged, *other.plugged),
    )
