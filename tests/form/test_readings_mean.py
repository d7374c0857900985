"""What a typed reading means: numbers, observations, terminals, conditions."""

from __future__ import annotations

import math

import pytest

from halfsplit.form import Job, read_job
from halfsplit.form.write import write_job
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.layout import lay_out
from halfsplit.wiring.model import Circuit

RUN = "circuits: {hall: {device: B16, run: [8 m, Bench, 4 m, Shelf]}}\n"


def only(text: str) -> Circuit:
    return read_job(text).installation.circuits[0]


def reading(entry: str, before: str = RUN) -> Reading:
    (found,) = read_job(before + f"readings:\n  - {entry}\n").readings
    return found


@pytest.mark.parametrize(
    ("entry", "kind", "value", "bound"),
    [
        ("{at: Bench, L-N: 230}", "volts", 230.0, "="),
        ("{at: Bench, L-N: about 48}", "volts", 48.0, "~"),
        ("{at: Bench, L-N: 97 to 104 V}", "volts", math.sqrt(97 * 104), "~"),
        ("{at: Bench, L-N: 0 to 5 V}", "volts", 5.0, "<"),
        ("{at: Bench, L-E: 0.34 ohm}", "ohms", 0.34, "="),
        ("{at: Bench, L-E: over range}", "ohms", None, ">"),
        ("{at: Bench, L-E: >200 MΩ}", "megohms", 200e6, ">"),
        ("{at: Bench, L-E: 0.3 MΩ at 250 V}", "megohms", 0.3e6, "="),
        ("{at: Bench, insulation: {L-E: 5}}", "megohms", 5e6, "="),
        ("{at: Bench, dead: {L-E: 0.4}}", "ohms", 0.4, "="),
        ("{at: Bench, loop L-E: 0.45 ohm}", "loop", 0.45, "="),
        ("{at: Bench, loop: {L-E: 0.45}}", "loop", 0.45, "="),
        ("{clamp: {L+N: 12 mA}, circuit: hall}", "amps", 0.012, "="),
        ("{circuit: hall, ramp: 22 mA}", "ramp", 0.022, "="),
    ],
)
def test_numbers_are_read_by_their_unit(
    entry: str, kind: str, value: float | None, bound: str
) -> None:
    """The unit or the test decides the kind of a reading; over range is a bound, not a number."""
    found = reading(entry)
    assert (found.kind, found.bound) == (kind, bound)
    assert found.value == (pytest.approx(value) if value is not None else None)
    assert found.conditions.dead == (kind in ("ohms", "megohms"))


@pytest.mark.parametrize(
    ("entry", "kind", "of", "seen"),
    [
        ("{works: Bench}", "works", "Bench", "works"),
        ("{dead: Bench}", "works", "Bench", "dead"),
        ("{at: Bench, works: no}", "works", "Bench", "dead"),
        ("{at: Bench, works: weakly}", "works", "Bench", "weak"),
        ("{dim: Bench}", "glow", "Bench", "dim"),
        ("{at: Bench, glows: yes}", "glow", "Bench", "glimmer"),
        ("{at: Bench, flickers: yes}", "glow", "Bench", "flicker"),
        ("{circuit: hall, trips: at once}", "trips", "hall", "at once"),
        ("{circuit: hall, trips: after 4 min}", "trips", "hall", "minutes"),
        ("{circuit: hall, trips: holds}", "trips", "hall", "holds"),
        ("{circuit: hall, trips: when hall on}", "trips", "hall", "trips"),
        ("{at: Bench, notice: buzz}", "sense", "Bench", "buzz"),
        ("{at: Bench, tester: open earth}", "lamps", "Bench", "100"),
        ("{at: Bench, tester: 1?0}", "lamps", "Bench", "1?0"),
        ("{at: Bench, tester: line/neutral reversed}", "lamps", "Bench", "101"),
    ],
)
def test_observations_are_read_from_plain_words(entry: str, kind: str, of: str, seen: str) -> None:
    """What was seen becomes one observation of the place or device meant."""
    found = reading(entry)
    assert (found.kind, found.of, found.seen) == (kind, of, seen)


def test_a_circuit_stands_for_its_points() -> None:
    """A circuit's name among points, or all, gives one observation for every point of it."""
    job = read_job(RUN + "readings: [{dead: hall}, {works: all}]\n")
    assert [r.of for r in job.readings] == ["Bench", "Shelf", "Bench", "Shelf"]
    assert [r.id for r in job.readings] == ["r1", "r2", "r3", "r4"]


@pytest.mark.parametrize(
    ("entry", "a", "b"),
    [
        ("{at: Bench, L-E: 230}", "Bench.L:front", "Bench.E:front"),
        ("{at: Bench, hot-ground: 230}", "Bench.L:front", "Bench.E:front"),
        ("{at: Bench, contacts: terminals, L-E: 230}", "Bench.L", "Bench.E"),
        ("{at: Bench, contacts: in, L-E: 230}", "Bench.L:Board–Bench", "Bench.E:Board–Bench"),
        ("{at: Bench, contacts: out, L-E: 230}", "Bench.L:Bench–Shelf", "Bench.E:Bench–Shelf"),
        ("{at: Board, L-N: 230}", "Board.L", "Board.N"),
        ("{at: Board, circuit: hall, L-N: 230}", "Board.L:way hall", "Board.N"),
        ("{at: Board, contacts: in, L-N: 230}", "Board.L:in", "Board.N:in"),
        ("{at: origin, L-N: 230}", "origin.L", "origin.N"),
        ("{from: Bench N, to: Shelf N, reads: 3}", "Bench.N:front", "Shelf.N:front"),
        ("{from: Bench N in, to: rod, reads: 3}", "Bench.N:Board–Bench", "earth"),
        ("{at: Bench, L-rod: 3}", "Bench.L:front", "earth"),
        ("{at: Bench, tingle: case}", "Bench.E", "earth"),
        ("{at: Bench, shock: tap}", "Board.E", "earth"),
    ],
)
def test_terminals_are_those_of_the_plan(entry: str, a: str, b: str) -> None:
    """Terminals as people name them become nodes that the installation's plan has."""
    found = reading(entry)
    assert (found.a, found.b) == (a, b)
    plan = lay_out(read_job(RUN).installation)
    nodes = {n for e in plan.elements for n in (e.a, e.b)} | {"earth"}
    assert {a, b} <= nodes


def test_conditions_are_read_by_name() -> None:
    """Devices, switches and loads are found by name; links and lifted cores become ids."""
    job = read_job(
        "circuits:\n  hall: {run: [8 m, Bench, 4 m, Shelf], plugged in: {Shelf: kettle 3 kW}}\n"
        "  lights: {lighting: [3 m, {Lamp: {switched by: Hall switch}}]}\n"
        "readings:\n  - {at: Bench, L-N: 3, with: {off: [main switch, Hall switch, kettle], "
        "linked: L-E at Board, lifted: N at Bench out, lamp in: Bench, rain: yes}}\n"
    )
    conditions = job.readings[0].conditions
    assert conditions.off == ("main switch",)
    assert conditions.positions == (("Hall switch", "off"),)
    assert conditions.unplugged == ("Shelf/kettle",)
    assert conditions.links == (("Board.L:way hall", "Board.E"),)
    assert conditions.lifted == ("joint Bench N Bench–Shelf",)
    assert conditions.added == (("Bench", "filament", 60.0),)
    assert conditions.wet
    assert not conditions.warm


def test_conditions_may_be_a_few_words() -> None:
    """Something on, off or unplugged can be said without brackets, also in when it trips."""
    before = "circuits: {hall: {run: [Bench], plugged in: {Bench: kettle 3 kW off}}}\n"
    found = reading("{circuit: hall, trips: when kettle on}", before)
    assert found.conditions.plugged == ("Bench/kettle",)
    found = reading("{at: Bench, L-N: 3, when: hall off}", before)
    assert found.conditions.off == ("hall",)


def test_joined_conductors_are_one_side_of_a_test() -> None:
    """L+N-E links line and neutral for the test, as live conductors are joined to test to earth."""
    found = reading("{at: Bench, insulation: {L+N-E: 5}}")
    assert found.conditions.links == (("Bench.L:front", "Bench.N:front"),)


def test_ring_ends_are_taken_with_both_ends_lifted() -> None:
    """r1, rn and r2 lie between the two core ends at the board, out of their terminals."""
    job = read_job(
        "circuits: {r: {ring: [A, B, 4 m]}}\nreadings: [{ring ends: {r1: 0.6, r2: 1}}]\n"
    )
    line, earth = job.readings
    assert (line.a, line.b) == ("Board.L:Board–A", "Board.L:B–Board")
    assert earth.conditions.lifted == ("joint Board E Board–A", "joint Board E B–Board")
    ids = {e.id for e in lay_out(job.installation).elements}
    assert set(earth.conditions.lifted) <= ids


def test_an_unsteady_value_is_marked() -> None:
    """Values that fall or wander are kept with the mark that they would not settle."""
    assert not reading("{at: Bench, L-N: falls to 0}").settled
    assert not reading("{at: Bench, L-N: unsteady 30}").settled
    assert reading("{at: Bench, L-N: falls to 0}").value == 0.0


def test_three_phase_appliances_draw_between_all_lines() -> None:
    """A fixed appliance on three lines is three loads that share its power."""
    circuit = only(
        "supply: three phase 400/230 V\n"
        "circuits: {p: {legs: [L1, L2, L3], neutral: no, feeds: Well pump}}\n"
    )
    loads = circuit.points[0].loads
    assert {load.across for load in loads} == {("L1", "L2"), ("L2", "L3"), ("L3", "L1")}
    assert math.isclose(len({load.watts.value for load in loads}), 1)


def test_every_instrument_word_is_in_the_catalogue() -> None:
    """Every instrument the form can name is one that the catalogue of instruments has."""
    from halfsplit.form.words import INSTRUMENTS
    from halfsplit.instruments import catalogue

    known = {entry.id for entry in catalogue.every()}
    assert {i for i in INSTRUMENTS.values() if i} <= known


def test_a_job_knows_its_title_region_and_history() -> None:
    """The job answers for its title, region, history, tools, sources, edition and notes."""
    job: Job = read_job(
        "title: Barn\nregion: au\nhistory: [works last week, mice in the loft]\nedition: 2018\n"
        "tools: [multimeter, clamp meter, Tone and wand, thermal camera]\nother sources: solar\n"
        "notes: Be kind.\n" + RUN
    )
    assert (job.title, job.region, job.edition, job.notes) == ("Barn", "au", "2018", "Be kind.")
    assert job.history == ("works last week", "mice in the loft")
    assert job.tools == ("multimeter", "clamp", "tone tracer", "thermal camera")
    assert job.sources == ("solar",)


@pytest.mark.parametrize(
    ("typed", "low", "high"),
    [("97 to 104 V", 97, 104), ("between 97 and 104", 97, 104), ("about 100 V", 85, 118),
     ("100 ± 3 V", 97, 103), ("100 V +/- 3 %", 97, 103), ("104 V", 104, 104)],
)  # fmt: skip
def test_a_figure_keeps_how_well_it_was_seen(typed: str, low: float, high: float) -> None:
    """A range keeps its own ends as nine in ten, "about" a tenth; a plain figure has no spread."""
    found = reading(f"{{at: Bench, L-N: {typed}}}")
    assert found.value is not None
    ends = [found.value * math.exp(sign * 1.645 * found.spread) for sign in (-1, 1)]
    assert ends == pytest.approx([low, high], rel=0.01)
    job = read_job(RUN + f"readings: [{{at: Bench, L-N: {typed}}}]\n")
    assert read_job(write_job(job)).bare() == job.bare()


@pytest.mark.parametrize(
    ("entry", "seen", "conductors", "value"),
    [
        ("{at: Bench, cables: 2}", "cables", (), 2),
        ("{at: Bench, cables: two}", "cables", (), 2),
        ("{at: Bench, wires: 6}", "cores", (), 6),
        ("{at: Bench, cores: {neutral: 3}}", "cores", ("N",), 3),
        ("{at: Bench, left over: [L, E]}", "loose", ("L", "E"), 1),
    ],
)
def test_what_was_counted_in_a_box(
    entry: str, seen: str, conductors: tuple[str, ...], value: float
) -> None:
    """Cables, cores by conductor and cores left over are counts at the place."""
    found = reading(entry)
    assert (found.kind, found.of, found.seen) == ("count", "Bench", seen)
    assert (found.conductors, found.value) == (conductors, value)
    job = read_job(f"{RUN}readings: [{entry}]\n")
    assert read_job(write_job(job)).bare() == job.bare()
