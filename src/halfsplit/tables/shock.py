"""A person as a load: body impedance by touch voltage, thresholds, zones, heart factors.

Ohms, volts, amperes, seconds; alternating current of 50/60 Hz, hand to hand or hand to foot, dry,
large contact areas, unless said otherwise.
"""

from __future__ import annotations

import math
from types import MappingProxyType
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from halfsplit.errors import NotInTable, OutOfRange
from halfsplit.tables.source import Figure, Table, log_log

Percentile = Literal[5, 50, 95]
BodyEdition = Literal["2005", "1994"]


def _body(id: str, source: str, rows: dict[float, float]) -> Table[float]:
    return Table(id, "ohm", source, rows, uncertainty=0.02, key="touch V")


BODY: MappingProxyType[tuple[str, int], Table[float]] = MappingProxyType(
    {
        ("1994", 5): _body(
            "body-1994-5",
            "iec479-old",
            {25.0: 1750.0, 50.0: 1450.0, 75.0: 1250.0, 100.0: 1200.0, 125.0: 1125.0}
            | {220.0: 1000.0, 700.0: 750.0, 1000.0: 700.0},
        ),
        ("1994", 50): _body(
            "body-1994-50",
            "iec479-old",
            {25.0: 3250.0, 50.0: 2625.0, 75.0: 2200.0, 100.0: 1875.0, 125.0: 1625.0}
            | {220.0: 1350.0, 700.0: 1100.0, 1000.0: 1050.0},
        ),
        ("1994", 95): _body(
            "body-1994-95",
            "iec479-old",
            {25.0: 6100.0, 50.0: 4375.0, 75.0: 3500.0, 100.0: 3200.0, 125.0: 2875.0}
            | {220.0: 2125.0, 700.0: 1550.0, 1000.0: 1500.0},
        ),
        ("2005", 5): _body(
            "body-2005-5",
            "iec60479-2005",
            {25.0: 1750.0, 50.0: 1375.0, 75.0: 1125.0, 100.0: 990.0, 125.0: 900.0}
            | {150.0: 850.0, 175.0: 825.0, 200.0: 800.0, 225.0: 775.0, 400.0: 700.0}
            | {500.0: 625.0, 700.0: 575.0, 1000.0: 575.0},
        ),
        ("2005", 50): _body(
            "body-2005-50",
            "iec60479-2005",
            {25.0: 3250.0, 50.0: 2500.0, 75.0: 2000.0, 100.0: 1725.0, 125.0: 1550.0}
            | {150.0: 1400.0, 175.0: 1325.0, 200.0: 1275.0, 225.0: 1225.0, 400.0: 950.0}
            | {500.0: 850.0, 700.0: 775.0, 1000.0: 775.0},
        ),
        ("2005", 95): _body(
            "body-2005-95",
            "iec60479-2005",
            {25.0: 6100.0, 50.0: 4600.0, 75.0: 3600.0, 100.0: 3125.0, 125.0: 2675.0}
            | {150.0: 2350.0, 175.0: 2175.0, 200.0: 2050.0, 225.0: 1900.0, 400.0: 1275.0}
            | {500.0: 1150.0, 700.0: 1050.0, 1000.0: 1050.0},
        ),
    }
)
"""Total body impedance not exceeded by that percentage of people, by (edition, percentile)."""

BODY_ASYMPTOTE_1994 = MappingProxyType({5: 650.0, 50: 750.0, 95: 850.0})
BODY_IEEE80 = Figure("body-ieee80", 1000.0, "ohm", "ieee80")
WET_REDUCTION = Figure("body-wet-reduction", 0.175, "fraction", "body-wet", 0.10, 0.25)
SALINE_FACTOR = Figure("body-saline", 0.5, "ratio", "body-wet")
WET_MATTERS_BELOW = Figure("body-wet-below", 150.0, "V", "body-wet")

HEART_FACTOR: Table[str] = Table(
    "heart-factor",
    "1",
    "heart",
    {
        "left hand to feet": 1.0,
        "both hands to feet": 1.0,
        "left hand to right hand": 0.4,
        "right hand to feet": 0.8,
        "back to right hand": 0.3,
        "back to left hand": 0.7,
        "chest to right hand": 1.3,
        "chest to left hand": 1.5,
        "seat to hands": 0.7,
        "left foot to right foot": 0.04,
    },
    key="path",
)

PERCEPTION = Figure("perception", 0.5e-3, "A", "shock-thresholds")
LET_GO_PLANNED = Figure("let-go-planned", 5e-3, "A", "let-go-5")
LET_GO_TYPICAL = Figure("let-go-typical", 10e-3, "A", "shock-thresholds")
LET_GO_SAFE_MEN = Figure("let-go-safe-men", 9e-3, "A", "dalziel")
LET_GO_SAFE_WOMEN = Figure("let-go-safe-women", 6e-3, "A", "dalziel")
LET_GO_TYPICAL_MEN = Figure("let-go-typical-men", 16e-3, "A", "dalziel")
LET_GO_TYPICAL_WOMEN = Figure("let-go-typical-women", 10e-3, "A", "dalziel")
FIBRILLATION_1S = Figure("fibrillation-1s", 50e-3, "A", "shock-thresholds")
FIBRILLATION_SHORT = Figure("fibrillation-short", 0.5, "A", "zone-bounds", note="under 0.1 s")
ARREST = Figure("arrest", 5.0, "A", "shock-thresholds")
DANGER = Figure("danger", 30e-3, "A", "zones", note="dangerous unless quickly cut off")
LINE_A = Figure("line-a", 0.5e-3, "A", "zone-bounds")
LINE_B_SHORT = Figure("line-b-short", 0.2, "A", "zone-bounds", note="below 10 ms")
LINE_B_LONG = Figure("line-b-long", 5e-3, "A", "c1-curve")
C1: Table[float] = Table(
    "c1",
    "A",
    "c1-curve",
    {0.01: 0.5, 0.1: 0.4, 1.0: 0.05, 3.0: 0.04},
    uncertainty=0.15,
    key="seconds",
)
C1_LONG_CAUTIOUS = Figure("c1-long-cautious", 0.03, "A", "c1-30")
B_LINE: Table[float] = Table(
    "b-line", "A", "c1-curve", {0.01: 0.2, 2.0: 0.005}, uncertainty=0.15, key="seconds"
)
FIBRILLATION_CHANCE = MappingProxyType({"AC-4.1": 0.05, "AC-4.2": 0.50})

TOUCH_ADULT_AC = Figure("touch-adult-ac", 50.0, "V", "touch-limits")
TOUCH_ADULT_DC = Figure("touch-adult-dc", 120.0, "V", "touch-limits")
TOUCH_SPECIAL_AC = Figure("touch-special-ac", 25.0, "V", "touch-limits")
TOUCH_SPECIAL_DC = Figure("touch-special-dc", 60.0, "V", "touch-limits")

# (dry low, dry high, wet low, wet high), ohms
CONTACT = MappingProxyType(
    {
        "finger touch": (40e3, 1e6, 4e3, 15e3),
        "hand on wire": (15e3, 50e3, 3e3, 6e3),
        "palm": (3e3, 8e3, 1e3, 2e3),
    }
)
CONTACT_SOURCE = "skin-contact"


def body_impedance(
    touch_V: float, percentile: Percentile = 50, edition: BodyEdition = "2005", wet: bool = False
) -> float:
    """Total body impedance in ohms at that touch voltage; log-log between the table's rows.

    Held at the 25 V row below and the 1000 V row above. ``wet`` takes off a quarter (the most that
    water does) up to 50 V, fading to nothing at 150 V. Raises: NotInTable, OutOfRange.
    """
    if not touch_V >= 0.0:
        raise OutOfRange(f"touch voltage {touch_V:g} V: 0 or more is needed")
    if (edition, percentile) not in BODY:
        raise NotInTable("body impedance", (edition, percentile), BODY)
    dry = log_log(BODY[(edition, percentile)].values, max(touch_V, 1e-9))
    if not wet:
        return dry
    fade = min(1.0, max(0.0, (WET_MATTERS_BELOW.value - touch_V) / 100.0))
    return dry * (1.0 - WET_REDUCTION.high * fade)


def body_impedances(
    touch_V: NDArray[np.float64], percentile: Percentile = 5, edition: BodyEdition = "2005"
) -> NDArray[np.float64]:
    """:func:`body_impedance` (dry) for an array of touch voltages of any shape, ohms."""
    if (edition, percentile) not in BODY:
        raise NotInTable("body impedance", (edition, percentile), BODY)
    table = BODY[(edition, percentile)]
    volts, ohms = np.log(list(table)), np.log(list(table.values.values()))
    at = np.log(np.maximum(np.abs(touch_V), 1e-9))
    return np.asarray(np.exp(np.interp(at, volts, ohms)), dtype=np.float64)


def body_current(
    touch_V: float, percentile: Percentile = 5, edition: BodyEdition = "2005", wet: bool = False
) -> float:
    """Current in amperes with that voltage held across the body (the 5 % value is the cautious)."""
    return touch_V / body_impedance(touch_V, percentile, edition, wet)


def equivalent_current(current_A: float, path: str) -> float:
    """The left-hand-to-feet current as dangerous as this one: I·F, amperes. Raises: NotInTable."""
    return current_A * HEART_FACTOR[path]


def equally_dangerous(reference_A: float, path: str) -> float:
    """Current by ``path`` as dangerous as a left-hand-to-feet one: I / F, amperes."""
    return reference_A / HEART_FACTOR[path]


def c1(seconds: float, cautious: bool = False) -> float:
    """Curve c1 in amperes, below which fibrillation is unlikely: log-log between its points.

    ``cautious`` never lets it rise above 30 mA for a second or more (the stricter edition).
    """
    found = log_log(C1.values, seconds)
    return min(found, C1_LONG_CAUTIOUS.value) if cautious and seconds >= 1.0 else found


def b_line(seconds: float) -> float:
    """Line b in amperes, above which muscles may hold fast."""
    return log_log(B_LINE.values, seconds)


def zone(current_A: float, seconds: float = 10.0) -> str:
    """The zone of a left-hand-to-feet current: AC-1 (not felt), AC-2, AC-3 or AC-4."""
    if current_A < LINE_A.value:
        return "AC-1"
    if current_A < b_line(seconds):
        return "AC-2"
    return "AC-3" if current_A < c1(seconds) else "AC-4"


def touch_limit(special: bool = False, direct: bool = False) -> float:
    """Prolonged touch voltage limit, volts: halved for children, livestock and special places."""
    if direct:
        return (TOUCH_SPECIAL_DC if special else TOUCH_ADULT_DC).value
    return (TOUCH_SPECIAL_AC if special else TOUCH_ADULT_AC).value


def shock_word(current_A: float, seconds: float = math.inf) -> str:
    """What a person would feel: nothing, a tingle, a shock, held fast, danger to life."""
    if current_A < PERCEPTION.value:
        return "nothing felt"
    if current_A < LET_GO_PLANNED.value / 2:
        return "a tingle"
    if current_A < LET_GO_PLANNED.value:
        return "a shock"
    long = math.isinf(seconds) or seconds >= 1.0
    return "held fast" if current_A < (DANGER.value if long else c1(seconds)) else "danger to life"
