"""Insulation resistance: test voltages and least values, by region and edition.

Voltages in volts d.c., resistances in ohms.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from types import MappingProxyType

from halfsplit.errors import NotInTable
from halfsplit.tables.source import Figure, Table


@dataclass(frozen=True, slots=True)
class Limit:
    """One row: the test voltage and the least resistance for circuits up to ``up_to`` volts."""

    id: str
    up_to: float
    test_volts: float
    least_ohm: float
    source: str
    note: str = ""


_LIMITS = {
    "bs7671-2018": (
        Limit("ir-uk-selv", 50.0, 250.0, 0.5e6, "table64", "SELV and PELV"),
        Limit("ir-uk-500", 500.0, 500.0, 1e6, "table64"),
        Limit("ir-uk-over", math.inf, 1000.0, 1e6, "table64"),
    ),
    "iec60364-6": (
        Limit("ir-iec-selv", 50.0, 250.0, 0.5e6, "iec60364-6"),
        Limit("ir-iec-500", 500.0, 500.0, 1e6, "iec60364-6"),
        Limit("ir-iec-over", math.inf, 1000.0, 1e6, "iec60364-6"),
    ),
    "bs7671-16th": (Limit("ir-16th", 500.0, 500.0, 0.5e6, "table71A", "look further below 2 MΩ"),),
    "as-nzs-3000": (
        Limit("ir-aus", 500.0, 500.0, 1e6, "ir-aus", "live conductors together to earth"),
    ),
    "neta": (
        Limit("ir-neta-250", 250.0, 500.0, 25e6, "neta"),
        Limit("ir-neta-600", 600.0, 1000.0, 100e6, "neta"),
    ),
}
LIMITS = MappingProxyType(_LIMITS)
"""Rows by edition, in rising voltage."""

LOOK_FURTHER = Figure("ir-look-further", 2e6, "ohm", "table71A")
WITH_EQUIPMENT_V = Figure(
    "ir-with-equipment", 250.0, "V", "ir-250", note="line and neutral joined, to earth"
)
WITH_EQUIPMENT_LEAST = Figure("ir-with-equipment-least", 1e6, "ohm", "ir-250")
HEATING_ELEMENT_LEAST = Figure("ir-heating-element", 0.01e6, "ohm", "ir-aus")
APPLIANCE_LEAST_INDIA = Figure("ir-appliance-india", 0.5e6, "ohm", "is732")
POINTS_INDIA = Figure("ir-points-india", 50e6, "ohm x points", "is732")
SELV_16TH = Figure("ir-selv-16th", 5e6, "ohm", "whitfield-16", note="500 V d.c. for 1 min")
FELV_16TH = Figure("ir-felv-16th", 0.5e6, "ohm", "whitfield-16")
FLASH_16TH = Figure("ir-flash-16th", 3750.0, "V", "whitfield-16")
EXPECTED_NEW = Figure("ir-expected-new", 300e6, "ohm", "ir-expect", 100e6, 5e9)
NEC_EARLY = Table(
    "ir-nec-early",
    "Mohm",
    "nec-rule66",
    {5.0: 4.0, 10.0: 2.0, 25.0: 0.8, 50.0: 0.4, 100.0: 0.2, 200.0: 0.1},
    key="A",
    note="history only; the 10 A label is inferred",
)
_BY_REGION = MappingProxyType(
    {"uk": "bs7671-2018", "eu": "iec60364-6", "au": "as-nzs-3000", "us": "neta"}
)


def edition_for(region: str) -> str:
    """The edition used by default in a region. Raises: NotInTable."""
    try:
        return _BY_REGION[region]
    except KeyError:
        raise NotInTable("insulation limits by region", region, _BY_REGION) from None


def limit(volts: float, edition: str = "bs7671-2018") -> Limit:
    """The row for a circuit of that nominal voltage. Raises: NotInTable."""
    try:
        rows = _LIMITS[edition]
    except KeyError:
        raise NotInTable("insulation limits", edition, _LIMITS) from None
    for row in rows:
        if volts <= row.up_to:
            return row
    raise NotInTable(f"insulation limits, {edition}", f"{volts:g} V", (r.id for r in rows))


def points_limit_india(points: int) -> float:
    """Least resistance of an installation with so many points, ohms: 50 MΩ shared out."""
    return POINTS_INDIA.value / points


def in_parallel(resistances: Iterable[float]) -> float:
    """What circuits read together, ohms. Raises: ZeroDivisionError when there are none."""
    return 1.0 / sum(1.0 / resistance for resistance in resistances)
