"""Quantities are read as people write them and printed as people read them."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit import quantity as q
from halfsplit.errors import BadQuantity
from halfsplit.quantity import Quantity

Parser = Callable[[object], Quantity]


@pytest.mark.parametrize(
    ("parse", "written", "value"),
    [
        (q.parse_length, "8 m", 8.0),
        (q.parse_length, 8, 8.0),
        (q.parse_length, "2,5 m", 2.5),
        (q.parse_length, "25 ft", 7.62),
        (q.parse_length, "25 ft 6 in", 7.7724),
        (q.parse_length, "6' 6\"", 1.9812),
        (q.parse_length, "350 mm", 0.35),
        (q.parse_size, "2.5", 2.5),
        (q.parse_size, "2.5 mm²", 2.5),
        (q.parse_size, "2.5 mm2", 2.5),
        (q.parse_size, "2.5 sq mm", 2.5),
        (q.parse_size, 4, 4.0),
        (q.parse_watts, "60 W", 60.0),
        (q.parse_watts, "2kw", 2000.0),
        (q.parse_volts, "-0.8 V", -0.8),
        (q.parse_volts, "25 mV", 0.025),
        (q.parse_amps, "16 A", 16.0),
        (q.parse_amps, "30 mA", 0.03),
        (q.parse_amps, "70 uA", 70e-6),
        (q.parse_ohms, "0.34", 0.34),
        (q.parse_ohms, "0.34 ohm", 0.34),
        (q.parse_ohms, "34 kΩ", 34e3),
        (q.parse_ohms, "34k", 34e3),
        (q.parse_ohms, "1.2 MΩ", 1.2e6),
        (q.parse_ohms, "120 mΩ", 0.12),
        (q.parse_ohms, "1.2 M\u2126", 1.2e6),
        (q.parse_megohms, "200", 200e6),
        (q.parse_megohms, 0.4, 0.4e6),
        (q.parse_megohms, "34 kΩ", 34e3),
        (q.parse_seconds, "25 ms", 0.025),
        (q.parse_seconds, "2 min", 120.0),
        (q.parse_farads, "4.7 nF", 4.7e-9),
        (q.parse_farads, "0.1 µF", 1e-7),
        (q.parse_hertz, "50 Hz", 50.0),
        (q.parse_percent, "5 %", 0.05),
        (q.parse_percent, "5", 0.05),
    ],
)
def test_plain_quantities(parse: Parser, written: object, value: float) -> None:
    """A plainly written quantity has its SI value and no spread."""
    found = parse(written)
    assert found.value == pytest.approx(value, rel=1e-12)
    assert found.exact
    assert found.text == str(written)


@pytest.mark.parametrize(
    ("written", "gauge", "printed"),
    [
        ("12 AWG", 12, "12 AWG"),
        ("#14", 14, "14 AWG"),
        ("AWG 10", 10, "10 AWG"),
        ("1/0 AWG", 0, "1/0 AWG"),
        ("000 AWG", -2, "3/0 AWG"),
    ],
)
def test_gauges(written: str, gauge: int, printed: str) -> None:
    """A gauge keeps its number, and prints as the trade writes it."""
    found = q.parse_size(written)
    assert (found.value, found.unit) == (gauge, "AWG")
    assert str(found) == printed


@pytest.mark.parametrize("word", ["about", "approx.", "~", "roughly ", "ca. ", "Around "])
def test_about_gives_a_spread(word: str) -> None:
    """ "About" is a spread to integrate over, not an error."""
    found = q.parse_length(f"{word} 6 m")
    assert (found.value, found.spread) == (6.0, q.ABOUT_SPREAD)
    assert str(found) == "about 6 m"


def test_a_range_spans_nine_tenths() -> None:
    """ "5 to 8 m" centres on √40 and puts nine tenths between its ends."""
    for written in ("5 to 8 m", "5-8 m", "5 m – 8 m", "500cm to 8 m"):
        found = q.parse_length(written)
        assert found.value == pytest.approx(math.sqrt(40))
        assert found.value * math.exp(1.645 * found.spread) == pytest.approx(8.0)
    with pytest.raises(BadQuantity, match="smaller to a larger"):
        q.parse_length("8 to 5 m")


@pytest.mark.parametrize("written", ["unknown", "?", "not known", "don't know", None])
def test_unknown_is_a_quantity_too(written: object) -> None:
    """What the person does not know is flagged, for any kind of quantity."""
    for parse in (q.parse_length, q.parse_size, q.parse_watts, q.parse_ohms):
        found = parse(written)
        assert found.unknown
        assert math.isnan(found.value)
        assert math.isinf(found.spread)
        assert not found.exact
        assert str(found) == "unknown"


@pytest.mark.parametrize("written", ["OL", "O.L", "over range", "∞", "OL MΩ", "open", math.inf])
def test_over_range(written: object) -> None:
    """A tester that shows only "over range" gives an infinite value, flagged over."""
    for parse in (q.parse_ohms, q.parse_megohms):
        found = parse(written)
        assert found.over
        assert math.isinf(found.value)
        assert str(found) == "over range"


def test_over_and_under_a_figure() -> None:
    """ ">999" on an insulation tester is over 999 MΩ; "<0.01" is under 10 mΩ."""
    over = q.parse_megohms(">999")
    assert (over.value, over.over, over.under) == (999e6, True, False)
    assert str(over) == "over 999 MΩ"
    assert q.parse_ohms(">200 MΩ").value == 200e6
    under = q.parse_ohms("<0.01")
    assert (under.value, under.over, under.under) == (0.01, False, True)
    assert str(under) == "under 10 mΩ"


@pytest.mark.parametrize(
    ("parse", "written", "example"),
    [
        (q.parse_length, "eight", "25 ft"),
        (q.parse_length, "", "8 m"),
        (q.parse_length, "8 V", "8 m"),
        (q.parse_length, "-3 m", "8 m"),
        (q.parse_length, True, "8 m"),
        (q.parse_length, [8], "8 m"),
        (q.parse_length, "1e999", "8 m"),
        (q.parse_size, "0", "12 AWG"),
        (q.parse_size, "99 AWG", "12 AWG"),
        (q.parse_watts, "lots", "2 kW"),
        (q.parse_volts, "OL", "25 mV"),
        (q.parse_amps, "5 Hz", "30 mA"),
        (q.parse_ohms, "1.2 MOHM", "34 kΩ"),
        (q.parse_megohms, "200 mΩ", "0.4 MΩ"),
        (q.parse_seconds, "soon", "25 ms"),
        (q.parse_farads, "4n7", "4.7 nF"),
    ],
)
def test_a_failure_shows_the_text_and_an_example(
    parse: Parser, written: object, example: str
) -> None:
    """The message holds what was read and an example of what is accepted."""
    with pytest.raises(BadQuantity, match="accepted: a") as caught:
        parse(written)
    assert example in str(caught.value)
    if str(written):
        assert f'read "{written}"' in str(caught.value)
    else:
        assert "read nothing" in str(caught.value)


def test_an_unclear_comma_is_refused() -> None:
    """ "1,234" may be a thousand or a decimal: the message says how to write either."""
    with pytest.raises(BadQuantity, match=r"write 1234 or 1\.234"):
        q.parse_ohms("1,234")
    assert q.parse_ohms("0,340").value == 0.34
    assert q.parse_ohms("1,23").value == 1.23


@pytest.mark.parametrize(
    ("printer", "value", "printed"),
    [
        (q.ohms, 0.344, "0.34 Ω"),
        (q.ohms, 0.0276, "28 mΩ"),
        (q.ohms, 9.999, "10 Ω"),
        (q.ohms, 999.6, "1 kΩ"),
        (q.ohms, 34e3, "34 kΩ"),
        (q.ohms, 1.2e6, "1.2 MΩ"),
        (q.ohms, 999e6, "999 MΩ"),
        (q.ohms, 2e9, "over 999 MΩ"),
        (q.ohms, math.inf, "over 999 MΩ"),
        (q.ohms, 0.0, "0 Ω"),
        (q.volts, 236.4, "236 V"),
        (q.volts, 0.8, "0.8 V"),
        (q.volts, -12.34, "-12.3 V"),
        (q.volts, 0.003, "3 mV"),
        (q.volts, 1e-9, "0 V"),
        (q.amps, 16.0, "16 A"),
        (q.amps, 0.0008, "0.8 mA"),
        (q.amps, 7.23e-5, "72.3 µA"),
        (q.watts, 2000.0, "2 kW"),
        (q.metres, 8.0, "8 m"),
        (q.metres, 8.53, "8.5 m"),
        (q.metres, 120.4, "120 m"),
        (q.seconds, 0.025, "25 ms"),
        (q.seconds, 180.0, "3 min"),
        (q.farads, 4.7e-9, "4.7 nF"),
        (q.percent, 0.5, "50 %"),
        (q.percent, 0.088, "8.8 %"),
    ],
)
def test_printing(printer: Callable[[float], str], value: float, printed: str) -> None:
    """Values print with the digits and prefix a tester would show."""
    assert printer(value) == printed


def test_a_percentage_never_claims_certainty() -> None:
    """Nearly all is "over 99.9 %" and nearly nothing "under 0.01 %"; all and nothing are exact."""
    assert q.percent(0.99999) == "over 99.9 %"
    assert q.percent(0.992) == "99.2 %"
    assert q.percent(0.00001) == "under 0.01 %"
    assert (q.percent(1.0), q.percent(0.0)) == ("100 %", "0 %")


PRINTED: list[tuple[Parser, Callable[[float], str], float, float, float]] = [
    # parser, printer, smallest, largest, relative step of the print
    (q.parse_ohms, q.ohms, 1e-3, 9.9e8, 0.1),
    (q.parse_volts, q.volts, 1e-3, 1e5, 0.006),
    (q.parse_amps, q.amps, 1e-6, 1e5, 0.006),
    (q.parse_watts, q.watts, 1e-2, 1e7, 0.006),
    (q.parse_length, q.metres, 0.5, 1e4, 0.051),
    (q.parse_seconds, q.seconds, 1e-3, 1e4, 0.051),
    (q.parse_farads, q.farads, 1e-12, 1e-3, 0.006),
]


@pytest.mark.parametrize("row", PRINTED, ids=lambda row: row[1].__name__)
@given(share=st.floats(0, 1))
def test_what_is_printed_reads_back(
    row: tuple[Parser, Callable[[float], str], float, float, float], share: float
) -> None:
    """Printing then reading gives the value to the digits shown, and prints the same again."""
    parse, printer, low, high, step = row
    value = low * (high / low) ** share
    printed = printer(value)
    again = parse(printed)
    assert again.value == pytest.approx(value, rel=step)
    assert printer(again.value) == printed


@given(
    st.floats(0.01, 500).map(lambda x: round(x, 2)),
    st.sampled_from(["", "about ", ">", "<"]),
    st.sampled_from(["m", "ft", "cm"]),
)
def test_the_text_kept_reads_back_the_same(number: float, lead: str, unit: str) -> None:
    """A quantity keeps what was written, and that text gives the same quantity again."""
    found = q.parse_length(f"{lead}{number} {unit}")
    assert q.parse_length(found.text) == found


@given(st.text(max_size=20))
def test_any_text_is_read_or_refused(text: str) -> None:
    """Whatever is typed, a parser answers with a quantity or with its own error, nothing else."""
    for parse in (q.parse_length, q.parse_size, q.parse_ohms, q.parse_megohms, q.parse_volts):
        try:
            found = parse(text)
        except BadQuantity:
            continue
        assert found.unknown or not math.isnan(found.value)
