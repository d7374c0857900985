"""From events to what followed: the same keys as the written form, open items included."""

from __future__ import annotations

from halfsplit.form import read_job
from halfsplit.form.lines import layout
from halfsplit.jobs import (
    Chain,
    LeftSafe,
    LinkMade,
    LinkRemoved,
    MendDone,
    Note,
    Observation,
    TestTaken,
)
from halfsplit.jobs.afterwards import after_written
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
    after = read_job(layout(SITE | after_written(chain)), "job").after
    assert (after.mends[0].who, after.mends[0].when) == ("A. Fitter", WHEN)
    assert after.tests[0].who == "B. Tester"
    assert after.left_safe is not None
    assert after.left_safe.told == ("the owner",)
    assert after.seen[0].code == "C3"


def test_a_link_is_an_open_item_until_it_is_removed() -> None:
    """A link made blocks energising; removed, it no longer stands in the way."""
    chain = Chain().add(MendDone("m1", {"did": "x", "at": "Bench"}), "A", WHEN)
    chain = chain.add(LinkMade("k1", "link", "L-E", "Board"), "A", WHEN)
    job = read_job(layout(SITE | after_written(chain)), "job")
    assert prove(job).blocks[0] == "still open: L-E link at Board"
    chain = chain.add(LinkRemoved("k1"), "A", WHEN)
    assert "open items" not in after_written(chain)
    assert after_written(Chain()) == {}
