"""Other paths: what conducts and is no circuit, and metal that stands by itself.

Metal that nobody earthed on purpose (a shower tray, a length of tray, a tap) is a node of its own,
``NAME.E``, joined by a path to whatever it touches: true earth through a damp floor, say, or a
board's earth. Readings name it like a place: ``from: Shower tray, to: earth``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from halfsplit.form.cursor import Cursor
from halfsplit.form.places import Names
from halfsplit.form.terminals import Site
from halfsplit.form.tree import Node
from halfsplit.form.words import PATH_KINDS
from halfsplit.quantity import parse_ohms
from halfsplit.wiring.model import About, Path
from halfsplit.wiring.plan import EARTH
from halfsplit.wiring.plan import node as node_name

UNKNOWN_PATH = About(30.0, 1.0)  # judgement
# Metal water pipe in the soil: mostly under 3 ohm (common practice; IEEE 142, from memory).
WATER_PIPE = About(2.0, 0.8)
SOME_PIPE = About(8.0, 1.3)  # to earth by water, gas or heating pipes, nobody says which: judgement
_WATER = re.compile(r"(?i)\b(?:water|plumbing|rising main)\b")
_OTHER_PIPE = re.compile(r"(?i)\b(?:gas|oil|heating|plastic)\b")
UNKNOWN_METAL = About(2e3, 1.5)  # what stands on a floor or a wall: judgement
_METAL = re.compile(r"(?i)\s*metal\s*")
_UNSURE = ("maybe", "perhaps", "uncertain", "not certain")


@dataclass(frozen=True, slots=True)
class _Typed:
    """One path as typed: its name, its two ends in words, and what is said of it."""

    name: str
    node: Node
    a: str
    b: str
    metal: bool
    ohms: Node | None = None
    certain: bool = True
    kind: str = ""


def read_paths(cursor: Cursor, site: Site, names: Names, node: Node) -> tuple[Path, ...]:
    """Every path, by name or in a list; metal is known by its name to all of them."""
    typed = [found for name, value in _named(cursor, node)
             if (clean := cursor.name_of(value, name))
             and (found := _typed(cursor, clean, value))]  # fmt: skip
    for item in typed:
        metal = cursor.name_of(item.node, item.a) if item.metal else None
        if metal and metal not in site.metals and names.claim(cursor, item.node, metal):
            site.metals[metal] = node_name(metal, "E")
    return tuple(path for item in typed if (path := _path(cursor, site, item)))


def _named(cursor: Cursor, node: Node) -> list[tuple[str, Node]]:
    """Each path with its name; a path in a list has its metal's name, numbered where it repeats."""
    if node.kind == "map":
        return list(node.pairs)
    found: dict[str, Node] = {}
    for item in node.items if node.kind == "list" else ():
        metal = dict(item.pairs).get("metal")
        if metal is None or not metal.text:
            cursor.note(item, "metal with what it touches: {metal: Shower tray, to: earth}")
            continue
        name, number = metal.text, 2
        while name in found:
            name, number = f"{metal.text} {number}", number + 1
        found[name] = item
    if node.kind == "text":
        cursor.note(node, "paths by name: {gas pipe: Board E to earth}")
    return list(found.items())


def _typed(cursor: Cursor, name: str, node: Node) -> _Typed | None:
    if node.kind == "text":
        return _in_words(cursor, name, node)
    fields = cursor.fields(node, "path")
    if "to" not in fields or not {"from", "metal"} & fields.keys():
        if fields and "to" in fields:
            cursor.note(node, "the key from, or metal", "no from", key="from")
        return None
    metal = fields.get("metal")
    certain = cursor.yes(fields["certain"], True) if "certain" in fields else True
    kind = cursor.choice(fields["kind"], PATH_KINDS, "other") if "kind" in fields else ""
    a = metal.text if metal is not None else fields["from"].text
    whole = metal is not None or bool(_METAL.fullmatch(a))
    if whole and (metal is None or metal.text.casefold() == "yes"):
        a = name
    return _Typed(name, node, a, fields["to"].text, whole, fields.get("ohms"), certain, kind)


def _in_words(cursor: Cursor, name: str, node: Node) -> _Typed | None:
    """A path in a few words: "Board E to earth, about 30 ohm, maybe"; "metal to earth"."""
    head, _, tail = node.text.partition(" to ")
    if not tail:
        cursor.note(node, 'two ends such as "Board E to earth, about 30 ohm, maybe"')
        return None
    end, *rest = (word.strip() for word in tail.split(","))
    numbers = [word for word in rest if any(c.isdigit() for c in word)]
    ohms = replace(node, text=numbers[0]) if numbers else None
    metal = bool(_METAL.fullmatch(head))
    certain = not any(word in _UNSURE for word in rest)
    return _Typed(name, node, name if metal else head, end, metal, ohms, certain)


def _path(cursor: Cursor, site: Site, typed: _Typed) -> Path | None:
    named = next((k for w, k in PATH_KINDS.items() if w in typed.name.casefold()), "bond")
    kind = typed.kind or ("other" if typed.metal else named)
    a, b = (site.named_terminal(typed.node, end.strip(), "behind") for end in (typed.a, typed.b))
    ohms = UNKNOWN_METAL if typed.metal else _usual(typed.name, kind, EARTH in (a, b))
    if typed.ohms is not None:
        ohms = cursor.about(typed.ohms, parse_ohms, ohms, high=1e9)
    return Path(typed.name, a, b, ohms, typed.certain, kind) if a and b else None


def _usual(name: str, kind: str, to_earth: bool) -> About:
    """The ohms of a path that nobody stated, by its name and kind."""
    if to_earth and not _OTHER_PIPE.search(name):
        if _WATER.search(name):
            return WATER_PIPE
        if kind == "pipe":
            return SOME_PIPE
    return UNKNOWN_PATH
