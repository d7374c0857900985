"""Points while a circuit is being put together: their details as typed, then as model values."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Literal, cast

from halfsplit.form.appliances import appliance
from halfsplit.form.cursor import Cursor
from halfsplit.form.devices import read_device
from halfsplit.form.loads import Seat, read_loads
from halfsplit.form.tree import Node
from halfsplit.form.words import (
    ACCESS,
    ACCESS_OF,
    CARRIES,
    CONDUCTORS,
    POINT_KINDS,
)
from halfsplit.wiring.history import plain_words, tried
from halfsplit.wiring.model import About, Contact, Device, Load, Point, Switch

_FUSED = re.compile(r"(?i)(?:fused (?:unit|spur)|connection unit|spur unit|fcu)\s+(\d+)\s*a")
UNKNOWN_LAMP = Load("lamp", "", About(12.0, 0.8), plugged=False)
ORDER = ("L", "L1", "L2", "L3", "SL", "SL1", "SL2", "SL3", "T1", "T2", "T3", "T4", "N", "E")
SWITCHING = ("switch", "isolator", "dimmer", "contactor", "photocell", "timer", "thermostat")
FRONTS = ("socket", "gfci outlet")


def in_order(keys: Iterable[str]) -> tuple[str, ...]:
    """Conductor keys in their customary order, each once."""
    found = dict.fromkeys(keys)
    return tuple(k for k in ORDER if k in found) + tuple(k for k in found if k not in ORDER)


def conductor(cursor: Cursor, node: Node, text: str) -> str | None:
    """A conductor key from a word: L, N, E, hot, ground, SL, L1 and so on."""
    key = CONDUCTORS.get(text.strip().casefold())
    if key is None and text.strip() in ORDER:
        return text.strip()
    if key is None:
        cursor.note(node, "a conductor: L, N, E, L1, L2, L3, SL, T1 or T2", text.strip())
    return key


@dataclass(slots=True)
class Draft:
    """A point being read. ``keys`` gathers the conductors that land here; ``leg`` its own line."""

    name: str
    node: Node
    kind: str = "socket"
    leg: str = ""
    across: tuple[str, str] | None = None
    half: str = ""
    position: str = ""
    carries: str = "accessory"
    access: str = ""
    front: bool | None = None
    history: list[str] = field(default_factory=list)
    keys: list[str] = field(default_factory=list)
    conductors: tuple[str, ...] = ()
    switches: tuple[Switch, ...] | None = None
    made: list[Switch] = field(default_factory=list)
    loads: list[Node] = field(default_factory=list)
    ready: list[Load] = field(default_factory=list)
    device: Node | None = None
    fed_by: Node | None = None

    def detail(self, cursor: Cursor, node: Node) -> None:
        """Take what a detail says: a short text of words, or a mapping."""
        if node.kind != "map":
            for item in cursor.texts(node):
                for word in item.text.split(","):
                    self._word(cursor, item, word.strip())
            return
        fields = cursor.fields(node, "point")
        if "kind" in fields:
            self.kind = cursor.choice(fields["kind"], POINT_KINDS, self.kind)
        if "carries" in fields:
            self.carries = cursor.choice(fields["carries"], CARRIES, self.carries)
        if "access" in fields:
            self.access = cursor.choice(fields["access"], ACCESS, self.access)
        if "worn" in fields and cursor.yes(fields["worn"], False):
            self.history.append("worn")
        if "history" in fields:
            self.history += cursor.history(fields["history"])
        if "loads" in fields:
            self.loads.append(fields["loads"])
        if "leg" in fields:
            self._leg(cursor, fields["leg"])
        self.half = fields["half switched by"].text if "half switched by" in fields else self.half
        self.position = fields["position"].text if "position" in fields else self.position
        self.device = fields.get("device", self.device)
        self.fed_by = fields.get("fed by", self.fed_by)
        if "front" in fields:
            self.front = cursor.yes(fields["front"], False)
        if "conductors" in fields:
            node = fields["conductors"]
            found = [conductor(cursor, node, word) for word in cursor.words(node)]
            self.conductors = tuple(key for key in found if key)
        if "switches" in fields:
            self.switches = tuple(
                made for item in listed_items(cursor, fields["switches"])
                if (made := read_switch(cursor, item))
            )  # fmt: skip

    def _word(self, cursor: Cursor, node: Node, word: str) -> None:
        folded = word.casefold()
        if folded in POINT_KINDS:
            self.kind = POINT_KINDS[folded]
        elif folded in ACCESS:
            self.access = ACCESS[folded]
        elif folded in CARRIES:
            self.carries = CARRIES[folded]
        elif found := _FUSED.fullmatch(word):
            self.kind, self.device = "fused unit", replace(node, text=f"fuse {found[1]} A")
        elif appliance(word) is not None and not plain_words(word):
            self.kind = "appliance"
            self.loads.append(replace(node, text=word))
        elif plain_words(word) or tried(word):
            self.history.append(word)
        else:
            cursor.choice(Node("text", node.path, node.line, node.column, word), POINT_KINDS, "")

    def _leg(self, cursor: Cursor, node: Node) -> None:
        parts = node.text.replace("–", "-").split("-") if node.kind == "text" else []
        found = [conductor(cursor, node, part) for part in parts]
        if len(found) == 1 and found[0]:
            self.leg = found[0]
        elif len(found) == 2 and found[0] and found[1]:
            self.across = (found[0], found[1])
        elif not parts:
            cursor.note(node, 'one line such as "L2", or two such as "L1-L2"')

    def stand(self, cursor: Cursor) -> None:
        """Put the switches a lighting pattern made here into the position stated."""
        for k, switch in enumerate(self.made if self.position else ()):
            if self.position in switch.positions:
                self.made[k] = replace(switch, position=self.position)
            else:
                cursor.note(self.node, "one of " + ", ".join(switch.positions), self.position)

    def local(self, key: str) -> str:
        """The key a conductor of the circuit has here: the point's own line is its L."""
        return "L" if key == self.leg else key

    def land(self, key: str) -> str:
        """Note that a conductor lands here, and return its key."""
        self.keys.append(key)
        return key

    def finish(self, cursor: Cursor, region: str) -> Point:
        """The point as a value."""
        front = self.kind in FRONTS if self.front is None else self.front
        switches = self.switches if self.switches is not None else tuple(self.made)
        used = [end for s in switches for c in s.contacts for end in (c.a, c.b)]
        keys = self.conductors or in_order((*self.keys, *used))
        loads = tuple(self.ready)
        for node in self.loads:
            if node.kind == "text" and node.text.casefold() in ("nothing", "none"):
                self.history.append("nothing plugged in")
            loads += read_loads(cursor, node, self._seat(keys, front, region))
        if self.kind == "light" and not self.loads and not loads:
            loads = self._lamp(keys)
        return Point(
            self.name, self.kind, keys, cast(Literal["accessory", "pigtail"], self.carries),
            front, switches, unique_names(loads), tuple(dict.fromkeys(self.history)),
            self.access or ACCESS_OF.get(self.kind, "cover"), self._device(cursor, region),
            cursor.words(self.fed_by) if self.fed_by is not None else (),
        )  # fmt: skip

    def _lamp(self, keys: tuple[str, ...]) -> tuple[Load, ...]:
        """A light nobody described has a lamp, of a kind nobody knows; none without a return."""
        across = self._across(keys)
        return (replace(UNKNOWN_LAMP, across=across),) if set(across) <= set(keys) else ()

    def _seat(self, keys: tuple[str, ...], front: bool, region: str) -> Seat:
        """Where loads sit here; a line of the point's own leaves no choice of two."""
        lines = [key for key in ("L1", "L2", "L3") if key in keys]
        free = len(lines) > 1 and not self.leg and self.across is None
        return Seat(self._across(keys), front, region, (lines[0], lines[1]) if free else None)

    def _across(self, keys: tuple[str, ...]) -> tuple[str, str]:
        if self.across:
            return self.across
        lines = [key for key in ("L", "SL", "L1", "L2", "L3") if key in keys]
        if self.kind == "light" and "SL" in keys:
            lines.insert(0, "SL")
        if "N" in keys or len(lines) < 2:
            return (lines[0] if lines else "L", "N" if "N" in keys else "E")
        return lines[0], lines[1]

    def _device(self, cursor: Cursor, region: str) -> Device | None:
        if self.device is not None and self.device.text.casefold() == "none":
            return None
        usual = None
        if self.kind == "gfci outlet":
            kind, residual, sort = (
                ("gfci", 0.005, "class A") if region == "na" else ("rcd", 0.03, "A")
            )
            usual = Device(f"{self.name} outlet device", kind, 20.0 if region == "na" else 13.0, "",
                           residual, sort, ("L", "N"))  # fmt: skip
        elif self.kind == "fused unit":
            usual = Device(f"{self.name} fuse", "fuse", 13.0, "BS 1362" if region == "uk" else "")
        if self.device is None:
            return usual
        start = usual or Device(f"{self.name} device", "breaker", 16.0)
        return read_device(cursor, self.device, start.name, start, ("L",))


def unique_names(loads: tuple[Load, ...]) -> tuple[Load, ...]:
    """The same loads, a second of one name numbered."""
    seen: set[str] = set()
    found = []
    for load in loads:
        name, number = load.name, 2
        while name in seen:
            name, number = f"{load.name} {number}", number + 1
        seen.add(name)
        found.append(replace(load, name=name))
    return tuple(found)


def listed_items(cursor: Cursor, node: Node) -> tuple[Node, ...]:
    """The items of a list; a single mapping counts as a list of one."""
    if node.kind == "list":
        return node.items
    if node.kind == "map":
        return (node,)
    cursor.note(node, "a list, each entry beginning with a dash")
    return ()


_CONTACT = re.compile(r"(?P<a>\w+)\s*[-–]\s*(?P<b>\w+)\s+(?P<when>.+)")


def read_switch(cursor: Cursor, node: Node) -> Switch | None:
    """A switch in longhand: its contacts as "L-SL on" or "T1-T3 up"."""
    fields = cursor.fields(node, "switch")
    if "name" not in fields or "contacts" not in fields:
        return None
    contacts = []
    for item in cursor.texts(fields["contacts"]):
        found = _CONTACT.fullmatch(item.text)
        if found is None:
            cursor.note(item, 'a contact such as "L-SL on" or "T1-T3 up"')
            continue
        a, b = conductor(cursor, item, found["a"]), conductor(cursor, item, found["b"])
        when = tuple(w.strip() for w in re.split(r"\bor\b", found["when"]))
        if a and b:
            contacts.append(Contact(a, b, when))
    positions = cursor.words(fields["positions"]) if "positions" in fields else ("on", "off")
    position = fields["position"].text if "position" in fields else positions[0]
    if position not in positions:
        cursor.note(node, "one of " + ", ".join(positions), position)
    return Switch(fields["name"].text, tuple(contacts), positions, position)
