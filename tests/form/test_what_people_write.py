# ruff: noqa: E501 (forms stand as they are typed)
"""What people wrote of real installations, and what it must mean: supply, loads, circuits."""

from __future__ import annotations

import pytest

from halfsplit.behaviour.laws import KINDS as LAWS
from halfsplit.form import read_job
from halfsplit.form.appliances import APPLIANCES, PLUG_WATTS_NA, appliance
from tests.form.typed import circuit, load, messages, supply

# Supply


@pytest.mark.parametrize(
    ("text", "region", "live", "volts"),
    [
        ("230/240 V", "uk", "single", 235),
        ("230/240 V", "na", "single", 235),
        ("230/240 V 50 Hz, earthing system not stated", "uk", "single", 235),
        ("220-240 V TT", "eu", "single", 230),
        ("200 V", "uk", "single", 200),
        ("200 V", "na", "single", 200),
        ("240 V 60 Hz", "na", "split", 120),
        ("230 V 50 Hz", "na", "single", 230),
        ("208 V", "na", "three", 120),
        ("400 V", "eu", "three", 230),
        ("120/240 V", "na", "split", 120),
        ("single phase 120/240 V", "na", "split", 120),
        ("{live: single phase, volts: 230/240 V}", "uk", "single", 235),
    ],
)
def test_two_figures_near_each_other_are_one_voltage(
    text: str, region: str, live: str, volts: float
) -> None:
    """230/240 V is one phase of about that; 120/240 V is two legs; one figure is what is usual."""
    found = supply(text, region)
    assert (found.live, found.volts.value) == (live, volts)


@pytest.mark.parametrize(
    ("text", "earthing", "known"),
    [
        ("230 V, earthing not stated", "TN-C-S", False),
        ("230 V, earthing system unknown", "TN-C-S", False),
        ("230 V TT not sure", "TT", False),
        ("{volts: 230 V, earthing: not known}", "TN-C-S", False),
        ("230 V TN-S", "TN-S", True),
    ],
)
def test_an_earthing_nobody_knows_is_said_in_many_ways(
    text: str, earthing: str, known: bool
) -> None:
    """Not stated, not known and unknown all leave the earthing open, named or not."""
    found = supply(text)
    assert (found.earthing, found.earthing_known) == (earthing, known)


# Loads


@pytest.mark.parametrize(
    ("name", "region", "kind", "watts", "framed"),
    [
        ("hair dryer", "uk", "heater", 1200, False),
        ("dryer", "uk", "heater", 2500, True),
        ("tumble dryer", "uk", "heater", 2500, True),
        ("microwave", "uk", "heater", 1200, True),
        ("kettle", "na", "heater", PLUG_WATTS_NA, True),
        ("toaster", "uk", "heater", 900, True),
        ("television", "uk", "electronics", 100, True),
        ("boiler", "uk", "electronics", 120, True),
        ("fridge", "na", "motor", 150, True),
        ("dishwasher", "uk", "heater", 2000, True),
        ("saw", "uk", "motor", 1500, True),
        ("pool pump", "uk", "motor", 750, True),
        ("fan heater", "uk", "heater", 1500, True),
        ("range hood", "uk", "motor", 120, True),
        ("garage opener", "na", "motor", 400, True),
        ("surge protector", "uk", "surge protector", 1, False),
        ("surge strip", "na", "surge protector", 1, False),
        ("neon", "uk", "neon", 1, False),
        ("immersion heater", "uk", "heater", 3000, True),
    ],
)
def test_named_appliances_draw_what_they_usually_draw(
    name: str, region: str, kind: str, watts: float, framed: bool
) -> None:
    """A name gives kind, usual watts known only about, and a frame (common practice)."""
    found = load(name, region)
    assert (found.kind, found.watts.value, found.frame) == (kind, watts, framed)
    assert found.watts.spread >= 0.3
    assert found.name == name


def test_what_is_stated_of_a_load_wins_over_its_name() -> None:
    """A stated power, kind or frame is taken as it stands; an appliance will do for a kind."""
    assert load("kettle 2.2 kW").watts.value == 2200.0
    assert load("{name: hair dryer, frame: yes}").frame
    assert load("{name: urn, kind: motor}").kind == "motor"
    assert load("{name: Bertha, kind: kettle}").watts.value == 2500.0
    assert load("{name: kettle}").kind == "heater"
    assert load("{name: kettle, kind: unknown}").kind == ""


def test_filters_sit_on_electronics_and_behind_mains_filters_only() -> None:
    """Electronics carry 2.2 to 4.7 nF from line and from neutral to their frame (PHENOMENA's figures); a kettle none."""
    assert 2.2e-9 <= load("television").filter_farads <= 4.7e-9
    assert load("computer").filter_farads == 4.7e-9
    assert load("kettle").filter_farads == load("phone charger").filter_farads == 0.0
    assert not any(row.filter_farads and not row.framed for row in APPLIANCES.values())


@pytest.mark.parametrize(
    ("name", "watts"),
    [("Stove", 4000), ("Water heater", 4500), ("Air conditioner", 3500), ("Clothes dryer", 5000),
     ("Well pump", 1000), ("Hot tub", 6000)],
)  # fmt: skip
def test_large_american_appliances_lie_between_two_lines(name: str, watts: float) -> None:
    """Fed with nothing else said they take both lines, behind a breaker that carries them."""
    found = circuit(f"feeds: {name}")
    (only,) = found.points[0].loads
    assert found.legs == (("L1", "L1"), ("L2", "L2"))
    assert (only.across, only.watts.value) == (("L1", "L2"), watts)
    assert found.device.amps >= 1.25 * watts / 240.0
    assert circuit(f"feeds: {name}, legs: L2").points[0].loads[0].across == ("L", "N")


def test_a_plugged_appliance_takes_two_lines_only_where_its_outlet_has_them() -> None:
    """On an outlet of both lines a dryer lies between them, a fan from line to neutral."""
    both = circuit("legs: [L1, L2], run: [X], plugged in: {X: [dryer, fan]}").points[0].loads
    assert [item.across for item in both] == [("L1", "L2"), ("L1", "N")]
    own = circuit("legs: [L1, L2], run: [X], points: {X: {leg: L1, loads: dryer}}")
    assert own.points[0].loads[0].across == ("L", "N")
    assert own.points[0].loads[0].watts.value == PLUG_WATTS_NA


def test_a_fixed_appliance_has_a_device_that_carries_it() -> None:
    """A shower of 8.5 kW at 230 V takes 37 A, so the device left out is taken to be 40 A."""
    assert circuit("feeds: Shower", "uk").device.amps == 40.0
    assert circuit("feeds: Shower, device: B32", "uk").device.amps == 32.0


@pytest.mark.parametrize("name", sorted(APPLIANCES))
def test_every_named_appliance_is_found_by_its_name(name: str) -> None:
    """Each name of the table, in capitals and among other words, finds its own row; its law exists."""
    row = APPLIANCES[name]
    assert appliance(name.upper()) == appliance(f"an old {name}") == row
    assert row.kind in LAWS
    assert row.watts > 0.0
    assert row.two_lines == 0.0 or row.two_lines >= min(row.watts, PLUG_WATTS_NA) * 0.5


# Circuits


def test_an_unknown_leg_is_drawn_on_the_first_and_said_to_be_a_guess() -> None:
    """The leg is the first, and the circuit's history says that nobody knows."""
    found = circuit("legs: unknown, run: [X]")
    assert found.legs == (("L", "L1"),)
    assert "leg unknown" in found.history
    assert "leg unknown" not in circuit("run: [X]").history
    assert circuit("legs: unknown, feeds: Stove").legs == (("L1", "L1"), ("L2", "L2"))


def test_an_order_may_be_known_for_the_first_point_only() -> None:
    """The order counts as unknown, and the circuit says that its first point is known."""
    found = circuit("order: unknown after first, run: [A, B, C]")
    assert not found.order_known
    assert "first point known" in found.history
    assert "first point known" not in circuit("order: unknown, run: [A, B]").history


@pytest.mark.parametrize(
    "device", ["unknown", '"breaker, rating unknown"', "fuse of unknown rating", "{kind: fuse, rating: unknown}"]
)  # fmt: skip
def test_a_rating_nobody_knows_is_the_usual_one_and_said_so(device: str) -> None:
    """The device keeps the usual rating of its circuit and the circuit says that it is a guess."""
    found = circuit(f"device: {device}, run: [X]")
    assert found.device.amps == 20.0
    assert found.device.kind == ("fuse" if "fuse" in device else "breaker")
    assert "rating unknown" in found.history
    assert "rating unknown" not in circuit("device: 15 A breaker, run: [X]").history


LIT = """\
region: {region}
circuits:
  up:
    lighting: [Landing: {{switched by: [S1, S2], more lights: [Attic]}}]
    branches: {{{branch}: [2 m, Porch]}}
    points: {{Attic: {{loads: LED 5 W, history: damp}}, S2: {{access: loft, position: down}}, Porch: light}}
"""


def test_details_of_every_light_and_switch_of_a_lighting_circuit_are_kept() -> None:
    """Lights on the same switch, and switches, take the details given under points."""
    job = read_job(LIT.format(region="na", branch="S2"))
    points = {p.name: p for p in job.installation.points()}
    assert (points["Attic"].loads[0].kind, points["Attic"].history) == ("led", ("damp",))
    assert points["Attic"].loads[0].across == ("SL", "N")
    assert (points["S2"].access, points["S2"].switches[0].position) == ("loft", "down")


def test_a_position_the_switch_has_not_is_named() -> None:
    """A two-way switch stands up or down, not on."""
    text = LIT.format(region="na", branch="S2").replace("position: down", "position: on")
    assert "one of up, down" in messages(text)


def test_a_branch_from_a_two_way_switch_adds_no_terminal() -> None:
    """It leaves from the switched line of the last switch, from the line of the first."""
    last = read_job(LIT.format(region="na", branch="S2")).installation
    point = next(p for p in last.points() if p.name == "S2")
    assert point.conductors == ("SL", "T1", "T2", "N", "E")
    assert next((c.start, c.end) for c in last.circuits[0].runs[-1].cores) == ("SL", "L")
    first = read_job(LIT.format(region="na", branch="S1")).installation
    point = next(p for p in first.points() if p.name == "S1")
    assert point.conductors == ("L", "T1", "T2", "N", "E")
    assert first.circuits[0].runs[-1].cores[0].start == "L"


def test_a_branch_needs_a_neutral_where_it_leaves() -> None:
    """A switch fed from the ceiling has no neutral to branch from, and the form says so."""
    said = messages(LIT.format(region="uk", branch="S2"))
    assert "S2 with SL, T1, T2, E" in said
    assert "a branch from a place with a line and a neutral" in said


# What somebody types on site without looking anything up


@pytest.mark.parametrize(
    ("entry", "kind", "value"),
    [
        ("{at: Bench, Zs: 0.72}", "loop", 0.72),
        ("{at: Bench, IR L-E: 0.5}", "megohms", 0.5e6),
        ("{circuit: hall, IR: {L-E: 0.5}}", "megohms", 0.5e6),
        ("{circuit: hall, insulation resistance: {N-E: 200}}", "megohms", 200e6),
        ("{at: Bench, hot to neutral: 0.3 ohms}", "ohms", 0.3),
        ("{at: Bench, active-neutral: 228}", "volts", 228),
        ("{at: Bench, A-N: 228}", "volts", 228),
        ("{circuit: hall, leakage: 4 mA}", "amps", 0.004),
        ("{circuit: hall, current: 3 A}", "amps", 3.0),
    ],
)
def test_readings_have_the_names_that_are_on_the_testers(
    entry: str, kind: str, value: float
) -> None:
    """Zs, IR, leakage and current are readings; L to N is a pair; A is the active."""
    (found,) = read_job(f"circuits: {{hall: {{run: [Bench]}}}}\nreadings: [{entry}]").readings
    assert found.kind == kind
    assert found.value == pytest.approx(value)


def test_leakage_is_what_the_live_conductors_carry_together() -> None:
    """A leakage clamp of a shared device goes round all its poles."""
    form = (
        "consumer unit: {groups: {RCD 1: [hall]}}\ncircuits: {hall: {run: [Bench]}}\n"
        "readings: [{device: RCD 1, leakage: 11 mA}]"
    )
    assert read_job(form).readings[0].conductors == ("pole RCD 1 L", "pole RCD 1 N")


def test_ring_ends_may_stand_alone() -> None:
    """r1, rn and r2 by themselves are the ends of the only ring."""
    form = "circuits: {{ring: {{ring: [A1, B1]}}}}\nreadings: [{}]"
    short = read_job(form.format("{r1: 0.8, rn: 0.8, r2: OL}"))
    assert short.bare() == read_job(form.format("{ring ends: {r1: 0.8, rn: 0.8, r2: OL}}")).bare()


@pytest.mark.parametrize(
    ("word", "kind", "seen"),
    [("dim", "glow", "dim"), ("on", "glow", "normal"), ("off", "glow", "off"),
     ("flickers", "glow", "flicker"), ("dead", "works", "dead")],
)  # fmt: skip
def test_a_point_may_stand_as_key(word: str, kind: str, seen: str) -> None:
    """{Lamp: dim} says it of the lamp; at an outlet on and off are works and dead."""
    form = "circuits: {{a: {{lighting: [Lamp]}}, b: {{run: [Bench]}}}}\nreadings: [{}]"
    (found,) = read_job(form.format(f"{{Lamp: {word}}}")).readings
    assert (found.kind, found.seen, found.place) == (kind, seen, "Lamp")
    (outlet,) = read_job(form.format("{bench: off}")).readings
    assert (outlet.kind, outlet.seen) == ("works", "dead")
    wrong = messages(form.format("{Lamp: 12 V}"))
    assert 'read "12 V"' in wrong


@pytest.mark.parametrize(
    ("said", "seen"),
    [("after 3 mins", "minutes"), ("after ten minutes", "minutes"), ("after a few seconds", "seconds"),
     ("intermittently", "trips"), ("instant", "at once")],
)  # fmt: skip
def test_when_a_device_trips_in_words(said: str, seen: str) -> None:
    """Numbers as words, and now and then."""
    form = f"circuits: {{hall: {{run: [Bench]}}}}\nreadings: [{{circuit: hall, trips: {said}}}]"
    assert read_job(form).readings[0].seen == seen


@pytest.mark.parametrize(
    ("text", "lines", "poles"),
    [("C16 3 pole", "[L1, L2, L3]", ("L1", "L2", "L3")), ("C16 TP+N", "[L1, L2, L3]",
     ("L1", "L2", "L3", "N")), ("20 A double pole", "L1", ("L", "N")),
     ("30 A two pole", "L1 and L2", ("L1", "L2")), ("16 A SP", "L3", ("L",))],
)  # fmt: skip
def test_poles_are_counted_from_the_lines(text: str, lines: str, poles: tuple[str, ...]) -> None:
    """As many poles as lines are the lines; one more is the neutral."""
    form = (
        "supply: three phase 400/230 V\n"
        f"circuits: {{saw: {{device: {text}, legs: {lines}, run: [Bench]}}}}"
    )
    assert read_job(form).installation.circuits[0].device.poles == poles


def test_several_lamps_draw_as_many_times_one() -> None:
    """4x LED spots are four times one; 6 x 50 W are 300 W."""
    assert load("4x LED 8 W spots").watts.value == 32
    assert load("6 x halogen 50 W").watts.value == 300


def test_what_a_circuit_feeds_may_carry_its_power() -> None:
    """ "Shower 8.5 kW" is the shower, of 8.5 kW."""
    found = read_job("circuits: {shower: {feeds: Shower 8.5 kW}}").installation.circuits[0]
    assert [(p.name, p.loads[0].watts.value) for p in found.points] == [("Shower", 8500)]


@pytest.mark.parametrize(
    ("name", "kind"),
    [("Loft junction box", "joint box"), ("Hall switch", "switch"), ("Pull cord", "switch"),
     ("Shower", "appliance"), ("Switchroom", "socket"), ("Fridge", "socket")],
)  # fmt: skip
def test_a_point_is_a_socket_unless_its_name_says_otherwise(name: str, kind: str) -> None:
    """Nobody calls an outlet a junction box, a switch or a shower."""
    found = read_job(f"circuits: {{a: {{run: [{name}]}}}}").installation.circuits[0].points[0]
    assert found.kind == kind


def test_a_number_of_points_of_a_lighting_circuit_are_lights() -> None:
    """ "lights: points: 6" is six lights."""
    found = read_job("circuits: {hall lights: {points: 6}}").installation.circuits[0]
    assert {p.kind for p in found.points} == {"light"}


def test_a_current_between_two_terminals_is_refused() -> None:
    """Amperes are a clamp's; between terminals there are volts and ohms."""
    wrong = messages("circuits: {a: {run: [Bench]}}\nreadings: [{at: Bench, L-N: 230 A}]")
    assert "a current is a clamp's" in wrong


def test_a_supply_may_leave_out_its_volt() -> None:
    """ "TT 230" is 230 V."""
    assert (supply("TT 230").earthing, supply("TT 230").volts.value) == ("TT", 230)


@pytest.mark.parametrize(
    ("said", "kind", "amps", "loads"),
    [("fused spur 3A", "fused unit", 3, []), ("fused spur", "fused unit", 13, []),
     ("boiler", "appliance", None, ["boiler"]), ("fridge, old", "appliance", None, ["fridge"])],
)  # fmt: skip
def test_a_point_is_told_by_what_is_fixed_there(
    said: str, kind: str, amps: float | None, loads: list[str]
) -> None:
    """A fused spur may carry its fuse, and an appliance will do for a kind."""
    form = f"circuits: {{a: {{mcb: 16 A, run: [Loft], points: {{Loft: '{said}'}}}}}}"
    (point,) = read_job(form).installation.circuits[0].points
    assert (point.kind, [x.name for x in point.loads]) == (kind, loads)
    assert (point.device.amps if point.device else None) == amps
