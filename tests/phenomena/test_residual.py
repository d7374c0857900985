"""Rows 10, 11 and 22 to 24: residual currents, who trips, and when."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfsplit.faults.fault import Fault
from halfsplit.wiring.conditions import AS_DESCRIBED, Conditions
from halfsplit.wiring.effects import Bridged
from tests.phenomena.rows import REGIONS, row
from tests.phenomena.site import Site, also, clamp, made, site, trips

metres = st.floats(3.0, 60.0)


def shared(device: str, lamp: str = "filament 60 W") -> Site:
    """Two circuits behind one shared device, an oven behind another, all loads off."""
    return site(
        f"""
region: uk
supply: TN-S 230 V
boards:
  Board:
    groups:
      RCD 1: {{device: {device}, circuits: [up, down]}}
      RCD 2: {{device: {device}, circuits: [oven]}}
circuits:
  up: {{device: B6, cable: 1.5/1 twin and earth, run: [8 m, Landing],
    plugged in: {{Landing: [{lamp} off]}}}}
  down: {{device: B16, cable: 2.5/1.5 twin and earth, run: [6 m, Hall, 4 m, Lounge]}}
  oven: {{device: B32, cable: 6/2.5 twin and earth, run: [7 m, Oven point],
    plugged in: {{Oven point: [heater 2 kW off]}}}}
"""
    )


SENSES = ("pole RCD 1 L", "pole RCD 1 N")
RCD, PLAIN = "RCD 30 mA 63 A", "switch 63 A"  # a plain switch, to clamp what an RCD would part


def on(s: Site, word: str, *off: str) -> Conditions:
    """One load switched on, some devices off."""
    load = next(load.id for load in s.plan.loads if word in load.id)
    return Conditions(plugged=(load,), off=off)


@pytest.mark.parametrize(("lamp", "amps"), [("filament 60 W", 0.261), ("heater 1 kW", 4.35)])
def test_row_10_a_borrowed_neutral_shows_the_whole_of_its_load(lamp: str, amps: float) -> None:
    """Residual current of both devices is the borrowed load's own (electricians' forum: trips
    either side when it is switched on); with its own neutral it is nothing."""
    s = shared(PLAIN, lamp)
    fault = s.fault("borrowed neutral", "Landing from oven")
    lit = on(s, "Landing")
    other = clamp("pole RCD 2 L", "pole RCD 2 N", when=lit)
    assert s.shows(clamp(*SENSES, when=lit), other, fault=fault) == pytest.approx(
        [amps, amps], rel=0.03
    )
    assert s.shows(clamp(*SENSES), fault=fault)[0] < 1e-3
    assert s.shows(clamp(*SENSES, when=lit))[0] < 1e-3


def test_row_10_it_trips_when_that_lamp_is_switched_on() -> None:
    """30 mA devices: nothing trips until the borrowed lamp is on, then at least one does."""
    s = shared(RCD)
    fault = s.fault("borrowed neutral", "Landing from oven")
    lit = on(s, "Landing")
    assert s.chances(trips("RCD 1"), trips("RCD 2"), fault=fault) == pytest.approx([0.02] * 2)
    assert max(s.chances(trips("RCD 1", when=lit), trips("RCD 2", when=lit), fault=fault)) > 0.99
    assert max(s.chances(trips("RCD 1", when=lit), trips("RCD 2", when=lit))) < 0.05
    same = s.fault("borrowed neutral", "Landing from down")  # one device, so nothing to see
    assert s.chances(trips("RCD 1", when=lit), fault=same)[0] < 0.05


def touching(s: Site) -> Fault:
    """Neutral and earth touch at the lounge."""
    return s.fault("short at point", "Lounge N-E")


def test_row_11_a_share_of_all_neutral_current_becomes_residual() -> None:
    """A healthy oven elsewhere drops volts in the supply's neutral, and the neutral-earth contact
    passes its share of them: a current divider worked by hand, through the contact or round by
    the supply's own neutral."""
    s = shared(PLAIN)
    baking = on(s, "Oven")
    shown = s.shows(clamp(*SENSES, when=baking), fault=touching(s))[0]
    kinds = ("joint", "core", "pole", "service")
    ohms = {e.id: e.ohms for e in s.plan.elements if e.kind in kinds}
    loop = sum(
        v
        for k, v in ohms.items()
        if (" N " in f"{k} " or " E " in f"{k} ") and ("down" in k or "Hall" in k or "Lounge" in k)
    )
    loop += ohms["pole RCD 1 N"] + ohms["tail Board E"] + ohms["service E"]
    trunk = ohms["service N"] + ohms["tail Board N"] + ohms["pole main switch N"]
    oven = 230.0 / (230.0**2 / 2000.0)
    assert shown == pytest.approx(oven * trunk / (trunk + loop), rel=0.05)
    assert s.shows(clamp(*SENSES, when=baking))[0] < 1e-3
    assert s.shows(clamp(*SENSES), fault=touching(s))[0] < 1e-3  # no neutral current anywhere


def test_row_11_trips_with_its_own_breaker_off_when_a_healthy_oven_runs() -> None:
    """30 mA: it trips with the faulty circuit's breaker off when the oven, not on that device,
    runs; a double-pole parting of the faulty circuit, or no contact, ends it."""
    s = shared(RCD)
    baking = on(s, "Oven", "down")
    assert s.chances(trips("RCD 1"), fault=touching(s))[0] < 0.05
    assert s.chances(trips("RCD 1", when=baking), fault=touching(s))[0] > 0.99
    assert s.chances(trips("RCD 1", when=baking))[0] < 0.05
    both = Conditions(plugged=baking.plugged, lifted=("joint Board N Board–Hall",))
    assert s.chances(trips("RCD 1", when=both), fault=touching(s))[0] < 0.05


BAND = [(0.010, 0.0, 0.05), (0.015, 0.0, 0.05), (0.020, 0.02, 0.3), (0.024, 0.3, 0.8),
        (0.028, 0.9, 1.0), (0.030, 0.99, 1.0), (0.3, 0.99, 1.0)]  # fmt: skip


@pytest.mark.parametrize(("amps", "low", "high"), BAND)
@pytest.mark.parametrize("length", [3.0, 20.0])
def test_row_22_a_30_ma_device(amps: float, low: float, high: float, length: float) -> None:
    """Holds at 15 mA, must trip at 30 (switchgear maker's training page), typically between 20 and
    28 (common practice): by a leak at the last outlet that drives this current."""
    s = row("uk", (length,) * 3, device="B16 RCBO 30 mA type A")
    leak = made(Bridged("Three.L", "Three.E", amps / 230.0))
    assert low <= s.chances(trips("row"), fault=leak)[0] <= high
    plain = row("uk", (length,) * 3)
    assert plain.chances(trips("row"), fault=leak)[0] < 0.05


@pytest.mark.parametrize(
    ("amps", "low", "high"), [(0.0039, 0, 0.05), (0.0045, 0.02, 0.4), (0.006, 0.99, 1.0)]
)
def test_row_22_a_class_a_ground_fault_outlet(amps: float, low: float, high: float) -> None:
    """Must not trip below 4 mA and must from 6 (NEC definition with UL 943 note, engineering
    glossary); a 30 mA device sees none of these."""
    text = """
region: na
supply: split phase 120/240 V
circuits:
  row: {{device: 15 A breaker{rest}, legs: L1, cable: 14/2 NM-B, run: [5 m, Two, 3 m, Three],
    points: {{Two: {kind}}}}}
"""
    gfci = site(text.format(rest="", kind="{kind: gfci outlet}"))
    leak = made(Bridged("Three.L", "Three.E", amps / 120.0))
    device = next(w.name for w in gfci.plan.ways if w.residual_amps)
    assert low <= gfci.chances(trips(device), fault=leak)[0] <= high


def test_row_22_it_does_not_limit_a_fault_current() -> None:
    """Until it parts, 1 kΩ gets all that Ohm's law gives it, 230 mA, not 30 mA."""
    s = row("uk", device="B16 RCBO 30 mA type A")
    body = made(Bridged("Three.L", "Three.E", 1e-3))
    held = also(s.fault("will not trip", "row"), body)
    got = s.shows(clamp("pole row L", "pole row N"), fault=held)[0]
    assert got == pytest.approx(0.230, rel=0.01)
    assert s.expected([trips("row")], body)[0].parted == ("row",)


@settings(max_examples=20)
@given(resistive=st.floats(0.0, 0.014), capacitive=st.floats(0.0, 0.012))
def test_row_23_leakages_add_as_phasors(resistive: float, capacitive: float) -> None:
    """15 mA resistive with 7.3 mA capacitive is 16.7 mA (electricians' forum, with note): the
    clamp round both conductors shows the root of the squares, the healthy cable's own added."""
    s = row("uk", (3.0,) * 3)
    leak = made(
        Bridged("Three.L", "Three.E", resistive / 230.0),
        Bridged("Two.L", "Two.E", 0.0, capacitive / 230.0 / (100 * math.pi)),
    )
    own = 230.0 * 100 * math.pi * 9.0 * 120e-12
    round_both = ("joint Board L Board–One", "joint Board N Board–One")
    shown = s.shows(clamp(*round_both), fault=leak)[0]
    assert shown == pytest.approx(math.hypot(resistive, capacitive + own), rel=0.02, abs=2e-5)


def test_row_23_five_circuits_of_healthy_leakage_trip_one_device() -> None:
    """Each under 30 % of the rating, together over it: standing leakage adds up (practice)."""
    circuits = "".join(
        f"  c{k}: {{device: B16, run: [8 m, P{k}], plugged in: {{P{k}: [{{kind: electronics, "
        f"power: 50 W, frame: yes, filter: 100 nF}}]}}}}\n"
        for k in range(1, 6)
    )
    s = site(
        "region: uk\nsupply: TN-S 230 V\nboards: {Board: {groups: {RCD 1: {device: RCD 30 mA 63 A, "
        f"circuits: [c1, c2, c3, c4, c5]}}}}}}}}\ncircuits:\n{circuits}"
    )
    one = Conditions(unplugged=("P2", "P3", "P4", "P5"))
    assert s.shows(clamp(*SENSES, when=one))[0] == pytest.approx(7.2e-3, rel=0.05)
    assert s.chances(trips("RCD 1", when=one))[0] < 0.05
    assert s.chances(trips("RCD 1"))[0] > 0.95
    assert s.without_filters().chances(trips("RCD 1"))[0] < 0.05


@pytest.mark.parametrize("region", ["uk", "eu"])
@pytest.mark.parametrize("kilohm", [1.0, 3.0])
def test_row_24_a_leak_on_the_switched_side_trips_only_when_on(region: str, kilohm: float) -> None:
    """Damp at the light, beyond its switch: it trips when switched on and holds when off; before
    the switch it trips always."""
    s = site(
        f"""
region: {region}
supply: {REGIONS[region][0]}
circuits:
  lights: {{device: B6 RCBO 30 mA, lighting: [6 m, Porch: {{switched by: Porch switch,
    drops: [5 m], lamp: filament 40 W}}]}}
"""
    )
    off = Conditions(positions=(("Porch switch", "off"),))
    beyond = made(Bridged("Porch.SL", "Porch.E", 1e-3 / kilohm))
    before = made(Bridged("Porch switch.L", "Porch switch.E", 1e-3 / kilohm))
    asked = [trips("lights", when=c) for c in (AS_DESCRIBED, off)]
    assert s.chances(*asked, fault=beyond) == pytest.approx([1.0, 0.02], abs=0.01)
    assert s.chances(*asked, fault=before) == pytest.approx([1.0, 1.0], abs=0.01)
    assert s.chances(*asked) == pytest.approx([0.02, 0.02], abs=0.01)


def heater_row(state: str, leak: str = "") -> Site:
    """An earthed heater on a residual device."""
    warm = f", warm leak: {leak}" if leak else ""
    load = f"{{name: fire, kind: heater, power: 2 kW, frame: yes, on: {state}{warm}}}"
    return row("uk", loads=f"Three: [{load}]", device="B16 RCBO 30 mA")


def test_row_24_a_leaking_element_trips_and_unplugged_it_does_not() -> None:
    """An element leaking 3 kΩ from its middle drives U/2 through it: 38 mA; pull the plug and all
    is well."""
    s = heater_row("yes")
    fault = s.fault("element to frame", "fire")
    away = Conditions(unplugged=("all",))
    found = s.chances(trips("row"), trips("row", when=away), fault=fault, step="3 kΩ")
    assert found == pytest.approx([1.0, 0.02], abs=0.02)
    assert s.chances(trips("row"), fault=fault, step="1 MΩ")[0] < 0.05


def test_row_24_switched_off_at_the_appliance_its_element_is_off_the_line() -> None:
    """A leaking element behind the appliance's own switch trips only when that is on: off, only
    its neutral end is left, at volts too few to drive 15 mA."""
    s = heater_row("no")
    fault = s.fault("element to frame", "fire")
    lit = on(s, "fire")
    assert s.chances(trips("row", when=lit), fault=fault, step="3 kΩ")[0] > 0.9
    assert s.chances(trips("row"), fault=fault, step="3 kΩ")[0] < 0.1


def test_row_24_an_element_leaks_once_warm() -> None:
    """A warm leakage of 5 kΩ, 46 mA at U, trips after warming up and not before (practice)."""
    s = heater_row("yes", "5 kΩ")
    cold, warm = trips("row"), trips("row", when=Conditions(warm=True))
    assert s.chances(cold)[0] < 0.05
    assert s.chances(warm)[0] > 0.5
