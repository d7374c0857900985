"""Residual-current devices: trip bands, times and the North American ground-fault curve.

Currents in amperes, times in seconds; bands as shares of the rated residual current.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from halfsplit.errors import NotInTable, OutOfRange
from halfsplit.tables.source import Figure

Waveform = Literal["sine", "pulsating 0", "pulsating 90", "pulsating 135", "dc"]


@dataclass(frozen=True, slots=True)
class TripBand:
    """Between ``hold`` and ``trip`` (shares of the rating) a device may or may not trip."""

    id: str
    waveform: Waveform
    hold: float
    trip: float
    source: str


@dataclass(frozen=True, slots=True)
class TripTimes:
    """Shortest and longest break time in seconds at one, two and five times the rating."""

    id: str
    one: tuple[float, float]
    two: tuple[float, float]
    five: tuple[float, float]
    source: str


SINE = TripBand("band-sine", "sine", 0.5, 1.0, "rcd-band")
PULSATING = (
    TripBand("band-pulsating-0", "pulsating 0", 0.35, 1.4, "iec61008-A"),
    TripBand("band-pulsating-90", "pulsating 90", 0.25, 1.4, "iec61008-A"),
    TripBand("band-pulsating-135", "pulsating 135", 0.11, 1.4, "iec61008-A"),
)
SMOOTH_DC = TripBand("band-dc", "dc", 0.5, 2.0, "iec62423")
BANDS = MappingProxyType({band.waveform: band for band in (SINE, *PULSATING, SMOOTH_DC)})

# Which residual currents each type sees: AC the sine only, A and F pulsating too, B smooth as well.
SEES: MappingProxyType[str, tuple[str, ...]] = MappingProxyType(
    {
        "AC": ("sine",),
        "A": ("sine", "pulsating 0", "pulsating 90", "pulsating 135"),
        "F": ("sine", "pulsating 0", "pulsating 90", "pulsating 135"),
        "B": ("sine", "pulsating 0", "pulsating 90", "pulsating 135", "dc"),
    }
)

GENERAL = TripTimes("times-general", (0.0, 0.300), (0.0, 0.150), (0.0, 0.040), "iec61008-times")
SELECTIVE = TripTimes(
    "times-selective", (0.130, 0.500), (0.060, 0.200), (0.050, 0.150), "iec61008-times"
)

TYPICAL_TRIP = Figure(
    "typical-trip", 0.8, "x rating", "rcd-typical", 20 / 30, 28 / 30, note="sound, on sine current"
)
HALF_HOLD = Figure("half-hold", 2.0, "s", "rcd-college", note="at half the rating, no trip in 2 s")
BS4293_ONE = Figure("bs4293-one", 0.200, "s", "rcd-college")
FIVE_TIMES_30MA = Figure("five-times", 0.040, "s", "rcd-150", note="at 150 mA")
ADDITIONAL_RATING = Figure("additional-protection", 0.030, "A", "rcd-150")
TEST_BUTTON_MONTHS = Figure("test-button", 3.0, "months", "rcd-college")
STANDING_SHARE = Figure("standing-leakage-share", 0.30, "x rating", "standing-30")

GFCI_HOLD = Figure("gfci-hold", 0.004, "A", "gfci-classA")
GFCI_TRIP = Figure("gfci-trip", 0.006, "A", "gfci-classA")
GFCI_TIME_LOW = Figure("gfci-time-low", 0.006, "A", "ul943-time")
GFCI_TIME_HIGH = Figure("gfci-time-high", 0.264, "A", "ul943-time")
GFPE_TRIP = Figure("gfpe-trip", 0.030, "A", "gfpe")

TESTS_REQUIRED = MappingProxyType(
    {
        "2022": (("1x ac",), ("0.5x", "5x", "180 degrees")),
        "2018": (("1x", "5x"), ("0.5x", "180 degrees")),
    }
)
"""(required, optional) tests by edition; from 2022 one a.c. test, whatever the type."""
TESTS_SOURCE = "rcd-a2"


def trip_band(type: str, waveform: Waveform = "sine") -> TripBand | None:
    """The band of a type for a waveform; None when the type cannot see it. Raises: NotInTable."""
    if type not in SEES:
        raise NotInTable("residual device types", type, SEES)
    return BANDS[waveform] if waveform in SEES[type] else None


def trip_limits(rating_A: float, waveform: Waveform = "sine") -> tuple[float, float]:
    """(must hold below, must trip from) in amperes for a sound device that sees the waveform."""
    band = BANDS[waveform]
    return band.hold * rating_A, band.trip * rating_A


def trip_chance(residual_A: float, rating_A: float) -> float:
    """Chance that a sound device has tripped on sine current: 0 below half, 1 from the rating.

    Between, a normal spread about its typical trip point, cut off and scaled at both ends.
    """
    share = residual_A / rating_A
    if share < SINE.hold:
        return 0.0
    if share >= SINE.trip:
        return 1.0
    sigma = (TYPICAL_TRIP.high - TYPICAL_TRIP.low) / (2 * 1.645)

    def below(at: float) -> float:
        return 0.5 * math.erfc((TYPICAL_TRIP.value - at) / (sigma * math.sqrt(2.0)))

    return (below(share) - below(SINE.hold)) / (below(SINE.trip) - below(SINE.hold))


def gfci_time(residual_A: float) -> float:
    """Longest opening time of a class A ground-fault device, seconds: (20 / I mA)^1.43.

    Raises: OutOfRange outside 6 to 264 mA.
    """
    if not GFCI_TIME_LOW.value <= residual_A <= GFCI_TIME_HIGH.value:
        raise OutOfRange(f"{1000 * residual_A:g} mA: the curve serves 6 to 264 mA")
    time: float = (0.020 / residual_A) ** 1.43
    return time


def phasor_sum(resistive_A: float, capacitive_A: float) -> float:
    """Two leakages a quarter turn apart add as √(a² + b²), amperes, not as a + b."""
    return math.hypot(resistive_A, capacitive_A)


def standing_allowance(rating_A: float) -> float:
    """Standing leakage that a device should not exceed in service, amperes."""
    return STANDING_SHARE.value * rating_A
