"""Lights in series or past their switch, and faults of the supply that neighbours share."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from halfsplit.faults.supply import STREETS
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.model import About, Circuit, Installation, Load, Point, Supply
from tests.faults.houses import (
    american,
    chain,
    cores,
    kettle,
    lamp,
    looped_at_ceiling,
    looped_at_switch,
    radial,
    row_of_lights,
    two_way,
    workshop,
)
from tests.faults.solving import Bench, bench
from tests.phenomena.spice import solve

U = 230.0
UPSTREAM = "combined conductor lost upstream: service PEN"


def only(*circuits: Circuit) -> Installation:
    """An installation of just these circuits."""
    return Installation(supply=Supply("TN-C-S", volts=About(U)), circuits=circuits)


def row(*lights: Load) -> Circuit:
    """Lights looped along one cable."""
    names = tuple(f"Shed {k}" for k in range(1, len(lights) + 1))
    return replace(
        row_of_lights(),
        runs=chain("Board", *names, cores=cores("L", "N", "E")),
        points=tuple(
            Point(name, "light", front=False, loads=(load,))
            for name, load in zip(names, lights, strict=True)
        ),
    )


@pytest.mark.parametrize(
    "watts", [(60.0, 60.0, 60.0), (40.0, 60.0, 100.0), (25.0, 150.0, 60.0, 60.0)]
)
def test_any_number_of_lights_in_series_share_the_supply_by_their_resistance(
    watts: tuple[float, ...],
) -> None:
    """Each has U times its own share of the string's ohms, 1/W over the sum of 1/W (Ohm's law)."""
    lights = bench(only(row(*(lamp(w) for w in watts))))
    names = [f"Shed {k}/lamp" for k in range(1, len(watts) + 1)]
    fault = "lamps in series: " + " with ".join(names)
    found = lights.volts(fault, *((f"{name}:a", f"{name}:b") for name in names))
    total = sum(1 / w for w in watts)
    assert found == pytest.approx([U / w / total for w in watts], rel=0.01)


def test_strings_of_lights_are_of_any_kind_and_any_length() -> None:
    """Four lights of four kinds, one of them unknown: 3 + 2 + 1 strings of two, three and four."""
    lights = (lamp(), Load("led", "led", About(8.0)), Load("tube", "fluorescent", About(36.0)),
              Load("lamp", "", About(12.0)))  # fmt: skip
    home = bench(only(row(*lights)))
    strings = [len(f.places) for f in home.faults.values() if f.family == "lamps in series"]
    assert sorted(strings) == [2, 2, 2, 3, 3, 4]


PAST = (
    (looped_at_ceiling(), "Hall lamp", "hall switch", "off"),
    (looped_at_switch(), "Store lamp", "store switch", "off"),
)


@pytest.mark.parametrize(("circuit", "place", "switch", "dark"), PAST)
def test_a_light_on_the_permanent_line_ignores_its_switch(
    circuit: Circuit, place: str, switch: str, dark: str
) -> None:
    """It has U with its switch off, where a sound one has next to nothing."""
    off = bench(only(circuit), Conditions(positions=((switch, dark),)))
    ends = (f"{place}/lamp:a", f"{place}/lamp:b")
    assert off.volts("", ends)[0] < 30.0
    assert off.volts(f"light on permanent line: {place}/lamp", ends)[0] == pytest.approx(U, abs=8)


def test_a_light_far_from_any_permanent_line_is_not_suspected_of_it() -> None:
    """Fed from the last of two switches, where no permanent line is: there is none to sit on."""
    stairs = bench(only(two_way()))
    assert not [f for f in stairs.faults.values() if f.family == "light on permanent line"]


def test_an_arcing_supply_cable_divides_the_voltage_as_its_ohms_say() -> None:
    """0.2 Ω across the origin behind 0.12 + 0.08 Ω: half of U (Ohm's law), kettle or not."""
    home = bench(radial(3))
    fault = "supply short: L-PEN"
    names = [s.name for s in home.faults[fault].severities]
    step = next(k for k, name in enumerate(names) if name != "solid")
    assert home.volts(fault, ("origin.L", "origin.N"), step=step)[0] == pytest.approx(
        U / 2, rel=0.02
    )
    solid = names.index("solid")
    assert home.volts(fault, ("origin.L", "origin.N"), step=solid)[0] < 1.0
    assert abs(home.amps(fault, "core Board–P1 L", step=solid)) < 0.01


def test_every_pair_with_a_line_may_be_short_ahead_of_the_origin() -> None:
    """Single phase with a combined conductor has one pair, split phase three; TN-S three phase has
    every pair but neutral to earth: nine."""
    for installation, count in ((radial(1), 1), (american(), 3), (workshop(), 9)):
        found = [f for f in bench(installation).faults.values() if f.family == "supply short"]
        assert len(found) == count


def terrace() -> tuple[Installation, Bench]:
    """A house with a 2 kW kettle on a combined conductor that several share."""
    supply = Supply("TN-C-S", volts=About(U), source_electrode_ohms=About(5.0))
    one = replace(radial(1).circuits[0], points=(Point("P1", loads=(kettle(),)),))
    house = Installation(supply=supply, circuits=(one,))
    return house, bench(house)


@pytest.mark.parametrize("step", range(len(STREETS)))
def test_neighbours_pull_a_combined_conductor_broken_before_them_all(
    ngspice: str, tmp_path: Path, step: int
) -> None:
    """The kettle's volts and what everything earthed rises to, against ngspice: a star of four
    loads on three phases, its middle held by the neighbours' earths and the network's electrode.
    """
    _, home = terrace()
    _, watts, earth = STREETS[step]
    found = home.volts(UPSTREAM, ("P1.L", "P1.N"), ("P1.E", "earth"), step=step)
    lines = [f"v{k} p{k} s ac {U} {-120 * k}" for k in range(3)]
    lines += [f"rn{k} p{k} m {U**2 / w}" for k, w in enumerate(watts) if w]
    lines += ["rsrc s 0 5", f"rhouse m 0 {earth}",
              "rline p0 l 0.15", f"rk l n {U**2 / 2000.0}", "rback n m 0.06"]  # fmt: skip
    asked = solve(ngspice, tmp_path, lines, ["v(l,n)", "v(m)"], 50.0)
    assert found == pytest.approx(asked, rel=0.02, abs=1.0)


def test_neighbours_on_other_phases_can_raise_the_voltage_and_ones_own_cannot() -> None:
    """With the neighbours on the other phases the kettle sees more than U; with them on its own
    phase, or alone, never."""
    _, home = terrace()
    steps = [home.volts(UPSTREAM, ("P1.L", "P1.N"), step=k)[0] for k in range(len(STREETS))]
    same = 0
    assert STREETS[same][1][1:] == (0.0, 0.0)
    alone = home.volts("combined conductor lost: service PEN", ("P1.L", "P1.N"))[0]
    assert max(steps) > 1.05 * U
    assert steps[same] < U
    assert alone < U


def test_a_main_switch_that_is_off_does_not_clear_it() -> None:
    """Own main switch off, everything earthed still stands off true earth: the neighbours' loads
    hold it there. Broken behind them all, it falls to nothing."""
    house, _ = terrace()
    off = bench(house, Conditions(off=("main switch",)))
    shared = max(off.volts(UPSTREAM, ("P1.E", "earth"), step=k)[0] for k in range(len(STREETS)))
    assert shared > 50.0
    assert off.volts("combined conductor lost: service PEN", ("P1.E", "earth"))[0] < 5.0


def test_only_a_combined_conductor_is_shared_so() -> None:
    """With the earthing kept apart there is no such fault, and nothing of the neighbours'."""
    apart = bench(replace(radial(1), supply=Supply("TN-S", volts=About(U))))
    assert not [f for f in apart.faults.values() if f.family == "combined conductor lost upstream"]
    assert not [e for e in apart.plan.elements if "street" in e.id]


def test_in_a_sound_house_the_neighbours_phases_carry_nothing() -> None:
    """They hang on nothing of ours until the conductor they share is broken."""
    _, home = terrace()
    for k in (2, 3):
        assert abs(home.amps("", f"source street {k}")) < 1e-6
    step = [name for name, *_ in STREETS].index(4)
    assert abs(home.amps(UPSTREAM, "core Board–P1 L", step=step)) > 1.0


def test_a_phase_lost_ahead_of_the_transformer_leaves_two_lines_at_half() -> None:
    """Delta to star with one primary line open: two windings in series across the other two lines,
    so two phases have half of U and are in step, the third has U (Kirchhoff, by phasors: a and c
    are -b/2). Line to line that is 0, 345 and 345 V."""
    plant = bench(workshop())
    fault = "primary phase lost: L2 whole"
    pairs = [(f"origin.L{k}", "origin.N") for k in (1, 2, 3)]
    pairs += [("origin.L1", "origin.L3"), ("origin.L1", "origin.L2"), ("origin.L2", "origin.L3")]
    assert plant.volts("", *pairs) == pytest.approx([U] * 3 + [U * 3**0.5] * 3, rel=0.02)
    by_hand = [U / 2, U, U / 2, 0.0, 1.5 * U, 1.5 * U]
    assert plant.volts(fault, *pairs) == pytest.approx(by_hand, rel=0.02, abs=3.0)
    assert not [f for f in bench(radial(1)).faults if f.startswith("primary phase lost")]


def test_a_fault_elsewhere_on_the_network_lifts_all_that_is_earthed() -> None:
    """60 Ω from a line to earth and 5 Ω of transformer earth: U·5/65 on every frame, main switch
    off or on (Ohm's law); between line and neutral nothing changes."""
    home = bench(radial(1), Conditions(off=("main switch",)))
    step = [s.name for s in home.faults["network off earth: neutral"].severities].index("60 Ω")
    fault = "network off earth: neutral"
    lifted, steady = home.volts(fault, ("P1.E", "earth"), ("origin.L", "origin.N"), step=step)
    assert lifted == pytest.approx(U * 5 / 65, rel=0.02)
    assert steady == pytest.approx(U, rel=0.01)


def test_a_bad_lampholder_dims_its_own_lamp_and_no_other() -> None:
    """300 Ω in the holder of a 60 W lamp (882 Ω): U·882/1182 across it; its neighbours keep U."""
    lights = bench(only(row(lamp(), lamp(), lamp())))
    fault = "loose flex: Shed 2/lamp L"
    step = [s.name for s in lights.faults[fault].severities].index("300 Ω")
    ends = [(f"Shed {k}/lamp:a", f"Shed {k}/lamp:b") for k in (1, 2, 3)]
    ohms = U**2 / 60
    assert lights.volts(fault, *ends, step=step) == pytest.approx(
        [U, U * ohms / (ohms + 300), U], rel=0.01
    )
