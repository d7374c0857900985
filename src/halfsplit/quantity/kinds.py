"""The kinds of quantity: unit words with their factors, and an example of each to show."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Kind:
    """What one parser takes: its unit, unit words with their factors, and an example to show."""

    unit: str
    words: Mapping[str, float]
    default: str
    example: str
    negative: bool = False
    over_words: bool = False
    refused: tuple[str, ...] = ()

    def factor(self, word: str) -> float | None:
        """The multiplier for a unit word; letter case is forgiven only where it cannot mislead."""
        if word in self.words:
            return self.words[word]
        if word in self.refused:
            return None
        folded = {f for key, f in self.words.items() if key.casefold() == word.casefold()}
        return folded.pop() if len(folded) == 1 else None


_PREFIX = {
    "p": 1e-12,
    "n": 1e-9,
    "µ": 1e-6,
    "u": 1e-6,
    "m": 1e-3,
    "": 1.0,
    "k": 1e3,
    "M": 1e6,
}


def _prefixed(names: tuple[str, ...], prefixes: str) -> dict[str, float]:
    found = dict.fromkeys(names, 1.0)
    for prefix in prefixes:
        found |= {prefix + name: _PREFIX[prefix] for name in names}
    return found


FOOT = 0.3048
LENGTH = Kind(
    "m",
    {
        "m": 1.0,
        "metre": 1.0,
        "metres": 1.0,
        "meter": 1.0,
        "meters": 1.0,
        "cm": 0.01,
        "mm": 0.001,
    }
    | {"km": 1000.0, "ft": FOOT, "foot": FOOT, "feet": FOOT, "'": FOOT, "′": FOOT}
    | {"in": FOOT / 12, "inch": FOOT / 12, "inches": FOOT / 12, "yd": 3 * FOOT},
    "m",
    'a length such as "8 m", "about 6 m", "25 ft", "5 to 8 m" or "unknown"',
)
_OHM_NAMES = ("ohm", "ohms", "Ω")
_OHM_WORDS = _prefixed(_OHM_NAMES, "mµukM") | {"R": 1.0, "k": 1e3, "K": 1e3, "kR": 1e3}
_MEGOHM_WORDS = {
    "M": 1e6,
    "Meg": 1e6,
    "MegΩ": 1e6,
    "megohm": 1e6,
    "megohms": 1e6,
    "MR": 1e6,
} | {
    "G": 1e9,
    "GΩ": 1e9,
    "Gohm": 1e9,
    "Gohms": 1e9,
    "gigohm": 1e9,
    "gigohms": 1e9,
}
OHMS = Kind(
    "ohm",
    _OHM_WORDS | _MEGOHM_WORDS,
    "ohm",
    'a resistance such as "0.34", "0.34 ohm", "34 kΩ", "1.2 MΩ", "120 mΩ", ">200 MΩ" or "OL"',
    over_words=True,
)
MEGOHMS = Kind(
    "ohm",
    {w: f for w, f in (_OHM_WORDS | _MEGOHM_WORDS).items() if f >= 1.0 and w != "R"},
    "M",
    'an insulation resistance in megohms such as "200", ">999", "0.4 MΩ", "34 kΩ" or "over range"',
    over_words=True,
    refused=tuple(f"m{name}" for name in _OHM_NAMES),
)
WATTS = Kind(
    "W",
    _prefixed(("W", "watt", "watts"), "mkM") | {"VA": 1.0, "kVA": 1e3},
    "W",
    'a power such as "60 W", "2 kW" or "about 2 kW"',
)
VOLTS = Kind(
    "V",
    _prefixed(("V", "volt", "volts"), "mµuk") | {"Vac": 1.0, "Vdc": 1.0},
    "V",
    'a voltage such as "236", "0.8 V", "25 mV", "about 60 V" or "<1 V"',
    negative=True,
)
AMPS = Kind(
    "A",
    _prefixed(("A", "amp", "amps", "ampere", "amperes"), "mµuk"),
    "A",
    'a current such as "16 A", "30 mA", "70 µA" or "about 4 mA"',
    negative=True,
)
SECONDS = Kind(
    "s",
    _prefixed(("s", "sec", "second", "seconds"), "mµu")
    | {
        "min": 60.0,
        "minute": 60.0,
        "minutes": 60.0,
        "mins": 60.0,
        "secs": 1.0,
        "h": 3600.0,
        "hour": 3600.0,
        "hours": 3600.0,
    },
    "s",
    'a time such as "0.4 s", "25 ms", "2 min" or ">300 ms"',
    over_words=True,
)
FARADS = Kind(
    "F",
    _prefixed(("F", "farad", "farads"), "pnµum"),
    "F",
    'a capacitance such as "4.7 nF", "100 pF" or "0.1 µF"',
)
HERTZ = Kind("Hz", {"Hz": 1.0, "kHz": 1e3}, "Hz", 'a frequency such as "50 Hz"')
PERCENT = Kind(
    "fraction",
    {"%": 0.01, "percent": 0.01, "per cent": 0.01, "pc": 0.01},
    "%",
    'a percentage such as "5 %" or "about 30 %"',
    negative=True,
)
MM2 = Kind(
    "mm2",
    dict.fromkeys(("mm²", "mm2", "mm^2", "sq mm", "sqmm", "mm sq", "square mm", "mm"), 1.0),
    "mm²",
    'a conductor size such as "2.5", "2.5 mm²", "12 AWG", "#12" or "1/0 AWG"',
)
