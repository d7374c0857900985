"""Other sources than the supply: solar, generators, batteries, a lead from another board.

Each stands behind its own isolation point at a board. What feeds alone has a neutral of its own,
linked to the board's earth; a supply from next door is earthed there, not here.
"""

from __future__ import annotations

from halfsplit.wiring.intake import board_lines, stamp_pole
from halfsplit.wiring.model import Board, Device, Installation, Source
from halfsplit.wiring.plan import EARTH, Element, node
from halfsplit.wiring.sheet import LINK_OHMS, Sheet, phasors

FOREIGN_EARTH_OHMS = 5.0  # the other supply's own electrode: common practice


def stamp_sources(sheet: Sheet, installation: Installation) -> None:
    """Every other source with its isolation point, on the bars of its board."""
    for source in installation.sources:
        board = next(b for b in installation.boards if b.name == source.board)
        ends = _ends(sheet, installation, source, board)
        device = Device(source.isolator, "switch", 63.0, "", poles=tuple(ends), closed=source.on)
        for key, end in ends.items():
            stamp_pole(sheet, device, key, end, node(board.name, key), board.name, "")


def _ends(sheet: Sheet, installation: Installation, source: Source, board: Board) -> dict[str, str]:
    """By conductor, the node that its isolation point joins to the board's bar."""
    keys = (*board_lines(installation, board), "N")
    if source.kind == "lead":
        there = next(b for b in installation.boards if b.name == source.from_board)
        keys = tuple(k for k in keys if k in (*board_lines(installation, there), "N"))
        for key in keys:
            _series(sheet, source, key, node(there.name, key), _at(source, key))
        return {key: _at(source, key) for key in keys}
    main = board.main.name if source.kind == "follows" else ""  # it stops when that is off
    volts = phasors(installation.supply)
    own = _at(source, "N", "emf")
    _series(sheet, source, "N", own, _at(source, "N"))
    for key in keys[:-1]:
        emf = _at(source, key, "emf")
        sheet.add(Element(
            f"source {source.name} {key}", "source", own, emf, key, (board.name,), 0.0,
            emf=volts[_leg(installation, board, key)], control=main,
        ))  # fmt: skip
        _series(sheet, source, key, emf, _at(source, key))
    _earth(sheet, source, board)
    return {key: _at(source, key) for key in keys}


def _earth(sheet: Sheet, source: Source, board: Board) -> None:
    """What holds a source's own neutral: a link to the board's earth, or earth where it is."""
    own = _at(source, "N", "emf")
    if source.kind == "foreign":
        sheet.add(Element(f"electrode {source.name}", "electrode", own, EARTH, "E", ("source",),
                          FOREIGN_EARTH_OHMS))  # fmt: skip
    elif source.kind == "island" and source.links_neutral:
        sheet.add(Element(f"link {source.name}", "link", own, node(board.name, "E"), "E",
                          (board.name,), LINK_OHMS))  # fmt: skip


def _leg(installation: Installation, board: Board, key: str) -> str:
    """The supply's line that a board's line is."""
    while board.fed_by:
        feeder = installation.circuit(board.fed_by)
        key = dict(feeder.legs)[key]
        board = next(b for b in installation.boards if b.name == feeder.board)
    return key


def _at(source: Source, key: str, part: str = "") -> str:
    return node(f"{source.name} source", key, part)


def _series(sheet: Sheet, source: Source, key: str, a: str, b: str) -> None:
    sheet.add(Element(
        f"lead {source.name} {key}", "lead", a, b, key, (source.board,), source.ohms.value,
        spread=source.ohms.spread,
    ))  # fmt: skip
