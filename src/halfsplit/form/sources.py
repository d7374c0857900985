"""Other sources than the supply, from words ("solar, generator") or by name with details.

A word that names a kind of source is wired at the first board, switched off; what it is called
otherwise is kept as a word, to be asked about before isolation is trusted.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from halfsplit.form.cursor import NO, YES, Cursor, nearest
from halfsplit.form.tree import Node
from halfsplit.quantity import parse_ohms
from halfsplit.wiring.model import About, Board, Source, SourceKind

OHMS = About(0.3, 0.7)  # a machine's or an inverter's, or some metres of lead (judgement)
KINDS: Mapping[str, SourceKind] = MappingProxyType(
    {
        "solar": "follows", "pv": "follows", "panels": "follows", "wind": "follows",
        "microgenerator": "follows", "generator": "island", "genset": "island",
        "battery": "island", "storage": "island", "vehicle": "island", "car": "island",
        "ev": "island", "ups": "island", "inverter": "island", "island": "island",
        "follows": "follows", "lead": "lead", "cord": "lead", "next door": "foreign",
        "neighbour": "foreign", "neighbor": "foreign", "second supply": "foreign",
        "other supply": "foreign", "foreign": "foreign",
    }
)  # fmt: skip


def kind_of(text: str) -> tuple[str, SourceKind] | None:
    """The word that names a kind of source, and the kind; None where none does ("no solar")."""
    folded = " ".join(text.casefold().split())
    if re.match(r"(?:no|not|none|without)\b", folded):
        return None
    named = (item for item in KINDS.items() if re.search(rf"\b{item[0]}\b", folded))
    return next(named, None)


def read_sources(
    cursor: Cursor, boards: tuple[Board, ...], node: Node
) -> tuple[tuple[str, ...], tuple[Source, ...]]:
    """(every source in words, those that are wired)."""
    if node.kind != "map":
        words = cursor.words(node)
        return words, from_words(words, boards)
    found = []
    for name, value in node.pairs:
        clean = cursor.name_of(value, name)
        source = _source(cursor, boards, clean, value) if clean else None
        if source is not None:
            found.append(source)
    return tuple(name for name, _ in node.pairs), tuple(found)


def from_words(words: tuple[str, ...], boards: tuple[Board, ...]) -> tuple[Source, ...]:
    """The sources that words alone name: at the first board, off. A lead needs two boards."""
    named = dict(found for word in words if (found := kind_of(word)) and found[1] != "lead")
    return tuple(Source(word, kind, boards[0].name, ohms=OHMS) for word, kind in named.items())


def _source(cursor: Cursor, boards: tuple[Board, ...], name: str, node: Node) -> Source | None:
    if node.kind == "text":
        key = "on" if node.text.casefold() in (*YES, *NO) else "kind"
        node = replace(node, kind="map", pairs=((key, node),))
    fields = cursor.fields(node, "source")
    said = fields["kind"].text if "kind" in fields else name
    _, kind = kind_of(said) or ("", None)
    if kind is None:
        cursor.note(fields.get("kind", node), "a kind of source: solar, wind, generator, battery, "
                    "vehicle, ups, lead or next door", said)  # fmt: skip
        return None
    start = Source(name, kind, boards[0].name, ohms=OHMS)
    if "board" in fields:
        start = replace(start, board=_board(cursor, boards, fields["board"]))
    if "from" in fields:
        start = replace(start, from_board=_board(cursor, boards, fields["from"]))
    if kind == "lead" and (not start.from_board or start.from_board == start.board):
        cursor.note(
            fields.get("from", node),
            "the two boards a lead joins: {from: Board, board: Shed board}",
            fields["from"].text if "from" in fields else "one board",
        )
        return None
    if "on" in fields:
        start = replace(start, on=cursor.yes(fields["on"], False))
    if "own link" in fields:
        start = replace(start, links_neutral=cursor.yes(fields["own link"], True))
    if "ohms" in fields:
        start = replace(start, ohms=cursor.about(fields["ohms"], parse_ohms, OHMS, high=1e3))
    return start


def _board(cursor: Cursor, boards: tuple[Board, ...], node: Node) -> str:
    names = {board.name.casefold(): board.name for board in boards}
    found = names.get(node.text.casefold())
    if found is None:
        near = nearest(node.text, names.values())
        cursor.note(node, "a board: " + ", ".join(names.values()), None,
                    f'did you mean "{near}"?' if near else "")  # fmt: skip
    return found or boards[0].name
