"""The ladder drawn with characters: rails from the board down, one rung for each place."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from rich.text import Text

from halfsplit.cli.palette import rail_style
from halfsplit.quantity import ohms, volts
from halfsplit.service import Break, Chain, Ladder, Link, Mark, Note, Region, Rung, rail_letter

STEP = 3  # columns from one rail to the next
OPEN_FROM_OHMS = 1e6
HELD, FREE, FLOATS, HURTS, CUT, TIRED = "●", "○", "┊", "▒", "✕", "≈"
LEGEND = {
    HELD: "held",
    FLOATS: "floats",
    HURTS: "may hurt, if not by this cause then by another",
    CUT: "broken",
    TIRED: "bad joint",
}


@dataclass(slots=True)
class _Rails:
    """The rails of one chain as they stand now: by key, dashed or not, there or not."""

    keys: tuple[str, ...]
    there: set[str] = field(default_factory=set)
    dashed: set[str] = field(default_factory=set)

    def cells(self, region: Region, at: dict[str, tuple[str, str]] | None = None) -> Text:
        """One line of rails; ``at`` puts (character, style) on some of them."""
        line = Text()
        for key in self.keys:
            style = rail_style(key, region)
            char = ("┊" if key in self.dashed else "┃") if key in self.there else " "
            if at and key in at:
                char, style = at[key][0], at[key][1] or style
            line.append(char.ljust(STEP), style)
        return line


@dataclass(slots=True)
class _Pen:
    region: Region
    width: int
    outer: list[_Rails] = field(default_factory=list)
    used: set[str] = field(default_factory=set)

    def lines(
        self, rails: _Rails, cells: Text, words: Text, hang: int = 0, right: Text | None = None
    ) -> Iterator[Text]:
        """A line of rails with words beside it, the rails going on beside what wraps.

        ``right`` stands at the right edge, on the last line where there is room for it.
        """
        before = Text("  ")
        for outer in self.outer:
            before.append_text(outer.cells(self.region))
        room = max(24, self.width - before.cell_len - cells.cell_len)
        parts = _wrapped(words, room, hang)
        if right is not None and right.plain:
            parts = _beside(parts, right, room)
        for number, part in enumerate(parts):
            line = before.copy()
            line.append_text(cells if number == 0 else rails.cells(self.region))
            line.append_text(part)
            line.rstrip()
            yield line


def _beside(parts: list[Text], right: Text, room: int) -> list[Text]:
    gap = room - parts[-1].cell_len - right.cell_len
    if gap >= 2:
        last = parts[-1].copy().append(" " * gap).append_text(right)
        return [*parts[:-1], last]
    if right.cell_len <= room:
        return [*parts, Text(" " * (room - right.cell_len)).append_text(right)]
    return [*parts, *(Text("    ").append_text(x) for x in _wrapped(right, room - 4, 0))]


def _wrapped(words: Text, room: int, hang: int) -> list[Text]:
    from rich.console import Console

    console = Console(width=room)
    first = words.wrap(console, room)
    if len(first) <= 1 or not hang:
        return list(first) or [Text()]
    head = first[0]
    rest = words[len(head.plain) :]
    rest = Text(rest.plain.lstrip(), end="") if not rest.spans else _stripped(rest)
    more = rest.wrap(console, room - hang)
    return [head, *(Text(" " * hang).append_text(part) for part in more)]


def _stripped(text: Text) -> Text:
    gone = len(text.plain) - len(text.plain.lstrip())
    return text[gone:]


def draw(ladder: Ladder, region: Region, width: int) -> tuple[list[Text], set[str]]:
    """The lines of one circuit's ladder, and which signs of ``LEGEND`` it used."""
    pen = _Pen(region, width)
    title = Text(ladder.circuit, "heading").append(f", {ladder.device}", "quiet")
    if not ladder.order_known:
        title.append(", order of points not known", "quiet")
    told = Text("as the leading suspect has it", "quiet")
    gap = width - title.cell_len - told.cell_len
    found = [title.append(" " * gap).append_text(told) if gap > 1 else title]
    for number, chain in enumerate(ladder.chains):
        found += _chain(pen, chain, ladder.head if number == 0 else None, "")
    return found, pen.used


def _chain(pen: _Pen, chain: Chain, head: Rung | None, title: str) -> Iterator[Text]:
    first = {key for key, _ in chain.steps[0][0].rails} if chain.steps else set(chain.keys)
    rails = _Rails(chain.keys, set(first))
    letters = {
        key: (rail_letter(key, pen.region), "") if key in first else (" ", "") for key in chain.keys
    }
    yield from pen.lines(rails, _letters(rails, letters, pen), Text(title, "quiet"))
    if head is not None:
        yield from _rung(pen, rails, head)
    for link, rung in chain.steps:
        yield from _link(pen, rails, link, rung, letters)
        yield from _rung(pen, rails, rung)
        last = rung is chain.steps[-1][1]
        if last:
            rails.there.clear()
        for spur in rung.spurs:
            pen.outer.append(rails)
            name = f"from {rung.place}"
            yield from _chain(pen, spur, None, name)
            pen.outer.pop()


def _letters(rails: _Rails, letters: dict[str, tuple[str, str]], pen: _Pen) -> Text:
    line = Text()
    for key in rails.keys:
        line.append(letters[key][0].ljust(STEP), rail_style(key, pen.region))
    return line


def _link(
    pen: _Pen, rails: _Rails, link: Link, rung: Rung, letters: dict[str, tuple[str, str]]
) -> Iterator[Text]:
    """The cable down to a rung, with what is broken on the way."""
    starts, ends = {a for a, _ in link.rails}, {b for _, b in link.rails}
    new = {key for key in starts if key not in rails.there and letters[key][0] == " "}
    rails.there = set(starts)
    if new:
        for key in new:
            letters[key] = (rail_letter(key, pen.region), "")
        shown = {key: letters[key] for key in new}
        yield from pen.lines(rails, rails.cells(pen.region, shown), Text())
    yield from _breaks(pen, rails, link.leaving, rung)
    yield from pen.lines(rails, rails.cells(pen.region), Text(link.length, "quiet"))
    yield from _breaks(pen, rails, link.inside, rung)
    yield from _breaks(pen, rails, link.arriving, rung)
    rails.there = set(ends)
    for key in ends:
        _settle(rails, key, rung.mark(key))


def _settle(rails: _Rails, key: str, mark: Mark | None) -> None:
    """Dash a rail that floats from here on."""
    if mark is not None and mark.held == "floats":
        rails.dashed.add(key)
    elif mark is not None and mark.held:
        rails.dashed.discard(key)


def _breaks(pen: _Pen, rails: _Rails, breaks: Sequence[Break], rung: Rung) -> Iterator[Text]:
    for cut in breaks:
        if cut.key not in rails.keys:
            continue
        opened = cut.ohms >= OPEN_FROM_OHMS
        sign = CUT if opened else TIRED
        pen.used.add(sign)
        if opened:
            gap = rails.cells(pen.region, {cut.key: ("╵", "")})
            yield from pen.lines(rails, gap, Text())
        at = {cut.key: (sign, "break")}
        cells = rails.cells(pen.region, at)
        _settle(rails, cut.key, rung.mark(cut.key))
        yield from pen.lines(rails, cells, _break_words(pen, cut), 2)


def _break_words(pen: _Pen, cut: Break) -> Text:
    how = "broken" if cut.ohms >= OPEN_FROM_OHMS else f"{ohms(cut.ohms)} added"
    words = Text(f"{rail_letter(cut.key, pen.region)} {how}", "break")
    return words.append(f" between {cut.a} and {cut.b}")


def _rung(pen: _Pen, rails: _Rails, rung: Rung) -> Iterator[Text]:
    if rung.kind == "return":
        cells = _row(pen, rails, dict.fromkeys(rails.there, (HELD, "")))
        yield from pen.lines(rails, cells, Text(f"back to {rung.place}", "place"))
        return
    signs = {}
    for mark in rung.marks:
        if mark.key in rails.keys:
            sign, style = _sign(mark)
            pen.used |= {sign} - {FREE}
            if mark.held == "floats":
                pen.used.add(FLOATS)
            signs[mark.key] = (sign, style)
    words = Text(rung.place, "place")
    if rung.fitted:
        words.append(f" ({rung.fitted})", "quiet")
    yield from pen.lines(rails, _row(pen, rails, signs), words, 2, _stands(pen, rung))
    for cut in rung.breaks:
        words = Text(f"{CUT} ", "break").append_text(_break_words(pen, cut))
        yield from pen.lines(rails, rails.cells(pen.region), Text("  ").append_text(words), 4)
    for fault in rung.faults:
        words = Text(f"  {CUT} {fault}", "break")
        yield from pen.lines(rails, rails.cells(pen.region), words, 4)
    for note in rung.notes:
        yield from _note(pen, rails, note)


def _sign(mark: Mark) -> tuple[str, str]:
    if mark.hurts:
        return HURTS, "hurts"
    return (FREE, "") if mark.held == "floats" else (HELD, "")


def _row(pen: _Pen, rails: _Rails, signs: dict[str, tuple[str, str]]) -> Text:
    """A rung: signs on the rails that end here, joined by a line across."""
    on = [k for k, key in enumerate(rails.keys) if key in signs]
    line = Text()
    for k, key in enumerate(rails.keys):
        style = rail_style(key, pen.region)
        char = ("┊" if key in rails.dashed else "┃") if key in rails.there else " "
        if key in signs:
            char, style = signs[key][0], signs[key][1] or style
        inside = bool(on) and on[0] <= k < on[-1]
        if char == " " and bool(on) and on[0] < k < on[-1]:
            char, style = "─", "quiet"
        line.append(char, style)
        line.append(("─" if inside else " ") * (STEP - 1), "quiet")
    return line


def _stands(pen: _Pen, rung: Rung) -> Text:
    """Where each conductor stands at a rung."""
    words = Text()
    marks = [mark for mark in rung.marks if mark.volts is not None]
    earth, frame = rung.mark("E"), rung.mark("frame")
    together = _alike(earth, frame)
    if together and frame:
        marks.remove(frame)
    for number, mark in enumerate(marks):
        words.append("  " if number else "")
        words.append_text(_mark_words(pen, mark, together and mark.key == "E"))
    return words


def _alike(earth: Mark | None, frame: Mark | None) -> bool:
    """Whether the metalwork stands where the protective conductor does."""
    if earth is None or frame is None or earth.volts is None or frame.volts is None:
        return False
    same = (earth.held, bool(earth.hurts)) == (frame.held, bool(frame.hurts))
    return same and abs(earth.volts - frame.volts) < 0.5


def _mark_words(pen: _Pen, mark: Mark, with_case: bool = False) -> Text:
    name = "case" if mark.key == "frame" else rail_letter(mark.key, pen.region)
    if with_case:
        name = f"{name}, case"
    assert mark.volts is not None
    shown = volts(round(mark.volts, 1) if mark.volts < 10 else round(mark.volts))
    floats = " floats" if mark.held == "floats" else ""
    if mark.hurts:
        return Text(f"{HURTS}{name}\u00a0{shown}{floats}".replace(" ", "\u00a0"), "hurts")
    return Text(f"{name} {shown}{floats}".replace(" ", "\u00a0"), "quiet" if not floats else "")


def _note(pen: _Pen, rails: _Rails, note: Note) -> Iterator[Text]:
    verdict, style = {
        "yes": ("fits", "good"),
        "no": ("does not fit", "bad"),
        "slip": ("a slip?", "bad"),
    }[note.fits]
    if note.predicted:
        verdict = f"{note.predicted}, {verdict}"
    right = Text(verdict, style)
    yield from pen.lines(rails, rails.cells(pen.region), Text(f"  {note.told.line}"), 4, right)
