"""Sentences and the ladder as data: computed from the answer, in the words of the region."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit import service
from halfsplit.diagnosis.result import Danger, Hold
from halfsplit.form import read_job
from halfsplit.report.places import at_places, place_list
from halfsplit.report.readings import told
from halfsplit.report.reasons import reasons
from halfsplit.service.told import in_hundred, merged, together
from halfsplit.wiring.model import Installation

FORM = """
region: uk
supply: TN-S 230 V
circuits:
  store: {device: B16, run: [8 m, Bench, 4 m, Shelf, 5 m, Loft, about 3 m, Door]}
  yard: {device: B6, run: [Gate], branches: {Gate: [3 m, Lamp post]}}
readings:
  - {at: Bench, L-E: 236, by: multimeter}
  - {at: Bench, dead: {L-E: over range}, with: {linked: L-E at Board}}
  - {from: Bench N, to: Loft N, reads: 3.2 V}
  - {circuit: store, trips: at once}
  - {at: Shelf, L-E: 0.3 MΩ at 250 V, with: {off: [main switch], unplugged: all}}
"""


@pytest.fixture(scope="module")
def installation() -> Installation:
    return read_job(FORM).installation


@pytest.fixture(scope="module")
def shed() -> service.Answer:
    demo = service.demo("boat-shed")
    return service.ask(*service.read(demo.form, demo.file))


@pytest.mark.parametrize(
    ("probability", "words"),
    [
        (1.0, "over 99 in 100"),
        (0.9949, "99 in 100"),
        (0.88, "88 in 100"),
        (0.01, "1 in 100"),
        (0.004, "4 in 1,000"),
        (0.0, "under 1 in 1,000"),
    ],
)
def test_chances_are_said_as_people_say_them(probability: float, words: str) -> None:
    """So many in a hundred or a thousand, never certain and never nothing."""
    assert in_hundred(probability) == words


@given(st.floats(0, 1))
def test_a_chance_said_is_near_the_chance_meant(probability: float) -> None:
    """What is said is within half a step of what is meant, on every side of every threshold."""
    words = in_hundred(probability).split()
    if words[0] in ("over", "under"):
        assert probability >= 0.99 if words[0] == "over" else probability < 0.001
    else:
        of = int(words[2].replace(",", ""))
        assert abs(int(words[0]) / of - probability) <= 0.5001 / of


def test_neighbours_are_named_by_their_ends(installation: Installation) -> None:
    """Three or more in a row become a stretch, in the order fed, whatever order they come in."""
    assert place_list(["Door", "Shelf", "Loft"], installation) == "Shelf to Door"
    assert at_places(["Door", "Shelf", "Loft"], installation) == "from Shelf to Door"
    assert place_list(["Loft", "Bench"], installation) == "Bench and Loft"
    assert at_places(["Door", "Bench", "Shelf"], installation) == "at Bench, Shelf and Door"
    assert at_places(["Gate", "Lamp post"], installation) == "at Gate and Lamp post"


def test_a_reading_is_told_with_place_port_instrument_and_conditions(
    installation: Installation,
) -> None:
    """Each kind of reading says between what, what was shown, with what, in which conditions."""
    job = read_job(FORM)
    lines = [(told(r, installation).place, told(r, installation).line) for r in job.readings]
    assert ("Bench", "L–E 236 V, multimeter") in lines
    assert ("Bench", "dead L–E over range, L–E linked at Board") in lines
    assert ("Bench", "N to N at Loft 3.2 V, meter not said") in lines
    assert ("Board", "store trips at once") in lines
    assert any("insulation L–E 300 kΩ" in x and "main switch off, all unplugged" in x
               for _, x in lines)  # fmt: skip


def test_dangers_with_the_same_figures_are_one_sentence(installation: Installation) -> None:
    """Four places at 112 V are said once; another voltage is said apart."""
    places = ("Bench", "Shelf", "Loft", "Door")
    found = [Danger(p, "E", 112.0, 0.8, 0.1, "") for p in places]
    found.append(Danger("Gate", "N", 230.0, 390.0, 0.02, ""))
    said = merged(found, installation)
    assert said == (
        "The protective conductor from Bench to Door may stand at up to 112 V to the ground, "
        "0.8 mA through a person (10 in 100).",
        "The neutral at Gate may stand at up to 230 V to the ground, "
        "390 mA through a person (2 in 100).",
    )


def test_reasons_are_read_off_volts_and_impedance(installation: Installation) -> None:
    """The same conductor is told to float, to be held by the line or pulled between by its hold."""
    sound = [Hold("Loft", "N", 0.1, 5.0, "earthed")]
    said = {}
    for held, volts, ohms in (
        ("floats", 80.0, 3e5),
        ("line", 229.0, 900.0),
        ("between", 90.0, 40.0),
    ):
        (said[held],) = reasons(installation, [Hold("Loft", "N", volts, ohms, held)], sound)
    assert "hangs free" in said["floats"]
    assert "(300 kΩ): 80 V" in said["floats"]
    assert "is held at the line's voltage, 229 V behind 900 Ω" in said["line"]
    assert "is pulled between line and earth: 90 V behind 40 Ω" in said["between"]
    assert all(words.endswith("it should be earthed, near 0 V.") for words in said.values())
    assert reasons(installation, sound, sound) == ()


def test_cautions_are_given_once() -> None:
    """A caution already spoken by a check is not said again in other words."""
    first = ["Dead means proved dead: every pair."]
    more = ["Dead means proved dead: every pair of conductors.", "Local rules first."]
    assert together(first, more) == ("Dead means proved dead: every pair.", "Local rules first.")


def test_after_a_trip_at_once_nobody_is_told_to_reclose() -> None:
    """An instantaneous trip brings the caution not to reclose, and other sources theirs."""
    answer = service.ask(read_job(FORM + "other sources: [solar]\n"))
    said = " ".join(answer.cautions)
    assert "do not reclose" in said
    assert "solar" in said


def test_the_ladder_follows_the_feed(shed: service.Answer) -> None:
    """Rungs stand in the order fed, each with its cable above it and its marks."""
    (ladder,) = shed.ladders
    (chain,) = ladder.chains
    points = [p.name for p in shed.job.installation.points()]
    assert [rung.place for _, rung in chain.steps] == points
    assert [link.length for link, _ in chain.steps] == ["8 m", "4 m", "5 m", "3 m", "about 6 m"]
    assert chain.keys == ("L", "N", "E")


def test_the_break_stands_where_the_leading_suspect_is(shed: service.Answer) -> None:
    """The one break drawn is on the leading suspect's conductor and between its places."""
    (chain,) = shed.ladders[0].chains
    broken = [(link, cut) for link, _ in chain.steps
              for cut in (*link.leaving, *link.inside, *link.arriving)]  # fmt: skip
    ((link, cut),) = broken
    leading = shed.diagnosis.suspects[0]
    assert (cut.key,) == leading.conductors
    assert set(leading.places) <= set(link.name.split("–"))


def test_every_reading_stands_on_one_rung(shed: service.Answer) -> None:
    """No reading is lost between the form and the ladder, none is drawn twice."""
    (chain,) = shed.ladders[0].chains
    notes = [n for _, rung in chain.steps for n in rung.notes] + list(shed.ladders[0].head.notes)
    assert len(notes) == len(shed.job.readings)


def test_branches_hang_on_their_point(installation: Installation) -> None:
    """A branch that is the only way on goes on below its point; it is not drawn beside."""
    answer = service.ask(replace(read_job(FORM), installation=installation))
    yard = answer.ladders[1]
    (chain,) = yard.chains
    assert [rung.place for _, rung in chain.steps] == ["Gate", "Lamp post"]


def test_shared_readings_at_the_board_are_drawn_once() -> None:
    """A reading of the board itself stands on its first circuit's ladder only."""
    form = FORM + "  - {at: Board, L-N: 231, by: multimeter}\n"
    heads = [ladder.head for ladder in service.ask(read_job(form)).ladders]
    drawn = [sum("231 V" in note.told.line for note in head.notes) for head in heads]
    assert drawn == [1, 0]


def test_a_readings_file_with_warnings_still_answers() -> None:
    """``read`` gives the job with its warnings, and refuses errors with all of them at once."""
    with pytest.raises(Exception, match="accepted") as failed:
        service.read("circuits: {a: {run: [0 m, X]}, b: {run: [-1 m, Y]}}", "job.yaml")
    assert str(failed.value).count("accepted") == 2
