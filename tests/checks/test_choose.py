"""Which check is chosen, and what is said of it."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from halfsplit.checks.check import Outcome
from halfsplit.checks.costs import State
from halfsplit.checks.outcomes import OVER_WORDS
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.conditions import Conditions
from tests.checks.simulating import (
    considered,
    diagnosed,
    fault_named,
    taken,
    visit,
    volts,
)

NONE = "no reading"
OPEN_NEUTRAL = "open joint: joint P3 N P2–P3"


def far(name: str, id: str, place: str = "P5", severity: int = 0) -> list[Reading]:
    fault = fault_named(name, id)
    pairs = [volts(place, "L", "N"), volts(place, "N", "E")]
    return [taken(name, fault, severity, r) for r in pairs]


VISITS = [
    ("row", OPEN_NEUTRAL, [volts("P5", "L", "N"), volts("P5", "N", "E")], 0),
    ("row", "open joint: joint P3 L P2–P3", [volts("P4", "L", "N")], 0),
    ("row", "open joint: joint P3 E P2–P3", [volts("P4", "L", "E"), volts("P4", "L", "N")], 0),
    ("row", "loose joint: joint P1 L Board–P1", [volts("P4", "L", "N")], 6),
    ("row", "crossed front: P3 L-E", [volts("P3", "L", "N"), volts("P3", "L", "E")], 0),
    ("long row", "open joint: joint P6 L P6–P7", [volts("P8", "L", "N")], 0),
    ("lights", "open joint: joint Store lamp SL Store switch–Store lamp",
     [Reading("w", "works", of="Store lamp/lamp"), volts("Spare socket", "L", "N")], 0),
    ("american row", "open joint: joint P3 N P3–P4", [volts("P5", "L", "N")], 0),
]  # fmt: skip


@pytest.mark.parametrize(("name", "id", "first", "severity"), VISITS)
def test_the_fault_is_found_within_half_an_hour_or_so(
    name: str, id: str, first: list[Reading], severity: int
) -> None:
    """Following the first proposal ends with the fault seen; opening all in turn takes an hour."""
    went = visit(name, id, first, severity, most=12)
    assert went.found, went
    assert went.minutes <= 35.0, went


def test_no_check_is_proposed_twice() -> None:
    """A visit never repeats itself: a reading taken is known, a look done is remembered."""
    went = visit("row", "open joint: joint P3 E P2–P3", [volts("P4", "L", "E")], most=5)
    assert len(set(went.done)) == len(went.done)


def test_a_reading_already_taken_is_not_offered() -> None:
    """The readings of the job are not among the proposals."""
    readings = far("row", OPEN_NEUTRAL)
    taken_ports = {(r.kind, frozenset((r.a, r.b)), r.conditions.key()) for r in readings}
    for offered in considered("row", readings, limit=20).proposals:
        r = offered.check.reading
        assert r is None or (r.kind, frozenset((r.a, r.b)), r.conditions.key()) not in taken_ports


def bands_meet(outcomes: tuple[Outcome, ...]) -> None:
    """Figures: the first is open below, each begins where the last ended, the last is open above.
    Words: no word twice."""
    figures = [o for o in outcomes if not o.seen and o.words not in (*OVER_WORDS.values(), NONE)]
    if figures:
        assert figures[0].low is None
        assert figures[-1].high is None
        for before, after in pairwise(figures):
            assert before.high == after.low
            assert before.high is not None
    words = [w for o in outcomes for w in o.seen]
    assert len(set(words)) == len(words)


@pytest.mark.parametrize("name", ["row", "american row", "lights", "ring"])
def test_the_bands_of_every_proposal_leave_no_gap_and_add_up(name: str) -> None:
    """Whatever comes out has its band, and the chances of the bands add to one."""
    place = {"lights": "Spare socket", "ring": "U3"}.get(name, "P4")
    reading = replace(volts(place, "L", "N"), value=3.0)
    offered = considered(name, [reading], limit=20).proposals
    assert len(offered) > 3
    for one in offered:
        bands_meet(one.outcomes)
        assert sum(o.chance for o in one.outcomes) == pytest.approx(1.0, abs=1e-6)
        for outcome in one.outcomes:
            assert sum(m.probability for m in outcome.means) <= 1 + 1e-9


def test_what_an_outcome_would_mean_is_what_it_then_means() -> None:
    """The belief announced for a band is near what the weighing gives once it comes out so."""
    readings = far("row", OPEN_NEUTRAL)
    for offered in considered("row", readings).proposals:
        if offered.check.reading is None:
            continue
        reading = taken("row", fault_named("row", OPEN_NEUTRAL), 0, offered.check.reading)
        band = next(
            o
            for o in offered.outcomes
            if reading.seen in o.seen
            or (
                reading.value is not None
                and (o.low is None or o.low <= reading.value)
                and (o.high is None or reading.value < o.high)
            )
        )
        _, _, after = diagnosed("row", [*readings, reading])
        told = {m.places: m.probability for m in band.means}
        top = after.suspects[0]
        assert told.get(top.places, 0.0) == pytest.approx(top.probability, abs=0.3)


def test_proposals_are_ordered_and_say_why_in_figures() -> None:
    """The sentence holds the very figures of the proposal, and another check to compare."""
    for one in considered("row", far("row", OPEN_NEUTRAL)).proposals:
        assert f"{one.gain:.2f} bit" in one.why
        assert f"{one.per_minute:.2f} bits a minute" in one.why
        assert one.per_minute == pytest.approx(one.gain / one.minutes)
        assert one.gain >= 0


def test_isolate_once_and_test_several() -> None:
    """A dead test costs less by the whole isolation once it is isolated."""
    readings = far("row", OPEN_NEUTRAL)
    fresh = {p.check.id: p for p in considered("row", readings, ("continuity",), 30).proposals}
    ready = considered("row", readings, ("continuity",), 30,
                       State(isolated=True, unplugged=True, lead=True)).proposals  # fmt: skip
    both = [p for p in ready if p.check.id in fresh and p.check.kind == "lead"]
    assert both
    assert all(p.minutes <= fresh[p.check.id].minutes - 5.0 for p in both)


def test_the_first_three_are_of_different_kinds() -> None:
    """Whoever cannot do the first is offered another sort of check."""
    offered = considered("row", far("row", OPEN_NEUTRAL)).proposals
    assert len({p.check.kind for p in offered}) == 3


def test_only_tools_at_hand_are_asked_for() -> None:
    """With a continuity tester alone, nothing asks for another instrument."""
    offered = considered("row", far("row", OPEN_NEUTRAL), ("continuity",), 30).proposals
    assert {p.check.instrument for p in offered} <= {"", "continuity"}
    assert any(p.check.instrument == "continuity" for p in offered)


def test_north_america_hears_its_own_words() -> None:
    """No ring, no R1+R2, no socket-outlet: hot, ground, panel."""
    readings = far("american row", OPEN_NEUTRAL)
    dead = ("continuity", "insulation 500")
    offered = [
        p for tools in ((), dead) for p in considered("american row", readings, tools, 30).proposals
    ]
    said = " ".join(
        " ".join(
            (p.what, p.conditions, p.why, *p.steps, *p.cautions, *(o.says for o in p.outcomes))
        )
        for p in offered
    )
    for word in (
        "R1",
        "the ring",
        "consumer unit",
        "protective conductor",
        "live conductor",
        " earth ",
    ):
        assert word not in said, word
    assert "panel" in said
    assert "hot" in said


def test_settled_means_open_and_look() -> None:
    """With one suspect far ahead, measuring stops and the place is named."""
    fault = fault_named("row", "contact open: front P3 L")
    readings = [taken("row", fault, 0, volts("P3", a, b)) for a, b in ("LN", "LE", "NE")]
    readings += [taken("row", fault, 0, volts("P4", "L", "N"))]
    found = considered("row", readings)
    assert "P3" in found.stop
    assert found.proposals[0].check.id == "open P3"


def test_considering_again_gives_the_same() -> None:
    """The same job gives the same proposals, whatever was asked of the installation in between."""
    readings = far("row", OPEN_NEUTRAL)
    once = considered("row", readings)
    considered("row", readings[:1], ("continuity", "loop low"))
    assert considered("row", readings) == once
    assert len(once.proposals) == 3


def test_a_look_that_found_nothing_lowers_the_place() -> None:
    """After opening a place in vain the next look is elsewhere."""
    fault = fault_named("row", "open joint: joint P3 L P2–P3")
    readings = [taken("row", fault, 0, volts(p, "L", "E")) for p in ("P2", "P3")]
    tools = ("two-pole",)  # nothing to measure dead with
    first = considered("row", readings, tools, limit=5)
    assert first.stop
    looked = first.proposals[0].check
    then = considered("row", readings, tools, limit=5, state=State().after(looked))
    assert then.proposals[0].check.id == looked.id
    state = replace(State().after(looked), looked=frozenset({looked.id}))
    after = considered("row", readings, tools, limit=5, state=state)
    assert after.proposals[0].check.id != looked.id


def test_conditions_are_said_in_words() -> None:
    """Links, lamps and what is unplugged are in the words of the conditions."""
    offered = considered("row", far("row", OPEN_NEUTRAL), limit=60).proposals
    for one in offered:
        conditions: Conditions = one.check.conditions
        assert ("proved dead" in one.conditions) == conditions.dead
        if conditions.added:
            assert "lamp plugged in at" in one.conditions
        if conditions.links:
            assert "linked at the consumer unit" in one.conditions
