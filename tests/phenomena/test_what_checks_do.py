"""Rows 30 to 34: what misleads, two faults at once, and what the check itself makes live."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfsplit.behaviour.body import worst_touch
from halfsplit.faults.fault import Fault
from halfsplit.instruments import show
from halfsplit.instruments.catalogue import instrument
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Added, Bridged
from tests.phenomena.rows import BOTH, REGIONS, row, stiff
from tests.phenomena.site import LOW, TWO_POLE, Site, also, made, site, three, volts

metres = st.floats(3.0, 60.0)


def last_open(s: Site, key: str) -> Fault:
    """A conductor open where it arrives at the last outlet."""
    return s.fault("open joint", f"joint Three {key}", "Two–Three")


def test_row_30_a_device_that_is_off_looks_like_a_dead_circuit() -> None:
    """Device off: every point is dead between every pair, the board's own bars are not."""
    s = row("uk")
    fault = s.fault("device off", "row")
    for place in ("One", "Two", "Three"):
        assert max(s.shows(*three(place), fault=fault)) < 1.0
    assert s.shows(volts("Board.L", "Board.N"), fault=fault)[0] == pytest.approx(230.0, rel=0.01)
    assert s.shows(three("Three")[0])[0] > 220.0


def test_row_30_an_upstream_outlet_tripped_kills_what_it_feeds() -> None:
    """A residual-current outlet tripped: it and all beyond are dead, what lies before is not."""
    s = site(
        """
region: na
supply: split phase 120/240 V
circuits:
  bath: {device: 20 A breaker, legs: L1, run: [8 m, Hall, 4 m, Basin, 4 m, Porch],
    points: {Basin: {kind: gfci outlet}}}
"""
    )
    fault = s.fault("outlet tripped")
    assert s.shows(three("Hall")[0], fault=fault)[0] == pytest.approx(120.0, rel=0.01)
    assert max(s.shows(*three("Porch"), fault=fault)) < 2.0
    assert s.shows(three("Porch")[0])[0] == pytest.approx(120.0, rel=0.01)


def test_row_30_two_phases_of_three() -> None:
    """One phase of 208Y/120 gone: 117/117/208 V stay (report, as listed in the row), the third
    reads nothing to neutral."""
    s = site(
        f"""
region: na
supply: {stiff(117.0, "three phase")}
circuits:
  pump: {{device: 20 A breaker, legs: [L1, L2, L3], run: [10 m, Pump],
    points: {{Pump: {{kind: appliance}}}}}}
"""
    )
    pairs = [("L1", "N"), ("L2", "N"), ("L1", "L2"), ("L3", "N")]
    ports = [volts(f"Pump.{a}", f"Pump.{b}") for a, b in pairs]
    fault = s.fault("supply line lost", "L3")
    line = 117.0 * math.sqrt(3.0)
    assert s.shows(*ports, fault=fault) == pytest.approx([117.0, 117.0, line, 0.0], abs=1.0)
    assert line == pytest.approx(203.0, abs=5.5)  # 208 at the nominal 120 V
    assert s.shows(ports[3])[0] == pytest.approx(117.0, rel=0.01)


def test_row_30_a_half_switched_outlet_with_its_link_left_in() -> None:
    """The link between the halves not broken off: the switched half stays live with the switch
    off; broken off, it is dead."""
    s = site(
        """
region: na
supply: split phase 120/240 V
circuits:
  den: {device: 15 A breaker, legs: L2, run: [10 m, Den switch, 4 m, Den outlet],
    points: {Den switch: switch, Den outlet: {half switched by: Den switch}}}
"""
    )
    off = Conditions(positions=(("Den switch", "off"),))
    port = volts("Den outlet.SL:front", "Den outlet.N:front", LOW, off)
    assert s.shows(port, fault=s.fault("link left in"))[0] == pytest.approx(120.0, rel=0.01)
    assert s.shows(port)[0] < 2.0


@pytest.mark.parametrize(("family", "kind"), [("lead open", "volts"), ("fuse blown", "ohms")])
def test_row_30_an_open_lead_or_a_blown_fuse_shows_nothing(family: str, kind: str) -> None:
    """With a lead open the meter shows stray volts only; with its fuse blown its ohms are open."""
    s = row("uk")
    if kind == "volts":
        assert s.shows(three("One")[0], fault=s.fault(family))[0] < 50.0
    else:
        dead = Conditions(dead=True, links=(("Board.L:way row", "Board.E"),))
        port = Reading("r", "ohms", "One.L", "One.E", instrument="meter ohms", conditions=dead)
        assert s.shows(port, fault=s.fault(family))[0] > 1e6


PATTERNS = show.PATTERNS


def pattern(s: Site, fault: Fault | None, place: str = "Three") -> str:
    """The plug tester's likeliest lamps: line-neutral, line-earth, neutral-earth."""
    asked = [Reading(p, "lamps", of=place, seen=p) for p in PATTERNS]
    chances = s.chances(*asked, fault=fault)
    assert sum(chances) == pytest.approx(1.0, abs=1e-6)
    best = max(range(8), key=chances.__getitem__)
    assert chances[best] > 0.55
    return PATTERNS[best]


@pytest.mark.parametrize("region", BOTH)
@pytest.mark.parametrize("length", [3.0, 20.0, 60.0])
def test_row_31_three_lamp_testers_mislead(region: str, length: float) -> None:
    """Open earth with a line-to-frame path reads as reversed; open neutral with a load as line and
    earth reversed; neutral strapped to earth as correct, reversed or not (common practice)."""
    s = row(region, (length,) * 3, "Three: heater 500 W")
    contact = made(Bridged("Three.L", "Three.E", math.inf))
    turned = s.fault("crossed at run end", "joint Three L", "joint Three N")
    assert pattern(s, None) == "110"
    assert pattern(s, turned) == "101"
    assert pattern(s, also(last_open(s, "E"), contact)) == "101"
    assert pattern(s, s.fault("crossed front", "Three L-E")) == "011"
    assert pattern(s, last_open(s, "N")) == "011"
    for how in ("plain", "reversed"):
        assert pattern(s, s.fault("strapped earth", "Three", how)) == "110"
    strapped = s.fault("strapped earth", "Three", "reversed")
    u = REGIONS[region][2]
    assert s.shows(volts("Three.E:front", "earth"), fault=strapped)[0] == pytest.approx(u, rel=0.1)


@pytest.mark.parametrize("region", BOTH)
def test_row_31_the_misreading_needs_the_load_and_the_path(region: str) -> None:
    """Without the load an open neutral is not read as reversed, nor an open earth without the
    path to the frame."""
    bare = row(region)
    assert pattern(bare, last_open(bare, "N")) != "011"
    assert pattern(bare, last_open(bare, "E")) != "101"


@pytest.mark.parametrize("region", BOTH)
def test_row_32_two_faults_at_once_show_what_neither_does(region: str) -> None:
    """A loose neutral with reversed polarity: loaded, line-earth reads the joint's drop, where
    reversal alone reads about nothing and the joint alone U."""
    u = REGIONS[region][2]
    s = row(region, (1.0,) * 3, "Three: heater 500 W", stiff(u))
    turned = s.fault("crossed at run end", "joint Three L", "joint Three N")
    joint = made(Added("joint Two N One–Two", u * u / 500.0 / 4))
    both = made(*turned.severities[0].effects, *joint.severities[0].effects)
    shown = [s.shows(three("Three")[1], fault=f)[0] for f in (turned, joint, both)]
    assert shown == pytest.approx([0.0, u, u / 5], abs=0.015 * u)


def test_row_32_two_loose_joints_share_the_drop() -> None:
    """Two joints of 5 Ω before 1 kW: each has its own part of the drop, by its ohms."""
    s = row("uk", (1.0,) * 3, "Three: heater 1 kW", stiff(230.0))
    both = made(Added("joint One L Board–One", 5.0), Added("joint Three N Two–Three", 5.0))
    port = (volts("One.L", "One.L:Board–One"), volts("Three.N", "Three.N:Two–Three"))
    amps = 230.0 / (52.9 + 10.0)
    assert s.shows(*port, fault=both) == pytest.approx([5 * amps, 5 * amps], rel=0.02)
    assert s.shows(*port) == pytest.approx([0.0, 0.0], abs=0.1)


def unearthed(region: str, length: float, load: str = "kettle 1 kW off") -> tuple[Site, Fault]:
    """An appliance whose protective conductor is open a point before."""
    s = row(region, (length,) * 3, f"Two: {load}", stiff(REGIONS[region][2]))
    return s, s.fault("open joint", "joint Two E", "One–Two")


CHECKS = ["two-pole", "two-pole load", "low impedance", "loop", "loop low", "test lamp"]


@settings(max_examples=10)
@given(region=st.sampled_from(BOTH), length=metres)
@pytest.mark.parametrize("by", CHECKS)
def test_row_33_a_check_to_an_open_earth_livens_every_frame_beyond(
    region: str, length: float, by: str
) -> None:
    """Lamp, low-impedance or loop test from line to an open protective conductor: nearly U on
    frames beyond *during* the check; with the earth sound they stay near nothing."""
    s, fault = unearthed(region, length)
    u, one = REGIONS[region][2], instrument(by)
    ohms = u * u / one.watts if one.law else one.r_in
    hung = Bridged("Three.L:front", "Three.E:front", 1.0 / ohms)
    frame = volts("Two/kettle:frame", "earth")
    during = s.shows(frame, fault=made(*fault.severities[0].effects, hung))[0]
    assert during > 0.75 * u
    assert s.shows(frame, fault=made(hung))[0] < 0.12 * u
    if by != "two-pole":
        assert during > 0.95 * u


@pytest.mark.parametrize("region", BOTH)
def test_row_33_and_would_hurt(region: str) -> None:
    """Through a test lamp the frame passes more than 5 mA through a person (let-go planned at
    5 mA: technical explainer on IEC 60479); through a 10 MΩ meter under half a milliampere."""
    s, fault = unearthed(region, 20.0)
    u, person = REGIONS[region][2], worst_touch()
    body = 1 / float(person.admittance([u])[0].real[0])  # type: ignore[arg-type]
    amps = {}
    for name, ohms in (("lamp", u * u / 25.0), ("meter", 10e6)):
        hung = Bridged("Three.L:front", "Three.E:front", 1.0 / ohms)
        touched = Bridged("Two/kettle:frame", "earth", 1.0 / body)
        got = s.expected(
            [volts("Two/kettle:frame", "earth")], made(*fault.severities[0].effects, hung, touched)
        )[0].volts
        assert got is not None
        amps[name] = got / body
    assert amps["lamp"] > 5e-3
    assert amps["meter"] < 0.5e-3


@settings(max_examples=15)
@given(region=st.sampled_from(BOTH), length=metres, power=st.floats(5.0, 60.0))
def test_row_33_a_lamp_beyond_an_open_neutral_livens_it(
    region: str, length: float, power: float
) -> None:
    """A lamp put in beyond an open neutral brings that neutral to U; taken out it floats."""
    s, u = row(region, (length,) * 3), REGIONS[region][2]
    fault = s.fault("open joint", "joint Two N", "One–Two")
    lamp = Conditions(added=(("Three", "filament", power),))
    neutral = ("Two.N:front", "Two.E:front")
    assert s.shows(volts(*neutral, when=lamp), fault=fault)[0] == pytest.approx(u, rel=0.02)
    assert s.shows(volts(*neutral), fault=fault)[0] < 0.55 * u


@pytest.mark.parametrize("by", [LOW, TWO_POLE, "two-pole load"])
@pytest.mark.parametrize("region", BOTH)
@pytest.mark.parametrize("key", ["N", "E"])
def test_row_34_a_low_impedance_tester_calls_a_live_line_dead(
    region: str, by: str, key: str
) -> None:
    """Against a neutral or earth that floats it reads about 0 on a live line, a false "dead"; the
    other pair, and an independently proved earth, read U."""
    s, u = row(region), REGIONS[region][2]
    fault = last_open(s, key)
    other = "E" if key == "N" else "N"
    line = "Three.L:front"
    false, true, proved = s.shows(
        volts(line, f"Three.{key}:front", by), volts(line, f"Three.{other}:front", by),
        volts(line, "earth", by), fault=fault,
    )  # fmt: skip
    assert false < 0.005 * u
    assert true == pytest.approx(u, rel=0.01)
    assert proved == pytest.approx(u, rel=0.01)
    assert s.shows(volts(line, f"Three.{key}:front", by))[0] == pytest.approx(u, rel=0.01)
    dead = [Reading(k, "proved dead", line, f"Three.{k}:front", seen="dead") for k in (key, other)]
    assert s.chances(*dead, fault=fault) == pytest.approx([1.0, 0.0], abs=0.05)


@settings(max_examples=15)
@given(region=st.sampled_from(BOTH), ohms=st.floats(2.5e3, 200e3), length=metres)
def test_row_34_over_the_band_of_testers(region: str, ohms: float, length: float) -> None:
    """From 2.5 to 200 kΩ (common practice) the false reading stays under a third of U however long
    the cable beyond; an ideal meter would show it live."""
    s, u = row(region, (10.0, length, length)), REGIONS[region][2]
    fault = s.fault("open joint", "joint Two N", "One–Two")
    port = ("Three.L:front", "Three.N:front")
    assert s.metered(*port, ohms, fault) < 0.34 * u
    assert s.metered(*port, 1e12, fault) > 0.6 * u
