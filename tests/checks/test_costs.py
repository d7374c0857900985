"""The table of costs, and what lasts from one check to the next."""

from __future__ import annotations

from dataclasses import replace

import pytest

from halfsplit.checks.check import Check
from halfsplit.checks.costs import ENERGISE, ISOLATE, KINDS, LEAD, WALK, State, minutes
from halfsplit.instruments.catalogue import INSTRUMENTS
from halfsplit.wiring.conditions import Conditions

DEAD = Conditions(dead=True, unplugged=("all",))
LEAD_CHECK = Check("a", "lead", "N", "Desk", "continuity", None, DEAD, "plug", "c")
VOLTS = Check("b", "volts", "L-N", "Desk", "multimeter", None, Conditions(), "plug", "c")


def test_every_row_has_a_reason_and_known_tools() -> None:
    """Each kind takes some time, says where its minutes come from, and names real instruments."""
    for kind, row in KINDS.items():
        assert row.kind == kind
        assert row.minutes > 0
        assert row.reason
        assert set(row.tools) <= set(INSTRUMENTS)
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
