"""Reads what followed the finding: ``mend``, ``tests after``, ``left safe``, ``seen``."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any, cast

from halfsplit.errors import BadQuantity
from halfsplit.form.after import After, LeftSafe, Mended, MendKind, Seen, Tested, TestKind
from halfsplit.form.cursor import Cursor, nearest
from halfsplit.form.terminals import Site, split_port
from halfsplit.form.tree import Node
from halfsplit.form.words import CONDUCTORS, INSTRUMENTS
from halfsplit.quantity import (
    Quantity,
    parse_amps,
    parse_megohms,
    parse_ohms,
    parse_seconds,
    parse_volts,
)
from halfsplit.wiring.model import Circuit

CODES = ("C1", "C2", "C3", "FI")
_ORDER = ("L", "L1", "L2", "L3", "SL", "T1", "T2", "T3", "T4", "N", "E")
_KEYS = {**CONDUCTORS, "earth": "E"}  # a test after the mend is never taken to true earth
_RING = {"r1": "L", "rn": "N", "r2": "E", "l": "L", "n": "N", "e": "E"}
_TIMES = re.compile(r"(\d+(?:\.\d+)?)\s*[x×]")
_AT_VOLTS = re.compile(r"(?i)\s+at\s+(\d{2,4})\s*v\b")
_SUPPLY = {
    "electrode": "electrode", "rod": "electrode", "link": "link", "operator": "supply",
    "network operator": "supply", "utility": "supply",
}  # fmt: skip
_WORDS: dict[str, dict[str, str]] = {
    "polarity": {"right": "right", "correct": "right", "yes": "right", "wrong": "wrong",
                 "reversed": "wrong", "no": "wrong"},
    "button": {"trips": "trips", "yes": "trips", "works": "trips", "holds": "holds",
               "no": "holds"},
    "pull": {"sound": "sound", "yes": "sound", "tight": "sound", "loose": "loose", "no": "loose"},
    "symptom": {"gone": "gone", "yes": "gone", "still there": "still there",
                "still": "still there", "no": "still there"},
    "works": {"yes": "yes", "no": "no", "true": "yes", "false": "no"},
    "switching": {"yes": "yes", "no": "no", "true": "yes", "false": "no"},
    "dead": {"yes": "yes", "dead": "yes", "no": "no", "live": "no"},
}  # fmt: skip
_SEEN_KEYS = {"polarity": "polarity", "button": "button", "pull": "pull", "symptom": "symptom",
              "works": "works", "switching": "switching", "proved dead": "dead"}  # fmt: skip


def read_after(cursor: Cursor, site: Site, fields: dict[str, Node]) -> After:
    """Everything the form says of what followed the finding."""
    mends = tuple(_each(cursor, fields.get("mend"), _Mend(cursor, site).read))
    tests = tuple(
        test
        for entry in _each(cursor, fields.get("tests after"), _Tests(cursor, site).read)
        for test in entry
    )
    left = _left(cursor, fields["left safe"]) if "left safe" in fields else None
    seen = tuple(_each(cursor, fields.get("seen"), _Found(cursor, site).read))
    open_items = _listed(cursor, fields["open items"]) if "open items" in fields else ()
    return After(
        _numbered(cursor, mends, "m", fields.get("mend")),
        _numbered(cursor, tests, "t", fields.get("tests after")),
        left,
        _numbered(cursor, seen, "o", fields.get("seen")),
        open_items,
    )


def port_of(text: str) -> str:
    """A pair or group of conductors in one spelling: "N+L-PE" is "L+N-E"; "" when it is none."""
    sides = split_port(text) or (text, "")
    found = []
    for side in sides:
        keys = [_KEYS.get(part.strip().casefold(), "") for part in side.split("+")]
        if side and not all(keys):
            return ""
        if side:
            found.append("+".join(sorted(dict.fromkeys(keys), key=_ORDER.index)))
    return "-".join(sorted(found, key=lambda side: _ORDER.index(side.split("+")[0])))


def _each(cursor: Cursor, node: Node | None, read: Callable[[Node], Any]) -> Iterator[Any]:
    if node is None:
        return
    items = node.items if node.kind == "list" else (node,) if node.kind == "map" else ()
    if not items and not (node.kind == "list" or (node.kind == "text" and not node.text)):
        cursor.note(node, "a list of entries, each with its keys in braces")
    for item in items:
        found = read(item)
        if found is not None:
            yield found


def _numbered(cursor: Cursor, items: tuple[Any, ...], letter: str, node: Node | None) -> Any:
    found = tuple(replace(x, id=x.id or f"{letter}{k}") for k, x in enumerate(items, start=1))
    ids = [item.id for item in found]
    twice = next((item for item in found if ids.count(item.id) > 1), None)
    if twice is not None and node is not None:
        cursor.note(replace(node, line=twice.line or node.line), "each id once", twice.id, key="id")
    return found


def _listed(cursor: Cursor, node: Node) -> tuple[str, ...]:
    """The items of a list as they stand; a single text is parted at its commas."""
    if node.kind == "list":
        return tuple(" ".join(item.text.split()) for item in cursor.texts(node))
    return cursor.words(node)


def _text(fields: dict[str, Node], key: str) -> str:
    return " ".join(fields[key].text.split()) if key in fields else ""


@dataclass(slots=True)
class _Entry:
    """What the entries of these lists have in common."""

    cursor: Cursor
    site: Site

    def place(self, fields: dict[str, Node], key: str = "at") -> str | None:
        """The place named, "" where none is, None with a problem noted."""
        return self.site.place(fields[key], fields[key].text) if key in fields else ""

    def named(self, node: Node, known: tuple[str, ...], what: str) -> str:
        """One of some names, letter case forgiven; "" with a problem noted."""
        folded = {name.casefold(): name for name in known}
        found = folded.get(" ".join(node.text.split()).casefold(), "")
        if not found:
            near = nearest(node.text, known)
            listed = ", ".join(known[:12]) or "none is stated"
            self.cursor.note(node, f"{what}: {listed}", None,
                             f'did you mean "{near}"?' if near else "")  # fmt: skip
        return found


class _Mend(_Entry):
    def read(self, node: Node) -> Mended | None:
        fields = self.cursor.fields(node, "mend")
        if "did" not in fields or (did := self.cursor.text(fields["did"])) is None:
            return None
        place = self.place(fields)
        if place is None:
            return None
        made = Mended(
            _text(fields, "id"), did, "accessory", place, fault=_text(fields, "fault"),
            who=_text(fields, "who"), when=_text(fields, "when"), line=node.line,
        )  # fmt: skip
        return self._part(node, fields, made)

    def _part(self, node: Node, fields: dict[str, Node], made: Mended) -> Mended | None:
        given = [key for key in ("joint", "accessory", "cable", "device", "load", "bond", "supply",
                                 "nothing") if key in fields]  # fmt: skip
        if {"from", "to"} <= fields.keys() and "cable" not in fields:
            given.append("cable")
        if len(given) > 1:
            self.cursor.note(node, "one part in each entry", " and ".join(given))
            return None
        kind = given[0] if given else "accessory" if made.place else ""
        reader = {"joint": self._joint, "cable": self._cable, "device": self._device,
                  "load": self._load, "bond": self._bond, "supply": self._supply}  # fmt: skip
        if kind in reader:
            return reader[kind](fields, made)
        if not kind or (kind == "accessory" and not made.place):
            self.cursor.note(
                node, "the part disturbed: at and joint, accessory, cable, device, load, bond, "
                "supply or nothing", "no part",
            )  # fmt: skip
            return None
        return replace(made, kind=cast(MendKind, kind))

    def _joint(self, fields: dict[str, Node], made: Mended) -> Mended | None:
        if not made.place:
            self.cursor.note(fields["joint"], "at: the place of the joint", "no at", key="at")
            return None
        keys = []
        for item in self.cursor.texts(fields["joint"]):
            for word in item.text.split(","):
                key = self.site.key(item, made.place, word.strip())
                if key is None:
                    return None
                keys.append(key)
        return replace(made, kind="joint", conductors=tuple(dict.fromkeys(keys)))

    def _cable(self, fields: dict[str, Node], made: Mended) -> Mended | None:
        runs = [run for c in self.site.installation.circuits for run in c.runs]
        if "cable" in fields:
            name = self.named(fields["cable"], tuple(r.name for r in runs), "a run of cable")
            return replace(made, kind="cable", part=name) if name else None
        ends = {self.place(fields, "from"), self.place(fields, "to")}
        if None in ends:
            return None
        found = [run for run in runs if {run.start, run.end} == ends]
        if len(found) != 1:
            self.cursor.note(fields["from"], "both ends of one run: "
                             + ", ".join(run.name for run in runs[:8]))  # fmt: skip
            return None
        return replace(made, kind="cable", part=found[0].name)

    def _device(self, fields: dict[str, Node], made: Mended) -> Mended | None:
        name = self.named(fields["device"], tuple(self.site.devices), "a device")
        return replace(made, kind="device", part=name) if name else None

    def _load(self, fields: dict[str, Node], made: Mended) -> Mended | None:
        found = self.site.load(fields["load"], fields["load"].text, made.place)
        return replace(made, kind="load", part=found) if found else None

    def _bond(self, fields: dict[str, Node], made: Mended) -> Mended | None:
        known = tuple(path.name for path in self.site.installation.paths)
        name = self.named(fields["bond"], known, "a path of this job")
        return replace(made, kind="bond", part=name) if name else None

    def _supply(self, fields: dict[str, Node], made: Mended) -> Mended | None:
        kind = self.cursor.choice(fields["supply"], _SUPPLY, "")
        return replace(made, kind=cast(MendKind, kind)) if kind else None


class _Found(_Entry):
    def read(self, node: Node) -> Seen | None:
        fields = self.cursor.fields(node, "found")
        place = self.place(fields)
        if "what" not in fields or place is None:
            return None
        what = self.cursor.text(fields["what"])
        code = ""
        if "class" in fields:
            code = self.cursor.choice(fields["class"], {c.casefold(): c for c in CODES}, "")
        return None if what is None else Seen(
            _text(fields, "id"), what, place, code, _text(fields, "who"), _text(fields, "when"),
            node.line,
        )  # fmt: skip


def _left(cursor: Cursor, node: Node) -> LeftSafe | None:
    fields = cursor.fields(node, "left")
    if not fields:
        return None

    def listed(key: str) -> tuple[str, ...]:
        return _listed(cursor, fields[key]) if key in fields else ()

    return LeftSafe(
        _text(fields, "why"), listed("isolated"), _text(fields, "locked"),
        _text(fields, "labelled"), listed("told"), listed("do not use"), _text(fields, "who"),
        _text(fields, "when"),
    )  # fmt: skip


class _Tests(_Entry):
    """Results of one entry; each number becomes one test."""

    def read(self, node: Node) -> list[Tested] | None:
        cursor = self.cursor
        before = len(cursor.problems)
        fields = cursor.fields(node, "after")
        base = self._base(node, fields)
        if base is None:
            return None
        found: list[Tested] = []
        for key, value in fields.items():
            found += self._result(key, value, base)
        if not found and len(cursor.problems) == before:
            cursor.note(node, "a result, such as R1+R2: 0.34 ohm or works: yes", "no result")
        if base.id and len(found) > 1:
            found = [replace(t, id=t.id if k == 0 else f"{t.id}.{k + 1}")
                     for k, t in enumerate(found)]  # fmt: skip
        return found

    def _base(self, node: Node, fields: dict[str, Node]) -> Tested | None:
        place = self.place(fields)
        circuit: Circuit | None = None
        if "circuit" in fields:
            circuit = self.site.circuit(fields["circuit"])
        if place is None or ("circuit" in fields and circuit is None):
            return None
        part = ""
        if "device" in fields:
            part = self.named(fields["device"], tuple(self.site.devices), "a device")
        elif "load" in fields:
            part = self.site.load(fields["load"], fields["load"].text, place) or ""
        if ("device" in fields or "load" in fields) and not part:
            return None
        circuit = circuit or self._circuit_of(place, part)
        instrument = ""
        if "by" in fields:
            instrument = self.cursor.choice(fields["by"], INSTRUMENTS, "")
        return Tested(
            _text(fields, "id"), "works", place, circuit.name if circuit else "", part,
            instrument=instrument, nulled=self._yes(fields, "nulled"),
            equipment=bool(self._yes(fields, "equipment")),
            celsius=self._celsius(fields.get("temperature")), again=_text(fields, "again"),
            who=_text(fields, "who"), when=_text(fields, "when"), line=node.line,
        )  # fmt: skip

    def _circuit_of(self, place: str, part: str) -> Circuit | None:
        for circuit in self.site.installation.circuits:
            points = {point.name for point in circuit.points}
            if place in points or part == circuit.device.name or part.split("/")[0] in points:
                return circuit
        return self.site.circuit_at("") if not place and not part else None

    def _yes(self, fields: dict[str, Node], key: str) -> bool | None:
        return self.cursor.yes(fields[key], False) if key in fields else None

    def _celsius(self, node: Node | None) -> float | None:
        if node is None:
            return None
        found = re.fullmatch(r"(-?\d+(?:\.\d+)?)\s*(?:°?\s?C)?", node.text.strip())
        value = float(found[1]) if found else math.nan
        if not -30.0 <= value <= 90.0:
            self.cursor.note(node, "degrees Celsius from -30 to 90, such as 12")
            return None
        return value

    def _result(self, key: str, node: Node, base: Tested) -> list[Tested]:
        if key in _SEEN_KEYS:
            kind = _SEEN_KEYS[key]
            seen = self.cursor.choice(node, _WORDS[kind], "")
            return [self._made(base, kind, node, seen=seen)] if seen else []
        single: dict[str, tuple[str, str, Callable[[object], Quantity]]] = {
            "r1+r2": ("continuity", "L+E", parse_ohms), "r1+rn": ("continuity", "L+N", parse_ohms),
            "electrode": ("electrode", "", parse_ohms),
            "fault current": ("fault current", "", parse_amps),
            "trip current": ("trip current", "", parse_amps),
        }  # fmt: skip
        if key in single:
            kind, port, parser = single[key]
            return self._number(base, kind, port, node, parser)
        if key == "trip time":
            pairs = node.pairs if node.kind == "map" else (("1x", node),)
            return [t for port, value in pairs for t in self._trip_time(base, port, value)]
        mapped: dict[str, tuple[str, Callable[[object], Quantity]]] = {
            "continuity": ("continuity", parse_ohms), "ring ends": ("ring ends", parse_ohms),
            "ring cross": ("ring cross", parse_ohms), "insulation": ("insulation", parse_megohms),
            "loop": ("loop", parse_ohms), "volts": ("volts", parse_volts),
        }  # fmt: skip
        if key not in mapped:
            return []
        if node.kind != "map" or not node.pairs:
            self.cursor.note(node, f"a mapping such as {key}: {{L-E: 0.4}}")
            return []
        kind, parser = mapped[key]
        return [
            t
            for port, value in node.pairs
            for t in self._number(base, kind, self._port(kind, port, value), value, parser)
        ]

    def _port(self, kind: str, text: str, node: Node) -> str:
        """The conductors in one spelling; "" with a problem noted."""
        if kind == "ring ends":
            port, accepted = _RING.get(text.casefold(), ""), "r1, rn or r2"
        elif kind == "continuity":
            port = port_of(text)
            accepted = "one conductor, such as E, L or N; or R1+R2 as a key of its own"
            port = "" if "-" in port else port
        else:
            port, accepted = port_of(text), "conductors such as L-E, L-N or L+N-E"
            port = port if "-" in port else ""
        if not port:
            self.cursor.note(node, accepted, text)
        return port

    def _number(
        self, base: Tested, kind: str, port: str, node: Node, parser: Callable[[object], Quantity]
    ) -> list[Tested]:
        if not port and kind in ("continuity", "ring ends", "ring cross", "insulation", "loop",
                                 "volts"):  # fmt: skip
            return []
        if node.kind != "text":
            self.cursor.note(node, "a number with its unit")
            return []
        text, volts = node.text, None
        if kind == "insulation" and (found := _AT_VOLTS.search(text)):
            volts, text = float(found[1]), _AT_VOLTS.sub("", text)
        try:
            quantity = parser(text)
        except BadQuantity as error:
            self.cursor.note(node, error.accepted)
            return []
        if quantity.unknown:
            self.cursor.note(node, "a value; leave the key out where nothing was measured")
            return []
        value = None if math.isinf(quantity.value) else quantity.value
        bound = ">" if quantity.over else "<" if quantity.under else "~" if quantity.spread else "="
        return [self._made(base, kind, node, port=port, value=value, bound=bound, volts=volts)]

    def _trip_time(self, base: Tested, times: str, node: Node) -> list[Tested]:
        found = _TIMES.fullmatch(times.strip().casefold())
        port = f"{float(found[1]):g}x" if found else ""
        if not port or not float(found[1]) > 0.0:  # type: ignore[index]
            self.cursor.note(node, "times the rated residual current: 0.5x, 1x or 5x", times)
            return []
        if node.kind == "text" and node.text.casefold() in ("holds", "no trip", "none"):
            return [self._made(base, "trip time", node, port=port, seen="holds")]
        return self._number(base, "trip time", port, node, parse_seconds)

    def _made(self, base: Tested, kind: str, node: Node, **more: Any) -> Tested:
        text = node.text if node.kind == "text" else ""
        return replace(base, test=cast(TestKind, kind), text=text, line=node.line, **more)
