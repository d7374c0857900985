"""One entry of the readings: its place, its conditions, and numbers as shown."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Any, Literal

from halfsplit.errors import BadQuantity
from halfsplit.form.cursor import spread_of
from halfsplit.form.terminals import Site, split_port
from halfsplit.form.tree import Node
from halfsplit.form.words import (
    CONDUCTORS,
    FRAMES,
    INSTRUMENTS,
    TAPS,
    TRUE_EARTH,
)
from halfsplit.instruments.reading import Reading
from halfsplit.quantity import (
    ABOUT_SPREAD,
    Quantity,
    parse_amps,
    parse_megohms,
    parse_ohms,
    parse_volts,
)
from halfsplit.wiring.conditions import AS_DESCRIBED, Conditions
from halfsplit.wiring.model import Circuit

PARSERS = {
    "volts": parse_volts, "ohms": parse_ohms, "megohms": parse_megohms, "loop": parse_ohms,
    "amps": parse_amps, "ramp": parse_amps,
}  # fmt: skip
ABOUT_SHOWN = 0.1  # log spread of "about" where an instrument showed a figure: judgement
Bound = Literal["=", ">", "<", "~"]
_SOURCED = ("ohms", "megohms")
_UNSTEADY = re.compile(
    r"(?i)\b(?:unsteady|wandering|wanders|jumps|drifting|drifts|unstable)\b[,:]?"
)
_FALLS = re.compile(r"(?i)\b(?:falls|drops|sinks|settles)\s+to\b")
_FROM_NOTHING = re.compile(r"(?i)^0(?:\.0*)?\s*[mkµ]?(?:v|a|ohms?|Ω)?\s*(?:to|-|–)\s*(?=\d)")
_AT_VOLTS = re.compile(r"(?i)\s+at\s+(250|500|1000)\s*v\b")
PREFIX = re.compile(r"(?i)(loop|insulation|ir|ohms|volts|lamp|clamp|continuity)\s+(.+)")
PREFIX_KIND = {
    "loop": "loop", "insulation": "megohms", "ir": "megohms", "ohms": "ohms", "volts": "volts",
    "continuity": "ohms", "lamp": "glow", "clamp": "amps",
}  # fmt: skip
GLOWS = {
    "lit": "normal", "unlit": "off", "dim": "dim", "bright": "bright", "flickers": "flicker",
    "glows": "glimmer",
}  # fmt: skip


def is_port(key: str) -> bool:
    """Whether a key outside the table is a pair of terminals or a test on one."""
    found = PREFIX.fullmatch(key)
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


def bound_of(quantity: Quantity) -> Bound:
    """How a number as typed limits what was measured."""
    return ">" if quantity.over else "<" if quantity.under else "~" if quantity.spread else "="


@dataclass(slots=True)
class _Value:
    value: float | None
    bound: Any
    spread: float
    settled: bool
    kind: str
    instrument: str

    @property
    def figure(self) -> dict[str, Any]:
        """The fields of a reading that say what was shown."""
        return {"value": self.value, "bound": self.bound, "spread": self.spread}


class Entry:
    """What the readings of one entry share."""

    def __init__(self, site: Site, node: Node) -> None:
        self.site, self.cursor, self.node = site, site.cursor, node
        self.found: list[Reading] = []
        self.fields: dict[str, Node] = {}
        self.at = ""
        self.along = ""  # a run, where something was noticed along it
        self.side = ""
        self.circuit: Circuit | None = None
        self.named = False
        self.conditions: Conditions = AS_DESCRIBED
        self.base = Reading("", "volts")

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
        if kind == "ohms" and "nulled" in self.fields:
            said = more.get("instrument") or self.base.instrument or "continuity"
            nulled = self.cursor.yes(self.fields["nulled"], True)
            more["instrument"] = f"continuity, {'nulled' if nulled else 'leads in'}"
            if said != "continuity":
                self.cursor.note(self.fields["nulled"], "nulled with a continuity tester",
                                 f"by: {said}", "leave out by or nulled")  # fmt: skip
        change: dict[str, Any] = {"text": node.text, "kind": kind} | more
        made = replace(self.base, line=node.line, **change)
        if self.found and self.base.id:
            made = replace(made, id=f"{self.base.id}.{len(self.found) + 1}")
        self.found.append(made)

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
        text = _FROM_NOTHING.sub("under ", text)
        kind = kind or self._kind_of(text)
        quantity = self._parse(node, text, kind)
        if quantity is None:
            return None
        if quantity.unknown:
            self.cursor.note(node, "a value; leave the key out where nothing was measured")
            return None
        value = None if quantity.value == float("inf") else quantity.value
        bound, spread = bound_of(quantity), quantity.spread
        if spread == ABOUT_SPREAD and quantity.text == text:
            spread = ABOUT_SHOWN
        if value is not None and kind in ("volts", "amps"):
            value = abs(value)
        return _Value(value, bound, spread, steady, kind, instrument)

    def _kind_of(self, text: str) -> str:
        """What a number without a test's name is: by its unit, else by how it was taken."""
        if re.search(r"(?i)\d\s*[mµk]?(?:v|volts?)$", text):
            return "volts"
        if re.search(r"(?i)\d\s*[mµ]?(?:a|amps?)$", text):
            return "amps"
        if re.search(r"(?i)(M\s?(Ω|ohms?)|meg|G\s?(Ω|ohm))", text) and not re.search(
            r"mΩ|mohm", text
        ):
            return "megohms"
        if re.search(r"(?i)(Ω|ohms?\b|\d\s?k\b|^over\D*$|^o\.?l\.?$|infinit|^open)", text):
            return "ohms"
        return "ohms" if self.conditions.dead else "volts"

    def _parse(self, node: Node, text: str, kind: str) -> Quantity | None:
        try:
            return spread_of(text, PARSERS[kind])
        except BadQuantity as error:
            self.cursor.note(node, error.accepted)
            return None

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

    def _device(self) -> str | None:
        """The device meant: named, the circuit's, the one at the point, or the board's main."""
        if "device" in self.fields:
            node = self.fields["device"]
            if (found := self.site.device(node.text)) is None:
                self.cursor.note(node, "a device: " + ", ".join(self.site.devices))
            return found
        if self.at in self.site.points:
            own = self.site.points[self.at][1].device
            if own is not None:
                return own.name
        if self.circuit is not None:
            return self.circuit.device.name
        if self.at in self.site.boards:
            main = self.site.boards[self.at].main
            if main.kind not in ("switch", "none") or main.residual_amps:
                return main.name
            self.cursor.note(
                self.node, "circuit: or device:, to say which one tripped",
                f"a {main.name} that has nothing to trip it",
                "a main device that trips is given by board: {main: RCD 30 mA 63 A}", "device",
            )  # fmt: skip
            return None
        self.cursor.note(
            self.node, "circuit: or device:, to say which one", "no device", key="device"
        )
        return None

    def own_name(self, key: str) -> str | None:
        """The point that a key names: {Hall: dim}."""
        names = {name.casefold(): name for name in self.site.points}
        return names.get(" ".join(key.split()).casefold())

    def _has_place(self, node: Node) -> bool:
        if not self.at:
            self.cursor.note(self.node, "at: the place", "no at", key="at")
        return bool(self.at)

    def _of(self) -> str:
        if "of" not in self.fields:
            return self.at
        return self.site.load(self.fields["of"], self.fields["of"].text, self.at) or self.at


TABLE_KEYS = frozenset(
    {"no shock", "ring ends", "ring cross", "r1+r2", "r1+rn", "electrode", "plug tester"}
)
