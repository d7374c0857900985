"""The ladder as rows a template can draw: rails in columns, a row for each place and each cable.

Nothing is decided here: states come from the solved circuit, words from the services.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from halfsplit.service import Break, Chain, Ladder, Link, Mark, Rung, rail_letter
from halfsplit.service.live import Matched
from halfsplit.service.paths import Leg, Route
from halfsplit.web.threads import LINES, Threads, changed, threads

MOVED_VOLTS = 8.0
STATES = {"line": "at line", "earthed": "earthed", "between": "in between", "floats": "floats"}


@dataclass(frozen=True, slots=True)
class Half:
    """Half a cell's rail: conductor key and how it is held; ``hurts`` hatches it."""

    key: str
    state: str
    hurts: bool


@dataclass(frozen=True, slots=True)
class Cell:
    """One column of one row. ``cross`` is where the rail is parted: top, middle or bottom.

    ``above`` and ``below`` say which way the current drawn goes through each half: "down", "up",
    "" for none; ``probe`` marks a terminal the meter is on.
    """

    upper: Half | None = None
    lower: Half | None = None
    cross: str = ""
    weak: bool = False
    node: bool = False
    above: str = ""
    below: str = ""
    probe: bool = False


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

    ``through`` are the rails that go on beside the branches that leave here; ``current`` says in
    words which way the current drawn goes through a cable, or that the meter is on this place.
    """

    cells: tuple[Cell, ...]
    through: tuple[Cell, ...] = ()
    place: str = ""
    kind: str = ""
    fitted: str = ""
    length: str = ""
    current: str = ""
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
    board: str
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
    legs: Mapping[tuple[str, str], Leg]
    route: Route | None
    circuit: str = ""

    def letter(self, key: str) -> str:
        """The letter a conductor goes by in this region."""
        return rail_letter(key.rstrip("'"), self.region)  # type: ignore[arg-type]

    def probe(self, place: str, key: str) -> bool:
        """Whether the meter whose current is drawn is on that terminal."""
        return self.route is not None and (place, key) in self.route.ends

    def current(self, place: str) -> str:
        """What the current drawn does at a place, in words; "" for nothing worth saying."""
        if self.route is None:
            return ""
        on = [self.letter(key) for where, key in self.route.ends if where == place and key]
        said = [f"the meter is on {' and '.join(on)}"] if on else []
        said += [f"current through {w}" for where, w in self.route.passes if where == place]
        return "; ".join(said)

    def flow(self, link: Link, key: str) -> str:
        """Which way the current drawn goes through the core that starts as ``key``."""
        leg = self.legs.get((link.name, key))
        return "" if leg is None else "down" if leg.down else "up"


def drawings(
    ladders: Sequence[Ladder],
    matched: Sequence[Matched],
    sound: Mapping[tuple[str, str], object],
    region: str,
    route: Route | None = None,
) -> tuple[Drawing, ...]:
    """Every circuit drawn; what was read on a board's shared parts stands at its first circuit.

    ``route`` is the current to be drawn.
    """
    by_place: dict[str, list[Matched]] = {}
    for item in matched:
        by_place.setdefault(item.told.place, []).append(item)
    legs = {(leg.run, leg.key): leg for leg in route.legs} if route else {}
    pen = _Pen(region, sound, by_place, legs, route)
    many = len(ladders) > 2
    found = []
    boards = set[str]()
    for ladder in ladders:
        pen.circuit = ladder.circuit
        columns = tuple(_column(chain, ladder.head, pen) for chain in ladder.chains)
        head = _head_row(ladder, pen)
        own = (ladder.circuit,) if ladder.head.place in boards else (ladder.circuit, "")
        boards.add(ladder.head.place)
        head = replace(head, readings=tuple(m for m in head.readings if m.circuit in own))
        shown = ladder.drawn or not many or bool(_runs_of(ladder.chains) & {r for r, _ in legs})
        found.append(
            Drawing(
                ladder.circuit, ladder.head.place, ladder.device, ladder.order_known, shown,
                columns, head,
            )
        )  # fmt: skip
    return tuple(found)


def _runs_of(chains: Sequence[Chain]) -> set[str]:
    """The names of every run of some chains and of the branches that leave them."""
    found = {link.name for chain in chains for link, _ in chain.steps}
    for chain in chains:
        for _, rung in chain.steps:
            found |= _runs_of(rung.spurs)
    return found


def _head_row(ladder: Ladder, pen: _Pen) -> Row:
    """The board's row above a circuit's first column, whose rails begin here."""
    if not ladder.chains or not ladder.chains[0].steps:
        return _rung_row(ladder.head, (), {}, pen)
    chain = ladder.chains[0]
    found = threads(chain)
    link = chain.steps[0][0]
    keys = found.upper[0]
    row = _rung_row(ladder.head, found.columns, keys, pen)
    cells = tuple(
        replace(cell, upper=None, above="", below=pen.flow(link, keys.get(column, "")))
        for column, cell in zip(found.columns, row.cells, strict=True)
    )
    return replace(row, cells=cells)


def _column(chain: Chain, start: Rung, pen: _Pen) -> Column:
    found = threads(chain)
    rows: list[Row] = []
    above = start
    for number, (link, rung) in enumerate(chain.steps):
        below = start if rung.kind == "return" else rung
        rows.append(_link_row(link, above, below, found, number, pen))
        if rung.kind == "return":
            break
        rows.append(_place_row(chain, found, number, pen))
        above = rung
    heads = tuple((column.rstrip("'"), pen.letter(column)) for column in found.columns)
    return Column(heads, tuple(rows), chain.returns)


def _place_row(chain: Chain, found: Threads, number: int, pen: _Pen) -> Row:
    """A place on its column, with the current that comes to it and goes on from it."""
    link, rung = chain.steps[number]
    onward = number + 1 < len(chain.steps)
    row = _rung_row(rung, found.columns, found.here[number], pen)
    cells, through = [], []
    for column, cell in zip(found.columns, row.cells, strict=True):
        goes_on = onward and column in found.upper[number + 1]
        comes = column in found.lower[number]
        flow = pen.flow(link, found.upper[number].get(column, ""))
        next_flow = ""
        if goes_on:
            next_flow = pen.flow(chain.steps[number + 1][0], found.upper[number + 1][column])
        upper = cell.upper if comes else None
        lower = cell.lower if goes_on else None
        cells.append(replace(cell, upper=upper, lower=lower, above=flow, below=next_flow))
        half = cell.lower if goes_on else None
        through.append(Cell(half, half, above=next_flow, below=next_flow))
    return replace(row, cells=tuple(cells), through=tuple(through) if onward else ())


def _half(rung: Rung, key: str) -> Half | None:
    mark = rung.mark(key)
    if mark is None:
        return None
    return Half(key, mark.held or "unknown", bool(mark.hurts))


def _link_row(link: Link, above: Rung, below: Rung, found: Threads, number: int, pen: _Pen) -> Row:
    uppers, lowers = found.upper[number], found.lower[number]
    cuts: dict[str, tuple[str, bool]] = {}
    for where, breaks in (
        ("top", link.leaving),
        ("middle", link.inside),
        ("bottom", link.arriving),
    ):
        for cut in breaks:
            cuts.setdefault(cut.key, (where, cut.ohms != float("inf")))
    cells, flows = [], []
    for column in found.columns:
        a, b = uppers.get(column, ""), lowers.get(column, "")
        if not a:
            cells.append(Cell())
            continue
        upper, lower = _half(above, a), _half(below, b)
        cross, weak = cuts.get(a, cuts.get(b, ("", False)))
        if upper is not None and a == b and cross == "top":
            upper = lower or upper
        if lower is not None and cross == "bottom":
            lower = upper or lower
        key = column.rstrip("'")
        upper, lower = _coloured(upper or lower, key), _coloured(lower or upper, key)
        flow = pen.flow(link, a)
        if flow:
            flows.append(f"{pen.letter(a)} {flow}")
        cells.append(Cell(upper, lower, cross, weak, above=flow, below=flow))
    words = "; ".join([
        link.length,
        *(f"{pen.letter(a)} becomes {pen.letter(b)}" for a, b in changed(link)),
    ])  # fmt: skip
    return Row(
        tuple(cells), length=words, breaks=tuple(break_words(b) for b in _cuts(link)),
        current=", ".join(flows),
    )  # fmt: skip


def _coloured(half: Half | None, key: str) -> Half | None:
    """A rail keeps the colour of its column, whatever its terminals are called."""
    return None if half is None else replace(half, key=key)


def _cuts(link: Link) -> tuple[Break, ...]:
    return (*link.leaving, *link.inside, *link.arriving)


def break_words(cut: Break) -> str:
    """Where a rail is parted, with both terminals named, and by how much."""
    size = "open" if cut.ohms == float("inf") else f"{cut.ohms:.3g} Ω more"
    return f"{size}: between {cut.a} and {cut.b}"


def _rung_row(rung: Rung, columns: Sequence[str], keys: Mapping[str, str], pen: _Pen) -> Row:
    cells = []
    for column in columns:
        key = keys.get(column, "")
        half = _coloured(_half(rung, key), column.rstrip("'"))
        probe = pen.probe(rung.place, key)
        cells.append(Cell(half, half, node=half is not None, probe=probe))
    columns_of = {key: column for column, key in keys.items()}
    stands = tuple(
        _stand(rung.place, mark, columns_of.get(mark.key, mark.key), pen)
        for mark in rung.marks
        if mark.volts is not None or mark.hurts
    )
    return Row(
        tuple(cells), (), rung.place, rung.kind, rung.fitted, stands=stands,
        readings=tuple(pen.matched.get(rung.place, ())),
        breaks=tuple(break_words(b) for b in rung.breaks), faults=rung.faults,
        spurs=tuple(_column(chain, rung, pen) for chain in rung.spurs),
        pairs=pairs_of([m.key for m in rung.marks if m.key != "frame"], pen.region),
        anchor=anchor(pen.circuit, rung.place), current=pen.current(rung.place),
    )  # fmt: skip


def anchor(circuit: str, place: str) -> str:
    """An id for a rung that holds letters and digits only."""
    return "at-" + "-".join(f"{ord(c):x}" for c in f"{circuit}/{place}")[:120]


def pairs_of(keys: Sequence[str], region: str) -> tuple[tuple[str, str], ...]:
    """(pair of keys, pair of letters) for every two conductors of a place, travellers apart.

    The pairs that are taken first stand first: each line to the neutral, then to earth.
    """
    keys = [key for key in keys if not key.startswith("T")] or list(keys)
    every = [(a, b) for i, a in enumerate(keys) for b in keys[i + 1 :]]
    every.sort(key=lambda pair: (pair[0] != keys[0], pair[1] not in ("N", "E"), pair[1] == "E"))
    return tuple(
        (f"{a}-{b}", f"{rail_letter(a, region)}–{rail_letter(b, region)}")  # type: ignore[arg-type]
        for a, b in every
    )


def _stand(place: str, mark: Mark, column: str, pen: _Pen) -> Stand:
    letter = "metalwork" if mark.key == "frame" else pen.letter(mark.key)
    if mark.key != column and {mark.key, column} <= LINES:
        letter += f" ({pen.letter(column)})"
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
