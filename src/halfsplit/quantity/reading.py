"""Read quantities as people write them: "about 6 m", "25 ft", "OL", ">999", "2,5 mm²"."""

from __future__ import annotations

import math
import re

from halfsplit.errors import BadQuantity
from halfsplit.quantity.kinds import (
    AMPS,
    FARADS,
    FOOT,
    HERTZ,
    LENGTH,
    MEGOHMS,
    MM2,
    OHMS,
    PERCENT,
    SECONDS,
    VOLTS,
    WATTS,
    Kind,
)
from halfsplit.quantity.value import Quantity

ABOUT_SPREAD = 0.2
"""Log standard deviation meant by "about" (judgement: nine in ten within a factor of 1.4)."""

_RANGE_Z = 1.645  # "5 to 8 m" is taken as the middle nine tenths (judgement)


def parse_length(given: object) -> Quantity:
    """A length in metres. Raises: BadQuantity, showing the text and an example."""
    if isinstance(given, str):
        feet = _FEET_INCHES.fullmatch(_tidy(given))
        if feet:
            inches = float(feet["inch"])
            return Quantity(FOOT * (float(feet["feet"]) + inches / 12), "m", text=given)
    return _parse(given, LENGTH)


def parse_size(given: object) -> Quantity:
    """A conductor size in mm² (unit ``mm2``), or a gauge number (unit ``AWG``; 1/0 is 0, 2/0 -1).

    Raises: BadQuantity, showing the text and an example.
    """
    if isinstance(given, str):
        gauge = _GAUGE.fullmatch(_tidy(given))
        if gauge:
            return _gauge(given, gauge)
    size = _parse(given, MM2)
    if not size.unknown and not size.value > 0.0:
        raise BadQuantity(str(given), MM2.example)
    return size


def parse_ohms(given: object) -> Quantity:
    """A resistance in ohms; a bare number is ohms. Raises: BadQuantity."""
    return _parse(given, OHMS)


def parse_megohms(given: object) -> Quantity:
    """An insulation resistance in ohms; a bare number is *megohms*. Raises: BadQuantity.

    Milliohms are refused: on an insulation test "mΩ" is nearly always a slip for "MΩ".
    """
    return _parse(given, MEGOHMS)


def parse_watts(given: object) -> Quantity:
    """A power in watts. Raises: BadQuantity."""
    return _parse(given, WATTS)


def parse_volts(given: object) -> Quantity:
    """A voltage in volts, either sign. Raises: BadQuantity."""
    return _parse(given, VOLTS)


def parse_amps(given: object) -> Quantity:
    """A current in amperes, either sign. Raises: BadQuantity."""
    return _parse(given, AMPS)


def parse_seconds(given: object) -> Quantity:
    """A time in seconds. Raises: BadQuantity."""
    return _parse(given, SECONDS)


def parse_farads(given: object) -> Quantity:
    """A capacitance in farads. Raises: BadQuantity."""
    return _parse(given, FARADS)


def parse_hertz(given: object) -> Quantity:
    """A frequency in hertz. Raises: BadQuantity."""
    return _parse(given, HERTZ)


def parse_percent(given: object) -> Quantity:
    """A percentage as a fraction: "5 %" and "5" both give 0.05. Raises: BadQuantity."""
    return _parse(given, PERCENT)


_ABOUT = re.compile(r"(?:about|approximately|approx\.?|around|roughly|circa|ca?\.|~|≈)\s*", re.I)
_OVER = re.compile(r"(?:>=?|≥|over|above|more than|greater than|at least)\s*(?=[-+.\d])", re.I)
_BETWEEN = re.compile(r"between\s+(?P<low>.+?)\s+and\s+(?P<high>.+)", re.I)
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
_WITHIN = re.compile(
    rf"(?P<middle>{_NUMBER})\s*(?P<own>[^\d\s±+-]*)\s*(?:±|\+/-|\+-|plus or minus)\s*"
    rf"(?P<by>{_NUMBER})\s*{_UNIT}"
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


def _parse(given: object, kind: Kind) -> Quantity:
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
    body = _BETWEEN.sub(r"\g<low> to \g<high>", body)
    spread, over, under = 0.0, False, False
    if lead := _ABOUT.match(body):
        body, spread = body[lead.end() :], ABOUT_SPREAD
    if lead := _OVER.match(body):
        body, over = body[lead.end() :], True
    elif lead := _UNDER.match(body):
        body, under = body[lead.end() :], True
    if not over and not under and (span := _SPAN.fullmatch(body)):
        return _span(span, kind, text)
    if not over and not under and (within := _WITHIN.fullmatch(body)):
        return _within(within, kind, text)
    value = _value(body, kind, text)
    return Quantity(value, kind.unit, spread, over, under, text)


def _value(body: str, kind: Kind, text: str) -> float:
    found = _ONE.fullmatch(body)
    if not found:
        raise BadQuantity(text, kind.example)
    factor = kind.factor(found["unit"].strip() or kind.default)
    if factor is None:
        raise BadQuantity(text, kind.example)
    return _scaled(found["number"], factor, kind, text)


def _scaled(number: str, factor: float, kind: Kind, text: str) -> float:
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


def _span(span: re.Match[str], kind: Kind, text: str) -> Quantity:
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


def _within(found: re.Match[str], kind: Kind, text: str) -> Quantity:
    """ "0.54 ± 0.05 ohm" or "230 V ± 2 %": the ends as the middle nine tenths."""
    unit, own = found["unit"].strip(), found["own"]
    share = unit == "%" and kind.default != "%"
    middle = _value(f"{found['middle']} {own or ('' if share else unit)}", kind, text)
    by = _value(f"{found['by']} {unit or own}", PERCENT if share else kind, text)
    part = by if share else by / abs(middle) if middle else 1.0
    if not 0.0 < part < 1.0:
        raise BadQuantity(text, f"{kind.example}; what follows ± is smaller than the value")
    return Quantity(middle, kind.unit, part / _RANGE_Z, text=text)


def _gauge(given: str, gauge: re.Match[str]) -> Quantity:
    digits = gauge["number"] or gauge["hash"] or gauge["after"]
    number = 1 - int(digits.split("/")[0]) if gauge["oughts"] else int(digits)
    if set(digits) == {"0"}:  # 0, 00, 000, 0000: older ways to write 1/0 to 4/0
        number = 1 - len(digits)
    if not -3 <= number <= 40:
        raise BadQuantity(given, MM2.example)
    return Quantity(float(number), "AWG", text=given)


def _unknown(kind: Kind, text: str) -> Quantity:
    return Quantity(math.nan, kind.unit, math.inf, text=text, unknown=True)
