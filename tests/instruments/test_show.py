"""What instruments show, against the trade's figures, mpmath and small circuits solved by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import mpmath
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.errors import NotInTable
from halfsplit.instruments import show
from halfsplit.instruments.catalogue import INSTRUMENTS, every, instrument, that_read
from halfsplit.wiring.model import Region

OMEGA = 2 * math.pi * 50
sizes = st.floats(1e-3, 1e9)


@pytest.mark.parametrize(
    ("appliances", "through", "expected"),
    [(10, 5e3, 17.0), (10, 200e3, 113.0), (1, 10e6, 115.0)],
)
def test_an_open_protective_conductor_reads_less_on_a_heavier_meter(
    appliances: int, through: float, expected: float
) -> None:
    """Filters of 2 × 4.7 nF hold a free frame at half of 230 V: 17 V at 5 kΩ, 113 V at 200 kΩ.

    Source: computed in the project's list of phenomena, row 13 (10 appliances, 34 kΩ); the
    unloaded half is common practice.
    """
    z = 1 / (1j * OMEGA * 2 * 4.7e-9 * appliances)
    assert show.shown_volts(115.0, z, 1 / through) == pytest.approx(
        expected, abs=0.5 if through < 1e6 else 1
    )


def test_a_ghost_collapses_under_half_a_megohm() -> None:
    """A free switched line beside ten metres of live cable reads tens of volts, then next to none.

    Source: Q&A page on a 16 V reading, a load below 500 kΩ collapses phantom voltage; UK
    electrician's explanation, 100 pF/m. Half the supply comes through 10 m, half is lost to earth.
    """
    z = 1 / (1j * OMEGA * 2e-9)
    shown = {
        id: float(show.shown_volts(115.0, z, show.admittance(instrument(id), OMEGA)))
        for id in ("multimeter", "two-pole", "low impedance")
    }
    assert 60 <= shown["multimeter"] <= 120  # Australian contractors' association: 60 to 120 V
    assert shown["two-pole"] < 16
    assert shown["low impedance"] < 1


def test_ten_megohms_and_a_hundred_picofarads() -> None:
    """A multimeter hangs 10 MΩ and 100 pF on the circuit.

    Source: engineering resource page (10 MΩ); the capacitance is from memory.
    """
    y = show.admittance(instrument("multimeter"), OMEGA)
    assert 1 / y.real == pytest.approx(10e6)
    assert y.imag / OMEGA == pytest.approx(100e-12)


@given(v=st.floats(0, 500), r=sizes, x=st.floats(-1e9, 1e9), light=sizes, heavy=sizes)
def test_a_meter_never_shows_more_for_being_heavier_on_a_resistive_source(
    v: float, r: float, x: float, light: float, heavy: float
) -> None:
    """Behind any impedance a lower resistance shows less, and never above the open circuit."""
    low, high = sorted((light, heavy))
    z = complex(r, x)
    dragged, held = show.shown_volts(v, z, 1 / low), show.shown_volts(v, z, 1 / high)
    assert dragged <= held * (1 + 1e-12)
    assert held <= v * (1 + 1e-12)


@given(v0=st.floats(150, 260), r=st.floats(0.05, 400), x=st.floats(-0.3, 0.3))
def test_the_loop_figure_is_what_the_two_voltages_give(v0: float, r: float, x: float) -> None:
    """The closed form |R + z| - R equals (|V0| - |V1|)/I worked step by step."""
    tester = instrument("loop")
    z = complex(r, x)
    v1 = v0 * tester.r_in / (tester.r_in + z)
    step = (v0 - abs(v1)) / (abs(v1) / tester.r_in)
    assert float(show.shown_loop(v0, z, tester)[0]) == pytest.approx(step, abs=1e-9)


def test_a_no_trip_loop_test_may_read_half_an_ohm_high_through_a_residual_device() -> None:
    """Two sigma above its average excess is about half an ohm; a high-current test has none.

    Source: common practice, row 29 of the project's list of phenomena.
    """
    mean, spread = show.loop_bias(instrument("loop low"), True)
    assert 0.3 < mean + 2 * spread < 0.6
    assert show.loop_bias(instrument("loop low"), False) == (0.0, 0.0)
    assert show.loop_bias(instrument("loop"), True) == (0.0, 0.0)


def test_a_loop_tester_refuses_a_dead_or_open_loop() -> None:
    """It reads at 230 V and half an ohm, not at 40 V, and not through 5 kΩ."""
    tester = instrument("loop")
    v0, z = np.array([230.0, 40.0, 230.0]), np.array([0.5, 0.5, 5e3])
    _, reads = show.shown_loop(v0, z, tester)
    assert reads == pytest.approx([1.0, 0.0, 0.0], abs=1e-6)


def test_an_insulation_tester_holds_its_volts_into_a_thousand_ohms_a_volt() -> None:
    """At rated current, 1 mA, it still holds its rated volts; short-circuited it stays under 15 mA.

    Source: IEC 61557-2:2019 extract (1 mA, 1000 Ω/V); the 15 mA is from memory.
    """
    for volts in (250.0, 500.0, 1000.0):
        opens, ohms = show.source_of(instrument(f"insulation {volts:g}"))
        load = 1000.0 * volts
        assert opens * load / (load + ohms) == pytest.approx(volts)
        assert opens / ohms < 15e-3


def test_a_low_resistance_ohmmeter_is_within_its_standard() -> None:
    """It opens between 4 and 24 V and passes 200 mA. Source: course notes on BS EN 61557-4."""
    opens, ohms = show.source_of(instrument("continuity"))
    assert 4 <= opens <= 24
    assert opens / ohms >= 0.2 - 1e-12


def test_testers_are_inside_the_standards_thirty_per_cent() -> None:
    """At two sigma every dead and loop tester is within 30 % in the middle of its range.

    Source: IEC 61557-2 extract; parts 3 and 4 from memory.
    """
    for id, value in (
        ("insulation 500", 2e6),
        ("continuity", 1.0),
        ("loop", 1.0),
        ("loop low", 2.0),
    ):
        assert 2 * float(show.sigma(instrument(id), value)) < 0.3 * value


def test_in_parallel_insulation_is_what_the_tester_shows() -> None:
    """5, 20, 10, 20 and 2 MΩ in parallel show 1.11 MΩ: row 25 of the list of phenomena."""
    z = 1 / sum(1 / r for r in (5e6, 20e6, 10e6, 20e6, 2e6))
    assert float(show.shown_megohms(z)) == pytest.approx(1.11e6, rel=2e-3)
    assert float(show.shown_by_source(500.0, 500.0 / z)) == pytest.approx(z)
    assert float(show.shown_by_source(500.0, 0.0)) == math.inf


def test_the_normal_tail_is_right_in_the_tail() -> None:
    """Φ agrees with mpmath to 2e-7 relative from -30 to 8, where slips are weighed."""
    x = np.linspace(-30, 8, 77)
    exact = np.array([float(mpmath.ncdf(mpmath.mpf(float(at)))) for at in x])
    worst = np.max(np.abs(show.chance_below(x) / exact - 1))
    assert worst < 2e-7, f"worst relative error {worst:.2g}"


@given(value=st.floats(1e-6, 1e10), more=st.floats(1.0, 100.0))
def test_more_is_surer_to_be_over_range(value: float, more: float) -> None:
    """The chance of "over range" never falls as the value rises, and is even at the limit."""
    for one in every():
        if math.isinf(one.high):
            continue
        a, b = (float(show.chance_over(one, at)) for at in (value, value * more))
        assert b >= a - 1e-12
        assert float(show.chance_over(one, one.high)) == pytest.approx(0.5, abs=1e-6)
        assert float(show.chance_over(one, math.inf)) == pytest.approx(1.0, abs=1e-6)


def test_an_open_circuit_is_over_range_on_every_ohmmeter() -> None:
    """Ten times the top of the range, or infinity, is over range for sure; a tenth never is."""
    for kind in ("ohms", "megohms", "loop"):
        for one in that_read(kind):
            over = show.chance_over(one, np.array([10 * one.high, 0.1 * one.high]))
            assert over == pytest.approx([1.0, 0.0], abs=1e-6), one.id


def test_below_its_threshold_a_two_pole_tester_says_nothing() -> None:
    """One volt is not shown by a detector that begins at six; fifty volts is."""
    under = show.chance_under(instrument("two-pole"), np.array([1.0, 50.0]))
    assert under == pytest.approx([1.0, 0.0], abs=1e-4)


@given(low=st.floats(0, 400), more=st.floats(0, 400))
def test_more_volts_never_make_an_indicator_likelier_dark(low: float, more: float) -> None:
    """The chance of being called lit never falls as the voltage rises."""
    for id in ("neon", "plug tester", "two-pole", "non-contact"):
        a, b = show.lit(instrument(id), np.array([low, low + more]))
        assert b >= a - 1e-12


def test_a_neon_strikes_between_sixty_and_ninety_volts() -> None:
    """Dark below 50 V, lit above 100 V, turning over between 60 and 90. Common practice."""
    dark, start, sure, lit = show.lit(instrument("neon"), np.array([45.0, 60.0, 90.0, 110.0]))
    assert dark < 0.01
    assert start < 0.1
    assert sure > 0.9
    assert lit > 0.99


# Three-lamp testers: row 31 of the list of phenomena ("practice").


def _pattern(voc: tuple[float, float], Z: list[list[complex]]) -> tuple[str, float]:
    tester = instrument("plug tester")
    volts = show.plug_volts(tester, np.array(voc, complex), np.array(Z), OMEGA)
    chances = show.lamps(tester, np.abs(volts))
    assert chances.sum() == pytest.approx(1.0)
    best = int(np.argmax(chances))
    return show.PATTERNS[best], float(chances[best])


FREE = 1 / (1j * OMEGA * 300e-12)  # a few metres of cable hang on what is not connected


@pytest.mark.parametrize(
    ("case", "voc", "Z", "pattern"),
    [
        ("sound", (230.0, 0.5), [[0.3, 0.1], [0.1, 0.2]], "110"),
        ("line and neutral reversed", (0.5, 230.0), [[0.2, 0.1], [0.1, 0.3]], "101"),
        # The load holds the free neutral at line potential: the same as line and earth reversed.
        ("open neutral, a load beyond", (230.0, 230.0), [[0.3, 0.3], [0.3, 60.0]], "011"),
        ("neutral joined to earth at the outlet", (230.0, 0.0), [[0.3, 0], [0, 1e-3]], "110"),
        ("open line", (115.0, 0.5), [[FREE, 0], [0, 0.2]], "000"),
    ],
)
def test_plug_testers_say_what_they_say_on_site(
    case: str, voc: tuple[float, float], Z: list[list[complex]], pattern: str
) -> None:
    """Known circuits light the lamps known for them, three lamps in place at once."""
    seen, chance = _pattern(voc, Z)
    assert (seen, chance > 0.9) == (pattern, True), f"{case}: {seen} at {chance:.2f}"


def test_the_lamps_are_solved_together() -> None:
    """With earth open, the lamps L-E and N-E share the supply in series through the free earth.

    By hand: earth hangs on two equal lamps, so each has half of 230 V and the third all of it.
    """
    tester = instrument("plug tester")
    # Ports are against the free earth terminal: its own huge impedance is common to both.
    Z = np.full((2, 2), FREE * 1e6) + np.diag([0.3, 0.2])
    volts = np.abs(show.plug_volts(tester, np.array([500.0 + 0j, 270.0]), Z, OMEGA))
    assert volts == pytest.approx([230.0, 115.0, 115.0], rel=1e-3)


@given(
    v=st.tuples(st.floats(-300, 300), st.floats(-300, 300)),
    r=st.tuples(st.floats(0.1, 1e6), st.floats(0.1, 1e6), st.floats(0, 1e6)),
)
def test_plug_tester_volts_satisfy_kirchhoff(
    v: tuple[float, float], r: tuple[float, float, float]
) -> None:
    """Open volts less what the lamps' currents drop are the lamps' volts, port by port."""
    tester = instrument("plug tester")
    Z = np.array([[r[0] + r[2], r[2]], [r[2], r[1] + r[2]]])
    between, line, neutral = show.plug_volts(tester, np.array(v), Z, 0.0)
    g = 1 / tester.r_in
    drawn = np.array([g * (line + between), g * (neutral - between)])
    assert np.array(v) - Z @ drawn == pytest.approx(np.array([line, neutral]), abs=1e-7)
    assert between == pytest.approx(line - neutral, abs=1e-9)


def test_shapes_are_kept() -> None:
    """Hypotheses by outcomes go in and the same shape comes out."""
    v, z = np.full((3, 4), 100.0 + 0j), np.full((3, 4), 1e4 + 0j)
    for one in every():
        assert np.shape(show.shown(one, v, z, OMEGA)) == (3, 4), one.id
        assert show.sigma(one, np.abs(v)).shape == (3, 4)
    assert show.plug_volts(
        instrument("plug tester"), np.zeros((3, 4, 2)), np.zeros((3, 4, 2, 2)), OMEGA
    ).shape == (3, 4, 3)
    assert show.lamps(instrument("plug tester"), np.zeros((3, 4, 3))).shape == (3, 4, 8)


# The catalogue


def test_every_instrument_says_what_it_does_and_whence() -> None:
    """Titles in every region, words on what it does, a source, kinds; ids are unique."""
    regions = Region.__args__  # type: ignore[attr-defined]
    for id, one in INSTRUMENTS.items():
        assert one.id == id
        assert one.kinds
        assert one.does
        assert any(w in one.source for w in ("published", "practice", "memory", "judgement")), id
        assert all(one.title(region) for region in regions)


def test_what_loads_the_circuit_is_known_to() -> None:
    """The lamp, the pushed load and the loop testers may trip or liven; the multimeter cannot."""
    loads = {one.id for one in every() if one.loads}
    assert loads == {
        *("low impedance", "two-pole load", "test lamp", "led lamp", "loop", "loop low"),
    }


def test_only_a_two_pole_tester_proves_dead() -> None:
    """Neither a multimeter nor a non-contact indicator can give "proved dead".

    Source: safety training article.
    """
    assert {one.id for one in that_read("proved dead")} == {"two-pole", "two-pole load"}


def test_an_unknown_id_lists_those_there_are() -> None:
    """The message shows what was asked for and what exists."""
    with pytest.raises(NotInTable, match=r"no row for wand; the table has multimeter, low"):
        instrument("wand")


def test_a_coarse_last_digit_is_uncertainty() -> None:
    """Rounding to the last digit spreads by a twelfth of its square: 1 V steps give 0.29 V.

    Source: the variance of an even spread one digit wide.
    """
    coarse = replace(instrument("two-pole"), accuracy=0.0, floor=0.0, resolution=1.0)
    even = (np.arange(1_000_000) + 0.5) / 1_000_000
    assert float(show.sigma(coarse, 230.0)) == pytest.approx(float(np.std(even)), rel=1e-6)
