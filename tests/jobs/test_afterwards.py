"""From events to what followed: the same keys as the written form, open items included."""

from __future__ import annotations

import json
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from halfsplit.form import read_job
from halfsplit.form.lines import layout
from halfsplit.jobs import (
    Chain,
    EntryWithdrawn,
    FormSet,
    JobOpened,
    LeftSafe,
    LinkMade,
    LinkRemoved,
    MendDone,
    Note,
    Observation,
    TestTaken,
)
from halfsplit.jobs.afterwards import afterwards, parted_form
from halfsplit.proving import prove

WHEN = "2026-03-01T14:05:00+00:00"
SITE = {"circuits": {"c": {"device": "B16", "run": ["5 m", "Bench"]}}}


def test_events_give_the_forms_own_keys() -> None:
    """Mends, tests, leavings and observations read as a form, with who and when of each event."""
    chain = Chain()
    for happening in (
        MendDone("m1", {"did": "remade", "at": "Bench", "joint": ["N"]}),
        TestTaken("t1", {"at": "Bench", "R1+R2": "0.11 ohm", "who": "B. Tester"}),
        LeftSafe({"why": "no cable", "told": ["the owner"]}),
        Observation("o1", {"what": "cracked plate", "class": "C3"}),
        Note("rang the owner"),
    ):
        chain = chain.add(happening, "A. Fitter", WHEN)
    after = read_job(layout(SITE | afterwards(chain).written()), "job").after
    assert (after.mends[0].who, after.mends[0].when) == ("A. Fitter", WHEN)
    assert after.tests[0].who == "B. Tester"
    assert after.left_safe is not None
    assert after.left_safe.told == ("the owner",)
    assert after.seen[0].code == "C3"


def test_a_link_is_an_open_item_until_it_is_removed() -> None:
    """A link made blocks energising; removed, it no longer stands in the way."""
    chain = Chain().add(MendDone("m1", {"did": "x", "at": "Bench"}), "A", WHEN)
    chain = chain.add(LinkMade("k1", "link", "L-E", "Board"), "A", WHEN)
    job = read_job(layout(SITE | afterwards(chain).written()), "job")
    assert prove(job).blocks[0] == "still open: L-E link at Board"
    chain = chain.add(LinkRemoved("k1"), "A", WHEN)
    assert "open items" not in afterwards(chain).written()
    assert afterwards(Chain()).written() == {}


def test_what_a_form_brought_in_stands_beside_what_is_entered_later() -> None:
    """Entries of the form are numbered apart; other spellings of its keys count; a later form that
    says nothing of the mend leaves it as it was."""
    form = SITE | {"mended": [{"did": "one", "at": "Bench"}], "Links_in": "L-E at Board, N lifted"}
    chain = Chain().add(JobOpened("x", json.dumps(form)), "A", WHEN)
    chain = chain.add(MendDone("m1", {"did": "two", "at": "Bench"}), "B", WHEN)
    chain = chain.add(FormSet(json.dumps(SITE)), "A", WHEN)
    found = afterwards(chain)
    assert [(e.id, e.written["did"]) for e in found.of("mend")] == [("fm1", "one"), ("m1", "two")]
    assert [e.written["what"] for e in found.of("open items")] == ["L-E at Board", "N lifted"]
    assert found.next_id("mend") == "m2"
    assert parted_form(form) == (SITE, {"mend": form["mended"], "open items": form["Links_in"]})
    chain = chain.add(LinkRemoved("fk1"), "A", WHEN).add(EntryWithdrawn("fm1", "no"), "A", WHEN)
    assert afterwards(chain).written()["open items"] == ["N lifted"]
    assert [m["did"] for m in afterwards(chain).written()["mend"]] == ["two"]


IDS = st.sampled_from(["1", "2", "3"])
HAPPENINGS = st.one_of(
    st.builds(lambda k, d: MendDone(f"m{k}", {"did": d, "at": "Bench"}), IDS, st.text(max_size=8)),
    st.builds(lambda k, d: TestTaken(f"t{k}", {"at": "Bench", "works": d}), IDS, st.just("yes")),
    st.builds(lambda k: Observation(f"o{k}", {"what": "cracked"}), IDS),
    st.builds(lambda k: LinkMade(f"k{k}", "link", "L-E", f"Board {k}"), IDS),
    st.builds(lambda k: LinkRemoved(f"k{k}"), IDS),
    st.builds(lambda k: EntryWithdrawn(f"m{k}"), IDS),
    st.builds(lambda why: LeftSafe({"why": why} if why else {}), st.text(max_size=8)),
)


@settings(max_examples=200)
@given(st.lists(HAPPENINGS, max_size=12))
def test_taken_out_as_a_form_and_brought_in_again_nothing_is_lost(happenings: list[Any]) -> None:
    """Whatever happened, the form that is exported opens a job in which the same stands."""
    chain = Chain()
    for happening in happenings:
        chain = chain.add(happening, "A", WHEN)
    written = afterwards(chain).written()
    opened = Chain().add(JobOpened("x", json.dumps(SITE | written)), "B", "later")
    assert afterwards(opened).written() == written
