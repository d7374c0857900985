"""Supply bands, electrodes, supply impedance and voltage drop against published figures."""

from __future__ import annotations

import math

import pytest

from halfsplit.errors import NotInTable
from halfsplit.tables import conductors, supplies
from halfsplit.tables import voltage_drop as drop


@pytest.mark.parametrize(
    ("band", "nominal", "up", "down"),
    [
        ("uk", 230, 1.10, 0.94),  # regulator history note citing ESQCR 2002
        ("uk-240", 240, 1.06, 0.94),  # the same; 254.4 computed, the page prints 254.5
        ("eu-95", 230, 1.10, 0.90),  # trade forum describing EN 50160
        ("eu-100", 230, 1.10, 0.85),
        ("us-outlet", 120, 1.05, 0.95),  # home-inspection article
    ],
)
def test_bands_recompute_from_percentages(
    band: str, nominal: float, up: float, down: float
) -> None:
    """A band's ends are its nominal voltage times the declared percentages."""
    row = supplies.BANDS[band]
    assert row.nominal == nominal
    assert row.high == pytest.approx(nominal * up)
    assert row.low == pytest.approx(nominal * down)


def test_uk_band_edges() -> None:
    """216.2 to 253.0 V is in order, ends included (ESQCR 2002, regulator history note)."""
    band = supplies.band("uk")
    assert band.holds(216.2)
    assert band.holds(253.0)
    assert not band.holds(216.1)
    assert not band.holds(253.1)


@pytest.mark.parametrize(
    ("band", "low", "high"),
    [
        ("us-A-service", 114, 126), ("us-A-use", 108, 126), ("us-B-service", 110, 127),
        ("us-B-use", 104, 127), ("us-illinois", 113, 127),
    ],
)  # fmt: skip
def test_north_american_bands(band: str, low: float, high: float) -> None:
    """ANSI C84.1 Table 1 (memory); 83 Ill. Adm. Code 410.300 (trade forum)."""
    assert (supplies.BANDS[band].low, supplies.BANDS[band].high) == (low, high)


def test_short_term_percentages_support_range_b() -> None:
    """6 % high, 13 % low: 104.4 to 127.2 V of 120; 420 to 509 of 480 (guide citing C84.1)."""
    high, low = 1 + supplies.C84_SHORT_HIGH.value, 1 - supplies.C84_SHORT_LOW.value
    assert (120 * low, 120 * high) == pytest.approx((104.4, 127.2))
    assert (480 * low, 480 * high) == pytest.approx((420, 509), abs=3)
    band = supplies.BANDS["us-B-use"]
    assert (band.low, band.high) == pytest.approx((120 * low, 120 * high), abs=0.5)


def test_declared_external_impedances() -> None:
    """0.8, 0.35 and 21 Ω, 16 kA: UK practice, 0.35 and 21 seen in forum threads, rest memory."""
    found = {name: figure.value for name, figure in supplies.ZE_DECLARED.items()}
    assert found == {"TN-S": 0.8, "TN-C-S": 0.35, "TT": 21.0}
    assert supplies.SHORT_CIRCUIT_DECLARED.value == 16e3
    for name in ("TN-S", "TN-C-S"):
        assert supplies.ZE_TYPICAL[name].high <= supplies.ZE_DECLARED[name].value


def test_electrode_verdicts() -> None:
    """1667 Ω satisfies 30 mA, yet above about 200 Ω the advice is "may not stay stable".

    Electricians' question page citing BS 7671 Table 41.5 note 2.
    """
    assert supplies.electrode_limit(0.030) == pytest.approx(1667, abs=0.5)
    assert supplies.electrode_verdict(150, 0.030) == "complies"
    assert supplies.electrode_verdict(900, 0.030) == "complies, but may not stay stable"
    assert supplies.electrode_verdict(1700, 0.030) == "fails"


def test_electrode_inverse() -> None:
    """200 Ω allows at most 250 mA at 50 V (forum quoting On-Site Guide)."""
    assert supplies.residual_rating_limit(200) == pytest.approx(0.250)
    assert supplies.electrode_limit(0.250) == pytest.approx(200)


def test_supply_impedance_from_a_kettle() -> None:
    """101.75 to 98.95 V at 9 A is 0.31 Ω (Japanese hobby-engineering page, measured)."""
    found = supplies.source_impedance(101.75, 98.95, 9)
    assert found == pytest.approx(supplies.SOURCE_Z_MEASURED.value, abs=0.002)


@pytest.mark.parametrize(
    ("system", "one", "other", "volts"),
    [
        ("120/240", "L1", "L2", 240), ("400/230", "L1", "L2", 398.4),
        ("208Y/120", "L2", "L3", 207.8), ("480Y/277", "L1", "L3", 479.8),
        ("high-leg", "A", "C", 240), ("high-leg", "A", "B", 240), ("110 CTE", "L1", "L2", 110),
        ("415/240", "L1", "L2", 415.7), ("100/200", "L1", "L2", 200),
    ],
)  # fmt: skip
def test_voltages_between_lines(system: str, one: str, other: str, volts: float) -> None:
    """Line-to-line voltages follow from the phasors: √3 in star, twice in split phase."""
    assert supplies.live_system(system).between(one, other) == pytest.approx(volts, abs=0.05)


def test_the_high_leg_is_208_volts() -> None:
    """The high leg stands at 120·√3 = 207.8 V to neutral."""
    system = supplies.live_system("high-leg")
    assert abs(system.phasor("B")) == pytest.approx(120 * math.sqrt(3))
    with pytest.raises(NotInTable, match="high-leg: no row for D; the table has A, B, C"):
        system.phasor("D")
    with pytest.raises(NotInTable, match="voltage bands: no row for mars"):
        supplies.band("mars")


# Voltage drop

# Wholesaler catalogue 2025/26 reproducing the BS 7671 Appendix 4 single-core table (4D1B)
SINGLE = {1: 44, 1.5: 29, 2.5: 18, 4: 11, 6: 7.3, 10: 4.4, 16: 2.8}
THREE = {1: 38, 1.5: 25, 2.5: 15, 4: 9.5, 6: 6.4, 10: 3.8, 16: 2.4}
# Cable distributor reproduction of Table 4F3B, then 4E4B
FLEX = {0.5: 93, 0.75: 62, 1: 46, 1.25: 37, 1.5: 32, 2.5: 19, 4: 12}
ARMOURED = {1.5: 31, 2.5: 19, 4: 12, 6: 7.9, 10: 4.7, 16: 2.9}


@pytest.mark.parametrize("size", SINGLE)
def test_thermoplastic_at_70_degrees(size: float) -> None:
    """Table 4D1B in a wholesaler's catalogue; twice R20 times 1.2 agrees within 2.5 %.

    Three-phase is √3/2 of single-phase within rounding.
    """
    assert drop.SINGLE_70C[size] == SINGLE[size]
    assert drop.THREE_70C[size] == THREE[size]
    computed = 2 * 1000 * conductors.ohm_per_m(size) * 1.2
    assert computed == pytest.approx(SINGLE[size], rel=0.025)
    assert THREE[size] / SINGLE[size] == pytest.approx(math.sqrt(3) / 2, rel=0.04)


@pytest.mark.parametrize("size", FLEX)
def test_flexible_cords_at_60_degrees(size: float) -> None:
    """Table 4F3B by a cable distributor; twice the class 5 resistance at 60 °C within 5 %."""
    assert drop.FLEX_60C[size] == FLEX[size]
    computed = 2 * 1000 * conductors.ohm_per_m(size, temp_C=60, strand="flexible")
    assert computed == pytest.approx(FLEX[size], rel=0.05)


@pytest.mark.parametrize("size", ARMOURED)
def test_armoured_at_90_degrees(size: float) -> None:
    """Table 4E4B by a cable distributor; about 1.07 of the 70 °C figures."""
    assert drop.ARMOURED_90C[size] == ARMOURED[size]
    assert ARMOURED[size] / SINGLE[size] == pytest.approx(1.07, abs=0.035)


def test_limits_in_the_uk() -> None:
    """6.9 V lighting, 11.5 V other; 223.1 and 218.5 V at the load (training-school guide)."""
    assert drop.limit_volts("uk", "lighting", 230) == pytest.approx(6.9)
    assert drop.limit_volts("uk", "other", 230) == pytest.approx(11.5)
    assert 230 - drop.limit_volts("uk", "lighting", 230) == pytest.approx(223.1)
    assert 230 - drop.limit_volts("uk", "other", 230) == pytest.approx(218.5)


def test_limits_in_north_america_are_advice() -> None:
    """3 % branch, 5 % in all, informational only (trade forum quoting 210.19 note)."""
    assert drop.LIMITS[("us", "branch")].value == 0.03
    assert drop.LIMITS[("us", "total")].value == 0.05
    assert not drop.ENFORCEABLE["us"]
    with pytest.raises(NotInTable, match="no row for us lighting; the table has uk lighting"):
        drop.limit_volts("us", "lighting", 120)


def test_drop_worked() -> None:
    """18 mV/A/m, 16 A, 18 m: 5.184 V, 2.25 % (computed from the published coefficient)."""
    found = drop.drop(drop.SINGLE_70C[2.5], 16, 18)
    assert found == pytest.approx(5.184)
    assert 100 * found / 230 == pytest.approx(2.25, abs=0.005)


def test_drop_by_circular_mils() -> None:
    """20 A over 100 ft of 12 AWG: about 7.9 V, 6.6 % of 120 (exam-practice page)."""
    found = drop.drop_circular_mils(drop.K_COPPER.value, 20, 100, 6530)
    assert found == pytest.approx(7.9, abs=0.01)
    assert 100 * found / 120 == pytest.approx(6.6, abs=0.02)
    ohmic = 2 * 20 * 30.48 * conductors.ohm_per_m_awg(12, temp_C=75, strand="stranded")
    assert ohmic == pytest.approx(found, rel=0.01)


def test_drop_from_a_dead_test() -> None:
    """0.6 Ω x 1.2 x 20 A is 14.4 V, above 11.5 (Kitcher, voltage-drop chapter abstract)."""
    found = drop.drop_from_loop(0.6, 20)
    assert found == pytest.approx(14.4)
    assert found > drop.limit_volts("uk", "other", 230)
