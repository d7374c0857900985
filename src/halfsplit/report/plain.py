"""A document as plain text, for a terminal or a message."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from halfsplit.report.document import (
    Block,
    Document,
    Drawing,
    Facts,
    Grid,
    Heading,
    Notice,
    PageBreak,
    Para,
    Points,
    Rung,
)  # fmt: skip

WIDTH = 80
_TONES = {"danger": "DANGER", "caution": "CAUTION", "good": "IN ORDER", "note": "NOTE"}
_MARKS = {"good": "+", "doubt": "?", "bad": "!", "": " "}
_RAILS = {"held": "│", "floats": "┊", "broken": "×", "start": "┬", "": " "}


def plain(document: Document, width: int = WIDTH) -> str:
    """The whole document as lines of at most ``width`` characters (names are never cut)."""
    lines = [document.title.upper(), "=" * min(width, max(8, len(document.title))), ""]
    for block in document.blocks:
        lines += [*_lines(block, width), ""]
    if document.foot:
        lines += _wrapped(document.foot, width)
    if document.seal:
        lines += [f"Seal {document.seal}"]
    return "\n".join(line.rstrip() for line in lines).rstrip("\n") + "\n"


def _lines(block: Block, width: int) -> list[str]:
    if isinstance(block, Heading):
        sign = "=" if block.level == 1 else "-"
        return [block.text, sign * min(width, max(4, len(block.text)))]
    if isinstance(block, Para):
        return _wrapped(block.text, width)
    if isinstance(block, Points):
        return [
            line
            for k, item in enumerate(block.items, start=1)
            for line in _hung(f"{k}. " if block.numbered else "- ", item, width)
        ]
    if isinstance(block, Facts):
        wide = min(24, max((len(name) for name, _ in block.rows), default=0)) + 2
        return [line for name, value in block.rows
                for line in _hung(f"{name}:".ljust(wide), value, width)]  # fmt: skip
    if isinstance(block, Notice):
        return _hung(f"{_TONES[block.tone]}: ", block.text, width)
    if isinstance(block, Grid):
        return list(_grid(block, width))
    if isinstance(block, Drawing):
        return list(_drawing(block, width))
    assert isinstance(block, PageBreak)
    return ["", "·" * width]


def _grid(grid: Grid, width: int) -> Iterator[str]:
    """A table as one entry for each row: narrow terminals cannot hold columns of sentences."""
    for k, row in enumerate(grid.rows):
        mark = _MARKS[grid.marks[k]] if grid.marks else "-"
        yield from _hung(f"{mark} ", row[0] or "(not said)", width)
        for name, value in zip(grid.head[1:], row[1:], strict=True):
            if value:
                yield from _hung(f"    {name.lower()}: ", value, width, deep=6)


def _drawing(drawing: Drawing, width: int) -> Iterator[str]:
    yield drawing.title
    yield "  " + " ".join(rail.letter.ljust(2) for rail in drawing.rails)
    for rung in drawing.rungs:
        rails = "  " + " ".join(_RAILS[state].ljust(2) for state in rung.states)
        lead = "  " * rung.depth + ("● " if rung.place else "  ")
        yield from _hung(f"{rails}  {lead}", rung.label, width, fill=_fill(rung))
        for note in rung.notes:
            yield from _hung(f"{_fill(rung)}  {lead[:-2]}    ", note, width, fill=_fill(rung))


def _fill(rung: Rung) -> str:
    signs = (_RAILS["held" if s in ("start", "broken") else s].ljust(2) for s in rung.states)
    return "  " + " ".join(signs)


def _hung(lead: str, text: str, width: int, deep: int = 0, fill: str = "") -> list[str]:
    """Text after a lead, wrapped under itself."""
    after = " " * (deep or len(lead))
    if fill:
        after = fill + " " * max(0, len(lead) - len(fill))
    words = " ".join(text.split())
    return textwrap.wrap(
        words, max(width, len(lead) + 20), initial_indent=lead, subsequent_indent=after,
        break_long_words=False, break_on_hyphens=False,
    ) or [lead]  # fmt: skip


def _wrapped(text: str, width: int) -> list[str]:
    return _hung("", text, width)
