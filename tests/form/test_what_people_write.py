# ruff: noqa: E501 (forms stand as they are typed)
"""What people wrote of real installations, and what it must mean."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.behaviour.laws import KINDS as LAWS
from halfsplit.form import read_job, read_with_problems
from halfsplit.form.appliances import APPLIANCES, PLUG_WATTS_NA, appliance
from halfsplit.form.words import history_words
from halfsplit.form.write import write_job
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.layout import lay_out
from halfsplit.wiring.lower import lower
from halfsplit.wiring.model import Circuit, Load, Supply

RUN = "circuits: {hall: {run: [Bench, Shelf], plugged in: {Bench: kettle 3 kW, Shelf: [TV, LED 5 W]}}}\n"
METAL = (
    RUN + "other paths: {Shower tray: 'metal to earth, about 2 kΩ', jumper: 'Board E to earth'}\n"
)


def supply(text: str, region: str = "uk") -> Supply:
    return read_job(f"region: {region}\nsupply: {text}\n{RUN}").installation.supply


def circuit(text: str, region: str = "na") -> Circuit:
    head = f"region: {region}\nsupply: split phase 120/240 V\n" if region == "na" else ""
    return read_job(f"{head}circuits: {{c: {{{text}}}}}\n").installation.circuits[0]


def load(text: str, region: str = "uk") -> Load:
    return circuit(f"run: [X], plugged in: {{X: {text}}}", region).points[0].loads[0]


def readings(entry: str, before: str = RUN) -> tuple[Reading, ...]:
    return read_job(before + f"readings:\n  - {entry}\n").readings


def reading(entry: str, before: str = RUN) -> Reading:
    (found,) = readings(entry, before)
    return found


def messages(text: str) -> str:
    return "\n".join(p.sentence() for p in read_with_problems(text, "job.yaml")[1])


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


# Readings


@pytest.mark.parametrize(
    ("value", "kind", "number", "bound"),
    [
        ("over 200 V", "volts", 200.0, ">"),
        ("under 5 V", "volts", 5.0, "<"),
        ("over 200", "volts", 200.0, ">"),
        (">200 MΩ", "megohms", 200e6, ">"),
        ("over range", "ohms", None, ">"),
        ("over 2 kΩ", "ohms", 2000.0, ">"),
    ],
)
def test_a_bound_is_of_the_kind_its_unit_says(
    value: str, kind: str, number: float | None, bound: str
) -> None:
    """Over and under go with volts as well as with ohms."""
    found = reading(f"{{at: Bench, L-N: {value}}}")
    assert (found.kind, found.value, found.bound) == (kind, number, bound)


@pytest.mark.parametrize(
    ("key", "seen"),
    [
        ("glows", "off"),
        ("lit", "off"),
        ("unlit", "normal"),
        ("bright", "normal"),
        ("dim", "normal"),
    ],
)
def test_no_denies_what_was_asked(key: str, seen: str) -> None:
    """A lamp that does not glow when off is off; one that is not too bright is normal."""
    assert reading(f"{{at: Bench, {key}: no}}").seen == seen


@pytest.mark.parametrize(
    ("entry", "of", "seen"),
    [
        ("{destroyed: TV}", ["Shelf/TV"], "destroyed"),
        ("{destroyed: [Bench, TV]}", ["Bench", "Shelf/TV"], "destroyed"),
        ("{destroyed: 'Bench, TV'}", ["Bench", "Shelf/TV"], "destroyed"),
        ("{destroyed: all}", ["Bench", "Shelf"], "destroyed"),
        ("{destroyed: hall}", ["Bench", "Shelf"], "destroyed"),
        ("{at: Bench, destroyed: yes}", ["Bench"], "destroyed"),
        ("{at: Bench, of: kettle, destroyed: yes}", ["Bench/kettle"], "destroyed"),
        ("{at: Bench, destroyed: no}", ["Bench"], "works"),
    ],
)
def test_what_was_destroyed_is_told_by_load_by_point_or_at_a_place(
    entry: str, of: list[str], seen: str
) -> None:
    """Destroyed by voltage is an observation of each load or point; no says that it survived."""
    found = readings(entry)
    assert [r.of for r in found] == of
    assert {(r.kind, r.seen) for r in found} == {("works", seen)}
    assert all(r.place in ("Bench", "Shelf") for r in found)


@pytest.mark.parametrize(
    ("entry", "of", "seen"),
    [
        ("{at: Bench, notice: sparks}", "Bench", "spark"),
        ("{notice: heat along Board–Bench}", "Board–Bench", "heat"),
        ("{notice: heat along Bench to Board}", "Board–Bench", "heat"),
        ("{at: Bench-Shelf, notice: burning smell}", "Bench–Shelf", "smell"),
        ("{notice: buzz at Shelf}", "Shelf", "buzz"),
        ("{at: somewhere, notice: smell}", "", "smell"),
        ("{notice: smell}", "", "smell"),
    ],
)
def test_something_may_be_noticed_along_a_run_or_nobody_knows_where(
    entry: str, of: str, seen: str
) -> None:
    """A sense is at a point, along a run by its name or its ends, or at no place that is known."""
    found = reading(entry)
    assert (found.kind, found.of, found.place, found.seen) == ("sense", of, of, seen)


def test_a_figure_needs_a_place() -> None:
    """Volts somewhere, or along a run, are refused with what is missing."""
    for at in ("somewhere", "Board–Bench"):
        assert "at: the place where it was taken" in messages(
            RUN + f"readings: [{{at: {at}, L-N: 230}}]\n"
        )
    assert "a point or board" in messages(RUN + "readings: [{notice: heat along Board–Cellar}]\n")


def test_a_path_is_parted_as_a_condition() -> None:
    """A jumper taken off opens its path, and the reading says so in longhand too."""
    job = read_job(METAL + "readings: [{at: Bench, L-N: 230, with: {parted: jumper}}]\n")
    assert job.readings[0].conditions.lifted == ("path jumper",)
    plan = lay_out(job.installation)
    assert "path jumper" in lower(plan, job.readings[0].conditions).open
    assert read_job(write_job(job)).bare() == job.bare()
    said = messages(METAL + "readings: [{at: Bench, L-N: 230, with: {parted: jumpr}}]\n")
    assert 'Did you mean "jumper"?' in said


def test_a_load_switched_off_but_left_in_keeps_its_neutral_and_its_frame() -> None:
    """Its switch parts the line alone; unplugged, all three are parted."""
    job = read_job(RUN + "readings: [{at: Bench, L-N: 230, with: {left in: kettle}}]\n")
    plan = lay_out(job.installation)
    open_ = lower(plan, job.readings[0].conditions).open
    assert {e for e in open_ if e.startswith("flex Bench")} == {"flex Bench/kettle L"}
    out = read_job(RUN + "readings: [{at: Bench, L-N: 230, with: {unplugged: kettle}}]\n")
    assert len(lower(plan, out.readings[0].conditions).open) == 3
    assert read_job(write_job(job)).bare() == job.bare()


@pytest.mark.parametrize(
    ("entry", "a", "b"),
    [
        ("{from: Shower tray, to: earth, reads: 60 V}", "Shower tray.E", "earth"),
        ("{from: Shower tray, to: Board E, reads: 60 V}", "Shower tray.E", "Board.E"),
        ("{at: Shower tray, tingle: yes}", "Shower tray.E", "earth"),
        ("{at: Shower tray, metal-rod: 60}", "Shower tray.E", "earth"),
        ("{at: Bench, shock: case, to touch: Shower tray}", "Bench/kettle:frame", "Shower tray.E"),
    ],
)
def test_metal_by_itself_is_named_like_a_place(entry: str, a: str, b: str) -> None:
    """Metal that stands by itself has a node of the plan, which readings use by its name."""
    found = reading(entry, METAL)
    assert (found.a, found.b) == (a, b)
    plan = lay_out(read_job(METAL).installation)
    path = plan.element("path Shower tray")
    assert (path.a, path.b, path.ohms) == ("Shower tray.E", "earth", 2000.0)


def test_metal_may_touch_two_things_and_is_written_back() -> None:
    """A list gives metal with each thing it touches; the job survives being written."""
    job = read_job(
        RUN + "other paths:\n  - {metal: Tray, to: earth}\n"
        "  - {metal: Tray, to: Board E, ohms: 0.2, certain: no}\n"
        "readings: [{from: Tray, to: Board E, reads: 3}]\n"
    )
    assert [(p.name, p.a, p.b) for p in job.installation.paths] == [
        ("Tray", "Tray.E", "earth"), ("Tray 2", "Tray.E", "Board.E")
    ]  # fmt: skip
    assert job.installation.paths[0].ohms.spread > 1.0
    assert read_job(write_job(job)).bare() == job.bare()


def test_metal_is_no_point() -> None:
    """A point's name is refused for metal, and a conductor that metal has not is named."""
    assert "each point once" in messages(RUN + "other paths: {Bench: metal to earth}\n")
    assert "a conductor at Shower tray: E" in messages(
        METAL + "readings: [{at: Shower tray, L-E: 3}]\n"
    )
    assert "metal with what it touches" in messages(RUN + "other paths: [{to: earth}]\n")


# Devices

TWO = "circuits: {one: {run: [A]}, two: {run: [B]}}\n"


def test_what_tripped_at_the_board_is_the_only_circuit_or_a_main_that_can() -> None:
    """A lone circuit's device is meant; of several, the main one if it is made to trip."""
    assert reading("{at: Board, trips: yes}").of == "hall"
    assert (
        reading("{at: Board, trips: yes}", "board: {main: RCD 30 mA 63 A}\n" + TWO).of
        == "main switch"
    )
    said = messages(TWO + "readings: [{at: Board, trips: yes}]\n")
    assert "to say which one tripped" in said
    assert "board: {main: RCD 30 mA 63 A}" in said


@pytest.mark.parametrize("word", ["main switch", "main", "Main fuse", "RCD"])
def test_the_main_device_has_many_names(word: str) -> None:
    """The main one answers to what people call it, and to its kind where it is the only one."""
    assert reading(
        f"{{device: {word}, trips: yes}}", "board: {main: RCD 30 mA 63 A}\n" + TWO
    ).of == ("main switch")
    assert "a device: main switch, one, two" in messages(
        TWO + "readings: [{device: RCD, trips: yes}]\n"
    )


# History


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("gas company dug the yard", "worked on"),
        ("joists notched", "worked on"),
        ("rewired in spring", "worked on"),
        ("socket replaced", "worked on"),
        ("tree hit the line", "storm"),
        ("storm on Sunday", "storm"),
        ("humid cellar", "damp"),
        ("underground cable", "outdoor"),
        ("unearthed metal lights", "old"),
        ("house 40 years old", "old"),
        ("a 25-year-old board", "old"),
    ],
)
def test_history_in_plain_words_has_its_meaning(text: str, plain: str) -> None:
    """Words people use of what happened lead to the plain word that the rates know."""
    assert history_words((text,)) == (plain, text)


@pytest.mark.parametrize("word", ["rodents", "water", "storm", "old", "damp", "worked on"])
def test_a_plain_history_word_alone_will_do_for_a_point(word: str) -> None:
    """A point's short details may be one of the plain words themselves."""
    assert circuit(f"run: [X], points: {{X: 'worn, {word}'}}").points[0].history == ("worn", word)


@given(st.integers(0, 300), st.sampled_from([" years old", "-year-old", " years-old", " year old"]))
def test_something_is_old_from_twenty_years(years: int, spelling: str) -> None:
    """N years old is old from 20 only; a younger thing does not even say the word."""
    found = history_words((f"board {years}{spelling}",))
    assert ("old" in found) == (years >= 20)
    assert any("old" in word for word in found) == (years >= 20)
    assert history_words(found) == found
