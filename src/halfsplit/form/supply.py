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
_PAIRED = re.compile(
    r"(?i)(\d+(?:\.\d+)?)\s*v?\s*(?:/|y/|-|–|\bto\b|\bor\b)\s*(\d+(?:\.\d+)?)\s*(?:v\b|(?=\s|$))"
)
_VOLTS = re.compile(r"(?<![\d.])\d+(?:\.\d+)?\s*[vV]\b")
_BARE = re.compile(r"(?<![\w./-])(?:1[12]\d|2[0-4]\d|3[89]\d|4[01]\d)(?![\w./-])")  # "TT 230"
_HERTZ = re.compile(r"\b(\d+(?:\.\d+)?)\s*[hH][zZ]\b")
_UNSURE = re.compile(r"(?i)\b(?:unknown|unstated|unsure|not (?:stated|known|said|given|sure))\b|\?")
_FILLERS = re.compile(
    r"(?i)\b(?:earthing|earth(?:ed)?|grounding|system|arrangement|type|supply|mains|volts?|v|ac|"
    r"nominal|about|around|wire|is)\b|[,;()~]"
)
ALIKE = 1.2  # two figures closer than this name one voltage: 230/240 V is no split phase


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
        supply = replace(supply, volts=_volts(cursor, fields["volts"], supply.volts))
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
    if "history" in fields:
        supply = replace(supply, history=cursor.history(fields["history"]))
    return supply


def _volts(cursor: Cursor, node: Node, usual: About) -> About:
    """Volts to neutral; two figures near each other are one voltage."""
    pair = _PAIRED.fullmatch(node.text) if node.kind == "text" else None
    if pair and max(map(float, pair.groups())) < ALIKE * min(map(float, pair.groups())):
        return About(sum(map(float, pair.groups())) / 2.0, 0.03)
    return cursor.about(node, parse_volts, usual, high=1000.0)


def _supply_text(
    cursor: Cursor, node: Node, text: str, supply: Supply, whole: bool = True
) -> Supply:
    """Words in any order; whatever is left over is noted."""
    rest = f" {text} "
    said: Live | None = None
    volts, hertz = supply.volts, supply.hertz
    for word, meaning in _LIVE_WORDS.items():
        if re.search(rf"(?i)(?<!\w){re.escape(word)}(?!\w)", rest):
            said = meaning
            rest = re.sub(rf"(?i)(?<!\w){re.escape(word)}(?!\w)", " ", rest, count=1)
            break
    if found := _HERTZ.search(rest):
        hertz = float(found[1])
        rest = rest.replace(found[0], " ", 1)
    live: Live = said or supply.live
    if found := _PAIRED.search(rest):
        low, high = sorted((float(found[1]), float(found[2])))
        live, value = _of_two(said, live, low, high)
        volts = _checked(cursor, node, value) or volts
        rest = rest.replace(found[0], " ", 1)
    elif found := _VOLTS.search(rest) or _BARE.search(rest):
        figure = float(re.sub(r"(?i)\s*v$", "", found[0]))
        live = said or _of_one(supply.live, figure, hertz)
        volts = _checked(cursor, node, _to_neutral(live, figure)) or volts
        rest = rest.replace(found[0], " ", 1)
    elif live == "centre tap":
        volts = About(55.0, 0.03)
    supply = replace(supply, live=live, volts=volts, hertz=hertz)
    return _earthing_text(cursor, node, rest, supply, whole)


def _checked(cursor: Cursor, node: Node, volts: float) -> About | None:
    if 10.0 <= volts <= 1000.0:
        return About(volts, 0.03)
    cursor.note(node, "a supply voltage of 10 V to 1000 V")
    return None


def _of_two(said: Live | None, live: Live, low: float, high: float) -> tuple[Live, float]:
    """Live conductors and volts to neutral from two figures, such as 120/240 or 230/240.

    Figures near each other are one voltage, somewhere between; then the usual single phase.
    """
    if high < ALIKE * low:
        middle = (low + high) / 2.0
        live = said or ("three" if middle > 300.0 else "single" if middle > 150.0 else live)
        return live, _to_neutral(live, middle)
    double = abs(high - 2.0 * low) < 1.0
    if said is None or (said == "single" and double):  # "single phase 120/240 V" has two legs
        return "split" if double else "three", low
    return said, low


def _of_one(usual: Live, volts: float, hertz: float) -> Live:
    """Live conductors from one figure and what is usual there, where no word says them."""
    if usual == "single":
        return "three" if volts > 300.0 else "single"
    if usual != "split" or volts <= 150.0:
        return usual
    if abs(volts - 208.0) < 1.0 or volts > 300.0:
        return "three"
    return "split" if volts >= 220.0 and hertz != 50.0 else "single"


_STARS = MappingProxyType({400.0: 230.0, 415.0: 240.0, 380.0: 220.0, 208.0: 120.0, 480.0: 277.0})


def _to_neutral(live: Live, volts: float) -> float:
    """Volts to neutral or to the centre tap, where one figure was given that is between lines."""
    if live == "three":
        return _STARS.get(volts, volts / 3.0**0.5 if volts > 300.0 else volts)
    least = {"centre tap": 80.0, "split": 150.0, "high leg": 150.0}.get(live, float("inf"))
    return volts / 2.0 if volts > least else volts


def _earthing_text(cursor: Cursor, node: Node, rest: str, supply: Supply, whole: bool) -> Supply:
    known = whole and not _UNSURE.search(rest)
    earthing: str | None = None
    left = []
    for word in _FILLERS.sub(" ", _UNSURE.sub(" ", rest)).split():
        if word.casefold() in _EARTHING_WORDS:
            earthing = _EARTHING_WORDS[word.casefold()]
        else:
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
