"""A circuit's ladder as a drawing: one row for each place and each cable, rails beside them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from halfsplit.faults.words import joined, vocabulary
from halfsplit.quantity import ohms
from halfsplit.report.document import Drawing, Rail, RailState, Rung
from halfsplit.report.ladder import Break, Chain, Ladder, Link, ordered, rail_words
from halfsplit.report.ladder import Rung as Step
from halfsplit.report.readings import letter
from halfsplit.wiring.model import Installation

# Identification colours: HD 308 and IEC 60445 where three lines are brown, black and grey; North
# American and Australian ones as usual there (common practice).
_COLOURS = {
    "uk": {"L": "brown", "L1": "brown", "L2": "black", "L3": "grey", "N": "blue"},
    "na": {"L": "black", "L1": "black", "L2": "red", "L3": "blue", "N": "grey"},
}
_FITS = {"yes": "fits", "no": "does not fit", "slip": "taken for a slip"}


def drawing(
    ladder: Ladder, inst: Installation, after: Mapping[str, Sequence[str]], mended: bool = True
) -> Drawing:
    """The ladder of one circuit, with readings on their rungs and results ``after`` the mend.

    What the rails show is said in words too, on the rung where it begins.
    """
    keys = ordered({key for chain in ladder.chains for key in _keys(chain)})
    rails = tuple(_rail(key, inst) for key in keys)
    words = vocabulary(inst.region)
    pen = _Pen(keys, inst, after, mended)
    head = Rung(
        f"{ladder.head.place} ({words['board']}), {ladder.device}",
        tuple(pen.notes(ladder.head)),
        tuple("start" for _ in keys),
        place=True,
    )
    rows = [head]
    for chain in ladder.chains:
        rows += pen.rows(chain, 0, frozenset())
    known = "" if ladder.order_known else " (order of points not known)"
    return Drawing(f"Circuit {ladder.circuit}{known}", rails, tuple(rows))


def _keys(chain: Chain) -> set[str]:
    found = set(chain.keys)
    for _, step in chain.steps:
        for spur in step.spurs:
            found |= _keys(spur)
    return found


def _rail(key: str, inst: Installation) -> Rail:
    letter, words = rail_words(key, inst)
    colours = _COLOURS["na" if inst.region == "na" else "uk"]
    colour = "green" if key == "E" else colours.get(key, colours["L"])
    return Rail(letter, words, colour)


@dataclass(frozen=True, slots=True)
class _Pen:
    """Writes the rows of one ladder."""

    keys: Sequence[str]
    inst: Installation
    after: Mapping[str, Sequence[str]]
    mended: bool

    def letter(self, key: str) -> str:
        """What a rail is headed by."""
        return rail_words(key, self.inst)[0]

    def rows(self, chain: Chain, depth: int, free: frozenset[str]) -> Iterator[Rung]:
        """A chain's rows; ``free`` are the rails that hang free above it already."""
        for link, step in chain.steps:
            yield self.cable(link, depth)
            if step.kind == "return":
                here = {key for key, _ in link.rails}
                back: tuple[RailState, ...] = tuple("held" if k in here else "" for k in self.keys)
                yield Rung(f"back at {step.place}", (), back, place=True, depth=depth)
                continue
            states = tuple(_state(step, key) for key in self.keys)
            now = frozenset(k for k, s in zip(self.keys, states, strict=True) if s == "floats")
            new = [self.letter(key) for key in self.keys if key in now - free]
            hangs = (f"from here {joined(tuple(new))} hang{'s' * (len(new) == 1)} free",) * bool(
                new
            )
            free = now
            yield Rung(_named(step), (*hangs, *self.notes(step)), states, place=True, depth=depth)
            for spur in step.spurs:
                yield from self.rows(spur, min(depth + 1, 3), free)

    def cable(self, link: Link, depth: int) -> Rung:
        """The cable down to a place, with its breaks."""
        cuts = (*link.leaving, *link.inside, *link.arriving)
        broken = {cut.key for cut in cuts}
        present = {end for _, end in link.rails} | {start for start, _ in link.rails}
        states: tuple[RailState, ...] = tuple(
            "broken" if key in broken else "held" if key in present else "" for key in self.keys
        )
        return Rung(link.length, tuple(self.cut(cut) for cut in cuts), states, False, depth)

    def cut(self, cut: Break) -> str:
        """A break in words, both its terminals named."""
        size = "open" if math.isinf(cut.ohms) else f"{ohms(cut.ohms)} too much"
        return f"{self.letter(cut.key)} {size} between {cut.a} and {cut.b}"

    def notes(self, step: Step) -> Iterator[str]:
        """What stands at a place: what is fitted, what was wrong, read, dangerous, tested."""
        if step.fitted:
            yield f"fitted: {step.fitted}"
        for cut in step.breaks:
            yield self.cut(cut)
        yield from dict.fromkeys(step.faults)
        before = "before: " if self.mended else ""
        for note in step.notes:
            predicted = f", the cause found gives {note.predicted}" if note.predicted else ""
            fits = f" ({_FITS[note.fits]}{predicted})" if note.fits else ""
            yield f"{before}{note.told.line}{fits}"
        hurts: dict[str, list[str]] = {}
        for mark in step.marks:
            if mark.hurts:
                name = "the case" if mark.key == "frame" else letter(mark.key, self.inst.region)
                hurts.setdefault(mark.hurts, []).append(name)
        for words, names in hurts.items():
            when = "danger before the mend" if self.mended else "danger"
            yield f"{when}: {joined(tuple(names))} {words}"
        for line in self.after.get(step.place, ()):
            yield f"after: {line}"


def _state(step: Step, key: str) -> RailState:
    mark = step.mark(key)
    if mark is None:
        return ""
    if any(cut.key == key for cut in step.breaks):
        return "broken"
    return "floats" if mark.held == "floats" else "held"


def _named(step: Step) -> str:
    kind = "" if step.kind in ("socket", "") else f" ({step.kind})"
    return f"{step.place}{kind}"
