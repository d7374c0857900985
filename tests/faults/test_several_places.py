"""One cause in several conductors or places: a board crossed, contacts worn alike, cable damaged.

Expected figures are dividers worked by hand beside each test.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from halfsplit.faults.fault import Severity
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Added, Bridged
from halfsplit.wiring.model import About, Board, Circuit, Device, Installation, Point, Supply
from tests.faults.houses import barn, chain, lamp, looped_at_switch, radial
from tests.faults.solving import bench

U = 120.0


def _branch(name: str, leg: str, *places: str) -> Circuit:
    points = tuple(Point(place, loads=(lamp(),)) for place in places)
    return Circuit(name, Device(name + " breaker"), chain("Panel", *places), points, "Panel",
                   (("L", leg),))  # fmt: skip


def bungalow() -> Installation:
    """Split phase: two circuits on one leg, two on the other."""
    return Installation(
        "bungalow", "na",
        Supply("TN-C-S", "split", About(U, 0.0), 60.0, electrode_ohms=About(25.0)),
        (Board("Panel", Device("main", "breaker", 200.0, "C", poles=("L1", "L2"))),),
        (_branch("den", "L1", "Den"), _branch("hall", "L1", "Hall", "Stair"),
         _branch("attic", "L2", "Attic"), _branch("porch", "L2", "Porch")),
    )  # fmt: skip


def _read(place: str) -> tuple[tuple[str, str], ...]:
    line, neutral, earth = (f"{place}.{key}:front" for key in "LNE")
    return (line, neutral), (line, earth), (neutral, earth)


def near(*values: float) -> object:
    """About these volts."""
    return pytest.approx(list(values), abs=3.0)


def test_a_board_crossed_on_one_leg_reverses_that_leg_and_no_other() -> None:
    """Every point of the leg's circuits has line at earth and neutral at U; the other leg's are
    right, and no frame is live, since the earth terminal was not touched."""
    b = bench(bungalow())
    fault = "crossed at run end: Panel L-N of the circuits den and hall"
    for place in ("Den", "Hall", "Stair"):
        assert b.volts(fault, *_read(place)) == near(U, 0.0, U)
    for place in ("Attic", "Porch"):
        assert b.volts(fault, *_read(place)) == near(U, U, 0.0)
    assert b.volts(fault, ("Den.E", "earth")) == near(0.0)


def test_a_board_may_be_crossed_on_all_of_its_circuits() -> None:
    """With the whole board crossed every point reads so; it is one fault at the board, about as
    likely as one circuit's."""
    b = bench(bungalow())
    fault = "crossed at run end: Panel L-N of the circuits den, hall, attic and porch"
    for place in ("Den", "Stair", "Attic", "Porch"):
        assert b.volts(fault, *_read(place)) == near(U, 0.0, U)
    one = b.faults["crossed at run end: joint Panel L Panel–Den with joint Panel N Panel–Den"]
    assert b.faults[fault].rate == pytest.approx(one.rate)
    assert b.faults[fault].places == ("Panel",)


def test_tails_crossed_reverse_the_house_and_leave_the_frames_at_earth() -> None:
    """Behind the neutral-earth link an exchange of tails reverses every point; before it, at the
    origin, it puts U on every frame as well (TN-C-S)."""
    b = bench(radial(3))
    tails = "crossed at run end: Board L-N of the tails"
    service = "supply reversed: service L with service PEN"
    for fault, frame in ((tails, 0.0), (service, 230.0)):
        assert b.volts(fault, ("P1/kettle:frame", "earth")) == pytest.approx([frame], abs=8.0)
    for place in ("P1", "P3"):
        assert b.volts(tails, *_read(place)) == pytest.approx([230.0, 0.0, 230.0], abs=8.0)


def test_contacts_worn_alike_add_the_same_at_every_front() -> None:
    """In a dead test each front reads two contacts more than behind it, at every outlet and for
    every severity; a slack contact also in the live loop, a film in the dead test only (R1+R2 of
    1 ohm at a front with 0.54 behind, PHENOMENA 27, is 0.23 ohm a contact)."""
    inst = radial(3)
    link = (("Board.L:way outlets", "Board.E"),)
    dead = bench(inst, Conditions(dead=True, energised=False, unplugged=("all",), links=link))
    live = bench(inst, Conditions(unplugged=("all",)))
    fault = "worn alike: outlets socket"
    sound = live.ohms("", "P2.L:front", "P2.E:front")
    for step, severity in enumerate(dead.faults[fault].severities):
        ohm = next(e.ohms for e in severity.effects if isinstance(e, Added))
        for place in ("P1", "P2", "P3"):
            front = dead.ohms(fault, f"{place}.L:front", f"{place}.E:front", step)
            behind = dead.ohms(fault, f"{place}.L", f"{place}.E", step)
            assert front - behind == pytest.approx(2 * ohm, abs=0.05)
        loop = live.ohms(fault, "P2.L:front", "P2.E:front", step) - sound
        film = severity.name.startswith("film")
        assert loop == pytest.approx(0.0 if film else 2 * ohm, abs=0.01), severity.name


def test_one_worn_contact_may_be_slack_or_filmed() -> None:
    """The same two laws hold for one contact, over the whole grid."""
    live = bench(radial(2), Conditions(unplugged=("all",)))
    fault = live.faults["worn contact: front P1 L"]
    films = [s for s in fault.severities if s.name.startswith("film")]
    assert 0 < sum(s.share for s in films) < 0.5
    sound = live.ohms("", "P1.L:front", "P1.N:front")
    for step, severity in enumerate(fault.severities):
        (effect,) = severity.effects
        assert isinstance(effect, Added)
        added = live.ohms(fault.id, "P1.L:front", "P1.N:front", step) - sound
        assert added == pytest.approx(0.0 if severity in films else effect.ohms, abs=0.01)


@pytest.mark.parametrize("electrode", [10.0, 50.0, 300.0])
def test_a_damaged_supply_cable_keeps_the_frames_live_with_the_main_switch_off(
    electrode: float,
) -> None:
    """Line through R onto a parted combined conductor stands over the house's electrode: with
    the main off its frames are at U·Re/(Re + R + the source's 5 ohm + the line), all the same."""
    supply = Supply("TN-C-S", volts=About(230.0), electrode_ohms=About(electrode))
    off = bench(replace(radial(2), supply=supply), Conditions(off=("main switch",)))
    fault = "supply cable damaged: L on service PEN"
    for step, severity in enumerate(off.faults[fault].severities):
        bridge = next(e for e in severity.effects if isinstance(e, Bridged))
        around = electrode + 1.0 / bridge.siemens + 5.0 + 0.12
        (frame,) = off.volts(fault, ("P1/kettle:frame", "earth"), step=step)
        assert frame == pytest.approx(230.0 * electrode / around, rel=0.01)


def test_a_damaged_cable_of_a_split_supply_puts_line_to_line_on_the_other_leg() -> None:
    """One leg through 1 ohm on the parted neutral: that leg's lamps get next to nothing, the
    other's near 240 V. Three lamps of 240 ohm stand on the one, two on the other, and the neutral
    returns to the middle through the house's 25 ohm and the source's 5."""
    b = bench(bungalow())
    fault = "supply cable damaged: L1 on service PEN"
    (den,), (attic,) = (b.volts(fault, _read(place)[0]) for place in ("Den", "Attic"))
    shunt, line = 1 / (1 + 3 / 240), 0.12
    one, other, earth = 1 / (line + shunt), 2 / 240, 1 / 30
    middle = U * (one - other) / (one + other + earth)
    assert den == pytest.approx((U - middle) * shunt * one, abs=0.5)
    assert attic == pytest.approx(U + middle, abs=0.5)


@pytest.mark.parametrize("family", ["short at point", "leak at point"])
def test_a_line_on_metal_that_is_not_earthed_stands_at_a_divider(family: str) -> None:
    """A trough over 2 kohm of soil is at U·2000/(2000 + R + 5): near U for every short, with no
    more than 0.12 A, which no fuse sees (PHENOMENA 14)."""
    b = bench(barn())
    fault = f"{family}: Pen 2 L-Trough"
    for step, severity in enumerate(b.faults[fault].severities):
        (bridge,) = severity.effects
        assert isinstance(bridge, Bridged)
        ohm = 0.0 if math.isinf(bridge.siemens) else 1.0 / bridge.siemens
        (volts,) = b.volts(fault, ("Trough.E", "earth"), step=step)
        assert volts == pytest.approx(230.0 * 2000.0 / (2000.0 + ohm + 5.0), rel=0.02)
        amps = b.amps(fault, "pole pens breaker L", step=step)
        sound = b.amps("", "pole pens breaker L")
        assert abs(amps - sound) < 0.12


def test_a_live_core_may_touch_metal_along_its_cable_and_an_earth_core_is_no_fault() -> None:
    """Every live core of every run may, no protective one."""
    faults = bench(barn()).faults
    assert "short in cable: Pen 1–Pen 2 N-Trough" in faults
    assert "leak in cable: Pen 1–Pen 2 L-Trough" in faults
    assert "short in cable: Pen 1–Pen 2 E-Trough" not in faults


def test_a_leak_on_an_appliances_neutral_side_stays_with_its_switch_off() -> None:
    """Its single-pole switch off, a dead test from neutral to earth at a lamp of 60 W reads the
    neutral side's leak itself, and the line side's behind the lamp's 230²/60 = 882 ohm."""
    base = radial(1)
    inst = replace(base, circuits=(looped_at_switch(),))
    off = Conditions(dead=True, energised=False, positions=(("store switch", "off"),))
    b = bench(inst, off)
    fault = b.faults["appliance leak: Store lamp/lamp"]
    sides = {"a": 882.0, "b": 0.0}
    assert {_side(s) for s in fault.severities} == set(sides)
    for step, severity in enumerate(fault.severities):
        (bridge,) = severity.effects
        assert isinstance(bridge, Bridged)
        ohm = 0.0 if math.isinf(bridge.siemens) else 1.0 / bridge.siemens
        read = b.ohms(fault.id, "Store lamp.N", "Store lamp.E", step)
        assert read == pytest.approx(ohm + sides[_side(severity)], rel=0.02, abs=0.2)


def _side(severity: Severity) -> str:
    return next(e.a[-1] for e in severity.effects if isinstance(e, Bridged))
