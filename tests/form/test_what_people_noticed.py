"""What people wrote of readings, devices and the past, and what it must mean."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.form import read_job
from halfsplit.form.read import read_with_problems
from halfsplit.form.write import write_job
from halfsplit.wiring.history import WORDS, about, plain_words, tried, understood
from halfsplit.wiring.layout import lay_out
from halfsplit.wiring.lower import lower
from tests.form.typed import METAL, RUN, circuit, messages, reading, readings

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
        ("gas company dug the yard", "dug"),
        ("left off after a test", "tested"),
        ("never tested since", "neglected"),
        ("original, and tired", "old"),
        ("more load in the area", "demand grown"),
        ("the owner's own wiring", "amateur"),
        ("worked until Sunday", "worked before"),
        ("so since the house was built", "always so"),
        ("terminations re-made", "remade"),
        ("joists notched", "worked on"),
        ("rewired in spring", "worked on"),
        ("socket replaced", "worked on"),
        ("tree hit the line", "storm"),
        ("storm on Sunday", "storm"),
        ("humid cellar", "water"),
        ("underground cable", "outdoor"),
        ("unearthed metal lights", "old"),
        ("house 40 years old", "old"),
        ("a 25-year-old board", "old"),
    ],
)
def test_history_in_plain_words_has_its_meaning(text: str, plain: str) -> None:
    """Words people use of what happened mean the plain word that the rates know."""
    assert plain_words(text) == (plain,)


@pytest.mark.parametrize("word", ["rodents", "water", "storm", "old", "damp", "worked on"])
def test_a_plain_history_word_alone_will_do_for_a_point(word: str) -> None:
    """A point's short details may be one of the plain words themselves."""
    assert circuit(f"run: [X], points: {{X: 'worn, {word}'}}").points[0].history == ("worn", word)


@given(st.integers(0, 300), st.sampled_from([" years old", "-year-old", " years-old", " year old"]))
def test_something_is_old_from_twenty_years(years: int, spelling: str) -> None:
    """N years old is old from 20 only; a younger thing does not even say the word."""
    text = f"board {years}{spelling}"
    assert plain_words(text) == (("old",) if years >= 20 else ())
    assert understood(text)


@pytest.mark.parametrize("word", WORDS)
def test_every_plain_word_means_itself(word: str) -> None:
    """What the manual lists can be typed as it stands, and means nothing else."""
    assert plain_words(word) == (word,)


@pytest.mark.parametrize(
    ("text", "part", "conductors", "many"),
    [
        ("push-in terminations remade without effect", "joint", (), True),
        ("neutral joint remade, no difference", "joint", ("N", "PEN"), False),
        ("socket replaced without effect", "accessory", (), False),
        ("breaker changed, still trips", "device", (), False),
        ("all sockets replaced, did not help", "accessory", (), True),
        ("cable renewed to no avail", "cable", (), False),
        ("lamp changed in vain", "load", (), False),
        ("L2 joint tightened without effect", "joint", ("L2",), False),
    ],
)
def test_a_mend_in_vain_names_what_it_renewed(
    text: str, part: str, conductors: tuple[str, ...], many: bool
) -> None:
    """Replaced without effect is no work that may have gone wrong; without those words it is."""
    found = tried(text)
    assert found is not None
    assert (found.part, found.conductors, found.many) == (part, conductors, many)
    assert plain_words(text) == ()
    assert tried("socket replaced") is None


def test_a_house_wide_word_may_be_about_its_board_or_its_supply() -> None:
    """What names the panel or the service is said of that."""
    said = ("panel renewed last week", "meter changed", "works last week")
    assert [about(text) for text in said] == ["board", "origin", ""]


def test_history_that_means_nothing_is_kept_with_a_warning() -> None:
    """The person learns that a word changes no odds, and which words would; nothing is lost."""
    form = "board: {history: [shiny, renewed]}\nsupply: {history: storm}\nhistory: purple\n" + RUN
    job, problems = read_with_problems(form, "the form")
    assert job is not None
    assert [(p.read, p.is_error) for p in problems] == [("shiny", False), ("purple", False)]
    assert "worked before" in problems[0].accepted
    assert "makes no cause likelier" in problems[0].remedy
    assert job.installation.boards[0].history == ("shiny", "renewed")
    assert job.installation.supply.history == ("storm",)
    assert read_job(write_job(job)).bare() == job.bare()


def test_a_mend_with_the_symptom_still_there_becomes_history() -> None:
    """Each part renewed in vain is told to its place; with the symptom gone nothing is."""
    form = (
        "supply: TN-S\ncircuits: {desks: {run: [3 m, Desk, 4 m, Shelf], "
        "plugged in: {Desk: kettle}}}\nmend:\n"
        "  - {did: remade, at: Desk, joint: [N, E]}\n  - {did: changed it, at: Shelf}\n"
        "  - {did: new cable, from: Desk, to: Shelf}\n  - {did: swapped, device: desks}\n"
        "  - {did: mended, load: kettle, at: Desk}\n  - {did: ours, supply: operator}\n"
        "tests after: [{symptom: %s}]\n"
    )
    job = read_job(form % "still there")
    (circuit,) = job.installation.circuits
    assert circuit.history == ("device changed without effect",)
    assert circuit.points[0].history == (
        "N and E joint remade without effect", "appliance mended without effect",
    )  # fmt: skip
    assert circuit.points[1].history == ("accessory changed without effect",)
    assert circuit.runs[1].exposed == ("cable mended without effect",)
    assert job.installation.supply.history == ("supply mended without effect",)
    assert read_job(write_job(job)).bare() == job.bare()
    cured = read_job(form % "gone").installation
    assert cured.circuits[0].history == cured.circuits[0].points[0].history == ()


@pytest.mark.parametrize(
    ("path", "low", "high"),
    [
        ("water pipe: Board E to earth", 1.0, 3.0),
        ("incoming water main: earth to Board E", 1.0, 3.0),
        ("pipes: Board E to earth", 3.0, 15.0),
        ("gas pipe: Board E to earth", 15.0, 60.0),
        ("heating pipe: Board E to earth", 15.0, 60.0),
        ("water pipe: Board E to Bench E", 15.0, 60.0),
        ("'water pipe': 'Board E to earth, 40 ohm'", 40.0, 40.0),
    ],
)
def test_a_metal_water_pipe_in_the_soil_is_a_good_earth(path: str, low: float, high: float) -> None:
    """Left unstated, buried water pipe is under 3 ohm (IEEE 142, from memory), a pipe of unknown
    use more, and what may have a plastic joint as much as any path; a stated figure wins."""
    (found,) = read_job(RUN + "other paths:\n  " + path + "\n").installation.paths
    assert low <= found.ohms.value <= high
