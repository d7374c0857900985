"""The record of a job: only added to, and any change to what is stored shows."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfsplit.errors import BadInput, Conflict
from halfsplit.jobs import (
    FIRST,
    Chain,
    FormSet,
    JobOpened,
    LeftSafe,
    LinkMade,
    LinkRemoved,
    MendDone,
    Note,
    Observation,
    ReadingCorrected,
    ReadingTaken,
    ReadingWithdrawn,
    RecordIssued,
    TestTaken,
    seal,
    verify,
)  # fmt: skip
from halfsplit.jobs.chain import from_line, seal_of, to_line, verify_lines
from halfsplit.jobs.events import KINDS, NAMES, from_data

WHEN = "2026-03-01T14:05:00+00:00"
ALL: tuple[Any, ...] = (
    JobOpened("Bakery", "circuits: {a: {run: [B]}}", {"anyone hurt": "no"}, "uk"),
    FormSet("circuits: {a: {run: [B, C]}}", "a point was missing"),
    ReadingTaken("r1", {"at": "Ünter 北", "L-N": "230"}),
    ReadingCorrected("r1", {"at": "B", "L-N": 231.5}, "misread"),
    ReadingWithdrawn("r1", "wrong place"),
    MendDone("m1", {"did": "remade the joint", "at": "B", "joint": ["N"]}),
    LinkMade("k1", "link", "L-E", "Board"),
    TestTaken("t1", {"at": "B", "R1+R2": "0.34 ohm"}),
    LinkRemoved("k1"),
    LeftSafe({"told": ["the tenant"], "locked": None, "again": True}),
    Observation("o1", {"what": "cracked plate", "class": "C3"}),
    Note("Rang the owner."),
    RecordIssued("0" * 64, "the owner"),
)


def chain(*happenings: Any) -> Chain:
    """A chain of happenings by one hand."""
    found = Chain()
    for happening in happenings or ALL:
        found = found.add(happening, "A. Fitter", WHEN)
    return found


def test_a_chain_of_everything_that_can_happen_holds() -> None:
    """Every kind of event is added, numbered from 0, and follows the one before."""
    made = chain()
    assert verify(made) == ()
    assert [event.seq for event in made] == list(range(len(ALL)))
    assert made.events[0].before == FIRST
    assert all(b.before == a.seal for a, b in zip(made.events, made.events[1:], strict=False))
    assert set(KINDS.values()) == set(NAMES)


def test_a_seal_is_the_sha_256_of_the_canonical_json() -> None:
    """FIPS 180-4 SHA-256 over sorted keys without spaces, as Python's own modules make it."""
    event = chain().events[3]
    plain = json.dumps(event.body(), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert event.seal == hashlib.sha256(plain.encode("utf-8")).hexdigest()


def test_every_event_is_read_back_from_its_line() -> None:
    """A stored line gives the same event, whatever letters are in it."""
    for event in chain():
        again = from_line(to_line(event))
        assert again.body() == event.body()
        assert (again.seal, again.kind) == (event.seal, event.kind)


LINES = [to_line(event) for event in chain()]


@settings(max_examples=400)
@given(which=st.integers(0, len(LINES) - 1), data=st.data())
def test_changing_one_byte_of_a_stored_event_is_detected(which: int, data: st.DataObject) -> None:
    """Any byte of any stored line, changed to any other: the chain no longer holds."""
    stored = LINES[which].encode()
    at = data.draw(st.integers(0, len(stored) - 1))
    byte = data.draw(st.integers(0, 255).filter(lambda b: b != stored[at]))
    changed: list[str | bytes] = [*LINES]
    changed[which] = stored[:at] + bytes([byte]) + stored[at + 1 :]
    assert verify_lines(changed)
    assert verify_lines(LINES) == ()


def test_every_single_byte_of_the_last_event_is_guarded() -> None:
    """Each byte of the last line in turn, changed by one bit: detected every time."""
    stored = LINES[-1].encode()
    for at in range(len(stored)):
        changed = stored[:at] + bytes([stored[at] ^ 1]) + stored[at + 1 :]
        assert verify_lines([*LINES[:-1], changed]), at


@given(which=st.integers(0, len(ALL) - 2), other=st.integers(0, len(ALL) - 1))
def test_dropping_doubling_or_moving_an_event_is_detected(which: int, other: int) -> None:
    """An event taken out, put in twice or put elsewhere breaks the chain."""
    events = chain().events
    assert verify((*events[:which], *events[which + 1 :]))
    assert verify((*events[: which + 1], events[which], *events[which + 1 :]))
    if other != which:
        moved = [*events]
        moved[which], moved[other] = moved[other], moved[which]
        assert verify(moved)


def test_the_last_seal_handed_over_finds_a_cut_or_a_rewritten_end() -> None:
    """What the chain alone cannot see, the seal printed on a record can."""
    made = chain()
    cut = Chain(made.events[:-2])
    rewritten = cut.add(Note("nothing happened"), "someone", WHEN)
    assert verify(cut) == verify(rewritten) == ()
    assert verify(cut, made.last)
    assert verify(rewritten, made.last)
    assert verify(made, made.last) == ()
    assert verify(made.add(Note("later"), "A. Fitter", WHEN), made.last) == ()


def test_a_changed_event_with_a_new_seal_breaks_the_one_after() -> None:
    """Sealing a changed event again moves the break to the next event; it does not heal it."""
    events = [*chain().events]
    forged = replace(events[4], who="someone else")
    events[4] = replace(forged, seal=seal_of(forged))
    found = verify(events)
    assert [problem.where for problem in found] == ["event 5"]
    assert "was dropped, moved or added" in found[0].remedy


def test_the_same_key_sent_twice_is_stored_once() -> None:
    """A double tap adds nothing; the same key for something else is refused."""
    made = Chain().add(Note("once"), "A", WHEN, key="k1")
    assert made.add(Note("once"), "A", "2026-03-01T15:00:00+00:00", key="k1") is made
    with pytest.raises(Conflict, match='the key "k1" already stands for event 0'):
        made.add(Note("other"), "A", WHEN, key="k1")
    assert len(made.add(Note("once"), "A", WHEN)) == 2


@pytest.mark.parametrize("value", [float("nan"), float("inf"), "half \ud800 a character", object()])
def test_what_cannot_be_stored_is_refused_in_words(value: Any) -> None:
    """NaN, infinity, half a character: refused before it is sealed."""
    with pytest.raises(BadInput, match="words and finite numbers"):
        Chain().add(ReadingTaken("r1", {"L-N": value}), "A", WHEN)


BAD: list[tuple[str, dict[str, Any], str]] = [
    ("reading taken", {"written": {}}, "reading taken, id"),
    ("reading taken", {"id": 3, "written": {}}, "reading taken, id"),
    ("note", {"text": "a", "more": 1}, "note, more"),
    ("sneeze", {}, "kind"),
]


@pytest.mark.parametrize(("kind", "data", "where"), BAD)
def test_a_happening_that_is_none_is_named(kind: str, data: dict[str, Any], where: str) -> None:
    """A missing value, a wrong one, one too many, an unknown kind: each with its place."""
    happening, problems = from_data(kind, data)
    assert happening is None
    assert problems[0].where == where


@given(st.text(max_size=60))
def test_no_text_is_taken_for_an_event_by_accident(text: str) -> None:
    """Any text that is not a stored line is refused, never half read."""
    with pytest.raises(BadInput):
        from_line(text)


def test_a_sealed_event_stands_by_itself() -> None:
    """An event made from its parts carries the seal of exactly those parts."""
    event = seal(Note("x"), "A", WHEN, 0, FIRST)
    assert event.seal == seal_of(event)
    assert event.seal != seal_of(replace(event, when="2026-03-02T14:05:00+00:00"))


def forged(*events: Any) -> list[Any]:
    """The events sealed anew one after the other, as somebody with the program could."""
    found: list[Any] = []
    for event in events:
        before = found[-1].seal if found else FIRST
        made = replace(event, before=before, seal="")
        found.append(replace(made, seal=seal_of(made)))
    return found


def test_a_chain_sealed_anew_without_an_event_shows_by_its_numbers() -> None:
    """Every seal made right again after an event was dropped: the numbers do not follow."""
    events = chain().events
    made = forged(*events[:4], *events[5:])
    found = verify(made)
    assert found[0].where == "event 4"
    assert found[0].read == "number 5"


def test_a_key_used_twice_is_detected() -> None:
    """A sender's key stands for one event: two that carry it were not both taken in here."""
    one = seal(Note("once"), "A", WHEN, 0, FIRST, "k1")
    two = seal(Note("twice"), "A", WHEN, 1, one.seal, "k1")
    assert [problem.read for problem in verify([one, two])] == ["key k1"]


@pytest.mark.parametrize("more", [" ", "\t", "\n"])
def test_a_byte_put_in_is_detected_though_the_meaning_is_the_same(more: str) -> None:
    """Blanks between the parts of a line, or a part said twice: not as it was stored."""
    line = LINES[3]
    at = line.index(",") + 1
    assert verify_lines([*LINES[:3], line[:at] + more + line[at:], *LINES[4:]])
    twice = '{"before":' + json.dumps(chain().events[3].before) + "," + line[1:]
    assert verify_lines([*LINES[:3], twice, *LINES[4:]])
