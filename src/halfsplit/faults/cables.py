"""Cables and boxes: broken and damaged cores, shorts and leaks, also to true earth."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from halfsplit.faults.fault import Family, Fault, Severity
from halfsplit.faults.grids import (
    DAMP,
    LEAK,
    NICKED,
    SHORT,
    Grid,
    across,
    either,
    in_series,
    opened,
)
from halfsplit.faults.rates import conductor_factor, rate
from halfsplit.faults.scene import LIVE_KEYS, Scene, make, survey
from halfsplit.wiring.history import all_words
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import EARTH, Element, Plan, node


def _core(
    scene: Scene, core: Element, family: str, row: str, severities: tuple[Severity, ...]
) -> Fault:
    start, end = core.at
    times = scene.metres(core.run) * (0.6 if conductor_factor(core.conductor) < 1 else 1.0)
    joints = [
        j.id for place in core.at for j in scene.landings.get((place, core.run), ())
        if core.a in (j.a, j.b) or core.b in (j.a, j.b)
    ]  # fmt: skip
    return make(
        family, core.id, (core.conductor,), core.at, severities,
        scene.weigh(row, *core.at, run=core.run, times=times), (core.id, *joints), core.circuit,
        place=end, run=core.run, a=core.a, b=core.b, **{"from": start, "to": end},
    )  # fmt: skip


def broken_cores(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Every core of every run, parted."""
    scene = survey(installation, plan)
    for core in scene.kind("core"):
        yield _core(scene, core, "broken core", "broken core", opened(core.id))


def damaged_cores(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Every core of every run, partly cut through."""
    scene = survey(installation, plan)
    for core in scene.kind("core"):
        yield _core(scene, core, "damaged core", "damaged core", in_series(NICKED, core.id))


def _metals(scene: Scene) -> dict[str, str]:
    """Metal that nobody earthed on purpose, by name: the nodes of its own that paths end at."""
    own = {*scene.spots, "source"}
    ends = (end for path in scene.installation.paths for end in (path.a, path.b))
    named = ((end.rpartition(".")[0], end) for end in ends if end != EARTH)
    return {name: end for name, end in named if name not in own}


def _run_pairs(scene: Scene, family: str, row: str, grid: Grid, to_earth: bool) -> Iterator[Fault]:
    """A path between each two cores of each run, or a core and metal beside it; solid ones at
    either end, equally likely."""
    beside = _metals(scene) | ({"earth": EARTH} if to_earth else {})
    for name, run in scene.runs.items():
        cores = scene.cores(name)
        pairs: list[tuple[tuple[str, str], tuple[str, str], tuple[Element, ...]]]
        pairs = [((x.a, y.a), (x.b, y.b), (x, y)) for x, y in combinations(cores, 2)]
        pairs += [((x.a, metal), (x.b, metal), (x,))
                  for metal in beside.values() for x in cores if x.conductor != "E"]  # fmt: skip
        names = {at: name for name, at in beside.items()}
        for near, far, pair in pairs:
            keys = tuple(core.conductor for core in pair)
            keys += (names[far[1]],) if len(pair) == 1 else ()
            where = across(*far, grid)
            if grid is SHORT:
                where = either(across(*near, grid[:1]), across(*far, grid[:1]))
                where = tuple(Severity(s.name, s.effects, s.share * grid[0][1]) for s in where)
                where += across(*far, grid[1:])
            times = scene.metres(name) * (0.3 if len(pair) == 1 else 1.0)
            yield make(
                family, f"{name} {'-'.join(keys)}", keys, (run.start, run.end),
                _whole(where),
                scene.weigh(row, run.start, run.end, run=name, times=times),
                tuple(core.id for core in pair), cores[0].circuit,
                place=run.end, run=name, a=far[0], b=far[1],
                **{"from": run.start, "to": run.end},
            )  # fmt: skip


def _whole(steps: tuple[Severity, ...]) -> tuple[Severity, ...]:
    total = sum(step.share for step in steps)
    return tuple(Severity(s.name, s.effects, s.share / total) for s in steps)


def _point_pairs(
    scene: Scene, family: str, row: str, grid: Grid, to_earth: bool
) -> Iterator[Fault]:
    beside = _metals(scene) | ({"earth": EARTH} if to_earth else {})
    for spot in scene.plan.spots:
        if spot.name not in scene.points:
            continue
        pairs = list(combinations(spot.conductors, 2))
        pairs += [(key, name) for name in beside for key in spot.conductors if key != "E"]
        for pair in pairs:
            a, b = (beside.get(key) or node(spot.name, key) for key in pair)
            joints = [j.id for key in pair for j in scene.joints_at(spot.name, key)]
            yield make(
                family, f"{spot.name} {'-'.join(pair)}", pair, (spot.name,), across(a, b, grid),
                scene.weigh(row, spot.name, times=0.3 if pair[1] in beside else 1.0), tuple(joints),
                spot.circuit, place=spot.name, a=a, b=b,
            )  # fmt: skip


def shorts_in_cable(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each pair of cores of each run, and each live core and metal, touching or arcing."""
    scene = survey(installation, plan)
    yield from _run_pairs(scene, "short in cable", "short in cable", SHORT, False)


def leaks_in_cable(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each pair of cores of each run, and each live core to metal or true earth, leaking."""
    scene = survey(installation, plan)
    yield from _run_pairs(scene, "leak in cable", "leak in cable", LEAK, True)


def shorts_at_point(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each pair of terminals of each point, and each live one and metal, touching or arcing."""
    scene = survey(installation, plan)
    yield from _point_pairs(scene, "short at point", "short at point", SHORT, False)


def leaks_at_point(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each pair of terminals of each point, and each live one to metal or true earth, leaking."""
    scene = survey(installation, plan)
    yield from _point_pairs(scene, "leak at point", "leak at point", LEAK, True)


def damp_points(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each point whose line or neutral leaks to earth only while water is in it."""
    scene = survey(installation, plan)
    for name, point in scene.points.items():
        live = tuple(k for k in point.conductors if k in (*LIVE_KEYS, "SL"))[:1]
        keys = (*live, *(k for k in ("N",) if k in point.conductors))
        earth = node(name, "E") if "E" in point.conductors else EARTH
        if live:
            steps = either(*(across(node(name, key), earth, DAMP, "wet") for key in keys))
            yield make(
                "damp point", name, (*keys, "E"), (name,), steps, scene.weigh("damp point", name),
                tuple(j.id for key in keys for j in scene.joints_at(name, key)),
                scene.circuits[name].name, place=name, a=node(name, keys[0]), b=earth,
            )  # fmt: skip


def damp_cables(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each run that is said to be wet or outdoors, leaking only while it is."""
    scene = survey(installation, plan)
    for name, run in scene.runs.items():
        past = (*scene.history(run.start, run.end, run=name), *installation.history)
        if not all_words(past) & {"water", "outdoor"}:
            continue
        live = [core for core in scene.cores(name) if core.conductor != "E"][:2]
        earth = next((c.b for c in scene.cores(name) if c.conductor == "E"), EARTH)
        if live:
            yield make(
                "damp cable", name, (*(core.conductor for core in live), "E"),
                (run.start, run.end),
                either(*(across(core.b, earth, DAMP, "wet") for core in live)),
                scene.weigh("damp cable", run.start, run.end, run=name, times=scene.metres(name)),
                tuple(core.id for core in live), live[0].circuit, place=run.end, run=name,
                a=live[0].b, b=earth, **{"from": run.start, "to": run.end},
            )  # fmt: skip


FAMILIES = (
    Family(
        "broken core",
        "Broken core",
        "The {conductors} core of the {cable} from {from} to {to} is broken, between {a} and {b}.",
        rate("broken core").words,
        ("open joint", "damaged core", "short in cable"),
        "Both joints at its ends are good, yet dead continuity from {from} to {to} is open.",
        "The {cable} is cut out or replaced: continuity of every core, insulation between all, "
        "polarity.",
        broken_cores,
    ),
    Family(
        "damaged core",
        "Damaged core",
        "The {conductors} core of the {cable} from {from} to {to} is nicked or partly cut.",
        rate("damaged core").words,
        ("loose joint", "broken core", "leak in cable"),
        "Both joints at its ends are good, yet dead continuity from {from} to {to} is too high for "
        "its length, or moves when the {cable} is flexed.",
        "The {cable} is cut out or replaced: continuity, insulation, polarity.",
        damaged_cores,
    ),
    Family(
        "short in cable",
        "Short in a cable",
        "{conductors} touch in the {cable} from {from} to {to}.",
        rate("short in cable").words,
        ("short at point", "leak in cable", "appliance short", "line to frame"),
        "Isolate, prove dead, unplug all; with both ends of that {cable} lifted its cores still "
        "read low between each other.",
        "The {cable} is repaired: insulation of all cores and to {earth}, continuity, polarity.",
        shorts_in_cable,
    ),
    Family(
        "short at point",
        "Short at a point",
        "{conductors} touch at {place}.",
        rate("short at point").words,
        ("short in cable", "leak at point", "appliance short", "line to frame"),
        "Isolate, prove dead, unplug all; taking the accessory at {place} off its box clears the "
        "low reading.",
        "The accessory is refitted: insulation between all conductors, continuity, polarity.",
        shorts_at_point,
    ),
    Family(
        "leak in cable",
        "Leakage in a cable",
        "{conductors} leak in the {cable} from {from} to {to}.",
        rate("leak in cable").words,
        ("leak at point", "element to frame", "short in cable", "big filters"),
        "Isolate, prove dead, unplug all; insulation of that {cable} alone, both ends lifted, is "
        "low.",
        "The {cable} is dried or replaced: insulation of all cores and to {earth}, continuity.",
        leaks_in_cable,
    ),
    Family(
        "leak at point",
        "Leakage at a point",
        "{conductors} leak at {place}.",
        rate("leak at point").words,
        ("leak in cable", "element to frame", "short at point", "big filters"),
        "Isolate, prove dead, unplug all; insulation rises when the accessory at {place} is "
        "disconnected or dried.",
        "The box is dried and sealed or the accessory changed: insulation, continuity, polarity.",
        leaks_at_point,
    ),
    Family(
        "damp point",
        "Leakage in the wet only",
        "{place} leaks to {earth} in or after rain, and is sound when dry.",
        rate("damp point").words,
        ("leak at point", "leak in cable", "element to frame"),
        "Isolate, prove dead, unplug all; insulation falls when {place} is wet and rises as it "
        "dries. A dry reading proves nothing.",
        "The box is drained, dried and sealed: insulation, continuity, polarity.",
        damp_points,
    ),
    Family(
        "damp cable",
        "Leakage in a cable in the wet only",
        "The {cable} from {from} to {to} leaks to {earth} in or after rain, and is sound when dry.",
        rate("damp cable").words,
        ("damp point", "leak in cable", "leak at point"),
        "Isolate, prove dead, lift both ends; its insulation falls in the wet and rises as it "
        "dries. A dry reading proves nothing.",
        "The {cable} is replaced, its entries and glands sealed: insulation, continuity.",
        damp_cables,
    ),
)
