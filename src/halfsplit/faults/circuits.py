"""Between circuits and at the board: neutrals borrowed or joined, ways and bars mixed up."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, permutations

from halfsplit.faults.crossings import parted, solid
from halfsplit.faults.fault import Family, Fault, Severity
from halfsplit.faults.grids import either, once
from halfsplit.faults.rates import rate
from halfsplit.faults.scene import LIVE_KEYS, Scene, isolate, make, survey
from halfsplit.wiring.effects import Bridged, Effect
from halfsplit.wiring.model import Circuit, Installation, Point
from halfsplit.wiring.plan import Element, Plan, node


def _live(point: Point) -> str:
    """A point's line key, "" where it has none."""
    return next((key for key in LIVE_KEYS if key in point.conductors), "")


def _meeting(circuit: Circuit, key: str) -> tuple[str, ...]:
    """Nodes where another circuit may meet this one: its first and its last point with ``key``.

    Where along the other circuit they meet hardly moves a reading, so two stand for all.
    """
    nodes = [
        node(point.name, key or _live(point))
        for point in circuit.points
        if (key or _live(point)) in point.conductors
    ]
    return tuple(dict.fromkeys((*nodes[:1], *nodes[-1:])))


def _neighbours(installation: Installation, both: bool) -> Iterator[tuple[Circuit, Circuit]]:
    """Pairs of circuits of one board that have points; both ways round, or once."""
    pairs = (permutations if both else combinations)(installation.circuits, 2)
    for one, two in pairs:
        if one.board == two.board and one.points and two.points:
            yield one, two


def borrowed_neutrals(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each point's neutral taken from another circuit, its own left off."""
    scene = survey(installation, plan)
    for one, two in _neighbours(installation, both=True):
        for point in one.points:
            effects, _, parts = isolate(scene, point.name, "N")
            nodes = _meeting(two, "N")
            if not effects or not nodes:
                continue
            here = node(point.name, "N")
            yield make(
                "borrowed neutral", f"{point.name} from {two.name}", ("N",), (point.name,),
                either(*(once("borrowed", *effects, solid(here, there)) for there in nodes)),
                scene.weigh("borrowed neutral", point.name, times=_lit(point)), parts, one.name,
                place=point.name, other=two.name, a=here, b=nodes[0],
            )  # fmt: skip


def _lit(point: Point) -> float:
    """Neutrals are borrowed for lights far more than for outlets."""
    return 2.0 if point.kind == "light" or "SL" in point.conductors else 0.5


def _joined(installation: Installation, plan: Plan, family: str, key: str) -> Iterator[Fault]:
    scene = survey(installation, plan)
    for one, two in _neighbours(installation, both=False):
        for point in one.points:
            nodes, mine = _meeting(two, key), key or _live(point)
            if not nodes or mine not in point.conductors:
                continue
            here = node(point.name, mine)
            yield make(
                family, f"{point.name} with {two.name}", (mine,), (point.name,),
                either(*(once("joined", solid(here, there)) for there in nodes)),
                scene.weigh(family, point.name), (), one.name,
                place=point.name, other=two.name, a=here, b=nodes[0],
            )  # fmt: skip


def neutrals_joined(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Neutrals of two circuits joined at a point, each keeping its own."""
    return _joined(installation, plan, "neutrals joined", "N")


def lines_joined(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Lines of two circuits joined at a point."""
    return _joined(installation, plan, "lines joined", "")


def _board_joints(scene: Scene, circuit: Circuit, key: str) -> tuple[Element, ...]:
    """The joints of a circuit's runs at its board (two for a ring) of one conductor."""
    return tuple(
        joint
        for run in circuit.runs
        for joint in scene.landings.get((circuit.board, run.name), ())
        if joint.conductor == key
    )


def _bars(installation: Installation, board: str) -> tuple[str, ...]:
    """Every neutral bar of a board."""
    own = next(b for b in installation.boards if b.name == board)
    groups = (node(board, "N", f"group {group.device.name}") for group in own.groups)
    return (node(board, "N"), *groups)


def neutrals_on_wrong_bars(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each circuit's neutral on another bar of its board than its line's device needs."""
    scene = survey(installation, plan)
    for circuit in installation.circuits:
        joints = _board_joints(scene, circuit, "N")
        if not joints:
            continue
        own = _bar_of(scene, circuit, scene.sides(joints[0])[1])
        for bar in _bars(installation, circuit.board):
            if bar == own and bar == scene.sides(joints[0])[1]:
                continue
            effects = [e for j in joints for e in (parted(j.id), solid(scene.sides(j)[0], bar))]
            yield make(
                "neutral on wrong bar", f"{circuit.name} to {bar}", ("N",), (circuit.board,),
                once("wrong bar", *effects), scene.weigh("neutral on wrong bar", circuit.board),
                tuple(j.id for j in joints), circuit.name, place=circuit.board,
                a=scene.sides(joints[0])[0], b=bar,
            )  # fmt: skip


def _bar_of(scene: Scene, circuit: Circuit, terminal: str) -> str:
    """The bar behind a circuit's neutral terminal: itself, or what its device's pole hangs on."""
    for e in scene.kind("pole"):
        if e.circuit == circuit.name and e.b == terminal:
            return e.a
    return terminal


def _exchanged(scene: Scene, one: Circuit, two: Circuit, key: str) -> tuple[Effect, ...]:
    """The cores of two circuits in each other's terminals at their board; "" for their lines."""
    mine, other = (_board_joints(scene, c, key or c.legs[0][0]) for c in (one, two))
    if not mine or not other:
        return ()
    to_mine, to_other = scene.sides(mine[0])[1], scene.sides(other[0])[1]
    if to_mine == to_other:
        return ()
    moved = [(j, to_other) for j in mine] + [(j, to_mine) for j in other]
    return tuple(
        e for j, terminal in moved for e in (parted(j.id), solid(scene.sides(j)[0], terminal))
    )


def lines_exchanged(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """The lines of two circuits in each other's devices; with them, perhaps, their neutrals."""
    scene = survey(installation, plan)
    for one, two in _neighbours(installation, both=False):
        lines, neutrals = (_exchanged(scene, one, two, key) for key in ("", "N"))
        if lines:
            steps: tuple[Severity, ...] = once("exchanged", *lines)
            if neutrals:
                steps = either(once("line only", *lines),
                               once("line and neutral", *lines, *neutrals))  # fmt: skip
            yield _exchange(scene, "lines exchanged", one, two, one.legs[0][0], steps)


def neutrals_exchanged(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """The neutrals of two circuits on each other's terminals, where those are apart."""
    scene = survey(installation, plan)
    for one, two in _neighbours(installation, both=False):
        effects = _exchanged(scene, one, two, "N")
        if effects:
            steps = once("exchanged", *effects)
            yield _exchange(scene, "neutrals exchanged", one, two, "N", steps)


def _exchange(
    scene: Scene, family: str, one: Circuit, two: Circuit, key: str, steps: tuple[Severity, ...]
) -> Fault:
    theirs = "N" if key == "N" else two.legs[0][0]
    mine, other = _board_joints(scene, one, key), _board_joints(scene, two, theirs)
    return make(
        family, f"{one.name} with {two.name}", (key,), (one.board,), steps,
        scene.weigh(family, one.board), tuple(j.id for j in (*mine, *other)), one.name,
        place=one.board, other=two.name, own=one.name, a=scene.sides(mine[0])[0],
        b=scene.sides(other[0])[1],
    )  # fmt: skip


def same_leg(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """A shared-neutral circuit whose lines are both on one leg, so that its neutral adds them."""
    scene = survey(installation, plan)
    for circuit in installation.circuits:
        if len(circuit.legs) < 2:
            continue
        first = _board_joints(scene, circuit, circuit.legs[0][0])
        for key, _ in circuit.legs[1:]:
            joints = _board_joints(scene, circuit, key)
            if not first or not joints:
                continue
            terminal = scene.sides(first[0])[1]
            effects = [
                e for j in joints for e in (parted(j.id), solid(scene.sides(j)[0], terminal))
            ]
            yield make(
                "same leg", f"{circuit.name} {key}", (circuit.legs[0][0], key), (circuit.board,),
                once("same leg", *effects), scene.weigh("same leg", circuit.board),
                tuple(j.id for j in joints), circuit.name, place=circuit.board,
                own=circuit.name, a=scene.sides(joints[0])[0], b=terminal,
            )  # fmt: skip


def neutral_earth_at_boards(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each neutral bar of each board, joined to that board's earth bar."""
    scene = survey(installation, plan)
    for board in installation.boards:
        # A link left in is a sub-board's mistake; the main board's is at its bars.
        times = 2.0 if board.fed_by else 0.5
        for bar in _bars(installation, board.name):
            yield make(
                "neutral-earth at board", bar, ("N", "E"), (board.name,),
                once("joined", solid(bar, node(board.name, "E"))),
                scene.weigh("neutral-earth at board", board.name, times=times), (), board.fed_by,
                place=board.name, a=bar, b=node(board.name, "E"),
            )  # fmt: skip


def stray_paths(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each path whose presence is not certain, present."""
    scene = survey(installation, plan)
    for path in installation.paths:
        if not path.certain:
            bridge = Bridged(path.a, path.b, 1.0 / max(path.ohms.value, 1e-3))
            yield make(
                "stray path", path.name, ("E",), (path.name,), once("present", bridge),
                scene.weigh("stray path"), (), place=path.name, a=path.a, b=path.b,
            )  # fmt: skip


_BOARD_TESTS = (
    "The board's conductors are put right: polarity, continuity and {rcd}s of every "
    "circuit touched."
)
_NEUTRAL = (
    "With its own device off this neutral can still bite: isolate every circuit that could share "
    "it, clamp 0 A, prove dead. "
)

FAMILIES = (
    Family(
        "borrowed neutral", "Borrowed neutral",
        "{place} takes its neutral from {other}, not from its own circuit.",
        rate("borrowed neutral").words,
        ("neutrals joined", "neutral on wrong bar", "leak at point", "neutral to frame"),
        "Clamp {line} and neutral of either circuit together and switch the load at {place}: the "
        "difference is its whole current. " + _NEUTRAL,
        "Each neutral is returned to its own circuit: residual current of both, continuity, "
        "polarity.", borrowed_neutrals,
    ),
    Family(
        "neutrals joined", "Neutrals of two circuits joined",
        "The neutrals of two circuits meet at {place}, the other being {other}.",
        rate("neutrals joined").words,
        ("borrowed neutral", "neutral on wrong bar", "leak at point"),
        "Isolate the board, prove dead, lift both neutrals: continuity between them should be "
        "open. " + _NEUTRAL,
        "The neutrals are parted: residual current of both circuits, continuity.",
        neutrals_joined,
    ),
    Family(
        "lines joined", "{line}s of two circuits joined",
        "The {conductors} conductors of two circuits meet at {place}, the other being {other}.",
        rate("lines joined").words, ("lines exchanged", "link left in", "switch bridged"),
        "With either device off, both circuits stay live; off means nothing until both are off "
        "and proved dead.",
        "The {line}s are parted: each device then isolates its own circuit, polarity.",
        lines_joined,
    ),
    Family(
        "neutral on wrong bar", "Neutral on the wrong bar",
        "At {place}, {a} is on {b}, not with its own device.",
        rate("neutral on wrong bar").words,
        ("borrowed neutral", "neutrals joined", "neutral-earth at board"),
        "Look at the {board}; the device trips with any load, not with none.",
        _BOARD_TESTS, neutrals_on_wrong_bars,
    ),
    Family(
        "neutrals exchanged", "Neutrals exchanged at the {board}",
        "At {place}, the neutrals of {own} and {other} are on each other's terminals.",
        rate("neutrals exchanged").words,
        ("neutral on wrong bar", "borrowed neutral", "neutrals joined", "lines exchanged"),
        "Load one circuit alone: both devices see its whole current as residual. " + _NEUTRAL,
        _BOARD_TESTS, neutrals_exchanged,
    ),
    Family(
        "lines exchanged", "Ways exchanged",
        "At {place}, the {line}s of {own} and {other} are in each other's devices.",
        rate("lines exchanged").words, ("lines joined", "neutral on wrong bar"),
        "Switching one device off kills the other circuit.", _BOARD_TESTS, lines_exchanged,
    ),
    Family(
        "same leg", "Shared neutral, same leg",
        "At {place}, {conductors} of {own} are on one leg: their shared neutral carries the sum.",
        rate("same leg").words, ("lines exchanged", "lines joined", "supply line lost"),
        "{line} to {line} of that circuit reads near zero; clamp the shared neutral, both loaded.",
        _BOARD_TESTS, same_leg,
    ),
    Family(
        "neutral-earth at board", "Neutral joined to {earth} at a board",
        "At {place}, {a} is joined to {b}.",
        rate("neutral-earth at board").words,
        ("short at point", "neutral to frame", "neutral on wrong bar", "borrowed neutral"),
        "Isolate the supply, prove dead, part the origin's own link if there is one: neutral to "
        "{earth} at the {board} should be open.",
        "The bars are parted: insulation neutral to {earth}, {rcd}s.",
        neutral_earth_at_boards,
    ),
    Family(
        "stray path", "Accidental path",
        "The accidental path {place} is there, joining {a} to {b}.",
        rate("stray path").words, ("leak at point", "supply earth lost", "bond open"),
        "Clamp it: current on a pipe, screen or metalwork says that it is a path.",
        "Parting it may liven what it held: the conductor it stands in for is mended first.",
        stray_paths,
    ),
)  # fmt: skip
