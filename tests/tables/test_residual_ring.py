"""Residual devices and the ring test against published bands, times and closed forms."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.errors import NotInTable, OutOfRange
from halfsplit.tables import cables, practice, residual, ring


def test_one_test_suffices_since_2022() -> None:
    """One a.c. test at the rating; half, five times and 180 degrees became optional.

    Institution technical forum discussing regs 643.7.1/643.8.
    """
    required, optional = residual.TESTS_REQUIRED["2022"]
    assert required == ("1x ac",)
    assert optional == ("0.5x", "5x", "180 degrees")


def test_additional_protection() -> None:
    """At most 30 mA, tripping within 40 ms at 150 mA (forum quoting guidance on the 2018 forms)."""
    rating = residual.ADDITIONAL_RATING.value
    assert (rating, residual.FIVE_TIMES_30MA.value) == (0.030, 0.040)
    assert 5 * rating == pytest.approx(0.150)
    assert residual.GENERAL.five[1] == residual.FIVE_TIMES_30MA.value


def test_older_devices() -> None:
    """Half holds for 2 s; BS 4293 200 ms; button each 3 months (college text, RCD section)."""
    found = (residual.HALF_HOLD, residual.BS4293_ONE, residual.TEST_BUTTON_MONTHS)
    assert [figure.value for figure in found] == [2.0, 0.200, 3.0]


def test_trip_band_of_a_30_mA_device() -> None:
    """Holds below 15 mA, uncertain to 30, trips above (switchgear maker's training page)."""
    low, high = residual.trip_limits(0.030)
    assert (low, high) == (0.015, 0.030)
    assert residual.trip_chance(0.0149, 0.030) == 0.0
    assert 0.0 < residual.trip_chance(0.022, 0.030) < 1.0
    assert residual.trip_chance(0.030, 0.030) == 1.0


@given(st.floats(0, 0.06), st.floats(0, 0.06))
def test_more_residual_current_never_trips_less(one: float, other: float) -> None:
    """The chance of a trip rises with current and stays a probability."""
    small, large = sorted((one, other))
    low, high = residual.trip_chance(small, 0.03), residual.trip_chance(large, 0.03)
    assert 0.0 <= low <= high + 1e-12 <= 1.0 + 1e-9


def test_filter_capacitor_leak() -> None:
    """0.1 µF is about 32 kΩ at 50 Hz and leaks about 7.5 mA at 240 V (electricians' forum)."""
    farads = practice.FILTER_LARGE.value
    assert practice.capacitor_ohm(farads, 50) == pytest.approx(32e3, rel=0.01)
    assert practice.capacitor_amps(farads, 240, 50) == pytest.approx(7.5e-3, rel=0.01)


def test_eight_kilohms_trip_thirty_milliamperes() -> None:
    """30 mA at 240 V is about 8 kΩ to earth, 15 mA 16 kΩ (mailing-list advice).

    A device that must hold at the one must trip at the other.
    """
    hold, trip = residual.trip_limits(0.030)
    assert pytest.approx(trip) == 240 / 8e3
    assert pytest.approx(hold) == 240 / 16e3


def test_class_a_ground_fault_device() -> None:
    """Holds below 4 mA and trips from 6 (NEC definition with UL 943 note, glossary)."""
    assert (residual.GFCI_HOLD.value, residual.GFCI_TRIP.value) == (0.004, 0.006)
    assert residual.GFPE_TRIP.value == 0.030  # trade forum: equipment protection


@pytest.mark.parametrize(("mA", "seconds"), [(6, 5.59), (20, 1.0), (264, 0.0249)])
def test_ground_fault_time_curve(mA: float, seconds: float) -> None:
    """(20/I)^1.43: 5.59 s at 6 mA, 1 s at 20, 25 ms at 264 (breaker maker's technical FAQ)."""
    assert residual.gfci_time(mA / 1000) == pytest.approx(seconds, rel=0.005)


def test_ground_fault_curve_has_ends() -> None:
    """Outside 6 to 264 mA the curve says so, with the value."""
    with pytest.raises(OutOfRange, match="5 mA: the curve serves 6 to 264 mA"):
        residual.gfci_time(0.005)


def test_break_times() -> None:
    """300/150/40 ms general; 130-500, 60-200, 50-150 selective (IEC 61008-1/61009-1, memory)."""
    general, selective = residual.GENERAL, residual.SELECTIVE
    assert (general.one[1], general.two[1], general.five[1]) == (0.300, 0.150, 0.040)
    assert selective.one == (0.130, 0.500)
    assert selective.two == (0.060, 0.200)
    assert selective.five == (0.050, 0.150)


@pytest.mark.parametrize(("angle", "hold"), [(0, 0.35), (90, 0.25), (135, 0.11)])
def test_type_a_on_pulsating_current(angle: int, hold: float) -> None:
    """0.35, 0.25, 0.11 to 1.4 times the rating by delay angle (IEC 61008-1, from memory)."""
    waveform: residual.Waveform = f"pulsating {angle}"  # type: ignore[assignment]
    band = residual.trip_band("A", waveform)
    assert band is not None
    assert (band.hold, band.trip) == (hold, 1.4)
    assert residual.trip_band("AC", waveform) is None


def test_leakages_add_as_phasors() -> None:
    """15 mA resistive with 7.3 mA capacitive is 16.7 mA, not 22.3 (electricians' forum note)."""
    assert residual.phasor_sum(0.015, 0.0073) == pytest.approx(0.0167, abs=5e-5)
    assert pytest.approx(22.3) == 15 + 4.2 + 3.1


def test_thirty_seven_kilohms_takes_most_of_the_allowance() -> None:
    """230 V over 37 kΩ is 6.2 mA of a 9 mA allowance (institution forum, whole-house reading)."""
    allowed = residual.standing_allowance(0.030)
    assert allowed == pytest.approx(0.009)
    assert 0.65 < (230 / 37e3) / allowed < 0.72


def test_unknown_type() -> None:
    """A type that does not exist lists those that do."""
    with pytest.raises(NotInTable, match="no row for Z; the table has AC, A, F, B"):
        residual.trip_band("Z")


# The ring


def test_ring_rules() -> None:
    """Ends match in 0.05 Ω; 1.67 by area and 1.633 by resistance; (r1+rn)/4 and (r1+r2)/4.

    Ring-final testing note citing On-Site Guide table 11; college text.
    """
    cable = cables.cable("2.5/1.5 twin and earth")
    ratio = cable.cores[-1].ohm_per_m() / cable.core.ohm_per_m()
    assert ring.RATIO_25_15.low == pytest.approx(ratio)
    assert ring.RATIO_25_15.high == pytest.approx(2.5 / 1.5, abs=0.004)
    assert ring.MATCH.value == ring.MATCH_COLLEGE.value == 0.05
    assert ring.ends_match(0.50, 0.55)
    assert not ring.ends_match(0.50, 0.56)
    assert ring.cross_line_neutral(0.5, 0.5) == 0.25


def test_ring_worked_example() -> None:
    """r1 0.54, r2 0.90: 0.36 at mid-ring and 0.3375 at the links (forum worked example)."""
    assert ring.cross_line_earth(0.54, 0.90) == pytest.approx(0.36)
    assert ring.cross_line_earth(0.54, 0.90, 0.0) == pytest.approx(0.3375)


@given(st.floats(0.05, 5), st.floats(0.05, 5), st.floats(0, 1))
def test_ring_closed_form_is_two_paths_in_parallel(r1: float, r2: float, x: float) -> None:
    """The stage-3 form equals two parallel paths worked out directly (derivation sheet).

    With opposite ends joined, one way meets x of the line and 1-x of the earth conductor.
    """
    one, other = x * r1 + (1 - x) * r2, (1 - x) * r1 + x * r2
    assert ring.cross_line_earth(r1, r2, x) == pytest.approx(one * other / (one + other))
    assert ring.cross_line_earth(r1, r2, x) <= (r1 + r2) / 4 * (1 + 1e-12)
    assert ring.cross_line_earth(r1, r2, x) >= r1 * r2 / (r1 + r2) * (1 - 1e-12)


@pytest.mark.parametrize(("sizes", "ratio"), [("2.5/1.5", 1.0613), ("4/1.5", 1.2514)])
def test_mid_ring_rise_is_no_spur(sizes: str, ratio: float) -> None:
    """Mid-ring over links 1.0613 and 1.2514 (institution magazine, March 2022; computed)."""
    cable = cables.cable(f"{sizes} twin and earth")
    r1, r2 = cable.core.ohm_per_m(), cable.cores[-1].ohm_per_m()
    assert ring.mid_over_links(r1, r2) == pytest.approx(ratio, abs=2e-4)
    by_form = ring.cross_line_earth(r1, r2) / ring.cross_line_earth(r1, r2, 0)
    assert by_form == pytest.approx(ratio, abs=2e-4)


def test_ring_older_wording() -> None:
    """Cross-connected line-neutral is half of either conductor (forum summary)."""
    assert ring.cross_line_neutral(0.8, 0.8) == 0.5 * 0.8


def test_ring_length() -> None:
    """1.6 Ω end to end in 2.5 mm² means about 216 m (forum thread on doubtful results)."""
    assert ring.length_from_end_to_end(1.6, 7.41e-3) == pytest.approx(216, abs=0.5)


def test_ring_of_sixty_metres() -> None:
    """r1 0.4446, r2 0.726, L-N 0.2223, L-E 0.2757 at the links to 0.2926 at mid-ring (computed)."""
    cable = cables.cable("2.5/1.5 twin and earth")
    r1, r2 = 60 * cable.core.ohm_per_m(), 60 * cable.cores[-1].ohm_per_m()
    found = [r1, r2, ring.cross_line_neutral(r1, r1)]
    found += [ring.cross_line_earth(r1, r2, 0), ring.cross_line_earth(r1, r2)]
    assert found == pytest.approx([0.4446, 0.726, 0.2223, 0.2757, 0.2926], abs=6e-5)
    assert math.isclose(ring.cross_line_earth(r1, r2, 0.2), ring.cross_line_earth(r1, r2, 0.8))
