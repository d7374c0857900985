"""Published figures that stand beside others: what an example takes for given is checked too."""

from __future__ import annotations

import pytest

from halfsplit.tables import disconnection as d
from halfsplit.tables import instruments_std, residual, supplies
from halfsplit.tables.cables import cable
from halfsplit.tables.conductors import ohm_per_m


@pytest.mark.parametrize(
    ("name", "milliohms"),
    [("4/1.5 twin and earth", 16.71), ("4/2.5", 12.02), ("1.5/1 twin and earth", 30.2)],
)
def test_milliohms_per_metre_that_worked_examples_start_from(name: str, milliohms: float) -> None:
    """16.71, 12.02 and 30.2 mΩ/m (exam-question threads; DIY/trade thread), at 20 °C."""
    if name == "4/2.5":  # no cable of that make is sold; the sum of its conductors
        assert 1e3 * (ohm_per_m(4.0) + ohm_per_m(2.5)) == pytest.approx(milliohms, abs=0.005)
    else:
        assert 1e3 * cable(name).r1_r2_per_m(20.0) == pytest.approx(milliohms, abs=0.011)


def test_what_a_ring_is_made_of() -> None:
    """7.41 and 12.1 mΩ/m (ring-final testing note citing On-Site Guide table 11)."""
    assert 1e3 * ohm_per_m(2.5) == 7.41
    assert 1e3 * ohm_per_m(1.5) == 12.1


@pytest.mark.parametrize(("curve", "times"), [("B", 5), ("C", 10), ("D", 20)])
def test_the_factor_between_the_editions(curve: d.Curve, times: int) -> None:
    """Cmin 0.95 came between 2008 and 2018 (BS 7671:2018 reg. 411.4.4), for every rating."""
    for rating in (6.0, 16.0, 32.0, 63.0):
        new, old = (d.breaker_limit(curve, rating, f"bs7671-{year}") for year in (2018, 2008))
        assert new == pytest.approx(230 * 0.95 / (times * rating), abs=0.006)
        assert new == pytest.approx(0.95 * old, abs=0.006)


@pytest.mark.parametrize(
    ("r", "x", "amps", "limit"),
    [(0.021, 0.022, 630, 0.054), (0.061, 0.026, 250, 0.16), (0.091, 0.034, 32, 1.8)],
)
def test_the_distributors_chain_clears_at_every_board(
    r: float, x: float, amps: float, limit: float
) -> None:
    """Each loop is under the limit stated for its fuse (institution forum, from a distributor)."""
    loop = d.loop_impedance(r, x)
    assert loop < limit
    assert d.fault_current(230.0, loop) > 5 * amps


def test_a_30_a_rewirable_fuse_of_the_sixteenth_edition() -> None:
    """0.94 Ω clears 1.14 Ω then, and 1.09 Ω in 2008 (exam-question thread)."""
    loop = d.circuit_loop(0.6, 20.5 * cable("4/1.5 twin and earth").r1_r2_per_m())
    assert loop == pytest.approx(0.94, abs=0.005)
    assert loop < d.fuse_limit("BS 3036", 30.0, 0.4, "bs7671-2008") == 1.09 < 1.14


def test_ordinary_scatter_of_three_loop_readings() -> None:
    """0.50, 0.48, 0.51 Ω at one outlet spread 0.03 Ω, two deviations (electricians' forum)."""
    readings = (0.50, 0.48, 0.51)
    assert max(readings) - min(readings) == pytest.approx(0.03)
    assert pytest.approx(0.03) == 2 * instruments_std.LOOP_SCATTER.value


def test_forty_milliseconds_at_150_milliamperes() -> None:
    """A 30 mA device clears in 40 ms at 150 mA (college text, RCD test section)."""
    assert residual.GENERAL.five == (0.0, 0.040)


def test_older_and_wider_bands_of_supply() -> None:
    """240 V: 225.6 to 254.4 V before 1995 (regulator note); all the week down to 195.5 V (EN 50160,
    trade forum)."""
    old, week = supplies.BANDS["uk-240"], supplies.BANDS["eu-100"]
    assert (old.low, old.high) == (225.6, 254.4)
    assert old.low == pytest.approx(240 * 0.94)
    assert (week.low, week.high) == (195.5, 253.0)


def test_an_outlet_in_north_america_and_what_protects_equipment_only() -> None:
    """114 to 126 V at an outlet (home-inspection article); devices of 30 mA for equipment do not
    take the place of a class A one (trade forum)."""
    outlet = supplies.BANDS["us-outlet"]
    assert (outlet.low, outlet.high) == (114.0, 126.0)
    assert residual.GFPE_TRIP.value == 0.030 > residual.GFCI_TRIP.value
