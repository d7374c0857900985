"""A circuit's ladder as a drawing: one row for each place and each cable, rails beside them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

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


def drawing(ladder: Ladder, inst: Installation, after: Mapping[str, Sequence[str]]) -> Drawing:
    """The ladder of one circuit, with readings on their rungs and results ``after`` the mend."""
    keys = ordered({key for chain in ladder.chains for key in _keys(chain)})
    rails = tuple(_rail(key, inst) for key in keys)
    words = vocabulary(inst.region)
    head = Rung(
        f"{ladder.head.place} ({words['board']}), {ladder.device}",
        tuple(_notes(ladder.head, after, inst)),
        tuple("start" for _ in keys),
        place=True,
    )
    rows = [head]
    for chain in ladder.chains:
        rows += _rows(chain, keys, 0, after, inst)
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


def _rows(
    chain: Chain,
    keys: Sequence[str],
    depth: int,
    after: Mapping[str, Sequence[str]],
    inst: Installation,
) -> Iterator[Rung]:
    for link, step in chain.steps:
        yield _cable(link, keys, depth)
        if step.kind == "return":
            yield Rung(f"back at {step.place}", (), _present(keys, {k for k, _ in link.rails}),
                       place=True, depth=depth)  # fmt: skip
            continue
        states = tuple(_state(step, key) for key in keys)
        yield Rung(_named(step), tuple(_notes(step, after, inst)), states, place=True, depth=depth)
        for spur in step.spurs:
            yield from _rows(spur, keys, min(depth + 1, 3), after, inst)


def _present(keys: Sequence[str], here: set[str]) -> tuple[RailState, ...]:
    return tuple("held" if key in here else "" for key in keys)


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


def _cable(link: Link, keys: Sequence[str], depth: int) -> Rung:
    cuts = (*link.leaving, *link.inside, *link.arriving)
    broken = {cut.key for cut in cuts}
    present = {end for _, end in link.rails} | {start for start, _ in link.rails}
    states: tuple[RailState, ...] = tuple(
        "broken" if key in broken else "held" if key in present else "" for key in keys
    )
    return Rung(link.length, tuple(_cut_words(cut) for cut in cuts), states, False, depth)


def _cut_words(cut: Break) -> str:
    size = "open" if math.isinf(cut.ohms) else f"{ohms(cut.ohms)} too much"
    return f"{size} between {cut.a} and {cut.b}"


def _notes(step: Step, after: Mapping[str, Sequence[str]], inst: Installation) -> Iterator[str]:
    if step.fitted:
        yield f"fitted: {step.fitted}"
    for cut in step.breaks:
        yield _cut_words(cut)
    yield from step.faults
    for note in step.notes:
        predicted = f", the cause found gives {note.predicted}" if note.predicted else ""
        fits = f" ({_FITS[note.fits]}{predicted})" if note.fits else ""
        yield f"read: {note.told.line}{fits}"
    hurts: dict[str, list[str]] = {}
    for mark in step.marks:
        if mark.hurts:
            name = "the case" if mark.key == "frame" else letter(mark.key, inst.region)
            hurts.setdefault(mark.hurts, []).append(name)
    for words, names in hurts.items():
        yield f"danger before the mend: {joined(tuple(names))} {words}"
    for line in after.get(step.place, ()):
        yield f"after: {line}"
