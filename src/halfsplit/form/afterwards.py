"""Reads what followed the finding: ``mend``, ``tests after``, ``left safe``, ``seen``."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any, cast

from halfsplit.form.after import After, LeftSafe, Mended, MendKind, Seen
from halfsplit.form.cursor import Cursor
from halfsplit.form.entries import Entry, text_of
from halfsplit.form.terminals import Site
from halfsplit.form.tested import Tests
from halfsplit.form.tree import Node

CODES = ("C1", "C2", "C3", "FI")
_SUPPLY = {
    "electrode": "electrode", "rod": "electrode", "link": "link", "operator": "supply",
    "network operator": "supply", "utility": "supply",
}  # fmt: skip


def read_after(cursor: Cursor, site: Site, fields: dict[str, Node]) -> After:
    """Everything the form says of what followed the finding."""
    mends = tuple(_each(cursor, fields.get("mend"), _Mend(cursor, site).read))
    tests = tuple(
        test
        for entry in _each(cursor, fields.get("tests after"), Tests(cursor, site).read)
        for test in entry
    )
    left = _left(cursor, fields["left safe"]) if "left safe" in fields else None
    seen = tuple(_each(cursor, fields.get("seen"), _Found(cursor, site).read))
    open_items = _listed(cursor, fields["open items"]) if "open items" in fields else ()
    return After(
        _numbered(cursor, mends, "m", fields.get("mend")),
        _numbered(cursor, tests, "t", fields.get("tests after")),
        left,
        _numbered(cursor, seen, "o", fields.get("seen")),
        open_items,
    )


def _each(cursor: Cursor, node: Node | None, read: Callable[[Node], Any]) -> Iterator[Any]:
    if node is None:
        return
    items = node.items if node.kind == "list" else (node,) if node.kind == "map" else ()
    if not items and not (node.kind == "list" or (node.kind == "text" and not node.text)):
        cursor.note(node, "a list of entries, each with its keys in braces")
    for item in items:
        found = read(item)
        if found is not None:
            yield found


def _numbered(cursor: Cursor, items: tuple[Any, ...], letter: str, node: Node | None) -> Any:
    found = tuple(replace(x, id=x.id or f"{letter}{k}") for k, x in enumerate(items, start=1))
    ids = [item.id for item in found]
    twice = next((item for item in found if ids.count(item.id) > 1), None)
    if twice is not None and node is not None:
        cursor.note(replace(node, line=twice.line or node.line), "each id once", twice.id, key="id")
    return found


def _listed(cursor: Cursor, node: Node) -> tuple[str, ...]:
    """The items of a list as they stand; a single text is parted at its commas."""
    if node.kind == "list":
        return tuple(" ".join(item.text.split()) for item in cursor.texts(node))
    return cursor.words(node)


class _Mend(Entry):
    def read(self, node: Node) -> Mended | None:
        fields = self.cursor.fields(node, "mend")
        if "did" not in fields or (did := self.cursor.text(fields["did"])) is None:
            return None
        place = self.place(fields)
        if place is None:
            return None
        made = Mended(
            text_of(fields, "id"), did, "accessory", place, fault=text_of(fields, "fault"),
            who=text_of(fields, "who"), when=text_of(fields, "when"), line=node.line,
        )  # fmt: skip
        return self._part(node, fields, made)

    def _part(self, node: Node, fields: dict[str, Node], made: Mended) -> Mended | None:
        given = [key for key in ("joint", "accessory", "cable", "device", "load", "bond", "supply",
                                 "nothing") if key in fields]  # fmt: skip
        if {"from", "to"} <= fields.keys() and "cable" not in fields:
            given.append("cable")
        if len(given) > 1:
            self.cursor.note(node, "one part in each entry", " and ".join(given))
            return None
        kind = given[0] if given else "accessory" if made.place else ""
        reader = {"joint": self._joint, "cable": self._cable, "device": self._device,
                  "load": self._load, "bond": self._bond, "supply": self._supply}  # fmt: skip
        if kind in reader:
            return reader[kind](fields, made)
        if not kind or (kind == "accessory" and not made.place):
            self.cursor.note(
                node, "the part disturbed: at and joint, accessory, cable, device, load, bond, "
                "supply or nothing", "no part",
            )  # fmt: skip
            return None
        return replace(made, kind=cast(MendKind, kind))

    def _joint(self, fields: dict[str, Node], made: Mended) -> Mended | None:
        if not made.place:
            self.cursor.note(fields["joint"], "at: the place of the joint", "no at", key="at")
            return None
        keys = []
        for item in self.cursor.texts(fields["joint"]):
            for word in item.text.split(","):
                key = self.site.key(item, made.place, word.strip())
                if key is None:
                    return None
                keys.append(key)
        return replace(made, kind="joint", conductors=tuple(dict.fromkeys(keys)))

    def _cable(self, fields: dict[str, Node], made: Mended) -> Mended | None:
        runs = [run for c in self.site.installation.circuits for run in c.runs]
        if "cable" in fields:
            name = self.named(fields["cable"], tuple(r.name for r in runs), "a run of cable")
            return replace(made, kind="cable", part=name) if name else None
        ends = {self.place(fields, "from"), self.place(fields, "to")}
        if None in ends:
            return None
        found = [run for run in runs if {run.start, run.end} == ends]
        if len(found) != 1:
            self.cursor.note(fields["from"], "both ends of one run: "
                             + ", ".join(run.name for run in runs[:8]))  # fmt: skip
            return None
        return replace(made, kind="cable", part=found[0].name)

    def _device(self, fields: dict[str, Node], made: Mended) -> Mended | None:
        name = self.named(fields["device"], tuple(self.site.devices), "a device")
        return replace(made, kind="device", part=name) if name else None

    def _load(self, fields: dict[str, Node], made: Mended) -> Mended | None:
        found = self.site.load(fields["load"], fields["load"].text, made.place)
        return replace(made, kind="load", part=found) if found else None

    def _bond(self, fields: dict[str, Node], made: Mended) -> Mended | None:
        name = self.path(fields["bond"])
        return replace(made, kind="bond", part=name) if name else None

    def _supply(self, fields: dict[str, Node], made: Mended) -> Mended | None:
        kind = self.cursor.choice(fields["supply"], _SUPPLY, "")
        return replace(made, kind=cast(MendKind, kind)) if kind else None


class _Found(Entry):
    def read(self, node: Node) -> Seen | None:
        fields = self.cursor.fields(node, "found")
        place = self.place(fields)
        if "what" not in fields or place is None:
            return None
        what = self.cursor.text(fields["what"])
        code = ""
        if "class" in fields:
            code = self.cursor.choice(fields["class"], {c.casefold(): c for c in CODES}, "")
        return None if what is None else Seen(
            text_of(fields, "id"), what, place, code, text_of(fields, "who"),
            text_of(fields, "when"), node.line,
        )  # fmt: skip


def _left(cursor: Cursor, node: Node) -> LeftSafe | None:
    fields = cursor.fields(node, "left")
    if not fields:
        return None

    def listed(key: str) -> tuple[str, ...]:
        return _listed(cursor, fields[key]) if key in fields else ()

    return LeftSafe(
        text_of(fields, "why"), listed("isolated"), text_of(fields, "locked"),
        text_of(fields, "labelled"), listed("told"), listed("do not use"), text_of(fields, "who"),
        text_of(fields, "when"),
    )  # fmt: skip
