"""Cables: the sizes that a trade name stands for."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from halfsplit.errors import NotInTable
from halfsplit.form.cursor import Cursor
from halfsplit.form.tree import Node
from halfsplit.tables import cables
from halfsplit.wiring.model import Core


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
