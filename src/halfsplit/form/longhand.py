"""A circuit in longhand: every run with its cores."""

from __future__ import annotations

import re

from halfsplit.form.chains import LONGEST, Chains
from halfsplit.form.cursor import nearest
from halfsplit.form.points import conductor, listed_items
from halfsplit.form.tree import Node
from halfsplit.quantity import parse_farads, parse_length, parse_megohms
from halfsplit.wiring.model import (
    About,
    Core,
    Run,
)


class Longhand:
    """Reads the runs of one circuit into its chains."""

    def __init__(self, chains: Chains) -> None:
        self.x, self.cursor = chains, chains.cursor

    def read(self, fields: dict[str, Node]) -> None:
        """Points first, then the runs between them."""
        points = fields.get("points")
        if points is not None and points.kind == "map":
            for name, value in points.pairs:
                self.x.declare(value, name)
        self.x.stage(fields)
        for item in listed_items(self.cursor, fields["runs"]):
            self._run(item)

    def _run(self, node: Node) -> None:
        fields = self.cursor.fields(node, "run")
        if not {"from", "to", "length", "cores"} <= fields.keys():
            return
        ends = []
        for key in ("from", "to"):
            place = fields[key].text
            if place not in self.x.drafts and place not in self.x.names.boards:
                near = nearest(place, (*self.x.drafts, *self.x.names.boards))
                self.cursor.note(fields[key], "a point of this circuit, or a board", None,
                                 f'did you mean "{near}"?' if near else "")  # fmt: skip
                return
            ends.append(place)
        length = self.cursor.about(fields["length"], parse_length, self.x.unknown, high=LONGEST)
        cores = [c for item in self.cursor.texts(fields["cores"]) if (c := self._core(item))]
        for place, keys in ((ends[0], [c.start for c in cores]), (ends[1], [c.end for c in cores])):
            if place in self.x.drafts:
                self.x.drafts[place].keys += keys
        name = fields["name"].text if "name" in fields else f"{ends[0]}–{ends[1]}"
        wide = About(1e-10, 1.0)
        capacitance = fields.get("capacitance")
        insulation = fields.get("insulation")
        leaky = About(5e10, 1.0)
        self.x.runs.append(
            Run(
                self.x.names.run(name), ends[0], ends[1], length, tuple(cores),
                fields["cable"].text if "cable" in fields else "", self.x.celsius(fields),
                self.cursor.about(capacitance, parse_farads, wide) if capacitance else None,
                self.cursor.about(insulation, parse_megohms, leaky) if insulation else None,
                self.cursor.history(fields["history"]) if "history" in fields else (),
            )
        )  # fmt: skip

    def _core(self, node: Node) -> Core | None:
        found = re.fullmatch(
            r"(\w+)(?:\s*>\s*(\w+))?\s+([\d.eE+-]+)(?:\s+(copper|aluminium))?(?:\s+(\S.*))?",
            node.text,
        )
        if not found:
            self.cursor.note(node, 'a core such as "L 2.5", "L>SL 1.5" or "N 16 aluminium blue"')
            return None
        try:
            size = float(found[3])
        except ValueError:
            size = 0.0
        if not 0.05 <= size <= 1000.0:
            self.cursor.note(node, "a core of 0.05 to 1000 mm²")
            return None
        start = conductor(self.cursor, node, found[1])
        end = conductor(self.cursor, node, found[2]) if found[2] else start
        return (
            Core(start, end, size, found[4] or "copper", found[5] or "") if start and end else None
        )
