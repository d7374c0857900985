"""Instruments, lamps and practice values against what was published of them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.tables import instruments_std as ins
from halfsplit.tables import lamps, practice


def test_multimeter_input() -> None:
    """About 10 MΩ (engineering resource page) with 100 pF beside it (from memory)."""
    assert ins.DMM_INPUT.value == 10e6
    assert ins.DMM_CAPACITANCE.value == 100e-12


def test_phantom_voltage_collapses() -> None:
    """A load of 500 kΩ to 1 MΩ collapses phantom voltage (Q&A page on a 16 V reading).

    Low-impedance testers lie below it and a multimeter well above.
    """
    assert (ins.PHANTOM_COLLAPSE.low, ins.PHANTOM_COLLAPSE.high) == (500e3, 1e6)
    assert ins.LOW_Z_INPUT.high < ins.TWO_POLE_INPUT.high < ins.PHANTOM_COLLAPSE.low
    assert ins.DMM_INPUT.low > ins.PHANTOM_COLLAPSE.high


def test_detector_range() -> None:
    """1000 V a.c. and 1500 V d.c. (EN 61243-3 scope summary)."""
    assert (ins.DETECTOR_AC_MAX.value, ins.DETECTOR_DC_MAX.value) == (1000, 1500)


def test_continuity_tester() -> None:
    """4 to 24 V open, at least 200 mA (18th-edition course notes, BS EN 61557-4)."""
    found = (ins.CONTINUITY_OPEN_MIN, ins.CONTINUITY_OPEN_MAX, ins.CONTINUITY_CURRENT_MIN)
    assert [figure.value for figure in found] == [4, 24, 0.2]


@pytest.mark.parametrize("volts", [250.0, 500.0, 1000.0])
def test_insulation_tester_holds_its_voltage_at_one_milliampere(volts: float) -> None:
    """UN across 1000 Ω/V is 1 mA; 500 V across 0.5 MΩ; 30 % (IEC 61557-2:2019 extract)."""
    assert volts in ins.INSULATION_TEST_V
    assert volts / ins.insulation_test_load(volts) == ins.INSULATION_CURRENT.value == 1e-3
    assert ins.insulation_test_load(500) == 0.5e6
    assert ins.INSULATION_UNCERTAINTY.value == 0.30


def test_rated_conditions() -> None:
    """0-35 °C, 85-110 % of nominal, frequency within 5 % (IEC 61557-1 extract)."""
    found = [*ins.RATED_TEMP_C, *ins.RATED_SUPPLY, ins.RATED_FREQUENCY]
    assert found == [0.0, 35.0, 0.85, 1.10, 0.05]


def test_other_testers_thirty_per_cent() -> None:
    """Continuity, loop and earth testers within 30 % (IEC 61557-3/-4/-5, memory)."""
    assert ins.TESTER_UNCERTAINTY.value == 0.30


def test_ghost_bands() -> None:
    """60-120 V on off switch wires (Australian contractors' association); 80-85 % at most (Q&A)."""
    assert (ins.GHOST_SWITCH_WIRE.low, ins.GHOST_SWITCH_WIRE.high) == (60, 120)
    assert (ins.GHOST_SHARE_MAX.low, ins.GHOST_SHARE_MAX.high) == (0.80, 0.85)
    assert ins.GHOST_SWITCH_WIRE.high / 230 < ins.GHOST_SHARE_MAX.value


def test_loop_readings_scatter() -> None:
    """0.50, 0.48, 0.51 Ω is ordinary: their spread is two deviations of ours (forum)."""
    readings = [0.50, 0.48, 0.51]
    assert max(readings) - min(readings) == pytest.approx(2 * ins.LOOP_SCATTER.value)


def test_what_proves_dead() -> None:
    """A two-pole detector and a proving unit do; a pen and a multimeter do not (safety article)."""
    accepted = {name for name, good in ins.PROVES_DEAD.items() if good}
    assert accepted == {"two-pole detector", "proving unit"}
    assert {"non-contact indicator", "multimeter"} <= set(ins.PROVES_DEAD) - accepted


def test_series_voltmeter() -> None:
    """20 kΩ meter, 30 V, reading 5 V: 100 kΩ (Cyclopedia; meter resistance inferred there)."""
    assert ins.series_voltmeter(20e3, 30, 5) == pytest.approx(100e3)


@pytest.mark.parametrize(
    ("own", "others", "shown", "tolerance"),
    [
        (10, [10] * 5, 12.0, 0.005),
        (10, [10] * 59, 10.17, 0.005),
        (100, [10] * 5, 102.0, 0.005),
        (10, [10] * 4 + [100], 12.4, 0.05),
    ],
)
def test_stakeless_clamp(own: float, others: list[float], shown: float, tolerance: float) -> None:
    """Six of 10 Ω read 12, sixty 10.17; a 100 Ω one 102, others 12.4 (earth-testing handbook)."""
    assert ins.stakeless_clamp(own, others) == pytest.approx(shown, abs=tolerance)


# Lamps


def test_a_filament_draws_its_rating() -> None:
    """A 60 W lamp is 882 Ω at 230 V and a tenth of that cold (from memory)."""
    assert lamps.filament_resistance(230, 230, 60) == pytest.approx(230**2 / 60)
    assert lamps.filament_resistance(0, 230, 60) == pytest.approx(0.1 * 230**2 / 60)


@given(st.floats(30, 400), st.floats(30, 400))
def test_filament_law(one: float, other: float) -> None:
    """Resistance and light both rise with voltage, current too (laws of the trade, memory)."""
    low, high = sorted((one, other))
    r_low, r_high = (lamps.filament_resistance(v, 230, 60) for v in (low, high))
    assert r_low <= r_high
    assert low / r_low <= high / r_high * (1 + 1e-12)
    assert lamps.filament_light(low, 230) <= lamps.filament_light(high, 230)


def test_exponents_agree_with_each_other() -> None:
    """Power goes as V²/R, so its exponent is 2 less that of resistance (from memory)."""
    assert lamps.POWER_EXPONENT.value == pytest.approx(2 - lamps.RESISTANCE_EXPONENT.value)


def test_two_filaments_in_series_share_unevenly() -> None:
    """100 and 60 W across 240 V: fixed resistances say 150/90 V, the true law about 172/68."""
    low, high = 0.0, 240.0
    for _ in range(60):
        middle = (low + high) / 2
        small = middle / lamps.filament_resistance(middle, 120, 60)
        large = (240 - middle) / lamps.filament_resistance(240 - middle, 120, 100)
        low, high = (middle, high) if small < large else (low, middle)
    assert 240 * 100 / 160 == 150
    assert low == pytest.approx(172, abs=3)
    assert 240 - low == pytest.approx(68, abs=3)


def test_light_words() -> None:
    """Full voltage is normal, a third is dim or less, a tenth glimmers at most."""
    assert lamps.light_word(lamps.filament_light(230, 230)) == "normal"
    assert lamps.light_word(lamps.filament_light(115, 230)) == "dim"
    assert lamps.light_word(lamps.filament_light(40, 230)) == "glimmer"
    assert lamps.light_word(lamps.filament_light(10, 230)) == "off"
    assert lamps.light_word(lamps.filament_light(260, 230)) == "bright"


def test_led_glow() -> None:
    """A bare LED at 1 µA (electronics blog), a damp switch's guess of 10; mains lamps need more."""
    assert lamps.LED_GLOW_BARE.value == 1e-6
    assert lamps.LED_DAMP_GUESS.value == 1e-5
    assert lamps.LED_GLOW_BARE.value < lamps.LED_GLOW_MAINS.low


# Practice


def test_ten_filters_are_thirty_four_kilohms() -> None:
    """Ten appliances of 2 x 4.7 nF are 34 kΩ at 50 Hz (computed)."""
    farads = 10 * 2 * practice.FILTER_CAPACITOR.high
    assert practice.capacitor_ohm(farads, 50) == pytest.approx(34e3, rel=0.01)


def test_one_filter_stays_below_the_portable_limit() -> None:
    """2 x 4.7 nF pass under 0.75 mA at 230 V 50 Hz, as product limits ask (from memory)."""
    amps = practice.capacitor_amps(2 * practice.FILTER_CAPACITOR.high, 230, 50)
    assert amps < practice.LEAKAGE_PORTABLE.value < practice.LEAKAGE_STATIONARY.value


def test_joints_keep_their_order() -> None:
    """A sound joint, a worn contact, a tired joint and an open one rank by value."""
    ordered = [practice.JOINT_SOUND, practice.CONTACT_FRONT, practice.CONTACT_WORN]
    ordered += [practice.JOINT_TIRED, practice.JOINT_OPEN_FROM]
    values = [figure.value for figure in ordered]
    assert values == sorted(values)
    assert practice.LEADS_PAIR.low == 0.05
    assert practice.LEADS_PAIR.high == 0.5
