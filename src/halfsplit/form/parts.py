"""Supply, devices, cables and loads from their short texts or their mappings."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any, cast

from halfsplit.errors import NotInTable
from halfsplit.form.cursor import Cursor, listed
from halfsplit.form.tree import Node
from halfsplit.form.words import FRAMED, LOAD_KINDS
from halfsplit.quantity import (
    parse_amps,
    parse_farads,
    parse_hertz,
    parse_ohms,
    parse_volts,
    parse_watts,
)
from halfsplit.tables import cables, practice, supplies
from halfsplit.wiring.model import About, Core, Device, Earthing, Live, Load, Supply

EARTHINGS = ("TN-S", "TN-C-S", "TT", "TN-C", "IT")
_EARTHING_WORDS = MappingProxyType(
    {name.casefold(): name for name in EARTHINGS}
    | {"tns": "TN-S", "tncs": "TN-C-S", "tnc": "TN-C", "pme": "TN-C-S", "men": "TN-C-S"}
)
_LIVE_WORDS: Mapping[str, Live] = MappingProxyType(
    {
        "single phase": "single", "single-phase": "single", "single": "single",
        "split phase": "split", "split-phase": "split", "split": "split",
        "three phase": "three", "three-phase": "three", "three": "three", "3 phase": "three",
        "centre tapped": "centre tap", "centre tap": "centre tap", "center tapped": "centre tap",
        "centre-tapped": "centre tap", "center tap": "centre tap",
        "high leg": "high leg", "high-leg": "high leg",
    }
)  # fmt: skip
_PAIRED = re.compile(r"(\d+(?:\.\d+)?)\s*(?:/|y/|Y/)\s*(\d+(?:\.\d+)?)\s*[vV]?")
_VOLTS = re.compile(r"(?<![\d.])\d+(?:\.\d+)?\s*[vV]\b")
_HERTZ = re.compile(r"\b(\d+(?:\.\d+)?)\s*[hH][zZ]\b")

KIND_WORDS = MappingProxyType(
    {
        "breaker": "breaker", "mcb": "breaker", "circuit breaker": "breaker", "fuse": "fuse",
        "rcd": "rcd", "rccb": "rcd", "rcbo": "rcbo", "switch": "switch", "isolator": "switch",
        "main switch": "switch", "gfci": "gfci", "gfci breaker": "gfci", "none": "none",
    }
)  # fmt: skip


def default_supply(region: str) -> Supply:
    """What a house in that region usually has; the earthing counts as unknown."""
    if region == "na":
        return Supply(
            "TN-C-S", "split", About(120.0, 0.03), 60.0,
            electrode_ohms=About(supplies.CONSUMER_ELECTRODE.value, 0.8), earthing_known=False,
        )  # fmt: skip
    return Supply("TN-C-S", "single", About(230.0, 0.03), 50.0, earthing_known=False)


def read_supply(cursor: Cursor, node: Node, region: str) -> Supply:
    """The supply from a text ("TN-S 230 V") or a mapping."""
    start = default_supply(region)
    if node.kind == "text":
        return _supply_text(cursor, node, node.text, start)
    fields = cursor.fields(node, "supply")
    supply = start
    if "live" in fields:
        supply = _supply_text(cursor, fields["live"], fields["live"].text, supply, whole=False)
    if "earthing" in fields:
        supply = _supply_text(cursor, fields["earthing"], fields["earthing"].text, supply)
    if "volts" in fields:
        volts = cursor.about(fields["volts"], parse_volts, supply.volts, high=1000.0)
        supply = replace(supply, volts=volts)
    if "hertz" in fields:
        hertz = cursor.about(fields["hertz"], parse_hertz, About(supply.hertz), high=400.0)
        supply = replace(supply, hertz=hertz.value)
    for key, name, wide in (
        ("line", "line_ohms", supply.line_ohms),
        ("neutral", "neutral_ohms", supply.neutral_ohms),
        ("earth", "earth_ohms", supply.earth_ohms),
        ("source electrode", "source_electrode_ohms", supply.source_electrode_ohms),
        ("electrode", "electrode_ohms", About(supplies.CONSUMER_ELECTRODE.value, 0.9)),
    ):
        if key == "electrode" and key in fields and fields[key].text.casefold() == "none":
            supply = replace(supply, electrode_ohms=None)
        elif key in fields:
            change: dict[str, Any] = {name: cursor.about(fields[key], parse_ohms, wide, high=1e5)}
            supply = replace(supply, **change)
    return supply


def _supply_text(
    cursor: Cursor, node: Node, text: str, supply: Supply, whole: bool = True
) -> Supply:
    """Words in any order; whatever is left over is noted."""
    rest = f" {text} "
    live, volts, hertz = supply.live, supply.volts, supply.hertz
    for word, meaning in _LIVE_WORDS.items():
        if re.search(rf"(?i)(?<!\w){re.escape(word)}(?!\w)", rest):
            live = meaning
            rest = re.sub(rf"(?i)(?<!\w){re.escape(word)}(?!\w)", " ", rest, count=1)
            break
    if found := _HERTZ.search(rest):
        hertz = float(found[1])
        rest = rest.replace(found[0], " ", 1)
    if found := _PAIRED.search(rest):
        pair = sorted((float(found[1]), float(found[2])))
        volts = About(pair[0], 0.03)
        said: Live | None = live if live != supply.live or "phase" in text.casefold() else None
        live = said or ("split" if abs(pair[1] - 2 * pair[0]) < 1 else "three")
        rest = rest.replace(found[0], " ", 1)
    elif found := _VOLTS.search(rest):
        given = cursor.quantity(node, parse_volts, found[0])
        if given is not None and 10.0 <= given.value <= 1000.0:
            between = live == "centre tap" and given.value > 80.0
            volts = About(given.value / 2 if between else given.value, 0.03)
        else:
            cursor.note(node, "a supply voltage of 10 V to 1000 V")
        rest = rest.replace(found[0], " ", 1)
    elif live == "centre tap":
        volts = About(55.0, 0.03)
    if live == supply.live and live == "split" and volts.value > 150.0:
        live = "single"
    supply = replace(supply, live=live, volts=volts, hertz=hertz)
    return _earthing_text(cursor, node, rest, supply, whole)


def _earthing_text(cursor: Cursor, node: Node, rest: str, supply: Supply, whole: bool) -> Supply:
    known = whole and "unknown" not in rest.casefold()
    earthing: str | None = None
    left = []
    for word in re.sub(r"(?i)unknown|earthing|earth|supply|volts?|[,;]", " ", rest).split():
        if word.casefold() in _EARTHING_WORDS:
            earthing = _EARTHING_WORDS[word.casefold()]
        elif word.casefold() != "v":
            left.append(word)
    if left:
        cursor.note(
            node,
            'a supply such as "TN-S 230 V", "TT", "split phase 120/240 V", '
            '"three phase 400/230 V TN-C-S", "unknown"',
            " ".join(left),
        )
    if earthing is None:
        return supply
    electrode = supply.electrode_ohms
    if earthing in ("TT", "IT") and electrode is None:
        electrode = About(supplies.CONSUMER_ELECTRODE.value, 0.9)
    return replace(
        supply, earthing=cast(Earthing, earthing), earthing_known=known, electrode_ohms=electrode
    )


# Devices

_RATING = re.compile(r"(?<![\w.])(\d+(?:\.\d+)?)\s*(mA|A|amps?)?(?![\w.])")
_CURVED = re.compile(r"\b([BCDbcd])\s?(\d{1,3})\s?[aA]?\b")
_TYPE = re.compile(r"(?i)\btype\s+(ac|a|f|b)\b")
_STANDARD = re.compile(r"(?i)\b(?:bs|iec|en)\s?(?:en\s?)?\d+(?:-\d+)?|\bg[gl]\b|\bam\b")
_POLES = re.compile(r"(?i)\b(?:double|two|2)[- ]?pole\b|\b(?:dp|1p\+n|2p)\b")
_DEVICE = (
    '"B16", "20 A breaker", "B32 RCBO 30 mA", "30 A fuse BS 3036", "RCD 30 mA 63 A", "GFCI 20 A" '
    'or "none"'
)


def usual_device(name: str, region: str, lines: tuple[str, ...], lighting: bool) -> Device:
    """The device where none is stated: the usual breaker of the region."""
    if region == "na":
        return Device(name, "breaker", 15.0 if lighting else 20.0, "C", poles=lines)
    return Device(name, "breaker", 6.0 if lighting else 16.0, "B", poles=lines)


def read_device(
    cursor: Cursor, node: Node, name: str, start: Device, lines: tuple[str, ...]
) -> Device:
    """A device from its text or its mapping; what is not said stays as in ``start``."""
    if node.kind == "text":
        return _device_text(cursor, node, name, start, lines)
    fields = cursor.fields(node, "device")
    device = replace(start, name=name)
    if "kind" in fields:
        kind = cursor.choice(fields["kind"], KIND_WORDS, device.kind)
        device = _as_kind(device, kind, lines)
    if "rating" in fields:
        amps = cursor.about(fields["rating"], parse_amps, About(device.amps), high=6300.0)
        device = replace(device, amps=amps.value)
    if "curve" in fields:
        device = replace(device, curve=fields["curve"].text)
    if "residual" in fields:
        residual = cursor.quantity(fields["residual"], parse_amps)
        if residual is not None and 0.0 <= residual.value <= 30.0:
            device = replace(device, residual_amps=residual.value)
        elif residual is not None:
            cursor.note(fields["residual"], 'a residual current such as "30 mA", up to 30 A')
    if "type" in fields:
        types = {t.casefold(): t for t in ("AC", "A", "F", "B", "class A")}
        device = replace(device, residual_type=cursor.choice(fields["type"], types, "A"))
    if "poles" in fields:
        device = replace(device, poles=cursor.words(fields["poles"]))
    if "name" in fields and (own := cursor.name_of(fields["name"], fields["name"].text)):
        device = replace(device, name=own)
    if "closed" in fields:
        device = replace(device, closed=cursor.yes(fields["closed"], True))
    return device


def _as_kind(device: Device, kind: str, lines: tuple[str, ...]) -> Device:
    """The usual values of a kind: what it opens, and its residual rating."""
    poles = (*lines, "N") if kind in ("rcd", "rcbo", "switch") else device.poles or lines
    residual = {"rcd": 0.03, "rcbo": 0.03, "gfci": 0.005}.get(kind, 0.0)
    curve = {"fuse": "", "rcd": "", "switch": "", "none": ""}.get(kind, device.curve)
    sort = "class A" if kind == "gfci" else "A"
    return replace(
        device, kind=kind, poles=poles, residual_amps=residual, curve=curve, residual_type=sort
    )


def _device_text(
    cursor: Cursor, node: Node, name: str, start: Device, lines: tuple[str, ...]
) -> Device:
    rest = f" {node.text} "
    words = rest.casefold()
    kind = next(
        (meaning for word, meaning in sorted(KIND_WORDS.items(), key=lambda w: -len(w[0]))
         if re.search(rf"\b{re.escape(word)}s?\b", words)),
        "fuse" if "wire" in words else start.kind,
    )  # fmt: skip
    device = replace(_as_kind(start, kind, lines), name=name) if kind else start
    if "afci" in words:
        device = replace(device, kind="breaker")
    if words.strip() == "unknown":
        return replace(start, name=name)
    if found := _STANDARD.search(rest):
        device = replace(device, curve=" ".join(found[0].upper().split()))
        rest = rest.replace(found[0], " ", 1)
    if found := _TYPE.search(rest):
        device = replace(device, residual_type=found[1].upper())
        rest = rest.replace(found[0], " ", 1)
    if _POLES.search(rest):
        device = replace(device, poles=tuple(dict.fromkeys((*lines, "N"))))
        rest = _POLES.sub(" ", rest)
    if found := _CURVED.search(rest):
        device = replace(device, curve=found[1].upper(), amps=float(found[2]))
        rest = rest.replace(found[0], " ", 1)
    for number, unit in _RATING.findall(rest):
        if unit == "mA":
            device = replace(device, residual_amps=float(number) / 1000.0)
        else:
            device = replace(device, amps=float(number))
    closed = not re.search(r"(?i)\b(off|open|tripped)\b", rest)
    rest = _RATING.sub(" ", rest)
    rest = re.sub(r"(?i)\b(off|open|tripped|on|rewirable|cartridge|wire|afci|main|and|with)\b", " ",
                  rest)  # fmt: skip
    for word in sorted(KIND_WORDS, key=len, reverse=True):
        rest = re.sub(rf"(?i)\b{re.escape(word)}s?\b", " ", rest)
    rest = rest.strip(" ,;")
    if rest:
        cursor.note(node, f"a device such as {_DEVICE}", rest)
    if not 0.0 < device.amps <= 6300.0:
        cursor.note(node, f"a rated current above 0 A, in a device such as {_DEVICE}")
        return replace(device, amps=start.amps, closed=closed)
    return replace(device, closed=closed)


# Cables


@dataclass(frozen=True, slots=True)
class Cabling:
    """Sizes that a cable's name stands for: live and protective cores in mm², metal."""

    name: str
    live: float
    protective: float
    metal: str = "copper"

    def core(self, start: str, end: str) -> Core:
        """One core of it; the protective one by its key."""
        size = self.protective if start == "E" else self.live
        return Core(start, end, size, self.metal)


_SIZED = re.compile(
    r"(?i)(?P<first>\d+(?:\.\d+)?)\s*(?:/\s*(?P<second>\d+(?:\.\d+)?))?\s*(?:mm²|mm2|sq ?mm|mm)?"
    r"(?!\s*[gx]\s?\d)(?P<rest>(?:[\s,].*)?)"
)
_COUNTED = re.compile(
    r"(?i)(?P<cores>[2-7])\s*(?P<sign>[gx])\s*(?P<size>\d+(?:\.\d+)?)(?P<rest>.*)"
)
_AWG = re.compile(r"(?i)(?:#\s*)?(?P<gauge>\d{1,2})\s*(?:/\s*(?P<cores>[2-4]))?(?P<rest>.*)")
_CABLE = '"2.5/1.5 twin and earth", "14/2 NM-B", "12 AWG", "3G2.5", "4 singles" or "unknown"'


def gauge_area(gauge: float) -> float:
    """Area in mm² of a wire gauge, by its definition (ASTM B258): 0.127 · 92^((36 − n)/39) mm."""
    diameter = 0.127 * 92.0 ** ((36.0 - gauge) / 39.0)
    return float(math.pi / 4.0 * diameter**2)


def usual_cable(region: str, amps: float) -> Cabling:
    """The usual size for a device's rating where no cable is stated (common practice)."""
    if region == "na":
        gauge = next((g for top, g in ((15, 14), (20, 12), (30, 10), (40, 8)) if amps <= top), 6)
        return Cabling("", gauge_area(gauge), gauge_area(max(gauge, 10)))
    size = next(
        (s for top, s in ((10, 1.5), (25, 2.5), (32, 4.0), (40, 6.0), (63, 10.0)) if amps <= top),
        16.0,
    )
    return Cabling("", size, _protective(size) if region in ("uk", "au") else size)


def _protective(size: float) -> float:
    return cables.TWIN_EARTH_MM2.get(size, size)


def read_cable(cursor: Cursor, node: Node, region: str, usual: Cabling) -> Cabling:
    """A cable from its trade name; its text is kept, since its build decides its capacitance."""
    text = cursor.text(node)
    if text is None or text.casefold() == "unknown":
        return usual
    metal = "aluminium" if re.search(r"(?i)\balumini?um\b|\bal\b", text) else "copper"
    plain = re.sub(r"(?i)\b(?:alumini?um|copper|cu|al)\b", " ", text)
    plain = " ".join(plain.split())
    try:
        known = cables.cable(plain)
    except NotInTable:
        return _sized(cursor, node, region, plain, metal) or usual
    protective = known.protective or known.core
    return Cabling(text, known.core.area_mm2, protective.area_mm2, metal)


def _sized(cursor: Cursor, node: Node, region: str, text: str, metal: str) -> Cabling | None:
    gauge = region == "na" or re.search(r"(?i)awg|gauge|\bnm\b|#", text)
    sizes: tuple[float, float] | None = None
    if found := _COUNTED.fullmatch(text):
        sizes = float(found["size"]), float(found["size"])
    elif gauge and "mm" not in text and (found := _AWG.fullmatch(text)):
        area = gauge_area(int(found["gauge"]))
        sizes = area, area
    elif found := _SIZED.fullmatch(text):
        live = float(found["first"])
        sizes = live, float(found["second"]) if found["second"] else _protective(live)
    if sizes is None or not all(0.2 <= size <= 630.0 for size in sizes):
        cursor.note(node, f"a cable such as {_CABLE}", None, "sizes from 0.2 to 630 mm²")
        return None
    return Cabling(node.text, *sizes, metal)


# Loads

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
