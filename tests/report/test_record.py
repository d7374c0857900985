"""The record: what it says, to whom, in text and on a page."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfsplit.errors import NotFound
from halfsplit.jobs import Chain, JobOpened, Note
from halfsplit.jobs.chain import to_line
from halfsplit.report.document import (
    Document,
    Drawing,
    Facts,
    Grid,
    Heading,
    Notice,
    PageBreak,
    Para,
    Points,
)  # fmt: skip
from halfsplit.report.moments import day, moment
from halfsplit.report.page import page, whole_page
from halfsplit.report.plain import plain
from halfsplit.report.record import NOT_A_CERTIFICATE
from halfsplit.service.record import history_of, make_record, verify_record
from tests.report.jobs import PRINT_ROOM, record_of


def customer(record: Any) -> str:
    """The customer's part of a record's text."""
    part: str = record.text().split("For the next electrician")[0]
    return part


def test_the_customers_page_answers_its_four_questions() -> None:
    """What was wrong, what was done, is it safe, what next: from the mend and the proof."""
    text = " ".join(customer(record_of(PRINT_ROOM)).split())
    assert "The neutral joint at Folder is open" in text
    assert "Remade the neutral joint (A. Fitter)." in text
    assert "The neutral is the wire by which the current goes back" in text
    assert "somebody could have got a shock" in text
    assert "What was mended is proved and may be used. All 14 tests" in text
    assert "board cover cracked (Board)" in text
    assert "The rest of the installation was not inspected." in text


def test_a_missing_test_turns_the_customers_page() -> None:
    """Without one of the tests it is not proved, and must not be used."""
    record = record_of(PRINT_ROOM, tests_after=PRINT_ROOM["tests after"][:-1])
    text = customer(record)
    assert "DANGER: Not yet proved" in text
    assert "What was mended is proved" not in text
    assert "Not tested" in record.text()


@pytest.mark.parametrize(("code", "said"), [("C1", "dangerous now"), ("C2", "could become"),
                                            ("FI", "looked"), ("C3", "")])  # fmt: skip
def test_what_was_seen_and_is_dangerous_is_said_to_the_customer(code: str, said: str) -> None:
    """C1, C2 and FI make the page say so, C3 does not (contractor guide to report codes)."""
    text = customer(record_of(PRINT_ROOM, seen=[{"what": "a thing", "class": code}]))
    assert ("Something else was seen" in text) is bool(said)
    assert said in text


def test_what_is_left_safe_says_who_was_told() -> None:
    """Isolated, locked, labelled, told, not to be used; and it is pointed out where nobody was."""
    left = {
        "why": "waiting for cable",
        "isolated": ["east"],
        "locked": "padlock",
        "told": ["Owner"],
        "do not use": ["Guillotine"],
    }
    text = " ".join(record_of(PRINT_ROOM, left_safe=left).text().split())
    for word in ("waiting for cable", "padlock", "Owner", "Do not use: Guillotine."):
        assert word in text
    assert "does not say who was told" not in text
    untold = {key: value for key, value in left.items() if key != "told"}
    assert "does not say who was told" in record_of(PRINT_ROOM, left_safe=untold).text()


def test_the_electricians_part_holds_readings_tests_limits_and_dangers() -> None:
    """Readings before with instruments, tests after with limits and editions, and what hurt."""
    text = " ".join(record_of(PRINT_ROOM).text().split())
    for word in (
        "L–N 231 V, multimeter", "after: continuity R1+R2 0.38 Ω", "BS 7671:2018 with amendment 2",
        "18th-edition course notes, Part 6 (BS 7671 Table 64)", "Where it could have hurt",
        "What was considered, and what speaks for or against it", "C3, improvement advised",
        "prove dead", NOT_A_CERTIFICATE,
    ):  # fmt: skip
        assert word in text, word


def test_the_ladder_shows_the_break_and_what_hangs_free() -> None:
    """The rail of the broken conductor has its cross; below it hangs free or a load holds it."""
    bare = {"east": PRINT_ROOM["circuits"]["east"] | {"plugged in": {}}}
    dead = {"from": "Press N", "to": "Folder N", "ohms": "over range",
            "with": {"off": "main switch", "unplugged": "all"}}  # fmt: skip
    free = record_of(PRINT_ROOM, circuits=bare, readings=[dead, {"at": "Folder", "works": "no"}])
    held = record_of(PRINT_ROOM)
    for record, hangs in ((free, True), (held, False)):
        ladder = record.text().split("Circuit east")[1].split("Readings before")[0]
        above, below = ladder.split("×")
        assert "┊" not in above
        assert ("┊" in below) is hangs
    assert "open between" in below


def test_a_job_without_readings_or_mend_has_a_record_that_says_so() -> None:
    """Nothing read, nothing mended: said, and not to be used."""
    record = record_of({"circuits": {"c": {"run": ["5 m", "P"]}}})
    text = record.text()
    assert "None were taken." in text
    assert "Nothing has been mended yet." in text
    assert "do not use it" in text


def test_a_record_says_where_its_history_fails() -> None:
    """A chain that was changed is told on the record, with the event that shows it."""
    from halfsplit.form import read_job
    from halfsplit.form.lines import layout
    from halfsplit.problems import Problem

    job = read_job(layout(PRINT_ROOM), "job")
    chain = Chain().add(JobOpened("Print room"), "A. Fitter", "2026-03-01T14:00:00+00:00")
    chain = chain.add(Note("rang the owner"), "A. Fitter", "2026-03-01T14:05:00+00:00")
    good = make_record(job, history_of(chain))
    assert good.document.seal == chain.last
    assert "rang the owner" in good.text()
    assert "does not hold" not in good.text()
    bad = make_record(job, history_of(chain, [Problem("event 1", "seal 12", "34", "changed")]))
    assert "The history does not hold: event 1" in " ".join(bad.text().split())


def test_a_seal_holds_for_its_form_and_for_no_other() -> None:
    """The seal on the paper and the form agree; one character changed and they do not."""
    record = record_of(PRINT_ROOM)
    from halfsplit.form.lines import layout

    form = layout(PRINT_ROOM).encode()
    assert verify_record(form, record.document.seal) == ()
    for at in range(0, len(form), 37):
        changed = form[:at] + bytes([form[at] ^ 1]) + form[at + 1 :]
        assert verify_record(changed, record.document.seal)
    assert verify_record(form, "\u200b".join(record.document.seal) + "\n") == ()
    assert verify_record(form, "no seal at all")
    cut = verify_record(form, record.document.seal[:20])
    assert [problem.read for problem in cut] == ["20 letters"]
    assert "64" in cut[0].accepted
    with pytest.raises(NotFound, match="give the one printed"):
        verify_record(form, "")


def test_a_kept_jobs_lines_are_verified_with_or_without_a_seal() -> None:
    """Lines of events hold together by themselves, and against the seal handed over."""
    chain = Chain().add(JobOpened("x"), "A", "t").add(Note("y"), "A", "t")
    lines = "\n".join(to_line(event) for event in chain).encode()
    assert verify_record(lines, "") == ()
    assert verify_record(lines, chain.last) == ()
    assert verify_record(lines.replace(b'"y"', b'"z"'), "")
    assert verify_record(lines.split(b"\n")[0], chain.last)
    assert verify_record(lines, "xyz")


def test_moments_are_told_as_people_read_them() -> None:
    """A stored moment by day, time and zone; words stay words, nonsense stays as it was."""
    assert moment("2026-03-01T14:05:09+00:00") == "1 Mar 2026, 14:05 UTC"
    assert moment("2026-12-31T23:59+13:00") == "31 Dec 2026, 23:59 +13:00"
    assert day("2026-03-01T14:05:09+00:00") == "1 Mar 2026"
    for words in ("Tuesday at noon", "", "2026-13-01T14:05:09+00:00"):
        assert moment(words) == day(words) == words


def test_who_made_the_tests_is_said_once_where_it_was_one_person() -> None:
    """One name and day for all stand above the table; two people, and each row has its own."""
    when = "2026-03-01T14:05:00+00:00"
    mine = [entry | {"who": "A. Fitter", "when": when} for entry in PRINT_ROOM["tests after"]]
    text = " ".join(record_of(PRINT_ROOM, tests_after=mine).text().split())
    assert text.count("All 14 made by A. Fitter, 1 Mar 2026;") == 1
    assert "0.38 Ω (continuity, leads nulled)" in text
    two = [*mine[:-1], mine[-1] | {"who": "B. Tester"}]
    text = " ".join(record_of(PRINT_ROOM, tests_after=two).text().split())
    assert "made by" not in text
    assert "B. Tester" in text


def test_conditions_say_what_was_lifted_and_which_path_was_parted() -> None:
    """A core out of its terminal by letter and place, a path outside the circuits by its name."""
    jumper = {"water pipe": {"from": "Board E", "to": "earth"}}
    at = {"at": "Press", "L-E": 118, "with": {"parted": "water pipe", "lifted": "N at Board"}}
    form = PRINT_ROOM | {"other paths": jumper, "readings": [at]}
    text = " ".join(record_of(form).text().split())
    assert "N lifted at Board, water pipe parted" in text
    assert "path water pipe" not in text
    off = {"at": "Press", "L-E": 118, "with": {"left in": "motor"}}
    text = " ".join(record_of(form, readings=[off]).text().split())
    assert "motor at Press switched off, left in" in text


TEXT = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs")), max_size=40)
BLOCKS = st.one_of(
    st.builds(Heading, TEXT, st.integers(1, 3)),
    st.builds(Para, TEXT, st.booleans()),
    st.builds(Points, st.lists(TEXT, max_size=4).map(tuple), st.booleans()),
    st.builds(Facts, st.lists(st.tuples(TEXT, TEXT), max_size=4).map(tuple)),
    st.builds(Notice, st.sampled_from(["danger", "caution", "good", "note"]), TEXT),
    st.builds(
        lambda rows: Grid(("a", "b"), tuple(rows), (1.0, 1.0)),
        st.lists(st.tuples(TEXT, TEXT), max_size=4),
    ),
    st.just(PageBreak()),
)


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.open: list[str] = []
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        if tag not in ("br", "hr", "meta"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def _texts(document: Document) -> Iterator[str]:
    for block in document.blocks:
        if isinstance(block, (Heading, Para, Notice)):
            yield block.text
        elif isinstance(block, Points):
            yield from block.items
        elif isinstance(block, (Facts, Grid)):
            yield from (cell for row in block.rows for cell in row)


@settings(max_examples=120)
@given(TEXT, st.lists(BLOCKS, max_size=8))
def test_no_text_escapes_into_the_page_and_none_is_lost(title: str, blocks: list[Any]) -> None:
    """Whatever is written, the page has only our own tags, closed, and every word of it."""
    document = Document(title, tuple(blocks), "0" * 64, "foot")
    reader = _Reader()
    reader.feed(page(document))
    reader.close()
    assert reader.open == []
    assert set(reader.tags) <= {
        "article", "h1", "h2", "h3", "h4", "p", "ul", "ol", "li", "dl", "dt", "dd", "strong",
        "table", "thead", "tbody", "tr", "th", "td", "hr", "footer", "code", "bdi",
    }  # fmt: skip
    whole = "".join(reader.text)
    assert all(text in whole for text in _texts(document))
    text = " ".join(plain(document).split())
    assert all(" ".join(item.split()) in text or len(item) > 20 for item in _texts(document))


def test_a_page_of_its_own_fetches_nothing() -> None:
    """No address of another place, no script, no outside style in the whole page."""
    made = whole_page(record_of(PRINT_ROOM).document)
    assert not re.search(r"(?i)https?:|src=|url\(|@import|<script|<link", made)
    assert made.count("<title>") == 1


def test_markup_in_names_stays_words() -> None:
    """A title full of markup of every kind stands in the page as it was typed."""
    title = '<script>alert("x")</script> #set page() $x$ *b*'
    made = record_of(PRINT_ROOM, title=title).page()
    assert "<script" not in made
    assert html.escape(title) in made


@pytest.mark.parametrize("width", [60, 80, 120])
def test_text_keeps_to_its_width(width: int) -> None:
    """Lines are no wider than asked, for words are wrapped and only a long word may stick out."""
    for line in record_of(PRINT_ROOM).text(width).splitlines():
        assert len(line) <= width or "Seal" in line


def considered(record: Any) -> dict[str, str]:
    """What speaks for or against each cause, by the cause."""
    grids = [b for b in record.document.blocks if isinstance(b, Grid) and b.head[0] == "Cause"]
    return {row[0]: row[2] for row in grids[0].rows}


def test_a_test_after_the_mend_excludes_what_no_reading_could() -> None:
    """The joint at the other end of the cable reads the same before; had it been that one, R1+Rn
    beyond it would still be over range (what the circuit gives, solved)."""
    said = considered(record_of(PRINT_ROOM))
    assert next(iter(said.values())) == "Every reading fits."
    other = next(text for cause, text in said.items() if cause.startswith("The neutral joint at P"))
    assert other.startswith("After the mend, R1+Rn at ")
    assert other.endswith("where it gives over range.")
    untested = considered(record_of(PRINT_ROOM, tests_after=[]))
    assert "Nothing that was read tells it from the one mended." in untested.values()


def test_before_anything_is_mended_the_record_speaks_of_now() -> None:
    """Nothing mended: no heading, note or sentence says that it was before a mend."""
    text = " ".join(record_of(PRINT_ROOM, mend=[], tests_after=[]).text().split())
    assert "before the mend" not in text
    assert "after the mend" not in text.replace("Tests after the mend", "")
    assert "The circuit, as found" in text
    assert "somebody can get a shock" in text


def test_what_the_rails_show_is_said_in_words_too() -> None:
    """Who cannot see a dashed rail reads from which place on it hangs free, and what is broken."""
    bare = {"east": PRINT_ROOM["circuits"]["east"] | {"plugged in": {}}}
    dead = {"from": "Press N", "to": "Folder N", "ohms": "over range",
            "with": {"off": "main switch", "unplugged": "all"}}  # fmt: skip
    record = record_of(PRINT_ROOM, circuits=bare, readings=[dead, {"at": "Folder", "works": "no"}])
    rungs = [r for b in record.document.blocks if isinstance(b, Drawing) for r in b.rungs]
    free = [rung for rung in rungs if "floats" in rung.states]
    assert "from here N hangs free" in free[0].notes
    assert not any("hangs free" in note for rung in free[1:] for note in rung.notes)
    broken = [rung for rung in rungs if "broken" in rung.states]
    assert all(any("N open between" in note for note in rung.notes) for rung in broken)
    assert broken


def test_a_north_american_record_gives_lengths_in_feet() -> None:
    """What was typed in feet is handed over in feet."""
    form = {"region": "na", "supply": "split phase 120/240 V",
            "circuits": {"den": {"run": ["40 ft", "Desk", "about 12 ft", "Shelf"]}},
            "readings": [{"at": "Shelf", "works": "no"}]}  # fmt: skip
    text = record_of(form).text()
    assert "40 ft" in text
    assert "about 12 ft" in text
    assert " m\n" not in text


def test_an_appliance_that_is_its_own_place_is_named_once() -> None:
    """Not "Shower/Shower at Shower": nobody calls it so."""
    form = {"circuits": {"c": {"device": "B40", "feeds": "Shower", "length": "9 m"}},
            "readings": [{"at": "Shower", "insulation": {"L+N-E": "0.02 MΩ"}}]}  # fmt: skip
    text = " ".join(record_of(form).text().split())
    assert "Shower/Shower" not in text
    assert "Shower at Shower" not in text
    assert "element of Shower leaks" in text


def test_names_of_conductors_are_explained_to_the_customer_only_where_they_occur() -> None:
    """An appliance's own fault needs no word on neutral or earth wires."""
    form = {"circuits": {"c": {"device": "B40", "feeds": "Shower", "length": "9 m"}},
            "readings": [{"at": "Shower", "insulation": {"L+N-E": "0.02 MΩ"}}]}  # fmt: skip
    assert "is the wire" not in customer(record_of(form))
    assert "is the wire" in customer(record_of(PRINT_ROOM))


def test_what_was_mended_is_the_cause_once_the_complaint_is_gone() -> None:
    """Until somebody saw that it is gone it is taken for the cause; still there, it was not."""
    mended = "neutral joint at Folder is open."
    assert f"- The {mended}" in record_of(PRINT_ROOM).text()
    untested = record_of(PRINT_ROOM, tests_after=[]).text()
    assert f"- Taken for the cause: the {mended}" in untested
    there = [*PRINT_ROOM["tests after"][:-2], {"at": "Folder", "symptom": "still there"}]
    assert mended not in customer(record_of(PRINT_ROOM, tests_after=there))
