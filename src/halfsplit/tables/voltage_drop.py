"""Voltage drop: published mV/A/m, limits by region, and the arithmetic.

mV/A/m covers the whole path out and back. Lengths in metres, currents in amperes.
"""

from __future__ import annotations

from types import MappingProxyType

from halfsplit.errors import NotInTable
from halfsplit.tables.source import Figure, Table

SINGLE_70C = Table(
    "mvam-70-single",
    "mV/A/m",
    "mvam-70",
    {1.0: 44.0, 1.5: 29.0, 2.5: 18.0, 4.0: 11.0, 6.0: 7.3, 10.0: 4.4, 16.0: 2.8},
    temp_c=70.0,
    uncertainty=0.03,
)
THREE_70C = Table(
    "mvam-70-three",
    "mV/A/m",
    "mvam-70",
    {1.0: 38.0, 1.5: 25.0, 2.5: 15.0, 4.0: 9.5, 6.0: 6.4, 10.0: 3.8, 16.0: 2.4},
    temp_c=70.0,
    uncertainty=0.03,
)
FLEX_60C = Table(
    "mvam-60-flex",
    "mV/A/m",
    "mvam-flex",
    {0.5: 93.0, 0.75: 62.0, 1.0: 46.0, 1.25: 37.0, 1.5: 32.0, 2.5: 19.0, 4.0: 12.0},
    temp_c=60.0,
    uncertainty=0.03,
)
ARMOURED_90C = Table(
    "mvam-90-armoured",
    "mV/A/m",
    "mvam-90",
    {1.5: 31.0, 2.5: 19.0, 4.0: 12.0, 6.0: 7.9, 10.0: 4.7, 16.0: 2.9},
    temp_c=90.0,
    uncertainty=0.03,
)

LIMITS = MappingProxyType(
    {
        ("uk", "lighting"): Figure("drop-uk-lighting", 0.03, "fraction", "vd-uk"),
        ("uk", "other"): Figure("drop-uk-other", 0.05, "fraction", "vd-uk"),
        ("us", "branch"): Figure("drop-us-branch", 0.03, "fraction", "vd-nec", note="advice only"),
        ("us", "total"): Figure("drop-us-total", 0.05, "fraction", "vd-nec", note="advice only"),
    }
)
ENFORCEABLE = MappingProxyType({"uk": True, "us": False})
K_COPPER = Figure("drop-us-K", 12.9, "ohm cmil/ft", "vd-us-K")


def drop(mV_per_A_m: float, current_A: float, length_m: float) -> float:
    """Voltage drop in volts from a published mV/A/m."""
    return mV_per_A_m * current_A * length_m / 1000.0


def drop_from_loop(loop_ohm: float, current_A: float, hot_factor: float = 1.2) -> float:
    """Voltage drop in volts from a cold line-plus-neutral resistance, brought to working heat."""
    return loop_ohm * hot_factor * current_A


def drop_circular_mils(K: float, current_A: float, length_ft: float, circular_mils: float) -> float:
    """Voltage drop in volts by 2·K·I·L / cmil."""
    return 2.0 * K * current_A * length_ft / circular_mils


def limit_volts(region: str, use: str, nominal_V: float) -> float:
    """Greatest drop in volts. Raises: NotInTable."""
    try:
        return LIMITS[(region, use)].value * nominal_V
    except KeyError:
        names = (" ".join(key) for key in LIMITS)
        raise NotInTable("voltage drop limits", f"{region} {use}", names) from None
