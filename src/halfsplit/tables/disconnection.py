"""Loop impedance limits and disconnection times, by edition: formula and table.

A breaker's limit follows from its multiplier: U0·Cmin / (k·In). Fuse limits come from the fuses'
own curves and are tables. Impedances in ohms, currents in amperes, times in seconds.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from halfsplit.errors import NotInTable, OutOfRange
from halfsplit.tables.source import Figure, Table

Curve = Literal["B", "C", "D"]
Earthing = Literal["TN", "TT"]


@dataclass(frozen=True, slots=True)
class Edition:
    """The rule one edition uses for breakers: nominal voltage, Cmin and trip multipliers."""

    id: str
    volts: float
    c_min: float
    multiplier: Mapping[str, float]
    source: str


EDITIONS = MappingProxyType(
    {
        edition.id: edition
        for edition in (
            Edition(
                "bs7671-2008",
                230.0,
                1.0,
                MappingProxyType({"B": 5.0, "C": 10.0, "D": 20.0}),
                "bs7671-2008-41.3",
            ),
            Edition(
                "bs7671-2018",
                230.0,
                0.95,
                MappingProxyType({"B": 5.0, "C": 10.0, "D": 20.0}),
                "bs7671-2018-41.3",
            ),
            Edition(
                "as-nzs-3000",
                230.0,
                1.0,
                MappingProxyType({"B": 4.0, "C": 7.5, "D": 12.5}),
                "asnzs3000",
            ),
        )
    }
)

NZ_TYPE_C = Figure("nz-type-c-multiplier", 7.5, "x In", "nz-typeC")
COLD_FACTOR = Figure("loop-cold-factor", 0.8, "ratio", "loop-80")
TOUCH_SHARE_TN = Figure("touch-share-tn", 0.5, "of U0", "touch-half", note="equal R1 and R2")
B32_COLD_PUBLISHED = Figure("b32-cold-published", 1.1, "ohm", "loop-uplift")
HOT_FACTOR_70C = Figure("hot-factor-70C", 1.20, "ratio", "factor-1.20")


def breaker_limit(curve: Curve, rating_A: float, edition: str = "bs7671-2018") -> float:
    """Greatest loop impedance for an instantaneous trip, unrounded ohms: U0·Cmin / (k·In).

    Raises: NotInTable for an unknown edition or curve; OutOfRange unless the rating is above 0.
    """
    rule = _edition(edition)
    if not rating_A > 0.0:
        raise OutOfRange(f"rating {rating_A:g} A: a rating above 0 is needed, such as 32")
    if curve not in rule.multiplier:
        raise NotInTable(f"{edition} breaker curves", curve, rule.multiplier)
    return rule.volts * rule.c_min / (rule.multiplier[curve] * rating_A)


def instant_trip(curve: Curve, rating_A: float, edition: str = "bs7671-2018") -> float:
    """Current at which the breaker is sure to trip at once: k·In amperes."""
    rule = _edition(edition)
    return rule.multiplier[curve] * rating_A


# Where a breaker of each curve may begin to trip at once: IEC 60898-1, from memory.
INSTANT_BAND = MappingProxyType({"B": (3.0, 5.0), "C": (5.0, 10.0), "D": (10.0, 20.0)})
INSTANT_BAND_SOURCE = "iec60898"

_2008_SOURCE = "bs7671-2008-41.2"
_2018_SOURCE = "bs7671-2018-fuses"


def _fuse(id: str, source: str, values: dict[float, float]) -> Table[float]:
    doubt = 0.002 if source == _2008_SOURCE else 0.02
    return Table(id, "ohm", source, values, uncertainty=doubt, key="rating A")


FUSES = MappingProxyType(
    {
        # edition, type, disconnection time
        ("bs7671-2008", "BS 88-2.2", 0.4): _fuse(
            "fuse-2008-bs88-2.2-0.4",
            _2008_SOURCE,
            {6.0: 8.52, 10.0: 5.11, 16.0: 2.70, 20.0: 1.77, 25.0: 1.44, 32.0: 1.04},
        ),
        ("bs7671-2008", "BS 1361", 0.4): _fuse(
            "fuse-2008-bs1361-0.4", _2008_SOURCE, {5.0: 10.45, 15.0: 3.28, 20.0: 1.70, 30.0: 1.15}
        ),
        ("bs7671-2008", "BS 3036", 0.4): _fuse(
            "fuse-2008-bs3036-0.4", _2008_SOURCE, {5.0: 9.58, 15.0: 2.55, 20.0: 1.77, 30.0: 1.09}
        ),
        ("bs7671-2008", "BS 3036", 5.0): _fuse("fuse-2008-bs3036-5", "bs3036-5A", {5.0: 17.7}),
        ("bs7671-2008", "BS 1362", 0.4): _fuse(
            "fuse-2008-bs1362-0.4", _2008_SOURCE, {3.0: 16.4, 13.0: 2.42}
        ),
        ("bs7671-2018", "BS 3036", 0.4): _fuse(
            "fuse-2018-bs3036-0.4", _2018_SOURCE, {5.0: 9.10, 15.0: 2.43, 20.0: 1.68, 30.0: 1.04}
        ),
        ("bs7671-2018", "BS 3036", 5.0): _fuse(
            "fuse-2018-bs3036-5",
            _2018_SOURCE,
            {5.0: 16.8, 15.0: 5.08, 20.0: 3.64, 30.0: 2.51, 45.0: 1.51, 60.0: 1.07, 100.0: 0.51},
        ),
        ("bs7671-2018", "BS 88-3", 0.4): _fuse(
            "fuse-2018-bs88-3-0.4", _2018_SOURCE, {5.0: 9.93, 16.0: 2.30, 20.0: 1.93, 32.0: 0.91}
        ),
        ("bs7671-2018", "BS 88-3", 5.0): _fuse(
            "fuse-2018-bs88-3-5",
            _2018_SOURCE,
            {5.0: 14.6, 16.0: 3.90, 20.0: 3.20, 32.0: 1.60, 45.0: 1.00, 63.0: 0.68}
            | {80.0: 0.51, 100.0: 0.38},
        ),
        ("bs7671-2018", "BS 88-2", 0.4): _fuse(
            "fuse-2018-bs88-2-0.4",
            _2018_SOURCE,
            {2.0: 33.1, 4.0: 15.6, 6.0: 7.80, 10.0: 4.65, 16.0: 2.43, 20.0: 1.68}
            | {25.0: 1.29, 32.0: 0.99},
        ),
        ("bs7671-2018", "BS 1362", 0.4): _fuse(
            "fuse-2018-bs1362-0.4", _2018_SOURCE, {3.0: 15.6, 13.0: 2.30}
        ),
    }
)
"""Greatest loop impedance for fuses by (edition, type, disconnection time)."""


def fuse_limit(kind: str, rating_A: float, time_s: float, edition: str = "bs7671-2018") -> float:
    """Greatest loop impedance for that fuse to clear in time, ohms. Raises: NotInTable."""
    try:
        table = FUSES[(edition, kind, time_s)]
    except KeyError:
        asked = f"{kind} at {time_s:g} s, {edition}"
        raise NotInTable("fuse limits", asked, (f"{k} {t:g} s, {e}" for e, k, t in FUSES)) from None
    return table[rating_A]


def cold_limit(limit_ohm: float) -> float:
    """What a measured loop may be with conductors at room temperature: 0.8 of the limit, ohms."""
    return COLD_FACTOR.value * limit_ohm


# Disconnection times: rows end at the voltage given, and begin just above the row before.
_TN_AC = {120.0: 0.8, 230.0: 0.4, 400.0: 0.2, math.inf: 0.1}
_TT_AC = {120.0: 0.3, 230.0: 0.2, 400.0: 0.07, math.inf: 0.04}
_TN_DC = {230.0: 5.0, 400.0: 0.4, math.inf: 0.1}
_TT_DC = {230.0: 0.4, 400.0: 0.2, math.inf: 0.1}

TIMES = MappingProxyType(
    {
        ("TN", "ac"): Table("times-tn-ac", "s", "table41.1", _TN_AC, key="up to V"),
        ("TT", "ac"): Table("times-tt-ac", "s", "table41.1", _TT_AC, key="up to V"),
        ("TN", "dc"): Table("times-tn-dc", "s", "table41.1", _TN_DC, key="up to V"),
        ("TT", "dc"): Table("times-tt-dc", "s", "table41.1", _TT_DC, key="up to V"),
    }
)
TIMES_IEC_1992 = Table(
    "times-iec-1992", "s", "iec-times", {120.0: 0.8, 230.0: 0.4, 277.0: 0.4, 400.0: 0.2}, key="V"
)
DISTRIBUTION_TN = Figure("distribution-time-tn", 5.0, "s", "distribution-times")
DISTRIBUTION_TT = Figure("distribution-time-tt", 1.0, "s", "distribution-times")
FINAL_LIMIT_A = Figure("final-circuit-limit", 32.0, "A", "table41.1")
FINAL_SOCKETS_2018_A = Figure("final-circuit-limit-sockets-2018", 63.0, "A", "distribution-times")


def disconnection_time(
    earthing: Earthing, volts: float, current: Literal["ac", "dc"] = "ac"
) -> float:
    """Longest disconnection time of a final circuit, seconds, by nominal voltage to earth.

    Raises: OutOfRange up to 50 V a.c. (120 V d.c.), where shock protection asks for no time.
    """
    floor = 50.0 if current == "ac" else 120.0
    if volts <= floor:
        raise OutOfRange(f"{volts:g} V {current}: no time is set up to {floor:g} V")
    table = TIMES[(earthing, current)]
    return next(table[top] for top in sorted(table) if volts <= top)


def distribution_time(earthing: Earthing) -> float:
    """Longest disconnection time of a distribution circuit, seconds."""
    return (DISTRIBUTION_TN if earthing == "TN" else DISTRIBUTION_TT).value


def time_for(
    earthing: Earthing,
    volts: float,
    rating_A: float,
    *,
    sockets: bool = False,
    distribution: bool = False,
    edition: str = "bs7671-2018",
) -> float:
    """The time that applies to a circuit, seconds: final up to 32 A (63 A for sockets since 2018).

    Anything larger, and every distribution circuit, has the longer time.
    """
    top = FINAL_SOCKETS_2018_A if sockets and edition == "bs7671-2018" else FINAL_LIMIT_A
    if distribution or rating_A > top.value:
        return distribution_time(earthing)
    return disconnection_time(earthing, volts)


# Loop arithmetic


def loop_impedance(resistance: float, reactance: float) -> float:
    """Size of an impedance from its parts: √(R² + X²), ohms."""
    return math.hypot(resistance, reactance)


def circuit_loop(external_ohm: float, r1_r2_ohm: float, hot_factor: float = 1.0) -> float:
    """Loop at the far point: external plus R1+R2 at working temperature, ohms."""
    return external_ohm + hot_factor * r1_r2_ohm


def longest_run(limit_ohm: float, external_ohm: float, r1_r2_per_m: float) -> float:
    """Greatest length in metres that keeps the loop within ``limit_ohm``."""
    return (limit_ohm - external_ohm) / r1_r2_per_m


def fault_current(volts: float, loop_ohm: float) -> float:
    """Prospective fault current, amperes: U / Z."""
    return volts / loop_ohm


def touch_voltage(volts: float, line_ohm: float, protective_ohm: float) -> float:
    """Voltage on the metalwork during a solid earth fault: U·R2 / (R1 + R2), volts."""
    return volts * protective_ohm / (line_ohm + protective_ohm)


def _edition(id: str) -> Edition:
    try:
        return EDITIONS[id]
    except KeyError:
        raise NotInTable("editions", id, EDITIONS) from None
