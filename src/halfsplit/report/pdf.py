"""A document on paper: tagged PDF, A4 or Letter, typeset from data and never from marked-up text.

It meets PDF/UA-1 as far as the typesetter checks it, unless a letter has no face. What people wrote
travels as JSON and is set as plain text, so nothing in it can act as markup. The
face is Source Sans from a package, with whatever else the machine has for other scripts.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from importlib.resources import files
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Literal

from halfsplit.errors import HalfsplitError
from halfsplit.report.document import Document, Notice, as_data
from halfsplit.report.glyphs import missing

Paper = Literal["a4", "us-letter"]

FONT_PACKAGE = "font_source_sans_pro"
FONTS = ("Source Sans Pro", "DejaVu Sans", "Noto Sans", "Liberation Sans", "Noto Sans CJK SC")

STANDARD = "ua-1"  # PDF/UA-1, ISO 14289-1: for readers who listen; the typesetter checks it
NOT_MET = "PDF/UA-1 error"
MOST_LISTED = 8
LONG_WORD = re.compile(r"[^\s\"\\]{40,}")


class CannotPrint(HalfsplitError):
    """The paper could not be made. The message says what is missing and what to do."""


def paper_for(region: str) -> Paper:
    """The paper usual in a region."""
    return "us-letter" if region == "na" else "a4"


def pdf(document: Document, paper: Paper = "a4") -> bytes:
    """The document as a tagged PDF; it says that it is PDF/UA-1 where every letter has a face.

    Raises: CannotPrint when the typesetter is not installed or refuses the document.
    """
    typst = _typesetter()
    template = files("halfsplit.report").joinpath("record.typ").read_bytes()
    data = as_data(_with_boxes_told(document, typst)) | {"fonts": list(FONTS)}
    seal = data.pop("seal")  # stays whole, so that it can be copied from the paper
    text = LONG_WORD.sub(_breakable, json.dumps(data, ensure_ascii=False))
    inputs = {"data": text, "paper": paper, "seal": seal}
    try:
        return _compiled(typst, template, inputs, [STANDARD])
    except typst.TypstError as error:
        if not str(error).startswith(NOT_MET):
            raise CannotPrint(f"the record could not be typeset: {error}") from error
    return _compiled(typst, template, inputs, [])  # a letter without a face: tagged all the same


def _compiled(
    typst: Any, template: bytes, inputs: Mapping[str, str], standards: Sequence[str]
) -> bytes:
    made: bytes = typst.compile(
        template, format="pdf", sys_inputs=inputs, font_paths=list(font_folders()),
        pdf_standards=list(standards),
    )  # fmt: skip
    return made


def _breakable(found: re.Match[str]) -> str:
    """A word too long for a line, with places where it may be broken."""
    word = found[0]
    return "\u200b".join(word[k : k + 24] for k in range(0, len(word), 24))


def _with_boxes_told(document: Document, typst: Any) -> Document:
    """The document, with a note where letters have no face here and come out as boxes."""
    text = json.dumps(as_data(document), ensure_ascii=False)
    if text.isascii():
        return document
    boxes = missing(text, _faces(typst))
    if not boxes:
        return document
    shown = ", ".join(f"U+{ord(letter):04X}" for letter in boxes[:MOST_LISTED])
    more = f" and {len(boxes) - MOST_LISTED} more" if len(boxes) > MOST_LISTED else ""
    note = Notice(
        "note",
        f"This machine has no face for {len(boxes)} of the letters used ({shown}{more}): they are "
        "drawn as boxes. The words stand whole in the form, and in this record as text or page. "
        "Install a face for that script (for Chinese, Japanese and Korean Debian has "
        "fonts-noto-cjk) and make the record again.",
    )
    return replace(document, blocks=(*document.blocks, note))


@cache
def _faces(typst: Any) -> tuple[str, ...]:
    """Files of every face the typesetter may use, the record's own first."""
    known = typst.Fonts(font_paths=list(font_folders())).fonts()
    return tuple(dict.fromkeys(str(face.path) for face in known if face.path))


@cache
def font_folders() -> tuple[str, ...]:
    """Folders with the record's own face; none where its package is not installed."""
    found = find_spec(FONT_PACKAGE)
    if found is None or not found.submodule_search_locations:
        return ()
    return tuple(str(Path(place) / "files") for place in found.submodule_search_locations)


def _typesetter() -> Any:
    try:
        import typst
    except ImportError:
        raise CannotPrint(
            "the typesetter is not installed; install halfsplit[pdf], or ask for text instead"
        ) from None
    return typst
