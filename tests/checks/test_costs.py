"""The table of costs, and what lasts from one check to the next."""

from __future__ import annotations

from dataclasses import replace

import pytest

from halfsplit.checks.check import Check
from halfsplit.checks.costs import (
    ENERGISE,
    ISOLATE,
    KINDS,
    LEAD,
    WALK,
    WARM_UP,
    State,
    minutes,
)
from halfsplit.checks.standing import as_taken, stood
from halfsplit.instruments.catalogue import INSTRUMENTS, OTHER_TOOLS
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.conditions import Conditions
from tests.checks.simulating import prepared, volts

DEAD = Conditions(dead=True, unplugged=("all",))
LEAD_CHECK = Check("a", "lead", "N", "Desk", "continuity", None, DEAD, "plug", "c")
VOLTS = Check("b", "volts", "L-N", "Desk", "multimeter", None, Conditions(), "plug", "c")


def test_every_row_has_a_reason_and_known_tools() -> None:
    """Each kind takes some time, says where its minutes come from, and names real instruments."""
    for kind, row in KINDS.items():
        assert row.kind == kind
        assert row.minutes > 0
        assert row.reason
        assert set(row.tools) <= {*INSTRUMENTS, *OTHER_TOOLS}
        assert 0 <= row.disturbs <= 1
        assert not {"dead", "live"} <= set(row.needs)


def test_live_work_costs_wariness_and_dead_work_none() -> None:
    """Dead before live at equal worth; a plug before an opened accessory."""
    for row in KINDS.values():
        assert (row.wariness > 0) >= ("live" in row.needs)
        if "dead" in row.needs:
            assert row.wariness == 0
    assert KINDS["volts"].wariness < KINDS["open volts"].wariness


def test_isolating_is_paid_once() -> None:
    """The second dead test from the same lead at the next place costs only the walk and itself."""
    first = minutes(LEAD_CHECK, State())
    state = State().after(LEAD_CHECK)
    second = minutes(replace(LEAD_CHECK, where="Sink"), state)
    assert state.isolated
    assert state.lead
    assert second == KINDS["lead"].minutes + WALK
    assert first >= second + ISOLATE + LEAD


def test_going_live_again_costs_energising_and_loses_the_isolation() -> None:
    """After a dead test a live one pays for switching on, and the next dead one isolates anew."""
    dead = State().after(LEAD_CHECK)
    assert minutes(VOLTS, dead) >= KINDS["volts"].minutes + ENERGISE
    live = dead.after(VOLTS)
    assert not live.isolated
    assert minutes(LEAD_CHECK, live) >= KINDS["lead"].minutes + ISOLATE


def test_asking_changes_nothing() -> None:
    """A question neither isolates nor energises, and costs the same wherever one stands."""
    ask = Check("q", "question", "lamp", "Hall")
    for state in (State(), State(isolated=True, at="Attic", unplugged=True)):
        after = state.after(ask)
        assert (after.isolated, after.unplugged) == (state.isolated, state.unplugged)
        assert minutes(ask, state) == KINDS["question"].minutes


@pytest.mark.parametrize(("behind", "more"), [("floor", "cover"), ("loft", "cover")])
def test_what_must_be_lifted_counts(behind: str, more: str) -> None:
    """A joint under the floor costs more than one behind a cover, until it is open."""
    check = Check("o", "open", "Box", "Box", "", None, Conditions(dead=True), "cover")
    assert minutes(check, State(), behind) > minutes(check, State(), more)
    opened = State().after(check)
    assert minutes(check, opened, behind) == minutes(check, opened, more) == KINDS["open"].minutes


def test_a_picture_of_heat_waits_for_the_load_once() -> None:
    """The load is left on for the first picture; the next place costs a walk and a picture."""
    picture = Check("t", "thermal", "P1", "P1", circuit="outlets")
    warm = State().after(picture)
    assert minutes(picture, State()) >= WARM_UP
    assert minutes(replace(picture, where="P2"), warm) == KINDS["thermal"].minutes + WALK
    assert minutes(picture, warm.after(LEAD_CHECK)) >= WARM_UP  # cold again once it was isolated


def after(*readings: Reading) -> State:
    """How things stand after these readings in a row of five outlets."""
    return stood(readings, prepared("row").plan)


def dead_lead(place: str) -> Reading:
    """A wandering lead's reading at an outlet."""
    return Reading(place, "ohms", "Board.N", f"{place}.N:front", value=0.3,
                   instrument="continuity", conditions=DEAD, place=place)  # fmt: skip


def test_what_lasts_is_taken_from_the_readings() -> None:
    """After a dead reading one is isolated, unplugged, has a lead out and stands there."""
    state = after(volts("P1", "L", "N"), dead_lead("P3"))
    assert (state.at, state.isolated, state.unplugged, state.lead) == ("P3", True, True, True)
    assert state.board_open
    live = after(dead_lead("P3"), volts("P2", "L", "N"))
    assert (live.at, live.isolated, live.unplugged) == ("P2", False, False)


def test_a_reading_behind_a_cover_leaves_it_off_until_it_is_live_again() -> None:
    """A joint measured dead opened its place; going live closed it."""
    joint = Reading("j", "ohms", "P3.N:P2–P3", "P3.N", value=0.1, conditions=DEAD, place="P3")
    assert after(joint).open == {"P3"}
    assert after(joint, volts("P2", "L", "N")).open == frozenset()


def test_what_was_only_seen_moves_nobody() -> None:
    """That a lamp works says nothing of where one stands or whether it is isolated."""
    seen = Reading("s", "works", of="P2/kettle", seen="dead")
    assert after(dead_lead("P3"), seen) == after(dead_lead("P3"))


def test_a_link_counts_as_made_while_it_is_in() -> None:
    """A second reading on the same link costs no link; a live one lost it."""
    linked = replace(DEAD, links=(("Board.L:way outlets", "Board.E"),))
    reading = Reading("l", "ohms", "P3.L:front", "P3.E:front", value=1.0, conditions=linked,
                      place="P3")  # fmt: skip
    check = Check("c", "link", "L-E", "P4", "continuity", None, linked, "plug", "outlets")
    assert minutes(check, after(reading)) == KINDS["link"].minutes + WALK
    assert minutes(check, after(reading, volts("P2", "L", "N"))) > ISOLATE


def test_readings_count_in_the_order_in_which_they_were_written() -> None:
    """The diagnosis sorts its readings; how things stand goes by their lines and numbers."""
    dead, live = replace(dead_lead("P3"), id="r2"), replace(volts("P1", "L", "N"), id="r10")
    assert as_taken([live, dead]) == [dead, live]
    assert as_taken([replace(dead, line=9), replace(live, line=4)])[0].id == "r10"
    assert not after(*as_taken([live, dead])).isolated
