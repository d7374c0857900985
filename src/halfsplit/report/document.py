"""A document as data: blocks of words, tables and ladders, for the terminal, a page or paper.

Nothing here is marked up: every text is what a person wrote or the program worked out, and each
renderer spells it in its own way. Outcomes are words first; marks only repeat them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from types import MappingProxyType
from typing import Any, Literal, TypeAlias

Mark = Literal["", "good", "doubt", "bad"]
Tone = Literal["danger", "caution", "good", "note"]
RailState = Literal["", "held", "floats", "broken", "start"]


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading; ``level`` 1 begins a part."""

    text: str
    level: int = 2


@dataclass(frozen=True, slots=True)
class Para:
    """A paragraph."""

    text: str
    quiet: bool = False


@dataclass(frozen=True, slots=True)
class Points:
    """A list."""

    items: tuple[str, ...]
    numbered: bool = False


@dataclass(frozen=True, slots=True)
class Facts:
    """Names with their values."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Grid:
    """A table. ``widths`` are shares of the line; ``marks`` one for each row, or none."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[float, ...]
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True, slots=True)
class Notice:
    """Something that must not be overlooked."""

    tone: Tone
    text: str


@dataclass(frozen=True, slots=True)
class Rail:
    """A conductor of a ladder: its letter, its words, its identification colour (a CSS name)."""

    letter: str
    words: str
    colour: str


@dataclass(frozen=True, slots=True)
class Rung:
    """A row of a ladder: a place, or the cable down to one. ``depth`` counts branches."""

    label: str
    notes: tuple[str, ...]
    states: tuple[RailState, ...]
    place: bool
    depth: int = 0


@dataclass(frozen=True, slots=True)
class Drawing:
    """A circuit as a ladder: rails from the board at the top, a rung for each place."""

    title: str
    rails: tuple[Rail, ...]
    rungs: tuple[Rung, ...]


@dataclass(frozen=True, slots=True)
class PageBreak:
    """What follows begins a new page."""


Block: TypeAlias = Heading | Para | Points | Facts | Grid | Notice | Drawing | PageBreak

KINDS: Mapping[type[Any], str] = MappingProxyType(
    {
        Heading: "heading", Para: "para", Points: "points", Facts: "facts", Grid: "grid",
        Notice: "notice", Drawing: "drawing", PageBreak: "break",
    }
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Document:
    """A whole document. ``seal`` is what ties it to its history; ``foot`` stands on every page."""

    title: str
    blocks: tuple[Block, ...]
    seal: str = ""
    foot: str = ""
    language: str = "en"


def as_data(document: Document) -> dict[str, Any]:
    """The document as JSON values, each block with its ``kind``."""
    return {
        "title": document.title,
        "seal": document.seal,
        "foot": document.foot,
        "language": document.language,
        "blocks": [{"kind": KINDS[type(block)], **asdict(block)} for block in document.blocks],
    }
