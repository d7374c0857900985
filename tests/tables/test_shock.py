"""A person as a load, against published tables and worked examples."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.errors import NotInTable, OutOfRange
from halfsplit.tables import shock

# IEC 479-1 (older edition) table quoted in an electronics note: 5, 50, 95 % of people
OLDER = {
    25: (1750, 3250, 6100), 50: (1450, 2625, 4375), 75: (1250, 2200, 3500),
    100: (1200, 1875, 3200), 125: (1125, 1625, 2875), 220: (1000, 1350, 2125),
    700: (750, 1100, 1550), 1000: (700, 1050, 1500),
}  # fmt: skip
# IEC TS 60479-1:2005 Table 1 (from memory)
LATER = {
    25: (1750, 3250, 6100), 50: (1375, 2500, 4600), 75: (1125, 2000, 3600),
    100: (990, 1725, 3125), 125: (900, 1550, 2675), 150: (850, 1400, 2350),
    175: (825, 1325, 2175), 200: (800, 1275, 2050), 225: (775, 1225, 1900),
    400: (700, 950, 1275), 500: (625, 850, 1150), 700: (575, 775, 1050),
    1000: (575, 775, 1050),
}  # fmt: skip
PERCENTILES: tuple[shock.Percentile, ...] = (5, 50, 95)


@pytest.mark.parametrize("volts", OLDER)
def test_body_impedance_of_the_older_edition(volts: int) -> None:
    """IEC 479-1 (older edition) table quoted in an electronics note."""
    found = [shock.body_impedance(volts, p, "1994") for p in PERCENTILES]
    assert found == pytest.approx(OLDER[volts], rel=1e-9)


@pytest.mark.parametrize("volts", LATER)
def test_body_impedance_of_the_later_edition(volts: int) -> None:
    """IEC TS 60479-1:2005 Table 1, from memory; lower than the older one at 50 V and above.

    The 95 % value at 50 and 75 V is the exception: it went up.
    """
    found = [shock.body_impedance(volts, p) for p in PERCENTILES]
    assert found == pytest.approx(LATER[volts], rel=1e-9)
    if volts > 25 and volts in OLDER:
        assert found[:2] < [*OLDER[volts][:2]]


@given(st.floats(0, 1200), st.floats(0, 1200), st.sampled_from(["1994", "2005"]), st.booleans())
def test_impedance_falls_with_voltage_and_rises_with_percentile(
    one: float, other: float, edition: shock.BodyEdition, wet: bool
) -> None:
    """Between the rows too, more voltage never means more dry impedance; percentiles keep order."""
    small, large = sorted((one, other))
    for p in PERCENTILES:
        low, high = (shock.body_impedance(v, p, edition) for v in (large, small))
        assert low <= high * (1 + 1e-12)
    ranked = [shock.body_impedance(one, p, edition, wet) for p in PERCENTILES]
    assert ranked == sorted(ranked)


def test_arrays_agree_with_single_values() -> None:
    """The array form gives the same impedances, whatever the shape or the sign."""
    volts = np.array([[0.0, 10.0, -115.0], [230.0, 400.0, 2000.0]])
    found = shock.body_impedances(volts, 50)
    assert found.shape == (2, 3)
    single = [[shock.body_impedance(abs(v), 50) for v in row] for row in volts.tolist()]
    assert np.allclose(found, single, rtol=1e-12)


def test_water_lowers_impedance_at_low_voltage_only() -> None:
    """10-25 % lower up to 50 V, no matter above about 150 V (note quoting IEC 479-1)."""
    drop = 1 - shock.body_impedance(50, 50, wet=True) / shock.body_impedance(50, 50)
    assert shock.WET_REDUCTION.low <= drop <= shock.WET_REDUCTION.high == 0.25
    assert shock.body_impedance(150, 50, wet=True) == shock.body_impedance(150, 50)
    assert shock.SALINE_FACTOR.value == 0.5


def test_heart_factors() -> None:
    """Mitolo, Electrical Safety of Low-Voltage Systems, Table 5.1 and example 5.1."""
    factors = shock.HEART_FACTOR
    assert sorted(factors.values.values()) == [0.04, 0.3, 0.4, 0.7, 0.7, 0.8, 1.0, 1.0, 1.3, 1.5]
    assert factors["left hand to right hand"] == 0.4
    assert factors["right hand to feet"] == 0.8
    assert shock.equivalent_current(0.050, "chest to left hand") == pytest.approx(0.075)
    assert shock.equally_dangerous(1.0, "left foot to right foot") == pytest.approx(25)
    assert factors["right hand to feet"] / factors["left foot to right foot"] == pytest.approx(20)


def test_zones() -> None:
    """AC-1 to AC-4 in order; danger above 30 mA; 5 and 50 % bound the first two of AC-4.

    Maker's Electrical Installation Guide chapter F, Fig. F1 (citing IEC 60479).
    """
    found = [shock.zone(milli / 1000) for milli in (0.3, 2, 20, 60)]
    assert found == ["AC-1", "AC-2", "AC-3", "AC-4"]
    assert shock.DANGER.value == 0.030
    assert dict(shock.FIBRILLATION_CHANCE) == {"AC-4.1": 0.05, "AC-4.2": 0.50}


def test_zone_bounds() -> None:
    """Line a 0.5 mA, line b 200 mA below 10 ms; 500 mA under 0.1 s (Czech text, IEC 479 zones)."""
    assert (shock.LINE_A.value, shock.LINE_B_SHORT.value) == (0.5e-3, 0.2)
    assert shock.b_line(0.005) == 0.2
    assert shock.FIBRILLATION_SHORT.value == 0.5
    assert shock.c1(0.01) <= 0.5


def test_c1_curve() -> None:
    """About 500, 400, 50, 40 mA at 10 ms, 100 ms, 1 s, 3 s within 15 %; b ends at 5 mA.

    IEC TS 60479-1, from memory; long limits of 40 and 30 mA from a blog comparing editions.
    """
    for seconds, milli in ((0.01, 500), (0.1, 400), (1.0, 50), (3.0, 40)):
        assert 1000 * shock.c1(seconds) == pytest.approx(milli, rel=0.15)
    assert shock.b_line(10) == shock.LINE_B_LONG.value == 0.005
    assert (shock.c1(10), shock.c1(10, cautious=True)) == (0.040, 0.030)


@given(st.floats(0.001, 100), st.floats(0.001, 100))
def test_a_longer_shock_needs_less_current(one: float, other: float) -> None:
    """Curves b and c1 fall with time, and b lies below c1."""
    short, long = sorted((one, other))
    for cautious in (False, True):
        assert shock.c1(long, cautious) <= shock.c1(short, cautious) * (1 + 1e-12)
    assert shock.b_line(long) <= shock.b_line(short) * (1 + 1e-12)
    assert shock.b_line(one) < shock.c1(one)


def test_thresholds() -> None:
    """0.5 mA felt, about 10 let-go, 50 beyond 1 s, 5 A arrest; plan let-go at 5 mA.

    Technical explainer on IEC 60479.
    """
    figures = (shock.PERCEPTION, shock.LET_GO_TYPICAL, shock.FIBRILLATION_1S, shock.ARREST)
    assert [figure.value for figure in figures] == [0.5e-3, 10e-3, 50e-3, 5.0]
    assert shock.LET_GO_PLANNED.value == 5e-3


def test_let_go_by_sex() -> None:
    """Safe 9 and 6 mA, typical 16 and 10 (notes based on Dalziel): all above the planned 5."""
    safe = (shock.LET_GO_SAFE_MEN.value, shock.LET_GO_SAFE_WOMEN.value)
    typical = (shock.LET_GO_TYPICAL_MEN.value, shock.LET_GO_TYPICAL_WOMEN.value)
    assert (safe, typical) == ((9e-3, 6e-3), (16e-3, 10e-3))
    assert shock.LET_GO_PLANNED.value < min(safe)


def test_touch_limits() -> None:
    """50 V a.c., 120 V d.c.; halved in special places (university EMF portal, limit values)."""
    found = [shock.touch_limit(s, dc) for s in (False, True) for dc in (False, True)]
    assert found == [50, 120, 25, 60]


@pytest.mark.parametrize(("ohms", "milli"), [(33e3, 8.4), (5e3, 55.4)])
def test_contact_examples(ohms: float, milli: float) -> None:
    """277 V through 33 kΩ and 5 kΩ: 8.4 and 55.4 mA (US electrical forum post)."""
    assert 1000 * 277 / ohms == pytest.approx(milli, abs=0.05)
    assert shock.CONTACT["finger touch"] == (40e3, 1e6, 4e3, 15e3)
    assert shock.CONTACT["palm"] == (3e3, 8e3, 1e3, 2e3)
    low, high, wet_low, wet_high = shock.CONTACT["hand on wire"]
    assert low <= 33e3 <= high
    assert wet_low <= 5e3 <= wet_high


def test_simple_body() -> None:
    """Grounding-grid practice takes 1000 Ω (note on IEEE 80), near the 5 % value at 100 V."""
    assert shock.BODY_IEEE80.value == 1000
    assert shock.body_impedance(100, 5) == pytest.approx(1000, rel=0.02)


def test_current_through_a_person_at_mains_voltage() -> None:
    """230 V hand to hand passes far more than 30 mA even at the 95 % impedance."""
    assert shock.body_current(230, 95) > shock.DANGER.value
    assert shock.shock_word(shock.body_current(230, 95)) == "danger to life"
    assert shock.shock_word(0.0003) == "nothing felt"
    assert shock.shock_word(0.001) == "a tingle"
    assert shock.shock_word(0.006) == "held fast"


def test_bad_requests_show_the_value() -> None:
    """A negative voltage, an unknown percentile or path names itself."""
    with pytest.raises(OutOfRange, match="touch voltage -5 V"):
        shock.body_impedance(-5)
    with pytest.raises(NotInTable, match=r"body impedance: no row for \('2005', 42\)"):
        shock.body_impedance(50, 42)  # type: ignore[arg-type]
    with pytest.raises(NotInTable, match=r"heart-factor \(path\): no row for ear to ear"):
        shock.equivalent_current(1.0, "ear to ear")
