"""The record on paper: tagged, readable text, A4 and Letter, whatever is written in it."""

from __future__ import annotations

import io
import time
from itertools import pairwise
from typing import Any

import pypdf
import pytest

from halfsplit.report.document import Document, Heading, Para
from halfsplit.report.glyphs import covered, missing
from halfsplit.report.pdf import font_folders, paper_for, pdf
from tests.report.jobs import PRINT_ROOM, record_of


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
    names = [f"Bench in the far corner behind the old kiln and press no {k}" for k in range(1, 16)]
    run: list[str] = []
    for name in names:
        run += ["3 m", name]
    readings = [{"at": n, p: v} for n in names for p, v in
                (("L-N", 230.5), ("L-E", 231.5), ("N-E", 0.7), ("works", "yes"))]  # fmt: skip
    form = {"circuits": {"long": {"run": run}}, "readings": readings, "title": "W" * 60}
    made = record_of(form).pdf()
    text = words(made)
    assert text.count("231.5 V") + text.count("232 V") >= 15
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


def test_a_typical_record_is_typeset_in_under_a_second() -> None:
    """Once the typesetter is warm: well within a second, here with room for a busy machine."""
    record = record_of(PRINT_ROOM)
    record.pdf()
    best = min(_timed(record) for _ in range(3))
    assert best < 1.0


def _timed(record: Any) -> float:
    start = time.perf_counter()
    record.pdf()
    return time.perf_counter() - start
