"""Protective devices, from their short text or their mapping."""

from __future__ import annotations

import re
from dataclasses import replace
from types import MappingProxyType

from halfsplit.form.cursor import Cursor
from halfsplit.form.tree import Node
from halfsplit.quantity import (
    parse_amps,
)
from halfsplit.wiring.model import About, Device

KIND_WORDS = MappingProxyType(
    {
        "breaker": "breaker", "mcb": "breaker", "circuit breaker": "breaker", "fuse": "fuse",
        "rcd": "rcd", "rccb": "rcd", "rcbo": "rcbo", "switch": "switch", "isolator": "switch",
        "main switch": "switch", "gfci": "gfci", "gfci breaker": "gfci", "none": "none",
        "afci": "breaker", "afci breaker": "breaker", "afdd": "breaker", "arc-fault": "breaker",
    }
)  # fmt: skip


RATINGS = (16.0, 20.0, 25.0, 32.0, 40.0, 50.0, 63.0, 80.0, 100.0)  # ampere
RATINGS_NA = (20.0, 30.0, 40.0, 50.0, 60.0, 80.0, 100.0)
_RATING = re.compile(r"(?<![\w.])(\d+(?:\.\d+)?)\s*(mA|ma|A|a|amps?)?(?![\w.])")
_CURVED = re.compile(r"\b([BCDbcd])\s?(\d{1,3})\s?[aA]?\b")
_TYPE = re.compile(r"(?i)\btype\s+(ac|a|f|b|c|d)\b")
_STANDARD = re.compile(r"(?i)\b(?:bs|iec|en)\s?(?:en\s?)?\d+(?:-\d+)?(?:\.\d+)?|\bg[gl]\b|\bam\b")
_NOT_SAID = re.compile(
    r"(?i)\b(?:of )?(?:(?:rating|size|kind|type) )?(?:unknown|not known|not stated)"
    r"(?: (?:rating|size|kind|type))?\b"
)
_POLES = re.compile(
    r"(?i)\b(?P<count>single|double|two|three|triple|four|[1-4])[- ]?poles?\b"
    r"|(?<![\w.])(?P<short>sp|dp|tpn|tp|[1-4]p)(?P<neutral>\s?\+\s?n)?\b"
)
_POLE_COUNTS = MappingProxyType(
    {"single": 1, "double": 2, "two": 2, "three": 3, "triple": 3, "four": 4, "sp": 1, "dp": 2,
     "tp": 3, "tpn": 4}
)  # fmt: skip
_ARC = re.compile(r"(?i)\b(?:afci|afdd|arc[- ]fault)\b")
_FILLERS = re.compile(
    r"(?i)\b(off|open|tripped|on|rewirable|cartridge|wire|dual|function|main|and|with)\b"
)
_DEVICE = (
    '"B16", "20 A breaker", "B32 RCBO 30 mA", "30 A fuse BS 3036", "RCD 30 mA 63 A", "GFCI 20 A" '
    'or "none"'
)


def usual_device(
    name: str, region: str, lines: tuple[str, ...], lighting: bool, draws: float = 0.0
) -> Device:
    """The device where none is stated: the usual breaker of the region.

    ``draws`` is what one fixed appliance takes, in ampere: the breaker is the next rating up,
    with a quarter to spare in North America (common practice).
    """
    american = region == "na"
    ratings = RATINGS_NA if american else RATINGS
    wanted = draws * (1.25 if american else 1.0)
    amps = next((a for a in ratings if a >= wanted), ratings[-1])
    if lighting:
        amps = 15.0 if american else 6.0
    return Device(name, "breaker", amps, "C" if american else "B", poles=lines)


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
    if "arc" in fields:
        device = replace(device, arc=cursor.yes(fields["arc"], True))
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
    words = _NOT_SAID.sub(" ", node.text).strip(" ,").casefold()
    if not words:
        return replace(start, name=name)
    kind = next(
        (meaning for word, meaning in sorted(KIND_WORDS.items(), key=lambda w: -len(w[0]))
         if re.search(rf"\b{re.escape(word)}s?\b", words)),
        "fuse" if "wire" in words else start.kind,
    )  # fmt: skip
    if kind == "breaker" and re.search(r"\d\s*ma\b", words):
        kind = "rcbo"  # a breaker with a residual rating
    device = replace(_as_kind(start, kind, lines), name=name)
    device, rest = _marked(device, _NOT_SAID.sub(" ", node.text), lines)
    closed = not re.search(r"(?i)\b(off|open|tripped)\b", rest)
    rest = _FILLERS.sub(" ", _RATING.sub(" ", rest))
    for word in sorted(KIND_WORDS, key=len, reverse=True):
        rest = re.sub(rf"(?i)\b{re.escape(word)}s?\b", " ", rest)
    if rest.strip(" ,;"):
        cursor.note(node, f"a device such as {_DEVICE}", rest.strip(" ,;"))
    if not 0.0 < device.amps <= 6300.0:
        cursor.note(node, f"a rated current above 0 A, in a device such as {_DEVICE}")
        return replace(device, amps=start.amps, closed=closed)
    return replace(device, closed=closed)


def _marked(device: Device, text: str, lines: tuple[str, ...]) -> tuple[Device, str]:
    """The device with what is printed on it, and the words that are left."""
    rest = f" {text} "
    if found := _STANDARD.search(rest):
        device = replace(device, curve=" ".join(found[0].upper().split()))
        rest = rest.replace(found[0], " ", 1)
    if found := _TYPE.search(rest):
        sort = found[1].upper()  # "type B" on a plain breaker is its curve
        if device.residual_amps:
            device = replace(device, residual_type=sort)
        elif sort in ("B", "C", "D"):
            device = replace(device, curve=sort)
        rest = rest.replace(found[0], " ", 1)
    if found := _POLES.search(rest):
        word = (found["count"] or found["short"]).casefold()
        count = _POLE_COUNTS.get(word) or int(word[0])
        more = ("N",) if found["neutral"] or count > len(lines) else ()
        device = replace(device, poles=tuple(dict.fromkeys((*lines, *more))))
        rest = _POLES.sub(" ", rest)
    if _ARC.search(rest):
        device = replace(device, arc=True)
        rest = _ARC.sub(" ", rest)
    if found := _CURVED.search(rest):
        device = replace(device, curve=found[1].upper(), amps=float(found[2]))
        rest = rest.replace(found[0], " ", 1)
    for number, unit in _RATING.findall(rest):
        if unit.casefold() == "ma":
            device = replace(device, residual_amps=float(number) / 1000.0)
        else:
            device = replace(device, amps=float(number))
    return device, rest
