"""Trade quantities: read them as people write them, print them as people read them.

SI inside, trade units at the edges. A parsed :class:`Quantity` carries its value, how sure the
person was (``spread``), and whether an instrument showed it as over or under its range. Sizes are
the one exception to SI: mm², or a gauge number marked ``AWG``.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

from halfsplit.errors import BadQuantity

ABOUT_SPREAD = 0.2
"""Log standard deviation meant by "about" (judgement: nine in ten within a factor of 1.4)."""

_RANGE_Z = 1.645  # "5 to 8 m" is taken as the middle nine tenths (judgement)


@dataclass(frozen=True, slots=True)
class Quantity:
    """One value with its unit and how well it is known.

    ``value`` is SI (``unit`` one of m, W, V, A, ohm, s, F, Hz, fraction) or a size (mm2, AWG);
    infinite when an instrument showed only "over range", NaN when ``unknown``. ``spread`` is the
    standard deviation of its natural logarithm: 0 exact, infinite when unknown. ``over`` and
    ``under`` mean the true value lies beyond ``value`` on that side. ``text`` is what was written.
    """

    value: float
    unit: str
    spread: float = 0.0
    over: bool = False
    under: bool = False
    text: str = ""
    unknown: bool = False

    @property
    def exact(self) -> bool:
        """Whether it was stated plainly, without "about", a limit or "unknown"."""
        return not (self.unknown or self.over or self.under) and self.spread == 0.0

    def __str__(self) -> str:
        if self.unknown:
            return "unknown"
        if self.over and math.isinf(self.value):
            return "over range"
        lead = "over " if self.over else "under " if self.under else ""
        if not lead and self.spread > 0.0:
            lead = "about "
        return lead + _PRINTERS[self.unit](self.value)


@dataclass(frozen=True, slots=True)
class _Kind:
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


_FOOT = 0.3048
_LENGTH = _Kind(
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
    | {"km": 1000.0, "ft": _FOOT, "foot": _FOOT, "feet": _FOOT, "'": _FOOT, "′": _FOOT}
    | {"in": _FOOT / 12, "inch": _FOOT / 12, "inches": _FOOT / 12, "yd": 3 * _FOOT},
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
_OHMS = _Kind(
    "ohm",
    _OHM_WORDS | _MEGOHM_WORDS,
    "ohm",
    'a resistance such as "0.34", "0.34 ohm", "34 kΩ", "1.2 MΩ", "120 mΩ", ">200 MΩ" or "OL"',
    over_words=True,
)
_MEGOHMS = _Kind(
    "ohm",
    {w: f for w, f in (_OHM_WORDS | _MEGOHM_WORDS).items() if f >= 1.0 and w != "R"},
    "M",
    'an insulation resistance in megohms such as "200", ">999", "0.4 MΩ", "34 kΩ" or "over range"',
    over_words=True,
    refused=tuple(f"m{name}" for name in _OHM_NAMES),
)
_WATTS = _Kind(
    "W",
    _prefixed(("W", "watt", "watts"), "mkM") | {"VA": 1.0, "kVA": 1e3},
    "W",
    'a power such as "60 W", "2 kW" or "about 2 kW"',
)
_VOLTS = _Kind(
    "V",
    _prefixed(("V", "volt", "volts"), "mµuk") | {"Vac": 1.0, "Vdc": 1.0},
    "V",
    'a voltage such as "236", "0.8 V", "25 mV", "about 60 V" or "<1 V"',
    negative=True,
)
_AMPS = _Kind(
    "A",
    _prefixed(("A", "amp", "amps", "ampere", "amperes"), "mµuk"),
    "A",
    'a current such as "16 A", "30 mA", "70 µA" or "about 4 mA"',
    negative=True,
)
_SECONDS = _Kind(
    "s",
    _prefixed(("s", "sec", "second", "seconds"), "mµu")
    | {
        "min": 60.0,
        "minute": 60.0,
        "minutes": 60.0,
        "h": 3600.0,
        "hour": 3600.0,
        "hours": 3600.0,
    },
    "s",
    'a time such as "0.4 s", "25 ms", "2 min" or ">300 ms"',
    over_words=True,
)
_FARADS = _Kind(
    "F",
    _prefixed(("F", "farad", "farads"), "pnµum"),
    "F",
    'a capacitance such as "4.7 nF", "100 pF" or "0.1 µF"',
)
_HERTZ = _Kind("Hz", {"Hz": 1.0, "kHz": 1e3}, "Hz", 'a frequency such as "50 Hz"')
_PERCENT = _Kind(
    "fraction",
    {"%": 0.01, "percent": 0.01, "per cent": 0.01, "pc": 0.01},
    "%",
    'a percentage such as "5 %" or "about 30 %"',
    negative=True,
)
_MM2 = _Kind(
    "mm2",
    dict.fromkeys(("mm²", "mm2", "mm^2", "sq mm", "sqmm", "mm sq", "square mm", "mm"), 1.0),
    "mm²",
    'a conductor size such as "2.5", "2.5 mm²", "12 AWG", "#12" or "1/0 AWG"',
)


def parse_length(given: object) -> Quantity:
    """A length in metres. Raises: BadQuantity, showing the text and an example."""
    if isinstance(given, str):
        feet = _FEET_INCHES.fullmatch(_tidy(given))
        if feet:
            inches = float(feet["inch"])
            return Quantity(_FOOT * (float(feet["feet"]) + inches / 12), "m", text=given)
    return _parse(given, _LENGTH)


def parse_size(given: object) -> Quantity:
    """A conductor size in mm² (unit ``mm2``), or a gauge number (unit ``AWG``; 1/0 is 0, 2/0 -1).

    Raises: BadQuantity, showing the text and an example.
    """
    if isinstance(given, str):
        gauge = _GAUGE.fullmatch(_tidy(given))
        if gauge:
            return _gauge(given, gauge)
    size = _parse(given, _MM2)
    if not size.unknown and not size.value > 0.0:
        raise BadQuantity(str(given), _MM2.example)
    return size


def parse_ohms(given: object) -> Quantity:
    """A resistance in ohms; a bare number is ohms. Raises: BadQuantity."""
    return _parse(given, _OHMS)


def parse_megohms(given: object) -> Quantity:
    """An insulation resistance in ohms; a bare number is *megohms*. Raises: BadQuantity.

    Milliohms are refused: on an insulation test "mΩ" is nearly always a slip for "MΩ".
    """
    return _parse(given, _MEGOHMS)


def parse_watts(given: object) -> Quantity:
    """A power in watts. Raises: BadQuantity."""
    return _parse(given, _WATTS)


def parse_volts(given: object) -> Quantity:
    """A voltage in volts, either sign. Raises: BadQuantity."""
    return _parse(given, _VOLTS)


def parse_amps(given: object) -> Quantity:
    """A current in amperes, either sign. Raises: BadQuantity."""
    return _parse(given, _AMPS)


def parse_seconds(given: object) -> Quantity:
    """A time in seconds. Raises: BadQuantity."""
    return _parse(given, _SECONDS)


def parse_farads(given: object) -> Quantity:
    """A capacitance in farads. Raises: BadQuantity."""
    return _parse(given, _FARADS)


def parse_hertz(given: object) -> Quantity:
    """A frequency in hertz. Raises: BadQuantity."""
    return _parse(given, _HERTZ)


def parse_percent(given: object) -> Quantity:
    """A percentage as a fraction: "5 %" and "5" both give 0.05. Raises: BadQuantity."""
    return _parse(given, _PERCENT)


_ABOUT = re.compile(r"(?:about|approximately|approx\.?|around|roughly|circa|ca?\.|~|≈)\s*", re.I)
_OVER = re.compile(r"(?:>=?|≥|over|above|more than|greater than|at least)\s*(?=[-+.\d])", re.I)
_UNDER = re.compile(r"(?:<=?|≤|under|below|less than|at most|up to)\s*(?=[-+.\d])", re.I)
_OVER_RANGE = re.compile(
    r"(?:o\.?l\.?|o/l|o/r|over(?:[ -]?range|load)?|infinit[ey]|\+?\.?inf|∞|open|open circuit)"
    r"(?:\s*[kMmG]?(?:Ω|ohms?))?",
    re.I,
)
_UNKNOWN = re.compile(r"unknown|not known|unsure|don'?t know|\?+", re.I)
_NUMBER = r"[-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d+)?"
_UNIT = r"(?P<unit>mm\^?2|\D*)"
_ONE = re.compile(rf"(?P<number>{_NUMBER})\s*{_UNIT}")
_SPAN = re.compile(
    rf"(?P<low>{_NUMBER})\s*(?P<lowunit>[^\d\s.,+-]*)\s*(?:to|-|–|…|\.\.)\s*"
    rf"(?P<high>{_NUMBER})\s*{_UNIT}"
)
_FEET_INCHES = re.compile(
    r"(?P<feet>\d+(?:\.\d+)?)\s*(?:ft|feet|foot|'|′)\s*(?P<inch>\d+(?:\.\d+)?)"
    r"\s*(?:in|inch|inches|\"|″)?"
)
_GAUGE = re.compile(
    r"(?:(?:no\.?|#)?\s*(?P<number>\d+(?P<oughts>/0)?)\s*(?:AWG|gauge|ga\.?)"
    r"|#\s*(?P<hash>\d+)|AWG\s*(?P<after>\d+))",
    re.I,
)
_LONG_TAIL = re.compile(r"[-+]?[1-9]\d{0,2},\d{3}(?:[eE].*)?")  # 1,234 could be two numbers


def _tidy(text: str) -> str:
    for old, new in (
        ("\u00a0", " "),
        ("\u202f", " "),
        ("−", "-"),
        ("\u2126", "Ω"),
        ("μ", "µ"),
    ):
        text = text.replace(old, new)
    return " ".join(text.split())


def _parse(given: object, kind: _Kind) -> Quantity:
    """Read anything a form may hold: text, a number, or nothing at all."""
    if given is None:
        return _unknown(kind, "")
    if isinstance(given, bool) or not isinstance(given, (str, int, float)):
        raise BadQuantity(str(given), kind.example)
    text = str(given)
    body = _tidy(text)
    if _UNKNOWN.fullmatch(body):
        return _unknown(kind, text)
    if _OVER_RANGE.fullmatch(body):
        if not kind.over_words:
            raise BadQuantity(text, kind.example)
        return Quantity(math.inf, kind.unit, over=True, text=text)
    spread, over, under = 0.0, False, False
    if lead := _ABOUT.match(body):
        body, spread = body[lead.end() :], ABOUT_SPREAD
    if lead := _OVER.match(body):
        body, over = body[lead.end() :], True
    elif lead := _UNDER.match(body):
        body, under = body[lead.end() :], True
    if not over and not under and (span := _SPAN.fullmatch(body)):
        return _span(span, kind, text)
    value = _value(body, kind, text)
    return Quantity(value, kind.unit, spread, over, under, text)


def _value(body: str, kind: _Kind, text: str) -> float:
    found = _ONE.fullmatch(body)
    if not found:
        raise BadQuantity(text, kind.example)
    factor = kind.factor(found["unit"].strip() or kind.default)
    if factor is None:
        raise BadQuantity(text, kind.example)
    return _scaled(found["number"], factor, kind, text)


def _scaled(number: str, factor: float, kind: _Kind, text: str) -> float:
    """The value in SI. Division by a round number keeps "120 mΩ" exactly 0.12."""
    if _LONG_TAIL.fullmatch(number):
        raise BadQuantity(
            text,
            f"{kind.example}; a comma before three digits is unclear, write 1234 or 1.234",
        )
    plain = float(number.replace(",", "."))
    inverse = round(1.0 / factor) if factor < 1.0 else 0
    value = plain / inverse if inverse and 1.0 / inverse == factor else plain * factor
    if not math.isfinite(value) or (value < 0.0 and not kind.negative):
        raise BadQuantity(text, kind.example)
    return value


def _span(span: re.Match[str], kind: _Kind, text: str) -> Quantity:
    """ "5 to 8 m": the geometric middle, with the ends as the middle nine tenths."""
    high_factor = kind.factor(span["unit"].strip() or kind.default)
    low_factor = kind.factor(span["lowunit"]) if span["lowunit"] else high_factor
    if low_factor is None or high_factor is None:
        raise BadQuantity(text, kind.example)
    low = _scaled(span["low"], low_factor, kind, text)
    high = _scaled(span["high"], high_factor, kind, text)
    if not 0.0 < low < high:
        raise BadQuantity(text, f"{kind.example}; a range runs from a smaller to a larger value")
    spread = math.log(high / low) / (2 * _RANGE_Z)
    return Quantity(math.sqrt(low * high), kind.unit, spread, text=text)


def _gauge(given: str, gauge: re.Match[str]) -> Quantity:
    digits = gauge["number"] or gauge["hash"] or gauge["after"]
    number = 1 - int(digits.split("/")[0]) if gauge["oughts"] else int(digits)
    if set(digits) == {"0"}:  # 0, 00, 000, 0000: older ways to write 1/0 to 4/0
        number = 1 - len(digits)
    if not -3 <= number <= 40:
        raise BadQuantity(given, _MM2.example)
    return Quantity(float(number), "AWG", text=given)


def _unknown(kind: _Kind, text: str) -> Quantity:
    return Quantity(math.nan, kind.unit, math.inf, text=text, unknown=True)


# Printing


def ohms(value: float) -> str:
    """A resistance as a tester shows it: 28 mΩ, 0.34 Ω, 34 kΩ, 1.2 MΩ, over 999 MΩ."""
    size = abs(value)
    if size >= 999.5e6:
        return "over 999 MΩ" if value > 0 else "under -999 MΩ"
    if size < 5e-7:
        return "0 Ω"
    if size < 0.05:
        return _stepped(value, (("mΩ", 1e-3),), digits=2)
    if size < 10.0:
        return f"{_trim(f'{value:.2f}')} Ω"
    return _stepped(value, (("Ω", 1.0), ("kΩ", 1e3), ("MΩ", 1e6)), digits=3)


def volts(value: float) -> str:
    """A voltage: 236 V, 12.3 V, 0.8 V, 3 mV."""
    if abs(value) < 5e-5:
        return "0 V"
    return _stepped(value, (("mV", 1e-3), ("V", 0.1), ("kV", 1e4)), digits=3)


def amps(value: float) -> str:
    """A current: 16 A, 0.8 mA, 73 µA."""
    if abs(value) < 5e-8:
        return "0 A"
    return _stepped(value, (("µA", 1e-6), ("mA", 1e-4), ("A", 1.0), ("kA", 1e3)), digits=3)


def watts(value: float) -> str:
    """A power: 60 W, 2 kW, 0.5 W."""
    return _stepped(value, (("W", 1e-2), ("kW", 1e3), ("MW", 1e6)), digits=3)


def metres(value: float) -> str:
    """A length: 8 m, 8.5 m, 120 m, 0.35 m."""
    decimals = 0 if abs(value) >= 100 else 1 if abs(value) >= 1 else 2
    return f"{_trim(f'{value:.{decimals}f}')} m"


def seconds(value: float) -> str:
    """A time: 25 ms, 0.4 s, 5.6 s, 3 min."""
    if abs(value) >= 120.0:
        return f"{_significant(value / 60.0, 2)} min"
    return _stepped(value, (("ms", 1e-3), ("s", 0.1)), digits=3)


def farads(value: float) -> str:
    """A capacitance: 100 pF, 4.7 nF, 0.1 µF is shown as 100 nF."""
    return _stepped(value, (("pF", 1e-12), ("nF", 1e-9), ("µF", 1e-6)), digits=3)


def hertz(value: float) -> str:
    """A frequency: 50 Hz."""
    return f"{_significant(value, 3)} Hz"


def percent(fraction: float) -> str:
    """A fraction as a percentage, never rounded up to certainty or down to nothing.

    0.5 gives 50 %, 0.088 gives 8.8 %, 0.9996 gives over 99.9 %, 0.00004 gives under 0.01 %.
    """
    shown = 100.0 * fraction
    if shown in (0.0, 100.0):
        return f"{shown:.0f} %"
    if 0.0 < shown < 0.01:
        return "under 0.01 %"
    if 99.9 < shown < 100.0:
        return "over 99.9 %"
    if 99.0 < shown < 100.0 or abs(shown) < 9.95:
        return f"{_trim(f'{shown:.1f}' if abs(shown) >= 0.1 else f'{shown:.2f}')} %"
    return f"{shown:.0f} %"


def square_mm(value: float) -> str:
    """A metric size: 2.5 mm²."""
    return f"{_significant(value, 4)} mm²"


def gauge(value: float) -> str:
    """A gauge number: 12 AWG, 1/0 AWG."""
    number = round(value)
    return f"{number} AWG" if number > 0 else f"{1 - number}/0 AWG"


_PRINTERS = {
    "m": metres,
    "W": watts,
    "V": volts,
    "A": amps,
    "ohm": ohms,
    "s": seconds,
    "F": farads,
    "Hz": hertz,
    "fraction": percent,
    "mm2": square_mm,
    "AWG": gauge,
}


def _trim(text: str) -> str:
    trimmed = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if trimmed in ("-0", "") else trimmed


def _significant(value: float, digits: int) -> str:
    """A plain decimal with that many significant digits, no exponent, no trailing zeros."""
    if value == 0.0 or not math.isfinite(value):
        return "0" if value == 0.0 else str(value)
    decimals = digits - 1 - math.floor(math.log10(abs(value)))
    rounded = round(value, decimals)
    return _trim(f"{rounded:.{max(decimals, 0)}f}")


def _stepped(value: float, steps: tuple[tuple[str, float], ...], digits: int) -> str:
    """Pick the largest step not above the *rounded* value; a step below 1 still prints in units."""
    shown = float(_significant(value, digits)) if value else 0.0
    unit = steps[0][0]
    for name, floor in steps:
        if abs(shown) >= floor * (1 - 1e-12):
            unit = name
    scale = _SCALE.get(unit[0], 1.0) if len(unit) > 1 else 1.0
    return f"{_significant(value / scale, digits)} {unit}"


_SCALE = {"p": 1e-12, "n": 1e-9, "µ": 1e-6, "m": 1e-3, "k": 1e3, "M": 1e6}
