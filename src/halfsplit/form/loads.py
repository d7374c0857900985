"""Loads, from their short text or their mapping."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Any

from halfsplit.form.appliances import KINDS, appliance
from halfsplit.form.cursor import Cursor
from halfsplit.form.tree import Node
from halfsplit.form.words import LOAD_KINDS
from halfsplit.quantity import (
    parse_farads,
    parse_ohms,
    parse_watts,
)
from halfsplit.wiring.model import Load

POWER = re.compile(
    r"(?i)(?:(?:about|around|approx\.?|~)\s*)?\d+(?:[.,]\d+)?\s*(?:kW|W|watts?|hp)\b"
)
_MANY = re.compile(r"(?i)(\d{1,2})\s*[x×]\s*(?=[a-z]|$)")  # "4x LED spots", "6 x 50 W halogen"
_OFF = re.compile(r"(?i)[,(]?\s*\b(?:switched off|turned off|off)\b\)?")
_UNPLUGGED = re.compile(r"(?i)[,(]?\s*\b(?:unplugged|not plugged in)\b\)?")


@dataclass(frozen=True, slots=True)
class Seat:
    """Where a load sits: the conductors it lies across, by a plug or fixed, in which region.

    ``lines`` are the two lines that an appliance made for both takes instead, None where the
    conductors were stated or there is one line.
    """

    across: tuple[str, str]
    plugged: bool
    region: str = ""
    lines: tuple[str, str] | None = None


def read_loads(cursor: Cursor, node: Node, seat: Seat) -> tuple[Load, ...]:
    """One load or a list of them; "nothing" is none. Names are made unique at the point."""
    nodes = node.items if node.kind == "list" else (node,)
    loads: list[Load] = []
    for item in nodes:
        if item.kind == "text" and item.text.casefold() in ("nothing", "none", ""):
            continue
        load = _load(cursor, item, seat)
        if load is None:
            continue
        base, number = load.name, 2
        while any(other.name == load.name for other in loads):
            load = replace(load, name=f"{base} {number}")
            number += 1
        loads.append(load)
    return tuple(loads)


def _load(cursor: Cursor, node: Node, seat: Seat) -> Load | None:
    if node.kind == "text":
        return _load_text(cursor, node, seat)
    fields = cursor.fields(node, "load")
    name = fields["name"].text if "name" in fields else ""
    if "across" in fields and (pair := _pair(cursor, fields["across"])):
        seat = replace(seat, across=pair, lines=None)
    kind, words = _stated(cursor, fields["kind"], name) if "kind" in fields else (None, name)
    base = _typical(words, kind, seat)
    load = replace(base, name=_load_name(cursor, node, name or base.kind or "load"))
    if "power" in fields:
        load = replace(load, watts=cursor.about(fields["power"], parse_watts, base.watts, high=1e6))
    for key in ("plugged", "connected", "on", "frame", "mentioned"):
        if key in fields:
            change: dict[str, Any] = {key: cursor.yes(fields[key], True)}
            load = replace(load, **change)
    if "filter" in fields and (farads := cursor.quantity(fields["filter"], parse_farads)):
        load = replace(load, filter_farads=farads.value)
    if "warm leak" in fields and (leak := cursor.quantity(fields["warm leak"], parse_ohms)):
        load = replace(load, warm_leak_ohms=leak.value)
    return load


def _pair(cursor: Cursor, node: Node) -> tuple[str, str] | None:
    """Two conductors such as L1-L2."""
    pair = tuple(part.strip() for part in node.text.replace("–", "-").split("-"))
    if len(pair) == 2 and all(pair):
        return pair[0], pair[1]
    cursor.note(node, 'two conductors such as "L-N" or "L1-L2"')
    return None


def _stated(cursor: Cursor, node: Node, name: str) -> tuple[str, str]:
    """The kind of load stated, and the words its usual values come from.

    An appliance will do for a kind.
    """
    found = appliance(node.text) if node.text.casefold() not in LOAD_KINDS else None
    if found is not None:
        return found.kind, name if appliance(name) else node.text
    return cursor.choice(node, LOAD_KINDS, ""), name


def _load_text(cursor: Cursor, node: Node, seat: Seat) -> Load | None:
    text = node.text
    connected, on = not _UNPLUGGED.search(text), True
    text = _UNPLUGGED.sub(" ", text)
    on = not _OFF.search(text)
    text = _OFF.sub(" ", text)
    power = POWER.search(text)
    words = " ".join((POWER.sub(" ", text) if power else text).split()).strip(" ,")
    many = _MANY.match(words)
    words = words[many.end() :] if many else words
    if not words and power is None:
        cursor.note(node, 'a load such as "60 W", "kettle 3 kW", "electronics" or "unknown"')
        return None
    if power is None and re.fullmatch(r"[-+]?\d.*", words):
        cursor.note(node, 'a load such as "60 W", "kettle 3 kW", "electronics" or "unknown"')
        return None
    load = _typical(words, None, seat)
    if power is not None:
        watts = power[0]
        if watts.casefold().endswith("hp"):
            watts = f"{float(re.findall(r'[0-9.]+', watts)[0]) * 746.0:g} W"
        known = cursor.about(node_with(node, watts), parse_watts, load.watts, high=1e6)
        load = replace(load, watts=known)
    if many:
        load = replace(load, watts=replace(load.watts, value=int(many[1]) * load.watts.value))
    name = words or f"{load.watts.value:.0f} W"
    return replace(load, name=_load_name(cursor, node, name), connected=connected, on=on)


def node_with(node: Node, text: str) -> Node:
    """The same place with other text, for a part of what was written there."""
    return replace(node, text=text)


def _load_name(cursor: Cursor, node: Node, name: str) -> str:
    return cursor.name_of(node, name) or "load"


def _typical(words: str, kind: str | None, seat: Seat) -> Load:
    """A load as its name says, or of the kind stated where its name says another or nothing."""
    found = appliance(words, seat.region)
    if found is None or (kind is not None and found.kind != kind):
        found = KINDS[kind or ""]
    across = seat.lines if seat.lines and found.two_lines and seat.region == "na" else seat.across
    return Load(
        words, found.kind, found.usual(seat.region, across), across, seat.plugged,
        frame=found.framed, filter_farads=found.filter_farads,
    )  # fmt: skip
