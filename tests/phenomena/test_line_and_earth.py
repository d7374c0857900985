"""Rows 12 to 14, 16 and 17: open lines and earths, line on metalwork, reversal, tired joints."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfsplit.faults.fault import Fault
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Added, Bridged
from tests.phenomena.rows import BOTH, REGIONS, row, stiff
from tests.phenomena.site import LOW, METER, Site, also, clamp, made, site, three, trips, volts

metres = st.floats(3.0, 60.0)


@settings(max_examples=20)
@given(region=st.sampled_from(sorted(REGIONS)), length=metres)
def test_row_12_points_after_an_open_line_are_dead(region: str, length: float) -> None:
    """Line open: U before it, and under a tenth of U after it between every pair, loads or not."""
    s, u = row(region, (length,) * 3, "Three: kettle 1 kW"), REGIONS[region][2]
    fault = s.fault("open joint", "joint Two L", "One–Two")
    assert s.shows(*three("One"), fault=fault) == pytest.approx([u, u, 0.0], abs=0.02 * u)
    for place in ("Two", "Three"):
        assert max(s.shows(*three(place), fault=fault)) < 0.1 * u
    assert s.shows(three("Three")[0])[0] > 0.7 * u  # closed, it is alive


def ghosts(length: float) -> Site:
    """Both legs in one cable: the outlet's own line may be open beside a live one."""
    return site(
        f"""
region: na
supply: split phase 120/240 V
circuits:
  counter: {{device: 20 A breaker, legs: [L1, L2], cable: 14/3 NM-B,
    run: [5 m, Sink, {length} m, Bar]}}
"""
    )


@pytest.mark.parametrize("length", [5.0, 10.0, 20.0, 60.0])
def test_row_12_a_dead_line_beside_a_live_one_floats_to_a_ghost(length: float) -> None:
    """The dead line floats to ghosts of about 30 V of 120 (report, as listed in the row) where
    another line runs beside it; a low-impedance tester shows under 2 V."""
    s = ghosts(length)
    fault = s.fault("open joint", "joint Sink L1 ", "Sink–Bar")
    port = ("Bar.L1:front", "Bar.E:front")
    shown, low = s.shows(volts(*port), volts(*port, LOW), fault=fault)
    assert 10.0 < shown < 35.0
    assert low < 2.0
    assert s.without_capacitance().shows(volts(*port), fault=fault)[0] < 3.0


def two_ways(oven: str, lamp: str, leg: float = 0.001) -> Site:
    """Lamps on either leg and a 240 V load across both; ``leg`` ohms is each line's own."""
    return site(
        f"""
region: na
supply: {{earthing: TN-C-S, live: split phase, volts: 121 V, hertz: 60, line: {leg} ohm,
  neutral: 0.001 ohm}}
circuits:
  a: {{device: 20 A breaker, legs: L1, run: [3 m, Hall], plugged in: {{Hall: [heater 40 W]}}}}
  b: {{device: 20 A breaker, legs: L2, run: [3 m, Den], plugged in: {{Den: [{lamp}]}}}}
  oven: {{device: 40 A breaker, legs: [L1, L2], neutral: no, feeds: Oven, length: 5 m,
    plugged in: {{Oven: [{oven}]}}}}
"""
    )


HALL, DEN = volts("Hall.L:front", "Hall.N:front"), volts("Den.L:front", "Den.N:front")
LEGS = volts("Board.L1", "Board.L2")


def test_row_12_a_lost_leg_is_fed_backwards_through_a_240_volt_load() -> None:
    """Dead lights revive when the oven is on: 121 V on one leg's ways, and on the others what the
    oven and their own loads share; 20 V with 0.5 kW of them (Ohm's law, computed). Fed
    backwards the dead leg is in phase with the live one, so between legs is the difference."""
    s = two_ways("heater 400 W", "heater 500 W")
    fault = s.fault("supply line lost", "L2")
    hall, den, legs = s.shows(HALL, DEN, LEGS, fault=fault)
    oven, lamps = 242.0**2 / 400.0, 121.0**2 / 500.0
    assert hall == pytest.approx(121.0, rel=0.01)
    assert den == pytest.approx(121.0 * lamps / (oven + lamps), rel=0.02)
    assert den == pytest.approx(20.0, abs=3.0)
    assert legs == pytest.approx(hall - den, rel=0.01)
    away = Conditions(unplugged=("Oven",))
    assert s.shows(volts("Den.L:front", "Den.N:front", when=away), fault=fault)[0] < 1.0
    revived = two_ways("heater 2.5 kW", "heater 60 W")
    assert revived.shows(DEN, fault=fault)[0] > 100.0


def test_row_12_121_and_20_volts_with_140_between_legs() -> None:
    """121 / 20 V on alternate ways and 140 V between legs (report, as listed in the row): their
    sum, so the weak leg is still fed in its own phase through a resistive joint, not backwards."""
    s = two_ways("nothing", "heater 1000 W")
    tired = made(Added("service L2", 5.0 * 121.0**2 / 1000.0))
    hall, den, legs = s.shows(HALL, DEN, LEGS, fault=tired)
    assert (hall, den, legs) == pytest.approx((121.0, 20.0, 140.0), abs=1.5)


def frames(region: str, length: float, count: int, farads: str = "4.7 nF", on: str = "no") -> Site:
    """Earthed electronics beyond the middle outlet, each with two filter capacitors."""
    load = "{{name: set {k}, kind: electronics, power: 20 W, frame: yes, filter: {c}, on: {on}}}"
    loads = ", ".join(load.format(k=k, c=farads, on=on) for k in range(count))
    return row(region, (length,) * 3, f"Three: [{loads}]", stiff(REGIONS[region][2]))


def unearthed(s: Site) -> Fault:
    """The protective conductor open where it arrives at the middle outlet."""
    return s.fault("open joint", "joint Two E", "One–Two")


@pytest.mark.parametrize("region", BOTH)
@pytest.mark.parametrize("length", [3.0, 20.0])
@pytest.mark.parametrize("count", [1, 3, 10])
def test_row_13_filters_hold_frames_at_half_the_supply(
    region: str, length: float, count: int
) -> None:
    """60/60 V on 120, about 115/115 on 230 (reports, as listed in the row; half the outlet's
    voltage on a case, engineers' blog): the two parts sum nearly to U."""
    s, u = frames(region, length, count), REGIONS[region][2]
    _, line_earth, neutral_earth = s.shows(*three("Three"), fault=unearthed(s))
    assert line_earth == pytest.approx(u / 2, rel=0.06)
    assert neutral_earth == pytest.approx(u / 2, rel=0.12)
    assert line_earth + neutral_earth > 0.93 * u
    assert s.shows(*three("Three"))[2] < 1.0  # with the earth in


def test_row_13_held_by_cable_alone_the_parts_fall_short() -> None:
    """48 and 60 V on 120 V (electrician answer page): neutral-earth and line-earth both there and
    short of U, on a few metres of cable with nothing plugged in."""
    found = []
    for length in (3.0, 5.0, 8.0, 12.0, 20.0, 40.0):
        s = row("na", (length,) * 3)
        shown = s.shows(*three("Three"), fault=unearthed(s))
        assert shown[1] + shown[2] < 119.9
        found.append((shown[2], shown[1]))
    assert any(abs(n - 48.0) < 5.0 and abs(e - 60.0) < 6.0 for n, e in found)


@pytest.mark.parametrize(("ohms", "shown"), [(5e3, 17.0), (200e3, 113.0)])
def test_row_13_ten_appliances_on_low_impedance_meters(ohms: float, shown: float) -> None:
    """Ten of 2 x 4.7 nF are 34 kΩ: 17 V at 5 kΩ and 113 V at 200 kΩ (computed)."""
    s = frames("uk", 3.0, 10)
    fault = unearthed(s)
    port = ("Three.E:front", "Three.N:front")
    assert s.expected([volts(*port)], fault)[0].ohms == pytest.approx(33.9e3, rel=0.05)
    assert s.metered(*port, ohms, fault) == pytest.approx(shown, abs=1.5)
    bare = s.without_filters()
    assert bare.metered(*port, ohms, fault) < 0.2 * shown


@settings(max_examples=20)
@given(region=st.sampled_from(BOTH), count=st.integers(1, 20), nano=st.floats(1.0, 4.7))
def test_row_13_what_a_person_would_get_adds_up(region: str, count: int, nano: float) -> None:
    """Into a short the frame passes U·2πf·C per appliance: under 0.75 mA each (portable limit,
    product standards, from memory), and sums pass a let-go of 5 mA."""
    s, u = frames(region, 3.0, count, f"{nano:.3f} nF"), REGIONS[region][2]
    seen = s.expected([volts("Three.E:front", "earth")], unearthed(s))[0]
    assert seen.volts is not None
    assert seen.ohms
    milliamps = 1e3 * seen.volts / seen.ohms
    each = 1e3 * u * 2 * math.pi * s.plan.hertz * nano * 1e-9
    assert each < 0.75
    assert milliamps == pytest.approx(count * each, rel=0.15, abs=0.05)


def test_row_13_fifteen_pass_let_go_and_one_tingles() -> None:
    """Fifteen of 2 x 4.7 nF on 230 V pass 5 mA (let-go planned at 5 mA: technical explainer on IEC
    60479); one is at most a tingle, and without filters nothing is felt."""
    felt = [
        Reading(seen, "touch", "Three.E:front", "earth", seen=seen)
        for seen in ("nothing", "tingle", "shock")
    ]
    many, one = frames("uk", 3.0, 16), frames("uk", 3.0, 1)
    e = many.expected([volts("Three.E:front", "earth")], unearthed(many))[0]
    assert e.volts and e.ohms  # noqa: PT018
    assert e.volts / e.ohms > 5e-3
    assert many.chances(*felt, fault=unearthed(many))[2] > 0.3
    assert one.chances(*felt, fault=unearthed(one))[2] < 0.02
    without = one.without_filters()
    assert without.chances(*felt, fault=unearthed(without))[0] > 0.95


@settings(max_examples=20)
@given(region=st.sampled_from(BOTH), length=metres)
def test_row_14_line_on_metalwork_with_the_earth_open_trips_nothing(
    region: str, length: float
) -> None:
    """Metalwork stands at U and every device holds; with the earth sound the same contact trips
    the breaker at once, and that metalwork is then dead."""
    s, u = row(region, (length / 2,) * 3, "Three: kettle 500 W"), REGIONS[region][2]
    contact = made(Bridged("Three.L", "Three.E", math.inf))
    both = also(unearthed(s), contact)
    device = s.plan.ways[-1].name
    frame = volts("Three/kettle:frame", "earth")
    (live,) = s.expected([frame], both)
    assert live.figure == pytest.approx(u, rel=0.06)
    assert live.parted == ()
    assert s.chances(trips(device), fault=both)[0] < 0.1
    (dead,) = s.expected([frame], contact)
    assert dead.parted == (device,)
    assert dead.figure is not None
    assert dead.figure < 1.0
    assert s.chances(trips(device), fault=contact)[0] > 0.95


def reversed_at_three(s: Site) -> Fault:
    """Line and neutral exchanged where they arrive at the last outlet."""
    return s.fault("crossed at run end", "joint Three L", "joint Three N")


@settings(max_examples=20)
@given(region=st.sampled_from(BOTH), length=metres, power=st.floats(50.0, 1500.0))
def test_row_16_reversed_polarity_reads_the_neutrals_drop(
    region: str, length: float, power: float
) -> None:
    """Line-earth is the neutral's own drop, 0 to a few volts, and neutral-earth U (120 and 0 V from
    the wide and the narrow slot: interview-question teaching page)."""
    s, u = row(region, (length,) * 3, f"Three: heater {power:.1f} W"), REGIONS[region][2]
    fault = reversed_at_three(s)
    line_neutral, line_earth, neutral_earth = s.shows(*three("Three"), fault=fault)
    amps = s.shows(clamp("core Two–Three L"), fault=fault)[0]
    way = sum(
        e.ohms
        for e in s.plan.elements
        if e.conductor == "N" and e.kind in ("core", "joint", "pole", "contact", "service")
        and (e.kind != "contact" or e.at == ("Three",))
    )  # fmt: skip
    extra = 0.1 * u / 100 + amps * 0.05
    assert line_earth == pytest.approx(amps * way, rel=0.08, abs=extra)
    assert line_neutral + line_earth == pytest.approx(neutral_earth, rel=0.01)
    idle = three("Three", when=Conditions(unplugged=("all",)))
    assert s.shows(*idle, fault=fault) == pytest.approx([u, 0.0, u], abs=1.0)
    assert s.shows(*idle) == pytest.approx([u, u, 0.0], abs=0.3)


@pytest.mark.parametrize("by", [METER, LOW])
@pytest.mark.parametrize("region", BOTH)
def test_row_16_is_the_same_on_every_meter(region: str, by: str) -> None:
    """Nothing floats: a low-impedance tester agrees with the multimeter."""
    s, u = row(region), REGIONS[region][2]
    read = s.shows(*three("Three", by), fault=reversed_at_three(s))
    assert read == pytest.approx([u, 0.0, u], abs=0.01 * u)


@settings(max_examples=25)
@given(region=st.sampled_from(BOTH), ohms=st.floats(0.3, 300.0), power=st.floats(100.0, 1800.0))
def test_row_17_a_tired_line_joint_collapses_under_load_and_heats(
    region: str, ohms: float, power: float
) -> None:
    """Good voltage unloaded; loaded, U·Rload/(Rload + R) is left and the joint turns I²R into heat
    (Ohm's and Joule's laws), here at the first outlet, which itself still works."""
    u = REGIONS[region][2]
    s = row(region, (1.0,) * 3, f"Three: heater {power:.1f} W", stiff(u), device="B63")
    fault = made(Added("joint One L One–Two", ohms))
    load = u * u / power
    drop, amps = volts("One.L", "One.L:One–Two"), clamp("core One–Two L")
    line_neutral, across, through = s.shows(three("Three")[0], drop, amps, fault=fault)
    assert line_neutral == pytest.approx(u * load / (load + ohms), rel=0.02)
    assert across * through == pytest.approx(ohms * (u / (load + ohms)) ** 2, rel=0.04)
    assert s.shows(three("One")[0], fault=fault)[0] == pytest.approx(u, rel=0.02)
    idle = three("Three", when=Conditions(unplugged=("all",)))
    assert s.shows(idle[0], fault=fault)[0] == pytest.approx(u, rel=0.001)
    assert s.shows(three("Three")[0])[0] == pytest.approx(u, rel=0.03)


def test_row_17_the_bad_joint_may_be_in_a_switch() -> None:
    """10 Ω in a switch before 500 W: the light gets 210 of 230 V, all well with it off."""
    s = site(
        f"""
region: uk
supply: {stiff(230.0)}
circuits:
  lights: {{device: B6, lighting: [2 m, Hall: {{switched by: Hall switch, drops: [2 m],
    lamp: heater 500 W}}]}}
"""
    )
    fault = made(Added("switch Hall switch L-SL", 10.0))
    port = ("Hall.SL", "Hall.N")
    loaded = s.shows(volts(*port), volts("Hall switch.L", "Hall switch.SL"), fault=fault)
    load = 230.0**2 / 500.0
    assert loaded == pytest.approx([230 * load / (load + 10), 230 * 10 / (load + 10)], rel=0.01)
    idle = Conditions(unplugged=("all",))
    assert s.shows(volts(*port, when=idle), fault=fault)[0] == pytest.approx(230.0, rel=0.001)
