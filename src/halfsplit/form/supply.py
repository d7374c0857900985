"""The supply, from its short text or its mapping."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Any, cast

from halfsplit.form.cursor import Cursor
from halfsplit.form.tree import Node
from halfsplit.quantity import (
    parse_hertz,
    parse_ohms,
    parse_volts,
)
from halfsplit.tables import supplies
from halfsplit.wiring.model import About, Earthing, Live, Supply

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
            volts = About(_to_neutral(live, given.value), 0.03)
        else:
            cursor.note(node, "a supply voltage of 10 V to 1000 V")
        rest = rest.replace(found[0], " ", 1)
    elif live == "centre tap":
        volts = About(55.0, 0.03)
    supply = replace(supply, live=live, volts=volts, hertz=hertz)
    return _earthing_text(cursor, node, rest, supply, whole)


_STARS = MappingProxyType({400.0: 230.0, 415.0: 240.0, 380.0: 220.0, 208.0: 120.0, 480.0: 277.0})


def _to_neutral(live: Live, volts: float) -> float:
    """Volts to neutral or to the centre tap, where one figure was given that is between lines."""
    if live == "three":
        return _STARS.get(volts, volts / 3.0**0.5 if volts > 300.0 else volts)
    least = {"centre tap": 80.0, "split": 150.0, "high leg": 150.0}.get(live, float("inf"))
    return volts / 2.0 if volts > least else volts


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
