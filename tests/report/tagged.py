"""A PDF as a listener gets it: the words of its tags in their order, read by a general library."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

import pypdf
from pypdf.generic import DictionaryObject


def tagged(made: bytes) -> list[tuple[tuple[str, ...], str]]:
    """(roles from the outside in, words) of everything that is tagged, in reading order."""
    reader = pypdf.PdfReader(io.BytesIO(made))
    words = {page.indirect_reference.idnum: _marked(page) for page in reader.pages
             if page.indirect_reference}  # fmt: skip
    root: Any = reader.trailer["/Root"]
    return list(_walk(root["/StructTreeRoot"], (), None, words))


def _walk(
    node: Any, roles: tuple[str, ...], page: int | None, words: dict[int, dict[int, str]]
) -> Iterator[tuple[tuple[str, ...], str]]:
    if isinstance(node, int) and page is not None:
        yield roles, words[page].get(int(node), "")
        return
    node = node.get_object()
    if isinstance(node, list):
        for inner in node:
            yield from _walk(inner, roles, page, words)
        return
    if isinstance(node, int) and page is not None:
        yield roles, words[page].get(int(node), "")
    elif isinstance(node, DictionaryObject):
        if "/Pg" in node:
            page = node.raw_get("/Pg").idnum
        if "/S" in node:
            roles = (*roles, str(node["/S"]).removeprefix("/"))
        if "/MCID" in node and page is not None:
            mark: Any = node["/MCID"]
            yield roles, words[page].get(int(mark), "")
        elif "/K" in node:
            yield from _walk(node.raw_get("/K"), roles, page, words)
        elif "/S" in node:  # an empty cell
            yield roles, ""


def _marked(page: Any) -> dict[int, str]:
    """Words by the mark that the page's content gives them; what is unmarked is left out."""
    found: dict[int, str] = {}
    now: list[int | None] = []

    def before(operator: bytes, operands: Any, *_: Any) -> None:
        if operator in (b"BDC", b"BMC"):
            known = operands[1] if len(operands) > 1 else None
            mark = known.get("/MCID") if isinstance(known, dict) else None
            now.append(None if mark is None else int(mark))
        elif operator == b"EMC":
            now.pop()

    def text(words: str, *_: Any) -> None:
        mark = next((m for m in reversed(now) if m is not None), None)
        if mark is not None:
            found[mark] = found.get(mark, "") + words

    page.extract_text(visitor_operand_before=before, visitor_text=text)
    return found
