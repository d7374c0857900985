"""Tests after the mend: each number or word of an entry becomes one result."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any, cast

from halfsplit.errors import BadQuantity
from halfsplit.form.after import Tested, TestKind
from halfsplit.form.cursor import spread_of
from halfsplit.form.entries import Entry, text_of
from halfsplit.form.entry import bound_of
from halfsplit.form.terminals import split_port
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

_ORDER = ("L", "L1", "L2", "L3", "SL", "T1", "T2", "T3", "T4", "N", "E")
_KEYS = {**CONDUCTORS, "earth": "E"}  # a test after the mend is never taken to true earth
_RING = {"r1": "L", "rn": "N", "r2": "E", "l": "L", "n": "N", "e": "E"}
_TIMES = re.compile(r"(\d+(?:\.\d+)?)\s*[x×]")
_AT_VOLTS = re.compile(r"(?i)\s+at\s+(\d{2,4})\s*v\b")
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


class Tests(Entry):
    """Results of one entry; each number becomes one test."""

    def read(self, node: Node) -> list[Tested] | None:
        """The results of one entry; None with a problem noted."""
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
        elif "bond" in fields:
            part = self.path(fields["bond"])
        if {"device", "load", "bond"} & fields.keys() and not part:
            return None
        circuit = circuit or self._circuit_of(place, part)
        instrument = ""
        if "by" in fields:
            instrument = self.cursor.choice(fields["by"], INSTRUMENTS, "")
        return Tested(
            text_of(fields, "id"), "works", place, circuit.name if circuit else "", part,
            instrument=instrument, nulled=self._yes(fields, "nulled"),
            equipment=bool(self._yes(fields, "equipment")),
            celsius=self._celsius(fields.get("temperature")), again=text_of(fields, "again"),
            who=text_of(fields, "who"), when=text_of(fields, "when"), line=node.line,
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
            quantity = spread_of(text, parser)
        except BadQuantity as error:
            self.cursor.note(node, error.accepted)
            return []
        if quantity.unknown:
            self.cursor.note(node, "a value; leave the key out where nothing was measured")
            return []
        value = None if math.isinf(quantity.value) else quantity.value
        return [
            self._made(base, kind, node, port=port, value=value, bound=bound_of(quantity),
                       spread=quantity.spread, volts=volts)
        ]  # fmt: skip

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
