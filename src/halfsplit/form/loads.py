"""Loads, from their short text or their mapping."""

from __future__ import annotations

import re
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from halfsplit.form.cursor import Cursor, listed
from halfsplit.form.tree import Node
from halfsplit.form.words import FRAMED, LOAD_KINDS
from halfsplit.quantity import (
    parse_farads,
    parse_ohms,
    parse_watts,
)
from halfsplit.tables import practice
from halfsplit.wiring.model import About, Load

UNKNOWN_WATTS = About(60.0, 1.0)
_POWER = re.compile(
    r"(?i)(?:(?:about|around|approx\.?|~)\s*)?\d+(?:[.,]\d+)?\s*(?:kW|W|watts?|hp)\b"
)
_OFF = re.compile(r"(?i)[,(]?\s*\b(?:switched off|turned off|off)\b\)?")
_UNPLUGGED = re.compile(r"(?i)[,(]?\s*\b(?:unplugged|not plugged in)\b\)?")
_USUAL_WATTS = MappingProxyType(
    {
        "kettle": 2500.0, "shower": 8500.0, "oven": 2500.0, "immersion": 3000.0, "toaster": 1000.0,
        "iron": 2000.0, "heater": 1500.0, "fridge": 100.0, "charger": 20.0, "led": 8.0,
        "filament": 60.0, "bulb": 60.0, "fan": 40.0, "tube": 40.0,
    }
)  # fmt: skip


def read_loads(
    cursor: Cursor, node: Node, across: tuple[str, str], plugged: bool
) -> tuple[Load, ...]:
    """One load or a list of them; "nothing" is none. Names are made unique at the point."""
    nodes = node.items if node.kind == "list" else (node,)
    loads: list[Load] = []
    for item in nodes:
        if item.kind == "text" and item.text.casefold() in ("nothing", "none", ""):
            continue
        load = _load(cursor, item, across, plugged)
        if load is None:
            continue
        base, number = load.name, 2
        while any(other.name == load.name for other in loads):
            load = replace(load, name=f"{base} {number}")
            number += 1
        loads.append(load)
    return tuple(loads)


def _load(cursor: Cursor, node: Node, across: tuple[str, str], plugged: bool) -> Load | None:
    if node.kind == "text":
        return _load_text(cursor, node, across, plugged)
    fields = cursor.fields(node, "load")
    kinds = {k: k for k in LOAD_KINDS.values() if k} | dict(LOAD_KINDS)
    kind = cursor.choice(fields["kind"], kinds, "") if "kind" in fields else ""
    name = fields["name"].text if "name" in fields else kind or "load"
    base = _typical(name if kind == _kind_of(name) else kind or name, kind, across, plugged)
    load = replace(base, name=_load_name(cursor, node, name))
    if "power" in fields:
        load = replace(load, watts=cursor.about(fields["power"], parse_watts, base.watts, high=1e6))
    if "across" in fields:
        pair = tuple(fields["across"].text.replace("–", "-").split("-"))
        if len(pair) == 2 and all(pair):
            load = replace(load, across=(pair[0].strip(), pair[1].strip()))
        else:
            cursor.note(fields["across"], 'two conductors such as "L-N" or "L1-L2"')
    for key in ("plugged", "connected", "on", "frame", "mentioned"):
        if key in fields:
            change: dict[str, Any] = {key: cursor.yes(fields[key], True)}
            load = replace(load, **change)
    if "filter" in fields and (farads := cursor.quantity(fields["filter"], parse_farads)):
        load = replace(load, filter_farads=farads.value)
    if "warm leak" in fields and (leak := cursor.quantity(fields["warm leak"], parse_ohms)):
        load = replace(load, warm_leak_ohms=leak.value)
    return load


def _load_text(cursor: Cursor, node: Node, across: tuple[str, str], plugged: bool) -> Load | None:
    text = node.text
    connected, on = not _UNPLUGGED.search(text), True
    text = _UNPLUGGED.sub(" ", text)
    on = not _OFF.search(text)
    text = _OFF.sub(" ", text)
    power = _POWER.search(text)
    words = " ".join((_POWER.sub(" ", text) if power else text).split()).strip(" ,")
    if not words and power is None:
        cursor.note(node, 'a load such as "60 W", "kettle 3 kW", "electronics" or "unknown"')
        return None
    if power is None and re.fullmatch(r"[-+]?\d.*", words):
        cursor.note(node, 'a load such as "60 W", "kettle 3 kW", "electronics" or "unknown"')
        return None
    kind = _kind_of(words)
    load = _typical(words, kind, across, plugged)
    if power is not None:
        watts = power[0]
        if watts.casefold().endswith("hp"):
            watts = f"{float(re.findall(r'[0-9.]+', watts)[0]) * 746.0:g} W"
        known = cursor.about(node_with(node, watts), parse_watts, load.watts, high=1e6)
        load = replace(load, watts=known)
    name = words or f"{load.watts.value:.0f} W"
    return replace(load, name=_load_name(cursor, node, name), connected=connected, on=on)


def node_with(node: Node, text: str) -> Node:
    """The same place with other text, for a part of what was written there."""
    return replace(node, text=text)


def _load_name(cursor: Cursor, node: Node, name: str) -> str:
    return cursor.name_of(node, name) or "load"


def _kind_of(words: str) -> str:
    found = [LOAD_KINDS[w] for w in re.findall(r"[\w]+", words.casefold()) if w in LOAD_KINDS]
    return found[0] if found else ""


def _typical(words: str, kind: str, across: tuple[str, str], plugged: bool) -> Load:
    """A load of that kind with usual values; electronics have filters to an earthed frame."""
    named = [w for w in re.findall(r"\w+", words.casefold()) if w in _USUAL_WATTS]
    watts = About(_USUAL_WATTS[named[0]], 0.4) if named else UNKNOWN_WATTS
    if kind == "electronics" and not named:
        watts = About(practice.ELECTRONICS_W.value, 0.8)
    return Load(
        words, kind, watts, across, plugged, frame=kind in FRAMED,
        filter_farads=practice.FILTER_CAPACITOR.value if kind == "electronics" else 0.0,
    )  # fmt: skip


def accepted_kinds() -> str:
    """Load kinds in a sentence, for messages."""
    return listed(dict.fromkeys(k for k in LOAD_KINDS.values() if k))
