"""Other sources than the supply: in words, by name, switched by their own names."""

from __future__ import annotations

import pytest

from halfsplit.errors import BadInput
from halfsplit.form import read_job
from halfsplit.form.write import write_job
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.layout import lay_out
from halfsplit.wiring.lower import lower
from halfsplit.wiring.model import About, Source

HOUSE = """
region: uk
boards: {Board: {}, Shed board: {}}
circuits:
  hall: {run: [8 m, Hall], plugged in: {Hall: ups 60 W}}
  shed feed: {run: [20 m, Shed board]}
"""


def sources(text: str) -> tuple[Source, ...]:
    """The wired sources of a house with these other sources."""
    return read_job(f"{HOUSE}other sources: {text}").installation.sources


def test_words_name_sources_at_the_first_board_switched_off() -> None:
    """Solar follows the supply, a generator can feed alone; both are off until said to be on."""
    found = sources("[4 kW solar, standby generator]")
    assert [(s.name, s.kind, s.board, s.on) for s in found] == [
        ("solar", "follows", "Board", False),
        ("generator", "island", "Board", False),
    ]


@pytest.mark.parametrize("text", ["[none]", "no solar", "[unknown thing in the shed]", "[]"])
def test_words_that_name_no_source_wire_none(text: str) -> None:
    """What is denied, or not known for a source, is kept as words and wired as nothing."""
    assert sources(text) == ()


def test_every_word_is_kept_to_be_asked_about() -> None:
    """Wired or not, each word stays with the job."""
    job = read_job(f"{HOUSE}other sources: [solar, big old dynamo]")
    assert job.sources == ("solar", "big old dynamo")


def test_details_are_taken_as_they_are_given() -> None:
    """Kind, board, state, link and ohms as typed; a kind or on alone will do."""
    found = sources("""
  Honda: {kind: generator, at: Shed board, on: yes, own link: no, ohms: 1.2 ohm}
  Roof: solar
  Battery: on
  Cord: {kind: lead, from: Board, board: Shed board}
""")
    assert found[0] == Source("Honda", "island", "Shed board", True, False, About(1.2))
    assert [(s.name, s.kind, s.on) for s in found[1:3]] == [
        ("Roof", "follows", False), ("Battery", "island", True),
    ]  # fmt: skip
    assert (found[3].from_board, found[3].board) == ("Board", "Shed board")


def test_a_source_is_switched_by_its_name_and_a_load_of_that_name_is_not_lost() -> None:
    """`on: [Honda]` closes its isolation point; where a load has the name, the load is meant."""
    job = read_job(
        HOUSE + "other sources: {Honda: generator, ups: ups}\n"
        "readings:\n"
        "  - {at: Hall, L-N: 230, with: {off: main switch, on: [Honda]}}\n"
        "  - {at: Hall, L-N: 230, with: {off: [ups]}}\n"
        "  - {at: Hall, L-N: 230, with: {off: [ups isolator]}}\n"
    )
    first, second, third = (reading.conditions for reading in job.readings)
    assert first == Conditions(off=("main switch",), on=("Honda isolator",))
    assert second.unplugged == ("Hall/ups",)
    assert third.off == ("ups isolator",)
    plan = lay_out(job.installation)
    closed = {e.id for e in plan.elements} - lower(plan, first).open
    assert "pole Honda isolator L" in closed
    assert "pole ups isolator L" not in closed


@pytest.mark.parametrize("text", [
    "[solar, ups]",
    "{Roof: solar, Honda: {kind: generator, on: yes, ohms: about 1 ohm}}",
    "{Cord: {kind: lead, from: Board, board: Shed board, on: yes}, Next door: {kind: next door}}",
])  # fmt: skip
def test_sources_survive_a_round_trip(text: str) -> None:
    """Written and read again, words and details are the same."""
    job = read_job(f"{HOUSE}other sources: {text}")
    assert read_job(write_job(job), "written").bare() == job.bare()


@pytest.mark.parametrize(("text", "said"), [
    ("{Thing: {kind: spaceship}}", "a kind of source: solar, wind, generator"),
    ("{Honda: {kind: generator, board: Shedboard}}", 'Did you mean "Shed board"'),
    ("{Cord: lead}", "the two boards a lead joins"),
    ("{Cord: {kind: lead, from: Board, board: Board}}", "the two boards a lead joins"),
    ("{Honda: {kind: generator, ohms: fast}}", "fast"),
    ("{Honda: {kind: generator, onn: yes}}", 'Did you mean "on"'),
])  # fmt: skip
def test_wrong_sources_are_told(text: str, said: str) -> None:
    """The message names what was read and what is accepted."""
    with pytest.raises(BadInput, match=said):
        sources(text)
