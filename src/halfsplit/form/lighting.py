"""Lighting circuits: looped line at the ceiling or at the switch; one-way, two-way, intermediate.

Conductors at a light are L, N, E where the feed is looped there, and SL, its switched line. A
two-way pair has L and the strappers T1 and T2 at one end, T1, T2 and SL at the other; an
intermediate switch takes T1 and T2 in and T3 and T4 out. With the feed at the ceiling the switched
line comes back beside the strappers.
"""

from __future__ import annotations

from itertools import pairwise

from halfsplit.form.chains import Chains, Step
from halfsplit.form.tree import Node
from halfsplit.form.words import ACCESS, CARRIES, POINT_KINDS
from halfsplit.quantity import parse_length
from halfsplit.wiring.model import About, Contact, Core, Switch

_WAYS = ("up", "down")


class Lighting:
    """Reads one lighting chain into the expander's drafts and runs."""

    def __init__(self, expander: Chains) -> None:
        self.x = expander
        self.cursor = expander.cursor
        self.at_switch = expander.region in ("eu", "na")

    def read(self, node: Node, fields: dict[str, Node]) -> None:
        """Lengths and lights in turn from the board."""
        if "looped at" in fields:
            words = {
                "ceiling": "ceiling",
                "light": "ceiling",
                "rose": "ceiling",
                "switch": "switch",
            }
            self.at_switch = self.cursor.choice(fields["looped at"], words, "ceiling") == "switch"
        if node.kind != "list":
            self.cursor.note(node, "lengths and lights in turn, each on its own line")
            return
        here = self.x.board
        waiting: Step | None = None
        for item in node.items:
            leg = self.x.leg(item)
            if leg is not None:
                if waiting is not None:
                    self.cursor.note(item, "a light between two lengths")
                waiting = leg
                continue
            fed = self._light(here, waiting, item)
            here, waiting = fed or here, None
        if waiting is not None:
            self.cursor.note(waiting.node, "a light after the last length")

    def _light(self, here: str, leg: Step | None, item: Node) -> str | None:
        """One light with its switches; the place the feed goes on from."""
        name, detail = item.text, None
        if item.kind == "map" and len(item.pairs) == 1:
            name, detail = item.pairs[0]
        elif item.kind != "text":
            self.cursor.note(item, "a light's name, alone or with its details")
            return None
        detailed = detail is not None and detail.kind == "map"
        fields = self.cursor.fields(detail, "light") if detail is not None and detailed else {}
        light = self.x.declare(item, name, "light")
        if light is None:
            return None
        draft = self.x.drafts[light]
        if detail is not None and detail.kind == "text":
            draft.loads.append(detail)
        self._fitted(light, fields)
        switches = self._switches(fields)
        drops = self._drops(fields, len(switches))
        first = switches[0] if switches and self.at_switch else light
        self._feed(here, leg, first, item)
        if switches:
            self._wire(light, switches, drops, item, fields)
        for extra in ("more lights",) if "more lights" in fields else ():
            self._more(light, fields[extra], bool(switches))
        return first

    def _fitted(self, light: str, fields: dict[str, Node]) -> None:
        draft = self.x.drafts[light]
        if "kind" in fields:
            draft.kind = self.cursor.choice(fields["kind"], POINT_KINDS, "light")
        if "access" in fields:
            draft.access = self.cursor.choice(fields["access"], ACCESS, "")
        if "carries" in fields:
            draft.carries = self.cursor.choice(fields["carries"], CARRIES, "accessory")
        if "history" in fields:
            draft.history += self.cursor.history(fields["history"])
        if "lamp" in fields:
            draft.loads.append(fields["lamp"])

    def _switches(self, fields: dict[str, Node]) -> list[str]:
        if "switched by" not in fields:
            return []
        node = fields["switched by"]
        if node.kind == "text" and node.text.casefold() in ("nothing", "none"):
            return []
        found = [self.x.declare(item, item.text, "switch") for item in self.cursor.texts(node)]
        return [name for name in found if name]

    def _drops(self, fields: dict[str, Node], count: int) -> list[About]:
        """Lengths from light to switch, switch to switch (and switch to light)."""
        given = self.cursor.texts(fields["drops"]) if "drops" in fields else ()
        if len(given) > count:
            self.cursor.note(fields["drops"], f"at most {count} lengths, one for each switch")
        found = [self.cursor.about(n, parse_length, self.x.unknown, high=2000.0) for n in given]
        return (found + [self.x.unknown] * count)[:count]

    def _feed(self, here: str, leg: Step | None, place: str, item: Node) -> None:
        keys = [*self.x.lines, *self.x.tail]
        self._run(here, place, leg, item, [(key, key) for key in keys])

    def _run(
        self, here: str, place: str, leg: Step | About | None, node: Node,
        pairs: list[tuple[str, str]],
    ) -> None:  # fmt: skip
        if isinstance(leg, Step):
            step = Step(leg.length, place, node, leg.cabling, leg.name, leg.exposed,
                        leg.temperature)  # fmt: skip
        else:
            step = Step(leg or self.x.unknown, place, node, self.x.cabling)
        cores: list[Core] = [step.cabling.core(a, b) for a, b in pairs]
        self.x.lay(here, step, cores)

    def _wire(
        self, light: str, switches: list[str], drops: list[About], node: Node,
        fields: dict[str, Node],
    ) -> None:  # fmt: skip
        """Cores between light and switches, and what each switch joins."""
        earth = [("E", "E")] if "E" in self.x.tail else []
        neutral = [("N", "N")] if self.at_switch and "N" in self.x.tail else []
        back = [] if self.at_switch else [("SL", "SL")]
        lengths = list(drops)
        if not self.at_switch:
            self._run(light, switches[0], lengths.pop(0), node,
                      [("L", "L"), ("SL", "SL"), *earth])  # fmt: skip
        for k, (a, b) in enumerate(pairwise(switches)):
            out = ("T3", "T4") if k else ("T1", "T2")
            self._run(a, b, lengths.pop(0), node,
                      [(out[0], "T1"), (out[1], "T2"), *back, *neutral, *earth])  # fmt: skip
        if self.at_switch:
            self._run(switches[-1], light, lengths.pop(0), node,
                      [("SL", "SL"), *neutral, *earth])  # fmt: skip
        self._contacts(switches, node, fields)

    def _contacts(self, switches: list[str], node: Node, fields: dict[str, Node]) -> None:
        positions = self.cursor.words(fields["positions"]) if "positions" in fields else ()
        for k, name in enumerate(switches):
            if len(switches) == 1:
                states: tuple[str, ...] = ("on", "off")
                contacts: tuple[Contact, ...] = (Contact("L", "SL", ("on",)),)
            else:
                states = _WAYS
                contacts = _two_way(first=k == 0, last=k == len(switches) - 1)
            stands = positions[k] if k < len(positions) else states[0]
            if stands not in states:
                self.cursor.note(
                    fields.get("positions", node), "one of " + ", ".join(states), stands
                )
                stands = states[0]
            draft = self.x.drafts[name]
            draft.access = draft.access or "cover"
            draft.made.append(Switch(name, contacts, states, stands))

    def _more(self, light: str, node: Node, switched: bool) -> None:
        """Further lights on the same switched line."""
        here = light
        key = "SL" if switched else "L"
        for step in self.x.chain(node, light, kind="light"):
            tail = [(k, k) for k in self.x.tail]
            self._run(here, step.place, step, step.node, [(key, key), *tail])
            here = step.place


def _two_way(first: bool, last: bool) -> tuple[Contact, ...]:
    if first:
        return Contact("L", "T1", ("up",)), Contact("L", "T2", ("down",))
    if last:
        return Contact("T1", "SL", ("up",)), Contact("T2", "SL", ("down",))
    return (
        Contact("T1", "T3", ("up",)), Contact("T2", "T4", ("up",)),
        Contact("T1", "T4", ("down",)), Contact("T2", "T3", ("down",)),
    )  # fmt: skip
