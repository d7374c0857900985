"""Appliances and loads: to their frame, leaking too much, shorted, dead, never mentioned."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from halfsplit.faults.fault import Family, Fault, Severity
from halfsplit.faults.grids import (
    FRAME,
    HOT,
    NICKED,
    SHORT,
    across,
    in_series,
    opened,
    severities,
    shared,
    siemens,
)
from halfsplit.faults.rates import rate
from halfsplit.faults.scene import LIVE_KEYS, Scene, make, survey
from halfsplit.wiring.effects import Bridged, Effect, LoadChange, When
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import LoadPort, Plan, node

# Two filter capacitors of this size each, in farad: several appliances' worth (judgement).
FILTERS = ((20e-9, 0.5), (60e-9, 0.3), (200e-9, 0.2))
# What people forget they have plugged in: watts at rated volts, filter farads, share (judgement).
FORGOTTEN = ((2.0, 0.0, 0.35), (60.0, 4.7e-9, 0.40), (2000.0, 0.0, 0.25))
ONLY_HOT = 0.25  # share of leaking elements that leak only when hot (judgement)
STUCK_TIMES = 4.0  # a motor held fast draws several times its running power (common practice)


def _element(load: LoadPort, frame: str) -> tuple[Severity, ...]:
    """An element touching ``frame`` midway, as half the path from either end.

    The element itself stays and works on; midway through it the frame sees half the supply
    behind a quarter of the element's resistance, which two equal paths of twice that give. Some
    leak from the start, some only once they are hot.
    """
    quarter = load.rated_volts**2 / max(load.watts, 1.0) / 4.0

    def effects(ohm: float, when: When) -> tuple[Effect, ...]:
        y = siemens(2.0 * (ohm + quarter))
        return (Bridged(load.a, frame, y, 0.0, when), Bridged(load.b, frame, y, 0.0, when))

    always = severities(FRAME, lambda ohm: effects(ohm, ""))
    hot = tuple(replace(step, name=f"{step.name} when hot")
                for step in severities(HOT, lambda ohm: effects(ohm, "warm")))  # fmt: skip
    return shared((always, 1.0 - ONLY_HOT), (hot, ONLY_HOT))


def _fault(
    scene: Scene, load: LoadPort, family: str, steps: tuple[Severity, ...],
    conductors: tuple[str, ...] = (), times: float = 1.0, parts: tuple[str, ...] = (),
) -> Fault:  # fmt: skip
    # What is not plugged in can hardly be what is noticed.
    times *= 1.0 if load.connected else 0.1
    return make(
        family, load.id, conductors, (load.place,), steps,
        scene.weigh(family, load.place, times=times), parts or (load.id,), load.circuit,
        place=load.place, load=load.id, a=load.a, b=load.frame or load.b,
    )  # fmt: skip


def elements_to_frame(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each heating appliance's element, leaking or touching its frame."""
    scene = survey(installation, plan)
    for load in plan.loads:
        if load.frame and load.kind in ("heater", ""):
            times = 1.0 if load.kind else 0.3
            steps = _element(load, load.frame)
            yield _fault(scene, load, "element to frame", steps, ("L", "N", "E"), times)


# An appliance said to have no earthed frame may have one after all, the less so by its kind, or
# leak through its cord and what it stands on to the earth beside it. Judgement.
NO_FRAME = {"": 1.0, "heater": 0.5, "motor": 0.3, "electronics": 0.3}
NO_FRAME_OTHERS = 0.1
# Share of those leaks that are on the neutral's side, where a single-pole switch does not part
# them: judgement, most of what is exposed and warm being the line's.
NEUTRAL_SIDE = 0.3


def appliance_leaks(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each load without an earthed frame, either end of it leaking to the earth of its point."""
    scene = survey(installation, plan)
    for load in plan.loads:
        if load.frame or "E" not in scene.points[load.place].conductors:
            continue
        flex = scene.flexed.get(load.a)
        part = "front" if flex is not None and flex.a.endswith(":front") else ""
        earth = node(load.place, "E", part)
        steps = across(load.a, earth, FRAME)
        if load.kind in ("", "heater"):
            steps = _element(load, earth)
        neutral = across(load.b, earth, FRAME)
        steps = shared((steps, 1.0 - NEUTRAL_SIDE), (neutral, NEUTRAL_SIDE))
        times = NO_FRAME.get(load.kind, NO_FRAME_OTHERS)
        yield _fault(scene, load, "appliance leak", steps, ("L", "N", "E"), times)


def _ends_to_frame(installation: Installation, plan: Plan, neutral: bool) -> Iterator[Fault]:
    scene = survey(installation, plan)
    ends = {e.b: e.conductor for e in scene.kind("flex")}
    for load in plan.loads:
        for end in (load.a, load.b) if load.frame else ():
            key = ends.get(end, "L")
            if (key == "N") == neutral:
                family = "neutral to frame" if neutral else "line to frame"
                yield _fault(scene, load, family, across(end, load.frame, FRAME), (key, "E"))
                break  # the other live end of a line-to-line load is its mirror


def lines_to_frame(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each earthed appliance's line, touching or leaking to its frame."""
    return _ends_to_frame(installation, plan, neutral=False)


def neutrals_to_frame(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each earthed appliance's neutral, touching or leaking to its frame."""
    return _ends_to_frame(installation, plan, neutral=True)


def big_filters(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each earthed electronic load with more filter capacitance than described."""
    scene = survey(installation, plan)
    for load in plan.loads:
        if load.frame and load.kind in ("electronics", "motor", "led", ""):
            steps = tuple(
                Severity(
                    f"{farads * 1e9:.0f} nF",
                    tuple(Bridged(end, load.frame, 0.0, farads) for end in (load.a, load.b)),
                    share,
                )
                for farads, share in FILTERS
            )
            yield _fault(scene, load, "big filters", steps, ("L", "N", "E"))


def appliance_shorts(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each load, shorted inside."""
    scene = survey(installation, plan)
    for load in plan.loads:
        yield _fault(scene, load, "appliance short", across(load.a, load.b, SHORT), ("L", "N"))


def loads_off(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each load that is said to be on and draws nothing."""
    scene = survey(installation, plan)
    for load in plan.loads:
        if load.connected and load.on:
            times = 2.0 if load.kind == "filament" else 1.0
            steps = (Severity("draws nothing", (LoadChange(load.id, ""),), 1.0),)
            yield _fault(scene, load, "load off", steps, times=times)


def loads_stuck(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """A thermostat or contactor that never lets go, or a motor held fast: more than rated power."""
    scene = survey(installation, plan)
    for load in plan.loads:
        if load.kind == "motor" and load.connected:
            change = LoadChange(load.id, "heater", STUCK_TIMES * load.watts)
            yield _fault(scene, load, "load stuck", (Severity("held fast", (change,), 1.0),))
        elif load.kind == "heater" and load.connected and not load.on:
            change = LoadChange(load.id, "heater", load.watts)
            yield _fault(scene, load, "load stuck", (Severity("stuck on", (change,), 1.0),))


def forgotten_loads(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each outlet with something plugged in that nobody mentioned."""
    scene = survey(installation, plan)
    for name, point in scene.points.items():
        line = next((key for key in LIVE_KEYS if key in point.conductors), "")
        if not (point.front and line and "N" in point.conductors):
            continue
        a, b, e = (node(name, key, "front") for key in (line, "N", "E"))
        steps = []
        for watts, farads, share in FORGOTTEN:
            effects: tuple[Effect, ...] = (Bridged(a, b, watts / plan.volts**2),)
            if farads and "E" in point.conductors:
                effects += (Bridged(a, e, 0.0, farads), Bridged(b, e, 0.0, farads))
            steps.append(Severity(f"{watts:.0f} W", effects, share))
        yield make(
            "forgotten load", name, (line, "N"), (name,), tuple(steps),
            scene.weigh("forgotten load", name), (), scene.circuits[name].name, place=name,
            a=a, b=b,
        )  # fmt: skip


def open_flexes(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each conductor of each appliance's cord or connection, open."""
    scene = survey(installation, plan)
    for e in scene.kind("flex"):
        load = e.b.rsplit(":", 1)[0]
        times = (1.0 if e.conductor != "E" else 0.6) * (1.0 if e.closed else 0.1)
        yield make(
            "open flex", f"{load} {e.conductor}", (e.conductor,), e.at, opened(e.id),
            scene.weigh("open flex", *e.at, times=times), (e.id,), e.circuit, place=e.at[0],
            load=load, a=e.a, b=e.b,
        )  # fmt: skip


def loose_flexes(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each live conductor of each cord, lampholder or connection with resistance."""
    scene = survey(installation, plan)
    for e in scene.kind("flex"):
        if e.conductor == "E" or not e.closed:
            continue
        load = e.b.rsplit(":", 1)[0]
        yield make(
            "loose flex", f"{load} {e.conductor}", (e.conductor,), e.at, in_series(NICKED, e.id),
            scene.weigh("loose flex", *e.at), (e.id,), e.circuit, place=e.at[0], load=load,
            a=e.a, b=e.b,
        )  # fmt: skip


_APART = "Isolate, prove dead, unplug or disconnect {load}: "
_TESTED = "{load} is mended or scrapped: its {cpc} continuity, insulation and function."

FAMILIES = (
    Family(
        "element to frame", "Element leaks to the frame",
        "The element of {load} at {place} leaks or touches its {earthed} frame.",
        rate("element to frame").words,
        ("line to frame", "neutral to frame", "leak at point", "leak in cable"),
        _APART + "the leakage goes with it, and shows between its live pins and frame, perhaps "
        "only when warm.", _TESTED, elements_to_frame,
    ),
    Family(
        "appliance leak", "Appliance leaks to {earth}",
        "{load} at {place} leaks or touches to {earth}, though no {earthed} frame was mentioned.",
        rate("appliance leak").words,
        ("element to frame", "leak at point", "big filters", "forgotten load"),
        _APART + "the leakage goes with it.", _TESTED, appliance_leaks,
    ),
    Family(
        "line to frame", "{line} touches the frame",
        "Inside {load} at {place}, {conductors} meet: {line} is on the frame.",
        rate("line to frame").words,
        ("element to frame", "short at point", "crossed flex", "neutral to frame"),
        _APART + "low resistance from its {line} pin to frame.", _TESTED, lines_to_frame,
    ),
    Family(
        "neutral to frame", "Neutral touches the frame",
        "Inside {load} at {place}, {conductors} meet: neutral is on the frame.",
        rate("neutral to frame").words,
        ("element to frame", "short at point", "borrowed neutral", "line to frame"),
        _APART + "low resistance from its neutral pin to frame.", _TESTED, neutrals_to_frame,
    ),
    Family(
        "big filters", "Filter capacitors leak more than expected",
        "The filter capacitors of {load} at {place} pass more to {earth} than expected.",
        rate("big filters").words, ("element to frame", "leak at point", "leak in cable"),
        "The leakage clamp falls when {load} is unplugged; insulation by d.c. is good.",
        "Loads are shared out over more {rcd}s: standing leakage of each.",
        big_filters,
    ),
    Family(
        "appliance short", "Appliance shorted",
        "{load} at {place} is shorted inside.",
        rate("appliance short").words, ("short at point", "short in cable", "line to frame"),
        _APART + "the circuit holds without it, and its pins read near zero.",
        _TESTED, appliance_shorts,
    ),
    Family(
        "load off", "Load off, unplugged or blown",
        "{load} at {place} draws nothing: off, unplugged, or its lamp or element gone.",
        rate("load off").words, ("open flex", "contact open", "open joint"),
        "Try a known good lamp or load in its place.",
        "Nothing fixed is disturbed: its function.", loads_off,
    ),
    Family(
        "load stuck", "Load stuck on or held fast",
        "{load} at {place} draws when it should not, or more than it should.",
        rate("load stuck").words, ("appliance short", "forgotten load"),
        "Clamp its current: it does not fall when its control is turned down.",
        _TESTED, loads_stuck,
    ),
    Family(
        "forgotten load", "Something plugged in and not mentioned",
        "Something not mentioned is plugged in at {place}.",
        rate("forgotten load").words, ("leak at point", "short at point", "load stuck"),
        "Look at {place}, and at what hangs on adaptors from it; unplug it.",
        "Nothing is disturbed.", forgotten_loads,
    ),
    Family(
        "loose flex", "Cord, lampholder or connection resistive",
        "The {conductors} connection of {load} at {place}, in its cord or holder, is bad.",
        rate("loose flex").words, ("loose joint", "worn contact", "open flex"),
        "Another lamp or load in its place does the same, or a shake changes it; unplug {load} or "
        "isolate, then look for a burnt contact in its holder, plug or terminal block.",
        "The holder, plug or cord is changed: polarity, function, insulation.", loose_flexes,
    ),
    Family(
        "open flex", "Cord or connection open",
        "The {conductors} conductor of the cord of {load} at {place} is open.",
        rate("open flex").words, ("load off", "contact open", "open joint"),
        "Unplug {load} and measure continuity of each conductor while bending the cord.",
        "The cord or plug is changed: {cpc} continuity, polarity, insulation.", open_flexes,
    ),
)  # fmt: skip
