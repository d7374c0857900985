"""Numbers of an entry: ports, tests, clamps, ring ends, ramps."""

from __future__ import annotations

from dataclasses import replace

from halfsplit.form.entry import PREFIX, PREFIX_KIND, TABLE_KEYS, Entry, is_port
from halfsplit.form.terminals import split_port
from halfsplit.form.tree import Node
from halfsplit.form.words import (
    CONDUCTORS,
    FRAMES,
    GLOW,
)
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.model import Circuit
from halfsplit.wiring.plan import node as node_name


class Measured(Entry):
    """Reads what was measured."""

    def _values(self) -> None:
        for key, node in self.fields.items():
            if is_port(key) and key not in TABLE_KEYS:
                self._port(key, node, "")
            elif key == "zs":
                self._port("L-E", node, "loop")
            elif key == "leakage" or (key == "clamp" and node.kind == "text"):
                self._clamp(self._live() if key == "leakage" else "L", node)
            elif key in ("dead", "insulation", "loop") and node.kind == "map":
                kind = {"dead": "ohms", "insulation": "megohms", "loop": "loop"}[key]
                for port, value in node.pairs:
                    self._port(port, value, kind)
            elif key == "clamp" and node.kind == "map":
                for what, value in node.pairs:
                    self._clamp(what, value)
            elif key == "ring ends" and node.kind == "map":
                self._ring(node)
            elif key == "ring cross" and node.kind == "map":
                self._ring_cross(node)
            elif key in ("r1+r2", "r1+rn"):
                self._linked_at_board(node, "E" if key == "r1+r2" else "N")
            elif key == "polarity":
                self._polarity(node)
            elif key == "electrode":
                self._electrode(node)
            elif key in ("insulation", "loop", "ring ends", "ring cross"):
                self.cursor.note(node, f"a mapping such as {key}: {{L-E: 0.4}}")
            elif key == "ramp":
                self._ramp(node)
        if alone := [(key, node) for key, node in self.fields.items() if key in ("r1", "rn", "r2")]:
            self._ring(replace(self.node, kind="map", pairs=tuple(alone)))
        self._across()

    def _live(self) -> str:
        """All live conductors of the device, circuit or place meant, for one clamp round them."""
        if "device" in self.fields and (name := self._device()):
            return "+".join(self.site.devices[name].poles)
        keys = self.site.keys_at(self.at) if self.at else ()
        if self.circuit is not None and not keys:
            keys = (*(key for key, _ in self.circuit.legs), "N")
        return "+".join(key for key in keys if key != "E") or "L+N"

    def _across(self) -> None:
        if "from" not in self.fields and "to" not in self.fields:
            return
        ends = []
        for key in ("from", "to"):
            if key not in self.fields:
                self.cursor.note(self.node, "both from and to", f"no {key}", key=key)
                return
            text = self.fields[key].text
            if self.at and (CONDUCTORS.get(text.casefold()) or text.casefold() in FRAMES):
                ends.append(self._end(self.fields[key], text))
            else:
                ends.append(
                    self.site.named_terminal(
                        self.fields[key], text, self.side, self.circuit if self.named else None
                    )
                )
        found = False
        for key, kind in (("reads", ""), ("volts", "volts"), ("ohms", "ohms")):
            if key in self.fields and all(ends):
                found = True
                self._number(self.fields[key], str(ends[0]), str(ends[1]), kind)
        if not found and all(ends):
            self.cursor.note(self.node, 'what was shown, such as reads: "3.2 V"', "no reads",
                             key="reads")  # fmt: skip

    def _port(self, key: str, node: Node, kind: str) -> None:
        prefixed = PREFIX.fullmatch(key)
        if prefixed:
            kind = PREFIX_KIND[prefixed[1].casefold()]
            key = prefixed[2]
        if kind == "amps":
            self._clamp(key, node)
            return
        sides = split_port(key)
        if sides is None:
            self.cursor.note(node, "two terminals such as L-N, L-E or N-E", key)
            return
        if not self.at and self.named and self.circuit:
            self.at = self.circuit.board  # a circuit alone is tested from its board
            self.base = replace(self.base, place=self.at)
        if not self.at:
            self.cursor.note(self.node, "at: the place where it was taken", "no at", key="at")
            return
        links: list[tuple[str, str]] = []
        ends = []
        for side in sides:
            joined = [self._end(node, part.strip()) for part in side.split("+")]
            if any(end is None for end in joined):
                return
            names = [str(end) for end in joined]
            links += [(names[0], other) for other in names[1:]]
            ends.append(names[0])
        conditions = replace(self.conditions, links=(*self.conditions.links, *links))
        self._number(node, ends[0], ends[1], kind, conditions)

    def _number(
        self, node: Node, a: str, b: str, kind: str, conditions: Conditions | None = None
    ) -> None:
        conditions = conditions or self.conditions
        word = node.text.casefold() if node.kind == "text" else ""
        if kind == "glow" or (not kind and word in GLOW and word not in ("yes", "no", "on", "off")):
            seen = self.cursor.choice(node, GLOW, "off")
            instrument = self.base.instrument or "test lamp"
            self._add("glow", node, a=a, b=b, seen=seen, instrument=instrument,
                      conditions=conditions)  # fmt: skip
            return
        if word in ("dead", "live", "proved dead"):
            self._add("proved dead", node, a=a, b=b, seen="live" if word == "live" else "dead",
                      conditions=conditions)  # fmt: skip
            return
        value = self._value(node, kind)
        if value is None:
            return
        if value.kind == "amps":
            self.cursor.note(node, "volts or ohms between two terminals; a current is a clamp's, "
                             "clamp: {L: 4 A}")  # fmt: skip
            return
        self._add(value.kind, node, a=a, b=b, **value.figure,
                  settled=self.base.settled and value.settled,
                  instrument=self.base.instrument or value.instrument,
                  conditions=conditions)  # fmt: skip

    def _clamp(self, what: str, node: Node) -> None:
        value = self._value(node, "amps")
        if value is None:
            return
        through: list[str] = []
        for word in what.split("+"):
            part = self._clamped(node, word.strip())
            if part is None:
                return
            through += part
        self._add("amps", node, conductors=tuple(through), **value.figure,
                  settled=self.base.settled and value.settled,
                  instrument=self.base.instrument or "clamp")  # fmt: skip

    def _clamped(self, node: Node, word: str) -> list[str] | None:
        """The parts a clamp is put round for one conductor, "-" before those run the other way."""
        paths = {p.name.casefold(): p.name for p in self.site.installation.paths}
        if word.casefold() in paths:
            return [f"path {paths[word.casefold()]}"]
        if word.casefold() in ("electrode", "rod"):
            return ["electrode"]
        if "device" in self.fields and (name := self._device()):
            return [f"pole {name} {CONDUCTORS.get(word.casefold(), word)}"]
        place = self.at or (self.circuit.board if self.circuit else next(iter(self.site.boards)))
        if place in self.site.boards and not (self.named and self.circuit):
            key = self.site.key(node, place, word)
            return [f"tail {place} {key}"] if key else None
        circuit = self.circuit
        if circuit is None or place not in (*self.site.points, circuit.board):
            self.cursor.note(node, "a clamp reading at a board or a point", place or "no place")
            return None
        return self._cores(node, circuit, place, word)

    def _cores(self, node: Node, circuit: Circuit, place: str, word: str) -> list[str] | None:
        key = CONDUCTORS.get(word.casefold(), word)
        if place == circuit.board and key not in [c.start for r in circuit.runs for c in r.cores]:
            key = {leg: mine for mine, leg in circuit.legs}.get(key, circuit.legs[0][0])
        elif place != circuit.board and (found := self.site.key(node, place, word)):
            key = found
        parts: list[str] = []
        for run in circuit.runs:
            for core in run.cores:
                if place == circuit.board and run.start == place and core.start == key:
                    parts.append(f"core {run.name} {core.start}")
                elif place == circuit.board and run.end == place and core.end == key:
                    parts.append(f"-core {run.name} {core.start}")
                elif place != circuit.board and run.end == place and core.end == key:
                    parts.append(f"core {run.name} {core.start}")
        if not parts:
            self.cursor.note(node, f"a conductor of {circuit.name}", word)
            return None
        return parts

    def _ring_ends(self, node: Node) -> tuple[Circuit, str, str] | None:
        """The ring meant, and its runs that leave and return to the board."""
        circuit = self.circuit
        ends = [] if circuit is None else [
            run.name for run in circuit.runs for place in (run.start, run.end)
            if place == circuit.board
        ]  # fmt: skip
        if circuit is None or circuit.shape != "ring" or len(ends) != 2:
            self.cursor.note(node, "a ring circuit; name it with circuit:",
                             circuit.name if circuit else "no circuit")  # fmt: skip
            return None
        return circuit, ends[0], ends[1]

    def _ring(self, node: Node) -> None:
        """End to end of each ring conductor, both ends out of their terminals at the board."""
        found = self._ring_ends(node)
        if found is None:
            return
        circuit, *ends = found
        keys = {"r1": "L", "rn": "N", "r2": "E", "l": "L", "n": "N", "e": "E"}
        for word, value in node.pairs:
            key = keys.get(word.casefold())
            if key is None:
                self.cursor.note(value, "r1, rn or r2", word)
                continue
            a, b = (node_name(circuit.board, key, run) for run in ends)
            self._number(value, a, b, "ohms", self._ends_out(circuit, ends, (key,)))

    def _ends_out(self, circuit: Circuit, ends: list[str], keys: tuple[str, ...]) -> Conditions:
        """Dead, with these conductors of a ring out of their terminals at the board."""
        lifted = tuple(f"joint {circuit.board} {key} {run}" for key in keys for run in ends)
        was = self.conditions
        return replace(was, lifted=(*was.lifted, *lifted), dead=True)

    def _ring_cross(self, node: Node) -> None:
        """Two conductors of a ring, each end joined to the other conductor's opposite end."""
        found = self._ring_ends(node)
        if found is None:
            return
        circuit, *ends = found
        place = self.at or circuit.board
        for port, value in node.pairs:
            sides = split_port(port) or ("", "")
            keys = tuple(CONDUCTORS.get(side.casefold(), "") for side in sides)
            if len(set(keys) & {"L", "N", "E"}) != 2:
                self.cursor.note(value, "two conductors of the ring: L-N or L-E", port)
                continue
            out = self._ends_out(circuit, ends, keys)
            one, two = ([node_name(circuit.board, k, run) for run in ends] for k in keys)
            crossed = replace(out, links=(*out.links, (one[0], two[1]), (one[1], two[0])))
            at = [self._end(value, side) for side in sides]
            if place == circuit.board:
                at = [one[0], two[0]]
            if all(at):
                self._number(value, str(at[0]), str(at[1]), "ohms", crossed)

    def _linked_at_board(self, node: Node, other: str) -> None:
        """Line and another conductor at the place, the two linked at the circuit's board."""
        circuit = self.circuit
        if circuit is None or not self._has_place(node):
            if circuit is None:
                self.cursor.note(node, "at: a point of one circuit, or circuit: its name",
                                 self.at or "no place")  # fmt: skip
            return
        line = circuit.legs[0][0]
        ends = [self._end(node, key) for key in (line, other)]
        there = [self.site.terminal(node, circuit.board, k, "", circuit) for k in (line, other)]
        if all(ends) and all(there):
            link = (str(there[0]), str(there[1]))
            was = self.conditions
            linked = replace(was, links=(*was.links, link), dead=True)
            self._number(node, str(ends[0]), str(ends[1]), "ohms", linked)

    def _polarity(self, node: Node) -> None:
        """Right: line to protective conductor reads low, linked at the board; wrong: not."""
        words = {"right": "under 5 ohm", "correct": "under 5 ohm", "wrong": "over 1 kohm",
                 "reversed": "over 1 kohm"}  # fmt: skip
        shown = self.cursor.choice(node, words, "")
        if shown:
            self._linked_at_board(replace(node, text=shown), "E")

    def _electrode(self, node: Node) -> None:
        """The electrode to true earth, with everything else off the main earthing terminal."""
        installation = self.site.installation
        if installation.supply.electrode_ohms is None:
            self.cursor.note(node, "an installation with an electrode", "none stated",
                             "supply: {electrode: unknown}")  # fmt: skip
            return
        here = {"origin.E"} | {f"{b.name}.E" for b in self.site.boards.values() if not b.fed_by}
        paths = (f"path {p.name}" for p in installation.paths if {p.a, p.b} & here)
        tails = (f"tail {name} E" for name, b in self.site.boards.items() if not b.fed_by)
        link = ("neutral-earth link",)
        own = {"TN-S": ("service E",), "TN-C-S": link, "TN-C": link}
        off = (*own.get(installation.supply.earthing, ()), *tails, *paths)
        was = self.conditions
        alone = replace(was, lifted=(*was.lifted, *off), dead=True)
        self._number(node, "origin.E", "earth", "ohms", alone)

    def _ramp(self, node: Node) -> None:
        device = self._device()
        value = self._value(node, "ramp")
        if device and value:
            self._add("ramp", node, of=device, **value.figure,
                      instrument=self.base.instrument or "ramp")  # fmt: skip
