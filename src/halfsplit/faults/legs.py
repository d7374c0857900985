"""Lines mixed up at a board with several: a neutral on a line, a circuit on the high leg."""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.faults.crossings import parted, solid
from halfsplit.faults.fault import Family, Fault
from halfsplit.faults.grids import once
from halfsplit.faults.rates import rate
from halfsplit.faults.scene import Scene, make, survey
from halfsplit.wiring.intake import bar, board_lines
from halfsplit.wiring.model import Board, Circuit, Installation
from halfsplit.wiring.plan import Plan, node

HIGH_LEG = "L2"  # of a delta with one winding's middle earthed


def _boards(installation: Installation) -> Iterator[tuple[Board, Circuit, tuple[str, ...]]]:
    """Each circuit with its board and the lines there, where there are several."""
    boards = {board.name: board for board in installation.boards}
    for circuit in installation.circuits:
        lines = board_lines(installation, boards[circuit.board])
        if len(lines) > 1:
            yield boards[circuit.board], circuit, lines


def neutrals_on_lines(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each circuit's neutral on a line that is not its own: line-to-line volts at its points."""
    scene = survey(installation, plan)
    for board, circuit, lines in _boards(installation):
        joints = [
            j for run in circuit.runs for j in scene.landings.get((board.name, run.name), ())
            if j.conductor == "N"
        ]  # fmt: skip
        own = {leg for _, leg in circuit.legs}
        for line in lines if joints else ():
            if own == {line}:
                continue
            terminal = node(board.name, line)
            moved = [e for j in joints for e in (parted(j.id), solid(scene.sides(j)[0], terminal))]
            yield make(
                "neutral on a line", f"{circuit.name} on {line}", ("N", line), (board.name,),
                once("on a line", *moved), scene.weigh("neutral on a line", board.name),
                tuple(j.id for j in joints), circuit.name, place=board.name, own=circuit.name,
                a=scene.sides(joints[0])[0], b=terminal,
            )  # fmt: skip


def on_the_high_leg(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each single-line circuit of a high-leg supply, its device on the high leg."""
    if installation.supply.live != "high leg":
        return
    scene = survey(installation, plan)
    for board, circuit, lines in _boards(installation):
        if len(circuit.legs) > 1 or HIGH_LEG not in lines or circuit.legs[0][1] == HIGH_LEG:
            continue
        yield _on_high(scene, board, circuit)


def _on_high(scene: Scene, board: Board, circuit: Circuit) -> Fault:
    pole = scene.elements[f"pole {circuit.device.name} {circuit.legs[0][0]}"]
    terminal = bar(board, circuit.name, HIGH_LEG)
    return make(
        "on the high leg", circuit.name, (HIGH_LEG,), (board.name,),
        once("on the high leg", parted(pole.id), solid(terminal, pole.b)),
        scene.weigh("on the high leg", board.name), (pole.id,), circuit.name, place=board.name,
        own=circuit.name, a=terminal, b=pole.b,
    )  # fmt: skip


FAMILIES = (
    Family(
        "neutral on a line", "Neutral landed on a {line}",
        "At {place}, the neutral of {own} is on another {line}: {a} is on {b}.",
        rate("neutral on a line").words,
        ("same leg", "supply neutral lost", "crossed at run end"),
        "Before anything is plugged in: at a point, {line} to neutral reads what two {line}s read "
        "between them, and neutral to {earth} is live. Isolate, prove dead, look at the {board}.",
        "The neutral is put on its bar: polarity, every voltage, before any load goes back on.",
        neutrals_on_lines,
    ),
    Family(
        "on the high leg", "Circuit on the high leg",
        "At {place}, {own} is fed from {conductors}, the high leg.",
        rate("on the high leg").words, ("neutral on a line", "supply voltage"),
        "{line} to neutral at its points reads about 1.7 times what it should.",
        "The circuit is moved to another {line}: every voltage, before any load goes back on.",
        on_the_high_leg,
    ),
)  # fmt: skip
