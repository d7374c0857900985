"""Supplies: voltage bands by region and edition, live conductors, external impedances.

Voltages in volts RMS, impedances in ohms, angles in degrees.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass
from types import MappingProxyType

from halfsplit.errors import NotInTable
from halfsplit.tables.source import Figure


@dataclass(frozen=True, slots=True)
class Band:
    """A voltage band: outside ``low`` to ``high`` the supply (or the use of it) is out of order."""

    id: str
    region: str
    edition: str
    nominal: float
    low: float
    high: float
    source: str
    what: str = "at the supply terminals"

    def holds(self, volts: float) -> bool:
        """Whether a voltage lies in the band, ends included."""
        return self.low <= volts <= self.high


BANDS = MappingProxyType(
    {
        band.id: band
        for band in (
            Band("uk", "uk", "since 1995", 230.0, 216.2, 253.0, "esqcr-2002"),
            Band("uk-240", "uk", "before 1995", 240.0, 225.6, 254.4, "uk-pre-1995"),
            Band(
                "eu-95",
                "eu",
                "EN 50160",
                230.0,
                207.0,
                253.0,
                "en50160",
                "10-minute means, 95 % of the week",
            ),
            Band(
                "eu-100",
                "eu",
                "EN 50160",
                230.0,
                195.5,
                253.0,
                "en50160",
                "10-minute means, all the week",
            ),
            Band("us-outlet", "us", "practice", 120.0, 114.0, 126.0, "us-outlet", "at an outlet"),
            Band("us-A-service", "us", "C84.1 range A", 120.0, 114.0, 126.0, "ansi-c84.1"),
            Band(
                "us-A-use",
                "us",
                "C84.1 range A",
                120.0,
                108.0,
                126.0,
                "ansi-c84.1",
                "at the equipment",
            ),
            Band("us-B-service", "us", "C84.1 range B", 120.0, 110.0, 127.0, "ansi-c84.1"),
            Band(
                "us-B-use",
                "us",
                "C84.1 range B",
                120.0,
                104.0,
                127.0,
                "ansi-c84.1",
                "at the equipment",
            ),
            Band("us-illinois", "us", "83 IAC 410.300", 120.0, 113.0, 127.0, "illinois"),
            Band("iec-230", "au", "IEC 60038", 230.0, 207.0, 253.0, "iec60038"),
        )
    }
)

_DEFAULT_BAND = MappingProxyType({"uk": "uk", "eu": "eu-95", "us": "us-A-service", "au": "iec-230"})

C84_SHORT_HIGH = Figure("c84-short-high", 0.06, "fraction", "c84.1-guide")
C84_SHORT_LOW = Figure("c84-short-low", 0.13, "fraction", "c84.1-guide")


def band(region: str) -> Band:
    """The band a supply in that region is held to today. Raises: NotInTable."""
    try:
        return BANDS[_DEFAULT_BAND[region]]
    except KeyError:
        raise NotInTable("voltage bands", region, _DEFAULT_BAND) from None


FREQUENCY_HZ = MappingProxyType(
    {
        "uk": Figure("frequency-uk", 50.0, "Hz", "frequency"),
        "eu": Figure("frequency-eu", 50.0, "Hz", "frequency"),
        "au": Figure("frequency-au", 50.0, "Hz", "frequency"),
        "us": Figure("frequency-us", 60.0, "Hz", "frequency"),
    }
)


@dataclass(frozen=True, slots=True)
class LiveSystem:
    """The live conductors of a supply: each line against its neutral (or centre tap).

    ``lines`` holds (name, volts RMS, angle in degrees); ``frequency`` is in hertz.
    ``neutral`` tells whether a neutral is brought out; without one the point is the transformer's
    own star or centre.
    """

    id: str
    words: str
    lines: tuple[tuple[str, float, float], ...]
    frequency: float
    neutral: bool = True
    source: str = "live-systems"

    def phasor(self, line: str) -> complex:
        """Voltage of that line against neutral, V RMS. Raises: NotInTable."""
        for name, size, angle in self.lines:
            if name == line:
                return cmath.rect(size, math.radians(angle))
        raise NotInTable(self.id, line, (name for name, _, _ in self.lines))

    def between(self, first: str, second: str) -> float:
        """Volts RMS between two lines."""
        return abs(self.phasor(first) - self.phasor(second))


def _star(id: str, words: str, volts: float, frequency: float) -> LiveSystem:
    lines = (("L1", volts, 0.0), ("L2", volts, -120.0), ("L3", volts, 120.0))
    return LiveSystem(id, words, lines, frequency)


_HIGH_LEG = 120.0 * math.sqrt(3.0)

LIVE_SYSTEMS = MappingProxyType(
    {
        system.id: system
        for system in (
            LiveSystem("230", "single phase 230 V", (("L", 230.0, 0.0),), 50.0),
            LiveSystem("240", "single phase 240 V", (("L", 240.0, 0.0),), 50.0),
            LiveSystem("120", "single phase 120 V", (("L", 120.0, 0.0),), 60.0),
            LiveSystem(
                "120/240",
                "split phase 120/240 V",
                (("L1", 120.0, 0.0), ("L2", 120.0, 180.0)),
                60.0,
            ),
            _star("400/230", "three phase 400/230 V", 230.0, 50.0),
            _star("415/240", "three phase 415/240 V", 240.0, 50.0),
            _star("208Y/120", "three phase 208Y/120 V", 120.0, 60.0),
            _star("480Y/277", "three phase 480Y/277 V", 277.0, 60.0),
            LiveSystem(
                "high-leg",
                "high-leg delta 120/240 V",
                (("A", 120.0, 0.0), ("B", _HIGH_LEG, 90.0), ("C", 120.0, 180.0)),
                60.0,
            ),
            LiveSystem(
                "110 CTE",
                "110 V centre-tapped to earth",
                (("L1", 55.0, 0.0), ("L2", 55.0, 180.0)),
                50.0,
                neutral=False,
            ),
            LiveSystem(
                "100/200",
                "split phase 100/200 V",
                (("L1", 100.0, 0.0), ("L2", 100.0, 180.0)),
                50.0,
            ),
        )
    }
)


def live_system(id: str) -> LiveSystem:
    """The supply's live conductors by short name. Raises: NotInTable."""
    try:
        return LIVE_SYSTEMS[id]
    except KeyError:
        raise NotInTable("live systems", id, LIVE_SYSTEMS) from None


ZE_DECLARED = MappingProxyType(
    {
        "TN-S": Figure("ze-declared-tn-s", 0.8, "ohm", "ze-declared"),
        "TN-C-S": Figure("ze-declared-tn-c-s", 0.35, "ohm", "ze-0.35"),
        "TT": Figure(
            "ze-declared-tt", 21.0, "ohm", "ze-declared", note="the distributor's electrode"
        ),
    }
)
"""Greatest external loop impedance usually declared: a guide, not a limit of the rules."""

ZE_TYPICAL = MappingProxyType(
    {
        "TN-S": Figure("ze-typical-tn-s", 0.35, "ohm", "ze-range", 0.12, 0.8),
        "TN-C-S": Figure("ze-typical-tn-c-s", 0.2, "ohm", "ze-range", 0.08, 0.35),
        "TN-C": Figure("ze-typical-tn-c", 0.2, "ohm", "ze-range", 0.08, 0.35),
        "TT": Figure("ze-typical-tt", 60.0, "ohm", "ze-range", 10.0, 200.0),
    }
)
"""What a sound supply's loop usually is; the middle nine tenths, for use as a prior."""

LINE_IMPEDANCE = Figure(
    "line-source-impedance", 0.1, "ohm", "ze-range", 0.03, 0.3, note="line alone, to the origin"
)
DISTRIBUTOR_ELECTRODE = Figure("distributor-electrode", 10.0, "ohm", "ze-range", 2.0, 21.0)
CONSUMER_ELECTRODE = Figure("consumer-electrode", 60.0, "ohm", "ze-range", 10.0, 200.0)
ELECTRODE_STABLE_MAX = Figure("electrode-stable-max", 200.0, "ohm", "tt-200")
SHORT_CIRCUIT_DECLARED = Figure("pscc-declared", 16_000.0, "A", "ze-declared")
TOUCH_LIMIT_TT = Figure("touch-limit-tt", 50.0, "V", "tt-inverse")

SOURCE_Z_MEASURED = Figure("source-z-measured", 0.31, "ohm", "source-z-jp", note="a 100 V supply")


def electrode_limit(rating_A: float, touch_V: float = 50.0) -> float:
    """Greatest electrode resistance for a residual device: touch limit over rating, ohms."""
    return touch_V / rating_A


def residual_rating_limit(electrode_ohm: float, touch_V: float = 50.0) -> float:
    """Greatest residual rating in amperes that an electrode of that resistance allows."""
    return touch_V / electrode_ohm


def electrode_verdict(electrode_ohm: float, rating_A: float) -> str:
    """ "complies", "complies, but may not stay stable" (above 200 Ω) or "fails"."""
    if electrode_ohm > electrode_limit(rating_A):
        return "fails"
    if electrode_ohm > ELECTRODE_STABLE_MAX.value:
        return "complies, but may not stay stable"
    return "complies"


def source_impedance(open_V: float, loaded_V: float, load_A: float) -> float:
    """Supply impedance from one load step: (V0 - V1) / I, ohms."""
    return (open_V - loaded_V) / load_A
