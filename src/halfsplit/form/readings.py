"""Readings: each entry may hold several, taken at one place in the same conditions."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, get_args

from halfsplit.form.conditions import read_with
from halfsplit.form.cursor import Cursor
from halfsplit.form.entry import PARSERS, is_port
from halfsplit.form.measured import Measured
from halfsplit.form.observed import Observed, counted
from halfsplit.form.terminals import Site, side_of
from halfsplit.form.tree import Node
from halfsplit.form.words import UNPLACED
from halfsplit.instruments.reading import Kind, Reading


def read_readings(cursor: Cursor, site: Site, node: Node) -> tuple[Reading, ...]:
    """Every reading of the list, in order, numbered r1, r2 and so on."""
    items = node.items if node.kind == "list" else (node,) if node.kind == "map" else ()
    if not items and not (node.kind == "list" or (node.kind == "text" and not node.text)):
        cursor.note(node, "a list of readings, such as - {at: Bench, L-N: 230}")
    found: list[Reading] = []
    for item in items:
        found += _Both(site, item).read()
    numbered = [
        replace(reading, id=reading.id or f"r{k}") for k, reading in enumerate(found, start=1)
    ]
    ids = [reading.id for reading in numbered]
    for reading in numbered:
        if ids.count(reading.id) > 1 and reading.line:
            cursor.note(replace(node, line=reading.line), "each id once", reading.id, key="id")
            break
    return tuple(numbered)


class _Both(Measured, Observed):
    """One entry of the list."""

    def read(self) -> list[Reading]:
        cursor, site = self.cursor, self.site
        before = len(cursor.problems)
        fields = self.fields = cursor.fields(self.node, "reading", self._extra)
        if not fields:
            return []
        if "at" in fields and not self._placed(fields["at"]):
            return []
        if "contacts" in fields:
            self.side = side_of(cursor, fields["contacts"])
        if "circuit" in fields:
            self.circuit = site.circuit(fields["circuit"])
            self.named = self.circuit is not None
        if self.circuit is None:
            self.circuit = site.circuit_at(self.at)
        if "with" in fields:
            self.conditions = read_with(site, fields["with"], self.circuit)
        self.base = self._base()
        if "kind" in fields:
            self._longhand()
        else:
            self._values()
            self._seen()
        if not self.found and len(cursor.problems) == before:
            cursor.note(self.node, "something measured or seen, such as L-N: 230 or works: no",
                        "a place and nothing else")  # fmt: skip
        return self.found

    def _extra(self, key: str) -> bool:
        """Whether a key outside the table is a pair of terminals, or a point's own name."""
        return is_port(key) or self.own_name(key) is not None

    def _placed(self, node: Node) -> bool:
        """Take the place: a point, a board, metal; a run; or one that is not known."""
        word, points = node.text.casefold(), {name.casefold() for name in self.site.points}
        if word in UNPLACED and word not in points:
            return True
        if (run := self.site.run(node.text)) is not None and word not in points:
            self.along = run
            return True
        place = self.site.place(node, node.text)
        self.at = place or ""
        return place is not None

    def _longhand(self) -> None:
        fields = self.fields
        kinds = {k: k for k in get_args(Kind)}
        kind = self.cursor.choice(fields["kind"], kinds, "volts")
        more: dict[str, Any] = {
            key: fields[key].text for key in ("a", "b", "of", "seen", "place") if key in fields
        }
        for key in ("a", "b"):
            if key in fields and self.site.named_terminal(fields[key], fields[key].text) is None:
                return
        if "through" in fields:
            more["conductors"] = tuple(item.text for item in self.cursor.texts(fields["through"]))
        if "value" in fields and kind == "count":
            more["value"] = counted(self.cursor, fields["value"])
        if "value" in fields and kind in PARSERS:
            value = self._value(fields["value"], kind)
            if value is None:
                return
            more |= value.figure
        self.found.append(replace(self.base, **({"kind": kind, "text": self.node.shown()} | more)))
