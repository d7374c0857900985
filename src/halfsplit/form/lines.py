"""Values, readings and lines of the written form, as text."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from typing import Any

from halfsplit.form.entry import ABOUT_SHOWN
from halfsplit.instruments.reading import Reading
from halfsplit.quantity import parse_farads
from halfsplit.wiring.conditions import AS_DESCRIBED, Conditions
from halfsplit.wiring.model import (
    About,
    Installation,
)
from halfsplit.wiring.plan import node

Data = dict[str, Any]
_UNITS = {"volts": "V", "ohms": "ohm", "megohms": "ohm", "loop": "ohm", "amps": "A", "ramp": "A"}
_SIGNS = {"=": "", ">": "over ", "<": "under ", "~": "about "}
_PLAIN = re.compile(r"[A-Za-zÀ-ÖØ-öø-ÿ0-9][\w À-ÖØ-öø-ÿ./+²Ωµ–-]*")


def number(value: float) -> str:
    """A number with every digit it has, so that it reads back as itself."""
    text = repr(float(value))
    return text.removesuffix(".0")


def about(value: About, unit: str) -> str:
    """A value with its unit and its spread."""
    text = f"{number(value.value)} {unit}"
    return f"{text} spread {number(value.spread)}" if value.spread else text


def farads(value: float) -> str:
    """A capacitance in the unit that reads back to exactly the same value."""
    for unit, size in (("nF", 1e9), ("pF", 1e12), ("µF", 1e6)):
        text = f"{number(float(f'{value * size:.12g}'))} {unit}"
        if parse_farads(text).value == value:
            return text
    return f"{value * 1e12!r} pF"


def yes(value: bool) -> str:
    """Yes or no."""
    return "yes" if value else "no"


def reading_data(inst: Installation, count: int, reading: Reading) -> Data:
    """One entry for one reading, in longhand where the usual terminals will not do."""
    data: Data = {}
    if reading.id != f"r{count}":
        data["id"] = reading.id
    data |= _port_short(inst, reading) or _port_long(reading)
    if reading.instrument:
        data["by"] = reading.instrument
    if reading.showing is not None:
        data["showing"] = yes(reading.showing)
    if not reading.settled:
        data["settles"] = "no"
    if reading.conditions != AS_DESCRIBED:
        data["with"] = _with(reading.conditions)
    return data


def _shown(reading: Reading) -> str:
    if reading.value is None:
        return "over range"
    return bounded(reading.bound, reading.value, _UNITS[reading.kind], reading.spread, ABOUT_SHOWN)


def bounded(bound: str, value: float, unit: str, spread: float, usual: float) -> str:
    """A figure with its limit: "about" where its spread is the usual one, else with its own."""
    if bound == "~" and spread != usual:
        return about(About(value, spread), unit)
    return f"{_SIGNS[bound]}{number(value)} {unit}"


def _port_short(inst: Installation, reading: Reading) -> Data | None:
    """{at: place, L-N: 230 V} where both terminals are the usual ones of the place."""
    if reading.kind not in ("volts", "ohms", "megohms", "loop") or reading.conditions.links:
        return None
    if reading.kind in ("ohms", "megohms") and not reading.conditions.dead:
        return None
    point = next((p for p in inst.points() if p.name == reading.place), None)
    if point is None:
        return None
    part = "front" if point.front else ""
    ends = {node(point.name, key, part): key for key in point.conductors}
    if reading.a not in ends or reading.b not in ends:
        return None
    port = f"{ends[reading.a]}-{ends[reading.b]}"
    data: Data = {"at": point.name}
    test = {"ohms": "dead", "megohms": "insulation", "loop": "loop"}.get(reading.kind)
    if test:
        return data | {test: {port: _shown(reading)}}
    return data | {port: _shown(reading)} if not reading.conditions.dead else None


def _port_long(reading: Reading) -> Data:
    data: Data = {"kind": reading.kind}
    for key in ("a", "b", "of", "seen", "place"):
        value = getattr(reading, key)
        if value:
            data[key] = value
    if reading.conductors:
        data["through"] = list(reading.conductors)
    if reading.kind == "count":
        data["value"] = number(reading.value or 0)
    if reading.kind in _UNITS:
        data["value"] = _shown(reading)
    return data


def _with(conditions: Conditions) -> Data:
    data: Data = {}
    for key in ("off", "on", "unplugged", "plugged", "lifted"):
        names = getattr(conditions, key)
        if names:
            data[key] = list(names)
    if conditions.positions:
        data["set"] = dict(conditions.positions)
    if conditions.links:
        data["linked"] = [f"{a} to {b}" for a, b in conditions.links]
    if conditions.added:
        data["lamp in"] = [
            f"{kind} {number(w)} W at {place}" for place, kind, w in conditions.added
        ]
    if conditions.dead:
        data["dead"] = "yes"
    if conditions.warm:
        data["warm"] = "yes"
    if conditions.wet:
        data["rain"] = "yes"
    if not conditions.energised:
        data["energised"] = "no"
    return data


def layout(data: Mapping[str, Any]) -> str:
    """Nested mappings and lists of texts as the form's lines; short ones stay on one line."""
    return "\n".join(_lines(data, 0)) + "\n"


def _lines(data: Mapping[str, Any], depth: int) -> list[str]:
    pad = "  " * depth
    lines: list[str] = []
    for key, value in data.items():
        flow = _flow(value)
        if len(flow) + len(pad) + len(key) < 96 or not isinstance(value, (Mapping, Sequence)):
            lines.append(f"{pad}{_scalar(key)}: {flow}")
        elif isinstance(value, Mapping):
            lines += [f"{pad}{_scalar(key)}:", *_lines(value, depth + 1)]
        elif isinstance(value, str):
            lines.append(f"{pad}{_scalar(key)}: {flow}")
        else:
            lines += [f"{pad}{_scalar(key)}:", *(f"{pad}  - {_flow(item)}" for item in value)]
    return lines


def _flow(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_scalar(k)}: {_flow(v)}" for k, v in value.items()) + "}"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(_flow(item) for item in value) + "]"
    return _scalar(str(value))


def _scalar(text: str) -> str:
    """Plain where YAML leaves it plain, else in quotation marks."""
    plain = _PLAIN.fullmatch(text) and text == text.strip() and text.casefold() != "null"
    return text if plain else json.dumps(text, ensure_ascii=False)
