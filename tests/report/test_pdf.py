"""The record on paper: tagged, readable text, A4 and Letter, whatever is written in it."""

from __future__ import annotations

import io
import time
from itertools import pairwise
from typing import Any

import pypdf
import pytest

from halfsplit.diagnosis.prepared import Prepared
from halfsplit.proving import prove
from halfsplit.report.document import (
    Document,
    Drawing,
    Facts,
    Grid,
    Heading,
    Notice,
    Para,
    Points,
)  # fmt: skip
from halfsplit.report.glyphs import covered, missing
from halfsplit.report.pdf import font_folders, paper_for, pdf
from halfsplit.report.record import record as document_of
from halfsplit.service.record import _found, _weighed
from tests.report.jobs import BENCHES, PRINT_ROOM, RING, SIXTY, record_of
from tests.report.tagged import tagged


def read(made: bytes) -> pypdf.PdfReader:
    """A PDF opened by another program's reader."""
    return pypdf.PdfReader(io.BytesIO(made))


def words(made: bytes) -> str:
    """All text of a PDF."""
    return " ".join(" ".join(page.extract_text().split()) for page in read(made).pages)


def test_the_paper_is_tagged_titled_and_its_text_can_be_taken_out() -> None:
    """Tagged PDF with a title and a language, the customer's part alone on page one."""
    made = record_of(PRINT_ROOM).pdf()
    opened = read(made)
    root: Any = opened.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in root
    assert root["/Lang"] == "en"
    assert opened.metadata is not None
    assert opened.metadata.title == "Print room"
    first = opened.pages[0].extract_text()
    assert "For the customer" in first
    assert "For the next electrician" not in first
    text = words(made)
    assert record_of(PRINT_ROOM).document.seal in text  # whole, so that it can be copied
    for part in ("For the next electrician", "R1+R2", "Guillotine", "not a statutory certificate"):
        assert part in text


def tags(made: bytes) -> list[str]:
    """The roles of a PDF's structure, in reading order."""
    found: list[str] = []

    def walk(node: Any) -> None:
        node = node.get_object()
        if isinstance(node, list):
            for inner in node:
                walk(inner)
        elif isinstance(node, dict):
            if "/S" in node:
                found.append(str(node["/S"]).removeprefix("/"))
            if "/K" in node:
                walk(node["/K"])

    root: Any = read(made).trailer["/Root"]
    walk(root["/StructTreeRoot"])
    return found


def test_it_says_it_is_pdf_ua_1_and_has_what_can_be_checked_of_that() -> None:
    """ISO 14289-1, as far as a reader library shows it (no full checker is at hand): the mark and
    the title shown, headings that skip no level, tables with header cells, list items with labels,
    every face embedded with a way back to its letters."""
    made = record_of(PRINT_ROOM).pdf()
    opened = read(made)
    root: Any = opened.trailer["/Root"]
    assert b"<pdfuaid:part>1</pdfuaid:part>" in root["/Metadata"].get_object().get_data()
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    roles = tags(made)
    levels = [int(role[1:]) for role in roles if role in ("H1", "H2", "H3", "H4")]
    assert levels[0] == 1
    assert all(later - earlier <= 1 for earlier, later in pairwise(levels))
    assert roles.count("TH") >= 2 * roles.count("Table") > 0
    assert roles.count("Lbl") == roles.count("LI") > 0
    for page in opened.pages:
        resources: Any = page["/Resources"]
        for item in resources["/Font"].values():
            font = item.get_object()
            inner = font["/DescendantFonts"][0].get_object() if "/DescendantFonts" in font else font
            descriptor = inner["/FontDescriptor"].get_object()
            assert any(key.startswith("/FontFile") for key in descriptor)
            assert "/ToUnicode" in font


@pytest.mark.parametrize(("paper", "size"), [("a4", (595, 842)), ("us-letter", (612, 792))])
def test_paper_sizes(paper: Any, size: tuple[int, int]) -> None:
    """A4 is 210 x 297 mm (ISO 216), Letter 8.5 x 11 in."""
    box = read(pdf(Document("x", (Para("y"),)), paper)).pages[0].mediabox
    assert (round(box.width), round(box.height)) == size


def test_north_america_prints_on_letter_and_the_rest_on_a4() -> None:
    """The paper is the region's own unless another is asked for."""
    assert [paper_for(region) for region in ("uk", "eu", "au", "na")] == ["a4"] * 3 + ["us-letter"]


def test_the_record_is_set_in_the_face_of_its_package() -> None:
    """Source Sans from its package is embedded, so the paper looks alike on every machine."""
    assert font_folders()
    fonts: set[str] = set()
    for page in read(record_of(PRINT_ROOM).pdf()).pages:
        resources: Any = page["/Resources"]
        for font in resources["/Font"].values():
            fonts.add(str(font.get_object()["/BaseFont"]))
    assert any("SourceSans" in font for font in fonts), fonts


def test_sixty_readings_and_names_at_their_longest_fit() -> None:
    """Every reading and every long name is on the paper, none cut off."""
    made = record_of(SIXTY).pdf()
    text = words(made)
    assert text.count("231.5 V") + text.count("232 V") >= 15
    assert all(name in text for name in BENCHES)
    for page in read(made).pages:
        assert page.extract_text().strip()


def test_no_readings_make_two_pages() -> None:
    """A job with nothing in it still prints: the customer's page and a short other part."""
    made = record_of({"circuits": {"c": {"run": ["5 m", "P"]}}}).pdf()
    assert len(read(made).pages) == 2


@pytest.mark.parametrize("title", ["Αποθήκη", "Гараж Ґ", "Łódź Ąę", "İstanbul ğ", "Ñandú Ø"])
def test_names_in_greek_cyrillic_and_every_latin_alphabet_come_out(title: str) -> None:
    """Names outside plain Latin are drawn and can be copied out again."""
    made = record_of(PRINT_ROOM, title=title).pdf()
    assert title in words(made)
    assert "no face for" not in words(made)


def test_letters_without_a_face_are_pointed_out() -> None:
    """A letter that no face here draws is named on the paper instead of passing for a box."""
    made = pdf(Document("x", (Para("\U00012000 \U00012001"),)))
    assert "no face for 2 of the letters" in words(made)
    assert "U+12000" in words(made)
    root: Any = read(made).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]  # still tagged, but no longer said to be PDF/UA
    assert b"pdfuaid" not in root["/Metadata"].get_object().get_data()


def test_which_letters_a_face_draws_is_read_from_the_face() -> None:
    """Source Sans has Greek and Cyrillic, no ideographs; what is no font draws nothing."""
    from pathlib import Path

    face = str(Path(font_folders()[0]) / "SourceSansPro-Regular.ttf")
    assert missing("Жω漢", [face]) == ("漢",)
    assert covered(__file__) == ()
    assert missing("Ж", [__file__]) == ("Ж",)


@pytest.mark.parametrize(
    "text",
    ['#panic("x")', "#set page(fill: red)", "$x^2$", "*bold* _it_ `raw`", "@label <label>",
     "\\ \" ' {} [] //", "= Heading", "#{1+1}", "W" * 300],
)  # fmt: skip
def test_markup_in_what_people_write_is_set_as_words(text: str) -> None:
    """Text travels as data: nothing in it acts, and it stands there as it was typed."""
    made = pdf(Document(text, (Heading(text, 1), Para(text))))
    out = words(made).replace("\u200b", "")
    assert "".join(text.split())[:24] in "".join(out.split())


def test_the_same_record_gives_the_same_bytes() -> None:
    """No clock and no chance in it: printed twice, the same file."""
    record = record_of(PRINT_ROOM)
    first, second = read(record.pdf()), read(record.pdf())
    assert [p.extract_text() for p in first.pages] == [p.extract_text() for p in second.pages]
    assert first.metadata is not None
    assert "/CreationDate" not in first.metadata


def _pieces(record: Any) -> list[tuple[str, str]]:
    """(role that its tag should be or stand in, words) of every piece of a record, in order."""
    found: list[tuple[str, str]] = []
    for block in record.document.blocks:
        if isinstance(block, Heading):
            found.append((f"H{block.level + 1}", block.text))
        elif isinstance(block, Para | Notice):
            found.append(("P", block.text))
        elif isinstance(block, Points):
            found += [("LBody", item) for item in block.items]
        elif isinstance(block, Facts):
            found += [(role, part) for row in block.rows
                      for role, part in zip(("Lbl", "LBody"), row, strict=True)]  # fmt: skip
        elif isinstance(block, Grid):
            found += [("TH", name) for name in block.head]
            found += [("TD", cell) for row in block.rows for cell in row if cell]
        elif isinstance(block, Drawing):
            found.append(("Caption", block.title))
            found += [("TH", rail.letter) for rail in block.rails]
            found += [("TD", part) for rung in block.rungs for part in (rung.label, *rung.notes)]
    return found


@pytest.mark.parametrize("form", [PRINT_ROOM, RING])
def test_a_listener_hears_every_word_in_the_order_of_the_document(form: dict[str, Any]) -> None:
    """Walked tag by tag (ISO 32000-1, 14.7 and 14.8), the words come in the record's own order,
    each under a tag that says what it is: heading, paragraph, label, cell, caption."""
    record = record_of(form)
    heard = [(roles, "".join(words.replace("\u200b", "").split()))
             for roles, words in tagged(record.pdf())]  # fmt: skip
    flow = "".join(words for _, words in heard)
    roles_of = [roles for roles, words in heard for _ in words]
    at = 0
    for role, text in [("H1", record.document.title), *_pieces(record)]:
        wanted = "".join(text.split())
        start = flow.find(wanted, at)
        assert start >= 0, text
        assert flow[at:start] in MARKS, (flow[at:start], text)
        at = start + len(wanted)
        assert all(role in roles for roles in roles_of[start:at]), (role, text)
    assert at == len(flow)


MARKS = ("", "•", "×", "✓", "?", "!", "↳", "Danger.", "Caution.", "Inorder.", "Note.",
         "Lline,Nneutral,Eprotectiveconductor")  # fmt: skip
"""What stands beside the pieces: signs, the word of a notice, the ladder's list of letters."""


def test_the_seal_and_the_page_numbers_are_not_read_out_on_every_page() -> None:
    """What repeats at the foot is no part of the document's structure."""
    record = record_of(PRINT_ROOM)
    heard = " ".join(words for _, words in tagged(record.pdf()))
    assert record.document.seal not in heard
    assert "statutory" not in heard


def test_the_ladder_is_told_in_words_where_lines_cannot_be_seen() -> None:
    """A table with the circuit for its caption; the broken rail, its terminals and what hangs free
    are words in it, so that it needs no other text in its place."""
    bare = {"east": PRINT_ROOM["circuits"]["east"] | {"plugged in": {}}}
    dead = {"from": "Press N", "to": "Folder N", "ohms": "over range",
            "with": {"off": "main switch", "unplugged": "all"}}  # fmt: skip
    form = {"circuits": bare, "readings": [dead, {"at": "Folder", "works": "no"}]}
    heard = tagged(record_of(PRINT_ROOM | form).pdf())
    cells = [words.strip() for roles, words in heard if "Table" in roles]
    assert "Circuit east" in cells
    assert any(words.startswith("N open between the neutral") for words in cells)
    assert "from here N hangs free" in cells


def test_a_typical_record_takes_under_a_second() -> None:
    """From the form to the paper. Processor time: the machine may be busy with other things."""
    record_of(PRINT_ROOM).pdf()  # once, so that nothing is imported meanwhile
    start = time.process_time()
    record_of(PRINT_ROOM).pdf()
    assert time.process_time() - start < 1.0


@pytest.mark.parametrize("form", [RING, SIXTY])
def test_the_record_adds_under_a_second_to_a_long_diagnosis(form: dict[str, Any]) -> None:
    """A ring, or sixty readings: all that comes after the diagnosis, which the pages remember."""
    job = record_of(form).job
    prepared = Prepared(job.installation)
    worked = _weighed(job, prepared)
    start = time.process_time()
    proof = prove(job, prepared.plan)
    pdf(document_of(job, proof, _found(job, proof, prepared, worked)))
    assert time.process_time() - start < 1.0
