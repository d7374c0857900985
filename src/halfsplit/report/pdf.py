"""A document on paper: tagged PDF, A4 or Letter, typeset from data and never from marked-up text.

What people wrote travels as JSON and is set as plain text, so nothing in it can act as markup. The
face is Source Sans from a package, with whatever else the machine has for other scripts.
"""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Literal

from halfsplit.errors import HalfsplitError
from halfsplit.report.document import Document, as_data

Paper = Literal["a4", "us-letter"]

FONT_PACKAGE = "font_source_sans_pro"
FONTS = ("Source Sans Pro", "DejaVu Sans", "Noto Sans", "Liberation Sans", "Noto Sans CJK SC")


class CannotPrint(HalfsplitError):
    """The paper could not be made. The message says what is missing and what to do."""


def paper_for(region: str) -> Paper:
    """The paper usual in a region."""
    return "us-letter" if region == "na" else "a4"


def pdf(document: Document, paper: Paper = "a4") -> bytes:
    """The document as a tagged PDF.

    Raises: CannotPrint when the typesetter is not installed or refuses the document.
    """
    typst = _typesetter()
    template = files("halfsplit.report").joinpath("record.typ").read_bytes()
    data = as_data(document) | {"fonts": list(FONTS)}
    inputs = {"data": json.dumps(data, ensure_ascii=False), "paper": paper}
    try:
        made: bytes = typst.compile(
            template, format="pdf", sys_inputs=inputs, font_paths=list(font_folders())
        )
    except typst.TypstError as error:
        raise CannotPrint(f"the record could not be typeset: {error}") from error
    return made


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
