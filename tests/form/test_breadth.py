"""Switches that work by themselves, arc-fault devices, named dead tests, what is not known."""

from __future__ import annotations

import math

import pytest

from halfsplit.errors import BadInput
from halfsplit.faults.catalogue import enumerate_faults
from halfsplit.form import Job, read_job
from halfsplit.form.write import write_job
from halfsplit.instruments.catalogue import instrument
from halfsplit.instruments.show import shown_ohms
from halfsplit.instruments.unknown import candidates
from halfsplit.tables import practice
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.layout import lay_out
from tests.faults.solving import bench

OHM_2_5, OHM_1_5 = 7.41e-3, 12.1e-3  # ohm per metre at 20 °C (IEC 60228)


def job(text: str) -> Job:
    """A job that survives being written and read again."""
    found = read_job(text)
    assert read_job(write_job(found), "written").bare() == found.bare()
    return found


LIGHT = """
supply: TN-S 230 V
circuits:
  hall:
    lighting: [9 m, Hall: {{switched by: Hall switch, drops: 4 m, lamp: filament 40 W}}]
    points: {{Hall switch: {kind}}}
"""


@pytest.mark.parametrize("kind", ["dimmer", "photocell", "contactor", "timer", "thermostat"])
def test_whatever_switches_by_itself_is_a_switch_with_a_name(kind: str) -> None:
    """Each kind has positions on and off, and stands as its reading says."""
    installation = job(LIGHT.format(kind=kind)).installation
    point = next(p for p in installation.points() if p.name == "Hall switch")
    assert point.kind == kind
    assert point.switches[0].positions == ("on", "off")
    off = bench(installation, Conditions(positions=(("Hall switch", "off"),)))
    on = bench(installation)
    ends = ("Hall/filament:a", "Hall/filament:b")
    assert on.volts("", ends)[0] > 225.0
    assert off.volts("", ends)[0] < 10.0


@pytest.mark.parametrize("kind", ["dimmer", "photocell"])
def test_what_is_off_by_electronics_still_passes_a_little(kind: str) -> None:
    """Off, U·ωC runs through the lamp (C across the contact), 3.4 mA at 50 Hz; a plain switch
    passes only what its cable does. Dead, an insulation test finds its megohm."""
    off = Conditions(positions=(("Hall switch", "off"),))
    flex = "flex Hall/filament SL"
    passed = abs(bench(job(LIGHT.format(kind=kind)).installation, off).amps("", flex))
    plain = abs(bench(job(LIGHT.format(kind="switch")).installation, off).amps("", flex))
    by_hand = 230.0 * 2 * math.pi * 50.0 * practice.SNUBBER.value
    assert passed == pytest.approx(by_hand, rel=0.05)
    assert plain < 0.05 * by_hand
    dead = Conditions(dead=True, unplugged=("all",), positions=off.positions)
    ohms = bench(job(LIGHT.format(kind=kind)).installation, dead).ohms(
        "", "Hall switch.L", "Hall switch.SL"
    )
    assert ohms == pytest.approx(practice.ELECTRONIC_SWITCH_OHMS.value, rel=0.02)


@pytest.mark.parametrize(("said", "kind", "amps", "residual"), [
    ("15 A AFCI", "breaker", 15.0, 0.0),
    ("20 A AFCI breaker", "breaker", 20.0, 0.0),
    ("dual function AFCI GFCI 20 A", "gfci", 20.0, 0.005),
    ("B16 AFDD", "breaker", 16.0, 0.0),
    ("{kind: rcbo, rating: 16 A, arc: yes}", "rcbo", 16.0, 0.03),
])  # fmt: skip
def test_arc_fault_devices_are_known_by_their_names(
    said: str, kind: str, amps: float, residual: float
) -> None:
    """The device keeps its kind, rating and residual rating, and is marked as one for arcs."""
    device = job(f"circuits: {{den: {{device: {said}, run: [8 m, Desk]}}}}\n").installation
    found = device.circuits[0].device
    assert (found.kind, found.amps, found.residual_amps, found.arc) == (kind, amps, residual, True)


def test_an_arc_fault_device_trips_more_often_for_nothing() -> None:
    """Found off, it weighs three times a plain one (judgement)."""
    weights = []
    for device in ("15 A AFCI", "15 A breaker"):
        installation = job(
            f"circuits: {{den: {{device: {device}, run: [8 m, Desk]}}}}\n"
        ).installation
        faults = {f.id: f for f in enumerate_faults(installation, lay_out(installation))}
        weights.append(faults["device off: den"].rate)
    assert weights[0] == pytest.approx(3 * weights[1])


DEAD = """
region: uk
supply: TN-S 230 V
circuits:
  attic ring: {device: B32, ring: [11 m, Desk, 6 m, Couch, 9 m]}
  store: {device: B16, cable: 2.5/1.5 twin and earth, run: [14 m, Rack, 5 m, Door]}
readings:
"""


def measured(entry: str) -> list[float]:
    """What the wiring gives at the terminals and in the conditions of each reading, ohms."""
    found = job(f"{DEAD}  - {entry}\n")
    assert all(r.conditions.dead and r.kind == "ohms" for r in found.readings)
    return [bench(found.installation, r.conditions).ohms("", r.a, r.b) for r in found.readings]


def test_r1_r2_and_r1_rn_are_there_and_back() -> None:
    """19 m out by 2.5 mm² and back by 1.5 or 2.5 (IEC 60228), six joints and two plug contacts."""
    ends = 2 * 0.01 + 8 * 0.003
    r1_r2, r1_rn = measured("{at: Door, R1+R2: 0.37 ohm, R1+Rn: 0.28 ohm}")
    assert r1_r2 == pytest.approx(19 * (OHM_2_5 + OHM_1_5) + ends, abs=0.01)
    assert r1_rn == pytest.approx(19 * 2 * OHM_2_5 + ends, abs=0.01)


@pytest.mark.parametrize(("fault", "said"), [
    ("", "right"),
    ("crossed at run end: joint Rack L Board–Rack with joint Rack N Board–Rack", "wrong"),
])  # fmt: skip
def test_polarity_is_a_reading_that_crossed_cores_turn(fault: str, said: str) -> None:
    """Linked line to earth at the board, the line terminal reads low where the line core is on it
    and open where neutral's is; what the form writes down agrees with that."""
    found = job(f"{DEAD}  - {{at: Door, polarity: {said}}}\n")
    [reading] = found.readings
    ohms = bench(found.installation, reading.conditions).ohms(fault, reading.a, reading.b)
    assert reading.value is not None
    assert ohms < reading.value if reading.bound == "<" else ohms > reading.value
    assert reading.bound == {"right": "<", "wrong": ">"}[said]


@pytest.mark.parametrize("place", ["Desk", "Couch"])
def test_a_ring_cross_connected_reads_a_quarter_of_its_two_conductors_everywhere(
    place: str,
) -> None:
    """(r1 + rn)/4 at every point of a sound ring (the three-step test, as published); line and
    protective conductor of unlike size a little more than (r1 + r2)/4 off the middle."""
    lines = f"{{at: {place}, ring cross: {{L-N: 0.1, L-E: 0.1}}}}"
    line_neutral, line_earth = measured(lines)
    contacts = 2 * 0.01 + 6 * 0.003
    assert line_neutral == pytest.approx(26 * 2 * OHM_2_5 / 4 + contacts, abs=0.012)
    assert line_earth == pytest.approx(26 * (OHM_2_5 + OHM_1_5) / 4 + contacts, rel=0.12)


def test_at_the_board_a_ring_is_measured_between_its_crossed_pairs() -> None:
    """The same quarter, without plug contacts, between the two joined pairs of ends."""
    [ohms] = measured("{at: Board, circuit: attic ring, ring cross: {L-N: 0.1}}")
    assert ohms == pytest.approx(26 * 2 * OHM_2_5 / 4, abs=0.012)


def test_leads_that_were_not_nulled_are_in_the_reading() -> None:
    """Nulled leads add nothing, others half an ohm at most; unsaid, both are weighed."""
    yes, no, unsaid = (
        job(f"{DEAD}  - {{at: Door, R1+R2: 0.9 ohm{said}}}\n").readings[0].instrument
        for said in (", nulled: yes", ", nulled: no", "")
    )
    assert shown_ohms(0.4, instrument(yes).lead_ohms) == pytest.approx(0.4)
    assert shown_ohms(0.4, instrument(no).lead_ohms) == pytest.approx(0.9)
    for id in (yes, no):
        assert [one.lead_ohms for one, _ in candidates("ohms", id)] == [instrument(id).lead_ohms]
    assert len(candidates("ohms", unsaid)) > 1


@pytest.mark.parametrize("earthing", ["TT", "TN-C-S"])
def test_an_electrode_is_measured_by_itself(earthing: str) -> None:
    """With the supply's link, the boards and a gas pipe off it, 68 Ω of electrode read 68 Ω; left
    on, the pipe and the network's own earth shunt it."""
    found = job(
        f"supply: {{earthing: {earthing}, electrode: 68 ohm}}\n"
        "circuits: {hall: {run: [8 m, Hall]}}\n"
        "other paths: {gas pipe: 'Board E to earth, 20 ohm'}\n"
        "readings:\n  - {electrode: 68 ohm}\n  - {from: Board E, to: earth, ohms: 15}\n"
    )
    alone, whole = (
        bench(found.installation, r.conditions).ohms("", r.a, r.b) for r in found.readings
    )
    assert alone == pytest.approx(68.0, rel=1e-3)
    assert whole < 1 / (1 / 68 + 1 / 20) + 0.01


@pytest.mark.parametrize(("entry", "said"), [
    ("{electrode: 68 ohm}", "an installation with an electrode"),
    ("{at: Door, ring cross: {L-N: 0.1}}", "a ring circuit; name it with circuit:"),
    ("{at: Desk, ring cross: {L-L: 0.1}}", "two conductors of the ring: L-N or L-E"),
    ("{at: Door, polarity: sideways}", "sideways"),
    ("{R1+R2: 0.3 ohm}", "at: a point of one circuit"),
    ("{at: Door, R1+R2: soon}", "soon"),
    ("{at: Door, R1+R2: 0.3 ohm, by: multimeter, nulled: yes}", "nulled with a continuity tester"),
])  # fmt: skip
def test_wrong_dead_tests_are_told(entry: str, said: str) -> None:
    """The message says what was read and what is accepted."""
    with pytest.raises(BadInput, match=said):
        read_job(f"{DEAD}  - {entry}\n")


def test_a_circuit_says_once_how_its_points_are_joined() -> None:
    """`carries: pigtail` holds for every point that says nothing else."""
    found = job(
        "circuits: {den: {carries: pigtail, run: [8 m, A, 5 m, B], "
        "points: {B: {carries: accessory}}}}"
    ).installation
    assert [p.carries for p in found.points()] == ["pigtail", "accessory"]


def test_what_is_not_known_of_a_circuit_can_be_asked_of_it() -> None:
    """Order, first point, leg and rating: each is a plain yes or no of the circuit."""
    found = job(
        "region: na\nsupply: split phase 120/240 V\ncircuits:\n"
        "  den: {legs: unknown, device: 'breaker, rating unknown', order: unknown after first, "
        "run: [Desk, Window, Door]}\n"
        "  bath: {legs: L2, device: 20 A breaker, run: [Vanity, Fan]}\n"
        "  attic: {order: unknown, run: [One, Two]}\n"
    ).installation
    den, bath, attic = found.circuits
    assert (den.order_known, den.first_known) == (False, True)
    assert (den.leg_known, den.rating_known) == (False, False)
    assert (bath.order_known, bath.leg_known, bath.rating_known) == (True, True, True)
    assert (attic.order_known, attic.first_known) == (False, False)


@pytest.mark.parametrize("typed", ["{switched by: Hall switch}", "{}", "nothing"])
def test_a_light_has_a_lamp_unless_it_is_said_to_have_none(typed: str) -> None:
    """Nobody mentions a lamp that is simply there; it may be blown, and it loads its circuit."""
    found = job(f"circuits: {{lights: {{lighting: [6 m, Hall: {typed}]}}}}").installation
    hall = next(p for p in found.points() if p.name == "Hall")
    faults = {f.id for f in enumerate_faults(found, lay_out(found))}
    if typed == "nothing":
        assert hall.loads == ()
        assert "load off: Hall/lamp" not in faults
    else:
        [lamp] = hall.loads
        assert (lamp.name, lamp.kind, lamp.plugged) == ("lamp", "", False)
        assert lamp.across == (("SL" if "switched" in typed else "L"), "N")
        assert lamp.watts.spread > 0.5
        assert "load off: Hall/lamp" in faults


def test_a_light_on_a_run_has_a_lamp_too() -> None:
    """A point whose kind is light is no emptier in a run than in a lighting circuit."""
    found = job("circuits: {yard: {run: [6 m, Gate, 4 m, Post], points: {Gate: light}}}")
    assert [len(p.loads) for p in found.installation.points()] == [1, 0]
