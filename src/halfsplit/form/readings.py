"""Readings: each entry may hold several, taken at one place in the same conditions."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Any, get_args

from halfsplit.errors import BadQuantity
from halfsplit.form.conditions import read_with
from halfsplit.form.cursor import NO, YES, Cursor
from halfsplit.form.terminals import Site, side_of, split_port
from halfsplit.form.tree import Node
from halfsplit.form.words import (
    CONDUCTORS,
    FRAMES,
    GLOW,
    INSTRUMENTS,
    SENSES,
    TAPS,
    TESTER,
    TRUE_EARTH,
    WORKS,
)
from halfsplit.instruments.reading import Kind, Reading
from halfsplit.quantity import (
    Quantity,
    parse_amps,
    parse_megohms,
    parse_ohms,
    parse_seconds,
    parse_volts,
)
from halfsplit.wiring.conditions import AS_DESCRIBED, Conditions
from halfsplit.wiring.model import Circuit
from halfsplit.wiring.plan import node as node_name

_PARSERS = {
    "volts": parse_volts, "ohms": parse_ohms, "megohms": parse_megohms, "loop": parse_ohms,
    "amps": parse_amps, "ramp": parse_amps,
}  # fmt: skip
_SOURCED = ("ohms", "megohms")
_UNSTEADY = re.compile(
    r"(?i)\b(?:unsteady|wandering|wanders|jumps|drifting|drifts|unstable)\b[,:]?"
)
_FALLS = re.compile(r"(?i)\b(?:falls|drops|sinks|settles)\s+to\b")
_AT_VOLTS = re.compile(r"(?i)\s+at\s+(250|500|1000)\s*v\b")
_PREFIX = re.compile(r"(?i)(loop|insulation|ir|ohms|volts|lamp|clamp|continuity)\s+(.+)")
_PREFIX_KIND = {
    "loop": "loop", "insulation": "megohms", "ir": "megohms", "ohms": "ohms", "volts": "volts",
    "continuity": "ohms", "lamp": "glow", "clamp": "amps",
}  # fmt: skip
_GLOWS = {
    "lit": "normal", "unlit": "off", "dim": "dim", "bright": "bright", "flickers": "flicker",
    "glows": "glimmer",
}  # fmt: skip


def read_readings(cursor: Cursor, site: Site, node: Node) -> tuple[Reading, ...]:
    """Every reading of the list, in order, numbered r1, r2 and so on."""
    items = node.items if node.kind == "list" else (node,) if node.kind == "map" else ()
    if not items and not (node.kind == "list" or (node.kind == "text" and not node.text)):
        cursor.note(node, "a list of readings, such as - {at: Bench, L-N: 230}")
    found: list[Reading] = []
    for item in items:
        found += _Entry(site, item).read()
    numbered = [
        replace(reading, id=reading.id or f"r{k}") for k, reading in enumerate(found, start=1)
    ]
    ids = [reading.id for reading in numbered]
    for reading in numbered:
        if ids.count(reading.id) > 1 and reading.line:
            cursor.note(replace(node, line=reading.line), "each id once", reading.id, key="id")
            break
    return tuple(numbered)


def is_port(key: str) -> bool:
    """Whether a key outside the table is a pair of terminals or a test on one."""
    found = _PREFIX.fullmatch(key)
    if found and found[1].casefold() == "clamp":
        return True
    sides = split_port(found[2] if found else key)
    return sides is not None and all(_sidelike(side) for side in sides)


def _sidelike(side: str) -> bool:
    word = side.casefold()
    if word in CONDUCTORS or word in TRUE_EARTH or word in FRAMES or word in TAPS:
        return True
    if "+" in side:
        return all(_sidelike(part.strip()) for part in side.split("+"))
    return bool(re.fullmatch(r"(?i)(sl|t|l|s)\d?", word)) or len(side.split()) > 1


@dataclass(slots=True)
class _Value:
    value: float | None
    bound: Any
    settled: bool
    kind: str
    instrument: str


class _Entry:
    """One entry of the list."""

    def __init__(self, site: Site, node: Node) -> None:
        self.site, self.cursor, self.node = site, site.cursor, node
        self.found: list[Reading] = []
        self.fields: dict[str, Node] = {}
        self.at = ""
        self.side = ""
        self.circuit: Circuit | None = None
        self.named = False
        self.conditions: Conditions = AS_DESCRIBED
        self.base = Reading("", "volts")

    def read(self) -> list[Reading]:
        cursor, site = self.cursor, self.site
        before = len(cursor.problems)
        fields = self.fields = cursor.fields(self.node, "reading", is_port)
        if not fields:
            return []
        if "at" in fields:
            place = site.place(fields["at"], fields["at"].text)
            if place is None:
                return []
            self.at = place
        if "contacts" in fields:
            self.side = side_of(cursor, fields["contacts"])
        if "circuit" in fields:
            self.circuit = site.circuit(fields["circuit"])
            self.named = self.circuit is not None
        if self.circuit is None:
            self.circuit = site.circuit_at(self.at)
        if "with" in fields:
            self.conditions = read_with(site, fields["with"], self.circuit)
        self.base = self._base()
        if "kind" in fields:
            self._longhand()
        else:
            self._values()
            self._seen()
        if not self.found and len(cursor.problems) == before:
            cursor.note(self.node, "something measured or seen, such as L-N: 230 or works: no",
                        "a place and nothing else")  # fmt: skip
        return self.found

    def _base(self) -> Reading:
        fields = self.fields
        showing: bool | None = None
        if "showing" in fields and fields["showing"].text.casefold() != "unknown":
            showing = self.cursor.yes(fields["showing"], True)
        instrument = ""
        if "by" in fields:
            instrument = self.cursor.choice(fields["by"], INSTRUMENTS, "")
        settled = self.cursor.yes(fields["settles"], True) if "settles" in fields else True
        id = fields["id"].text if "id" in fields else ""
        return Reading(
            id, "volts", instrument=instrument, conditions=self.conditions, showing=showing,
            place=self.at, line=self.node.line, settled=settled,
        )  # fmt: skip

    def _add(self, kind: str, node: Node, **more: Any) -> None:
        if kind in _SOURCED and not self.conditions.dead:
            more["conditions"] = replace(more.get("conditions", self.conditions), dead=True)
        change: dict[str, Any] = {"text": node.text, "kind": kind} | more
        made = replace(self.base, line=node.line, **change)
        if self.found and self.base.id:
            made = replace(made, id=f"{self.base.id}.{len(self.found) + 1}")
        self.found.append(made)

    # Numbers

    def _values(self) -> None:
        for key, node in self.fields.items():
            if is_port(key) and key not in _TABLE_KEYS:
                self._port(key, node, "")
            elif key in ("dead", "insulation", "loop") and node.kind == "map":
                kind = {"dead": "ohms", "insulation": "megohms", "loop": "loop"}[key]
                for port, value in node.pairs:
                    self._port(port, value, kind)
            elif key == "clamp" and node.kind == "map":
                for what, value in node.pairs:
                    self._clamp(what, value)
            elif key == "ring ends" and node.kind == "map":
                self._ring(node)
            elif key in ("insulation", "loop", "clamp", "ring ends"):
                self.cursor.note(node, f"a mapping such as {key}: {{L-E: 0.4}}")
            elif key == "ramp":
                self._ramp(node)
        self._across()

    def _across(self) -> None:
        if "from" not in self.fields and "to" not in self.fields:
            return
        ends = []
        for key in ("from", "to"):
            if key not in self.fields:
                self.cursor.note(self.node, "both from and to", f"no {key}", key=key)
                return
            text = self.fields[key].text
            if self.at and (CONDUCTORS.get(text.casefold()) or text.casefold() in FRAMES):
                ends.append(self._end(self.fields[key], text))
            else:
                ends.append(
                    self.site.named_terminal(
                        self.fields[key], text, self.side, self.circuit if self.named else None
                    )
                )
        found = False
        for key, kind in (("reads", ""), ("volts", "volts"), ("ohms", "ohms")):
            if key in self.fields and all(ends):
                found = True
                self._number(self.fields[key], str(ends[0]), str(ends[1]), kind)
        if not found and all(ends):
            self.cursor.note(self.node, 'what was shown, such as reads: "3.2 V"', "no reads",
                             key="reads")  # fmt: skip

    def _port(self, key: str, node: Node, kind: str) -> None:
        prefixed = _PREFIX.fullmatch(key)
        if prefixed:
            kind = _PREFIX_KIND[prefixed[1].casefold()]
            key = prefixed[2]
        if kind == "amps":
            self._clamp(key, node)
            return
        sides = split_port(key)
        if sides is None:
            self.cursor.note(node, "two terminals such as L-N, L-E or N-E", key)
            return
        if not self.at:
            self.cursor.note(self.node, "at: the place where it was taken", "no at", key="at")
            return
        links: list[tuple[str, str]] = []
        ends = []
        for side in sides:
            joined = [self._end(node, part.strip()) for part in side.split("+")]
            if any(end is None for end in joined):
                return
            names = [str(end) for end in joined]
            links += [(names[0], other) for other in names[1:]]
            ends.append(names[0])
        conditions = replace(self.conditions, links=(*self.conditions.links, *links))
        self._number(node, ends[0], ends[1], kind, conditions)

    def _end(self, node: Node, word: str) -> str | None:
        folded = word.casefold()
        if folded in TRUE_EARTH and folded not in CONDUCTORS:
            return "earth"
        if folded in FRAMES or folded in TAPS:
            load = self.fields["of"].text if "of" in self.fields else ""
            return self.site.touched(node, word, self.at, load, None)
        if len(word.split()) > 1 and folded not in CONDUCTORS:
            return self.site.named_terminal(node, word, self.side)
        return self.site.terminal(node, self.at, word, self.side,
                                  self.circuit if self.named else None)  # fmt: skip

    def _number(
        self, node: Node, a: str, b: str, kind: str, conditions: Conditions | None = None
    ) -> None:
        conditions = conditions or self.conditions
        word = node.text.casefold() if node.kind == "text" else ""
        if kind == "glow" or (not kind and word in GLOW and word not in ("yes", "no", "on", "off")):
            seen = self.cursor.choice(node, GLOW, "off")
            instrument = self.base.instrument or "test lamp"
            self._add("glow", node, a=a, b=b, seen=seen, instrument=instrument,
                      conditions=conditions)  # fmt: skip
            return
        if word in ("dead", "live", "proved dead"):
            self._add("proved dead", node, a=a, b=b, seen="live" if word == "live" else "dead",
                      conditions=conditions)  # fmt: skip
            return
        value = self._value(node, kind)
        if value is None:
            return
        self._add(value.kind, node, a=a, b=b, value=value.value, bound=value.bound,
                  settled=self.base.settled and value.settled,
                  instrument=self.base.instrument or value.instrument,
                  conditions=conditions)  # fmt: skip

    def _value(self, node: Node, kind: str) -> _Value | None:
        """A number as shown, with its bound; the unit decides the kind where nothing else does."""
        if node.kind != "text":
            self.cursor.note(node, "a number with its unit")
            return None
        text, instrument = node.text, ""
        if found := _AT_VOLTS.search(text):
            instrument, text = f"insulation {found[1]}", _AT_VOLTS.sub("", text)
            kind = kind or "megohms"
        steady = not (_UNSTEADY.search(text) or _FALLS.search(text))
        text = _FALLS.sub("", _UNSTEADY.sub("", text)).strip(" ,")
        kind = kind or self._kind_of(text)
        quantity = self._parse(node, text, kind)
        if quantity is None:
            return None
        if quantity.unknown:
            self.cursor.note(node, "a value; leave the key out where nothing was measured")
            return None
        value = None if quantity.value == float("inf") else quantity.value
        bound = ">" if quantity.over else "<" if quantity.under else "~" if quantity.spread else "="
        if value is not None and kind in ("volts", "amps"):
            value = abs(value)
        return _Value(value, bound, steady, kind, instrument)

    def _kind_of(self, text: str) -> str:
        if re.search(r"(?i)(M\s?(Ω|ohms?)|meg|G\s?(Ω|ohm))", text) and not re.search(
            r"mΩ|mohm", text
        ):
            return "megohms"
        if re.search(r"(?i)(Ω|ohms?\b|\d\s?k\b|over|^o\.?l\.?$|infinit|^open)", text):
            return "ohms"
        return "ohms" if self.conditions.dead else "volts"

    def _parse(self, node: Node, text: str, kind: str) -> Quantity | None:
        try:
            return _PARSERS[kind](text)
        except BadQuantity as error:
            self.cursor.note(node, error.accepted)
            return None

    def _clamp(self, what: str, node: Node) -> None:
        value = self._value(node, "amps")
        if value is None:
            return
        through: list[str] = []
        for word in what.split("+"):
            part = self._clamped(node, word.strip())
            if part is None:
                return
            through += part
        self._add("amps", node, conductors=tuple(through), value=value.value, bound=value.bound,
                  settled=self.base.settled and value.settled,
                  instrument=self.base.instrument or "clamp")  # fmt: skip

    def _clamped(self, node: Node, word: str) -> list[str] | None:
        """The parts a clamp is put round for one conductor, "-" before those run the other way."""
        paths = {p.name.casefold(): p.name for p in self.site.installation.paths}
        if word.casefold() in paths:
            return [f"path {paths[word.casefold()]}"]
        if word.casefold() in ("electrode", "rod"):
            return ["electrode"]
        if "device" in self.fields and (name := self._device()):
            return [f"pole {name} {CONDUCTORS.get(word.casefold(), word)}"]
        place = self.at or (self.circuit.board if self.circuit else next(iter(self.site.boards)))
        if place in self.site.boards and not (self.named and self.circuit):
            key = self.site.key(node, place, word)
            return [f"tail {place} {key}"] if key else None
        circuit = self.circuit
        if circuit is None or place not in (*self.site.points, circuit.board):
            self.cursor.note(node, "a clamp reading at a board or a point", what_at(place))
            return None
        return self._cores(node, circuit, place, word)

    def _cores(self, node: Node, circuit: Circuit, place: str, word: str) -> list[str] | None:
        key = CONDUCTORS.get(word.casefold(), word)
        if place == circuit.board and key not in [c.start for r in circuit.runs for c in r.cores]:
            key = {leg: mine for mine, leg in circuit.legs}.get(key, circuit.legs[0][0])
        elif place != circuit.board and (found := self.site.key(node, place, word)):
            key = found
        parts: list[str] = []
        for run in circuit.runs:
            for core in run.cores:
                if place == circuit.board and run.start == place and core.start == key:
                    parts.append(f"core {run.name} {core.start}")
                elif place == circuit.board and run.end == place and core.end == key:
                    parts.append(f"-core {run.name} {core.start}")
                elif place != circuit.board and run.end == place and core.end == key:
                    parts.append(f"core {run.name} {core.start}")
        if not parts:
            self.cursor.note(node, f"a conductor of {circuit.name}", word)
            return None
        return parts

    def _ring(self, node: Node) -> None:
        """End to end of each ring conductor, both ends out of their terminals at the board."""
        circuit = self.circuit
        ends = [] if circuit is None else [
            (run, place) for run in circuit.runs for place in (run.start, run.end)
            if place == circuit.board
        ]  # fmt: skip
        if circuit is None or circuit.shape != "ring" or len(ends) != 2:
            self.cursor.note(node, "a ring circuit; name it with circuit:",
                             circuit.name if circuit else "no circuit")  # fmt: skip
            return
        keys = {"r1": "L", "rn": "N", "r2": "E", "l": "L", "n": "N", "e": "E"}
        for word, value in node.pairs:
            key = keys.get(word.casefold())
            if key is None:
                self.cursor.note(value, "r1, rn or r2", word)
                continue
            a, b = (node_name(circuit.board, key, run.name) for run, _ in ends)
            lifted = tuple(f"joint {circuit.board} {key} {run.name}" for run, _ in ends)
            conditions = replace(self.conditions, lifted=(*self.conditions.lifted, *lifted),
                                 dead=True)  # fmt: skip
            self._number(value, a, b, "ohms", conditions)

    def _ramp(self, node: Node) -> None:
        device = self._device()
        value = self._value(node, "ramp")
        if device and value:
            self._add("ramp", node, of=device, value=value.value, bound=value.bound,
                      instrument=self.base.instrument or "ramp")  # fmt: skip

    # Observations

    def _seen(self) -> None:
        for key, node in self.fields.items():
            if key in ("works", "weak") or (key == "dead" and node.kind != "map"):
                self._working(key, node)
            elif key in _GLOWS:
                self._glowing(key, node)
            elif key in ("tingle", "shock", "no shock"):
                self._touched(key, node)
            elif key == "trips":
                self._tripped(node)
            elif key == "notice":
                for item in self.cursor.texts(node):
                    seen = self.cursor.choice(item, SENSES, "")
                    if seen and self._has_place(item):
                        self._add("sense", item, of=self.at, seen=seen)
            elif key == "tester":
                self._tester(node)

    def _has_place(self, node: Node) -> bool:
        if not self.at:
            self.cursor.note(self.node, "at: the place", "no at", key="at")
        return bool(self.at)

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

    def _of(self) -> str:
        if "of" not in self.fields:
            return self.at
        return self.site.load(self.fields["of"], self.fields["of"].text, self.at) or self.at

    def _glowing(self, key: str, node: Node) -> None:
        seen = _GLOWS[key]
        word = self._plain(node)
        if word in YES | NO:
            if word in NO:
                seen = {"lit": "off", "unlit": "normal"}.get(key, "normal")
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

    def _device(self) -> str | None:
        """The device meant: named, the circuit's, the one at the point, or the board's main."""
        if "device" in self.fields:
            node = self.fields["device"]
            names = {name.casefold(): name for name in self.site.devices}
            if (found := names.get(node.text.casefold())) is None:
                self.cursor.note(node, "a device: " + ", ".join(self.site.devices))
            return found
        if self.at in self.site.points:
            own = self.site.points[self.at][1].device
            if own is not None:
                return own.name
        if self.circuit is not None:
            return self.circuit.device.name
        if self.at in self.site.boards:
            return self.site.boards[self.at].main.name
        self.cursor.note(
            self.node, "circuit: or device:, to say which one", "no device", key="device"
        )
        return None

    def _tripped(self, node: Node) -> None:
        device = self._device()
        if device is None:
            return
        word = self._plain(node)
        if word in ("at once", "instantly", "immediately", "straight away"):
            seen = "at once"
        elif word in ("holds", "no", "false", "off", "never"):
            seen = "holds"
        elif word in ("yes", "trips", "true", "on", "sometimes"):
            seen = "trips"
        elif word in ("seconds", "after seconds", "after some seconds"):
            seen = "seconds"
        elif word in ("minutes", "after minutes", "after some minutes"):
            seen = "minutes"
        else:
            try:
                after = parse_seconds(re.sub(r"^after\s+", "", word)).value
            except BadQuantity:
                self.cursor.note(node, "at once, after 20 s, after 4 min, yes or holds")
                return
            seen = "at once" if after < 1.0 else "seconds" if after < 60.0 else "minutes"
        self._add("trips", node, of=device, seen=seen)

    def _tester(self, node: Node) -> None:
        if not self._has_place(node):
            return
        text = self._plain(node).replace(" ", "") if re.fullmatch(
            r"[10?\s]{3,5}", self._plain(node)) else ""  # fmt: skip
        seen = text if re.fullmatch(r"[10?]{3}", text) else self.cursor.choice(node, TESTER, "")
        if seen:
            self._add("lamps", node, of=self.at, seen=seen,
                      instrument=self.base.instrument or "plug tester")  # fmt: skip

    # Longhand

    def _longhand(self) -> None:
        fields = self.fields
        kinds = {k: k for k in get_args(Kind)}
        kind = self.cursor.choice(fields["kind"], kinds, "volts")
        more: dict[str, Any] = {
            key: fields[key].text for key in ("a", "b", "of", "seen", "place") if key in fields
        }
        for key in ("a", "b"):
            if key in fields and self.site.named_terminal(fields[key], fields[key].text) is None:
                return
        if "through" in fields:
            more["conductors"] = tuple(item.text for item in self.cursor.texts(fields["through"]))
        if "value" in fields and kind in _PARSERS:
            value = self._value(fields["value"], kind)
            if value is None:
                return
            more |= {"value": value.value, "bound": value.bound}
        self.found.append(replace(self.base, **({"kind": kind, "text": self.node.shown()} | more)))


def what_at(place: str) -> str:
    """A place as it is shown in a message."""
    return place or "no place"


_TABLE_KEYS = frozenset({"no shock", "ring ends", "plug tester"})
