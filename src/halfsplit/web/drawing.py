"""The ladder as rows a template can draw: rails in columns, a row for each place and each cable.

Nothing is decided here: states come from the solved circuit, words from the services.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from halfsplit.service import Break, Chain, Ladder, Link, Mark, Rung, rail_letter
from halfsplit.service.live import Matched

MOVED_VOLTS = 8.0
STATES = {"line": "at line", "earthed": "earthed", "between": "between", "floats": "floats"}


@dataclass(frozen=True, slots=True)
class Half:
    """Half a cell's rail: conductor key and how it is held; ``hurts`` hatches it."""

    key: str
    state: str
    hurts: bool


@dataclass(frozen=True, slots=True)
class Cell:
    """One column of one row. ``cross`` is where the rail is parted: top, middle or bottom."""

    upper: Half | None = None
    lower: Half | None = None
    cross: str = ""
    weak: bool = False
    node: bool = False


@dataclass(frozen=True, slots=True)
class Stand:
    """One conductor at a rung in words: letter, volts, how it is held, what would hurt."""

    letter: str
    key: str
    volts: str
    state: str
    moved: bool
    hurts: str


@dataclass(frozen=True, slots=True)
class Row:
    """A place (``place`` set) or the cable down to it (``length`` set).

    ``through`` are the rails that go on beside the branches that leave here.
    """

    cells: tuple[Cell, ...]
    through: tuple[Cell, ...] = ()
    place: str = ""
    kind: str = ""
    fitted: str = ""
    length: str = ""
    stands: tuple[Stand, ...] = ()
    readings: tuple[Matched, ...] = ()
    breaks: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()
    spurs: tuple[Column, ...] = ()
    pairs: tuple[tuple[str, str], ...] = ()
    anchor: str = ""

    @property
    def is_rung(self) -> bool:
        """Whether the row is a place."""
        return bool(self.place)


@dataclass(frozen=True, slots=True)
class Column:
    """One chain of rows with the letters that head its rails."""

    heads: tuple[tuple[str, str], ...]
    rows: tuple[Row, ...]
    returns: bool


@dataclass(frozen=True, slots=True)
class Drawing:
    """One circuit drawn: its head row at the board, then its columns."""

    circuit: str
    device: str
    order_known: bool
    open: bool
    columns: tuple[Column, ...]
    head: Row | None


@dataclass(slots=True)
class _Pen:
    region: str
    sound: Mapping[tuple[str, str], object]
    matched: dict[str, list[Matched]]
    circuit: str = ""
    anchors: dict[str, str] = field(default_factory=dict)


def drawings(
    ladders: Sequence[Ladder],
    matched: Sequence[Matched],
    sound: Mapping[tuple[str, str], object],
    region: str,
) -> tuple[Drawing, ...]:
    """Every circuit drawn; what was read on a board's shared parts stands at its first circuit."""
    by_place: dict[str, list[Matched]] = {}
    for item in matched:
        by_place.setdefault(item.told.place, []).append(item)
    pen = _Pen(region, sound, by_place)
    many = len(ladders) > 2
    found = []
    boards = set[str]()
    for ladder in ladders:
        pen.circuit = ladder.circuit
        columns = tuple(_column(chain, ladder.head, pen) for chain in ladder.chains)
        keys = columns[0].heads if columns else ()
        head = _rung_row(ladder.head, tuple(k for k, _ in keys), pen, first=True)
        own = (ladder.circuit,) if ladder.head.place in boards else (ladder.circuit, "")
        boards.add(ladder.head.place)
        head = replace(head, readings=tuple(m for m in head.readings if m.circuit in own))
        found.append(
            Drawing(
                ladder.circuit, ladder.device, ladder.order_known, ladder.drawn or not many,
                columns, head,
            )
        )  # fmt: skip
    return tuple(found)


def _column(chain: Chain, start: Rung, pen: _Pen) -> Column:
    keys = tuple(key for key in chain.keys)
    rows: list[Row] = []
    above = start
    for number, (link, rung) in enumerate(chain.steps, start=1):
        below = start if rung.kind == "return" else rung
        rows.append(_link_row(link, above, below, keys, pen))
        if rung.kind == "return":
            break
        row = _rung_row(rung, keys, pen)
        if number < len(chain.steps):
            onward = {a for a, _ in chain.steps[number][0].rails}
            halves = [_half(rung, key) if key in onward else None for key in keys]
            row = replace(row, through=tuple(Cell(half, half) for half in halves))
        rows.append(row)
        above = rung
    heads = tuple((key, rail_letter(key, pen.region)) for key in keys)  # type: ignore[arg-type]
    return Column(heads, tuple(rows), chain.returns)


def _half(rung: Rung, key: str) -> Half | None:
    mark = rung.mark(key)
    if mark is None:
        return None
    return Half(key, mark.held or "unknown", bool(mark.hurts))


def _link_row(link: Link, above: Rung, below: Rung, keys: tuple[str, ...], pen: _Pen) -> Row:
    uppers = {a for a, _ in link.rails}
    lowers = {b for _, b in link.rails}
    joined = dict(link.rails)
    cuts: dict[str, tuple[str, bool]] = {}
    for where, breaks in (
        ("top", link.leaving),
        ("middle", link.inside),
        ("bottom", link.arriving),
    ):
        for cut in breaks:
            cuts.setdefault(cut.key, (where, cut.ohms != float("inf")))
    cells = []
    for key in keys:
        upper = _half(above, key) if key in uppers else None
        lower = _half(below, key) if key in lowers else None
        end = joined.get(key, key)
        cross, weak = cuts.get(key, cuts.get(end, ("", False)))
        if upper is not None and end == key and cross == "top":
            upper = lower or upper
        if lower is not None and cross == "bottom":
            lower = upper or lower
        if upper is not None and lower is None and key in lowers:
            lower = Half(key, upper.state, upper.hurts)
        if lower is not None and upper is None and key in uppers:
            upper = Half(key, lower.state, lower.hurts)
        cells.append(Cell(upper, lower, cross, weak))
    changed = [f"{a} becomes {b}" for a, b in link.rails if a != b]
    words = "; ".join([link.length, *(_letters(text, pen) for text in changed)])
    return Row(tuple(cells), length=words, breaks=tuple(break_words(b) for b in _cuts(link)))


def _letters(text: str, pen: _Pen) -> str:
    return " ".join(
        rail_letter(word, pen.region) if word.isupper() else word  # type: ignore[arg-type]
        for word in text.split()
    )


def _cuts(link: Link) -> tuple[Break, ...]:
    return (*link.leaving, *link.inside, *link.arriving)


def break_words(cut: Break) -> str:
    """Where a rail is parted, with both terminals named, and by how much."""
    size = "open" if cut.ohms == float("inf") else f"{cut.ohms:.3g} Ω more"
    return f"{size}: between {cut.a} and {cut.b}"


def _rung_row(rung: Rung, keys: tuple[str, ...], pen: _Pen, first: bool = False) -> Row:
    cells = []
    for key in keys:
        half = _half(rung, key)
        cells.append(Cell(None if first else half, half, node=half is not None))
    stands = tuple(_stand(rung.place, mark, pen) for mark in rung.marks)
    readings = tuple(pen.matched.get(rung.place, ()))
    return Row(
        tuple(cells), (), rung.place, rung.kind, rung.fitted, stands=stands, readings=readings,
        breaks=tuple(break_words(b) for b in rung.breaks), faults=rung.faults,
        spurs=tuple(_column(chain, rung, pen) for chain in rung.spurs),
        pairs=pairs_of([m.key for m in rung.marks if m.key != "frame"], pen.region),
        anchor=anchor(pen.circuit, rung.place),
    )  # fmt: skip


def anchor(circuit: str, place: str) -> str:
    """An id for a rung that holds letters and digits only."""
    return "at-" + "-".join(f"{ord(c):x}" for c in f"{circuit}/{place}")[:120]


def pairs_of(keys: Sequence[str], region: str) -> tuple[tuple[str, str], ...]:
    """(pair of keys, pair of letters) for every two conductors of a place, travellers apart."""
    keys = [key for key in keys if not key.startswith("T")] or list(keys)
    return tuple(
        (f"{a}-{b}", f"{rail_letter(a, region)}–{rail_letter(b, region)}")  # type: ignore[arg-type]
        for i, a in enumerate(keys)
        for b in keys[i + 1 :]
    )


def _stand(place: str, mark: Mark, pen: _Pen) -> Stand:
    letter = "metalwork" if mark.key == "frame" else rail_letter(mark.key, pen.region)  # type: ignore[arg-type]
    before = pen.sound.get((place, mark.key))
    was_volts, was_held = getattr(before, "volts", None), getattr(before, "held", None)
    moved = mark.volts is not None and (
        was_volts is None or abs(mark.volts - was_volts) > MOVED_VOLTS or was_held != mark.held
    )
    volts = "" if mark.volts is None else f"{mark.volts:.0f} V"
    state = STATES.get(mark.held, "")
    if pen.region == "na":
        state = state.replace("earthed", "grounded").replace("at line", "at hot")
    return Stand(letter, mark.key, volts, state, moved, mark.hurts)
