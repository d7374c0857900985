"""What if: throw a switch, plug a lamp, open a device, put a meter on two terminals.

The cause looked at stays in the circuit; what changes is solved, never assumed. A meter or a lamp
is part of the circuit while it is connected, so what it makes live is shown too.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from halfsplit.behaviour.body import worst_touch
from halfsplit.diagnosis.danger import LINES
from halfsplit.diagnosis.expect import expect
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.diagnosis.result import Cause, Danger, Hold
from halfsplit.diagnosis.survey import Survey, holds, survey
from halfsplit.errors import BadInput
from halfsplit.faults.words import conductor_words, joined, place_words, terminal_words
from halfsplit.instruments import show
from halfsplit.instruments.catalogue import instrument
from halfsplit.instruments.reading import Kind, Reading
from halfsplit.problems import Problem
from halfsplit.report.ladder import Ladder, ladders
from halfsplit.report.readings import condition_words, figure_words
from halfsplit.service.answer import effects_of, likeliest
from halfsplit.service.live import Worked, cause_of, says_of, work
from halfsplit.service.standing import Standing
from halfsplit.tables import shock
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import EARTH, Plan

Complex = NDArray[np.complex128]
LIVENS_FROM = 10.0  # volts by which something must move to be called so
METERS = ("multimeter", "low impedance", "two-pole", "two-pole load", "moving coil")
LAMPS = ("test lamp", "led lamp")
DEAD = ("continuity", "meter ohms", "insulation 250", "insulation 500")
INSTRUMENTS = (*METERS, *LAMPS, *DEAD)


@dataclass(frozen=True, slots=True)
class Asked:
    """What is tried: devices off and on, switch positions, loads out, a lamp put in, a meter.

    ``a`` and ``b`` are node names, "" for no meter; ``kind`` is an instrument id.
    """

    off: tuple[str, ...] = ()
    on: tuple[str, ...] = ()
    positions: tuple[tuple[str, str], ...] = ()
    unplugged: tuple[str, ...] = ()
    plugged: tuple[str, ...] = ()
    lamp_at: str = ""
    a: str = ""
    b: str = ""
    kind: str = "multimeter"


@dataclass(frozen=True, slots=True)
class Options:
    """What can be tried: names of devices, switches with positions, loads, places, terminals."""

    devices: tuple[tuple[str, bool], ...]
    switches: tuple[tuple[str, tuple[str, ...], str], ...]
    loads: tuple[tuple[str, bool], ...]
    places: tuple[str, ...]
    terminals: tuple[tuple[str, str], ...]
    instruments: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Tried:
    """What comes of it. ``shows`` is the meter's figure in words, ``livens`` what it makes live."""

    asked: Asked
    conditions: str
    cause: str
    says: str
    shows: str
    between: str
    behind: str
    livens: tuple[str, ...]
    parted: tuple[str, ...]
    ladders: tuple[Ladder, ...]
    sound: dict[tuple[str, str], Hold]


def options(now: Standing) -> Options:
    """Everything that can be tried on this installation."""
    worked = work(now)
    inst, plan = worked.job.installation, worked.prepared.plan
    devices = [(b.main.name, b.main.closed) for b in inst.boards]
    devices += [(g.device.name, g.device.closed) for b in inst.boards for g in b.groups]
    devices += [(c.device.name, c.device.closed) for c in inst.circuits]
    switches = [(s.name, s.positions, s.position) for p in inst.points() for s in p.switches]
    places = tuple(dict.fromkeys(p.name for p in inst.points() if {"L", "N"} & set(p.conductors)))
    return Options(
        tuple(dict.fromkeys(devices)),
        tuple(switches),
        tuple((load.id, load.connected and load.on) for load in plan.loads),
        places,
        (*terminals(plan, inst), (EARTH, "a rod in the earth itself")),
        tuple((id, instrument(id).title(inst.region)) for id in INSTRUMENTS),
    )


def terminals(plan: Plan, inst: Installation) -> tuple[tuple[str, str], ...]:
    """(node, words) of every terminal a probe reaches."""
    found = []
    for spot in plan.spots:
        if spot.kind == "origin":
            continue
        for key in spot.conductors:
            node = f"{spot.name}.{key}" + (":front" if spot.front else "")
            found.append((node, f"{spot.name}, {conductor_words(key, inst.region)}"))
    for load in plan.loads:
        if load.frame and load.connected:
            found.append((load.frame, f"{load.place}, metalwork of {load.id.rpartition('/')[2]}"))
    return tuple(found)


def conditions_of(asked: Asked, plan: Plan) -> Conditions:
    """The conditions that are tried."""
    lamp: tuple[tuple[str, str, float], ...] = ()
    if asked.lamp_at:
        lamp = ((asked.lamp_at, "filament", 60.0),)
    return Conditions(
        off=asked.off, on=asked.on, positions=asked.positions, unplugged=asked.unplugged,
        plugged=asked.plugged, added=lamp,
    )  # fmt: skip


def try_it(now: Standing, cause: str, asked: Asked) -> Tried:
    """Solve what is tried, with the cause in the circuit.

    Raises: BadInput naming a device, switch, load or terminal that does not exist; NotFound for a
    cause that is not weighed.
    """
    worked = work(now)
    _check(asked, options(now))
    found = worked.diagnosis
    chosen = cause_of(found, cause) if cause else found.suspects[0].members[0]
    inst, plan = worked.job.installation, worked.prepared.plan
    conditions = conditions_of(asked, plan)
    effects = effects_of(chosen)
    faults = (chosen.fault,) if chosen.fault is not None else ()
    alone = Prepared(inst, plan, faults)
    there = survey(alone, [effects], conditions)
    parted = tuple(
        way.name
        for way, gone in zip(there.scene.ways, there.answers.parted[0], strict=True)
        if gone
    )
    held, livens = holds(there, 0), tuple[str, ...]()
    if asked.a and asked.kind in (*METERS, *LAMPS):
        held, livens = _connected(there, asked, held, inst)
    shows, behind = _shows(worked, chosen, asked, conditions) if asked.a else ("", "")
    between = ""
    if asked.a:
        ends = (terminal_words(n, inst.region, inst) for n in (asked.a, asked.b))
        between = " and ".join(ends)
    sound = {(h.place, h.conductor): h for h in holds(survey(alone, [()], conditions), 0)}
    drawn = ladders(inst, plan, held, effects, (), _hurting(held))
    return Tried(
        asked, condition_words(conditions, inst), chosen.id, says_of(found, chosen, inst), shows,
        between, behind, livens, parted, drawn, sound,
    )  # fmt: skip


def _hurting(held: Sequence[Hold]) -> tuple[Danger, ...]:
    """What would hurt as it is tried: what people take to be safe and would feel."""
    person, limit = worst_touch(), float(shock.LET_GO_PLANNED.value)
    found = []
    for hold in held:
        if hold.conductor in LINES or hold.place == "origin":
            continue
        size = np.array([hold.volts])
        for _ in range(3):
            size = hold.volts / (1 + hold.ohms * np.real(person.admittance(size)[0]))
        amps = float(size[0] * np.real(person.admittance(size)[0])[0])
        if amps >= limit or (hold.volts >= 50.0 and amps >= 0.5e-3):
            found.append(Danger(hold.place, hold.conductor, hold.volts, amps * 1e3, 1.0, ""))
    return tuple(found)


def _check(asked: Asked, can: Options) -> None:
    found: list[Problem] = []

    def known(where: str, given: Sequence[str], names: Sequence[str]) -> None:
        for name in given:
            if name not in names:
                found.append(Problem(where, name, ", ".join(names[:12]) or "none here"))

    devices = [name for name, _ in can.devices]
    known("devices off", asked.off, devices)
    known("devices on", asked.on, devices)
    loads = [name for name, _ in can.loads]
    known("unplugged", asked.unplugged, ["all", *loads])
    known("plugged in", asked.plugged, loads)
    known("lamp", (asked.lamp_at,) if asked.lamp_at else (), can.places)
    nodes = [node for node, _ in can.terminals]
    known("meter", tuple(n for n in (asked.a, asked.b) if n), nodes)
    known("instrument", (asked.kind,), INSTRUMENTS)
    positions = {name: given for name, given, _ in can.switches}
    for name, position in asked.positions:
        known(name, (position,), positions.get(name, ()))
    if bool(asked.a) != bool(asked.b) or (asked.a and asked.a == asked.b):
        found.append(Problem("meter", f"{asked.a} and {asked.b}", "two different terminals"))
    if found:
        raise BadInput(found)


def _shows(worked: Worked, cause: Cause, asked: Asked, conditions: Conditions) -> tuple[str, str]:
    """(what the instrument shows, what it looks into) in words."""
    dead = asked.kind in DEAD
    kind: Kind = "volts"
    if dead:
        kind = "megohms" if asked.kind.startswith("insulation") else "ohms"
    if asked.kind in LAMPS:
        kind = "glow"
    if dead:
        conditions = replace(conditions, dead=True)
    words = ("bright", "normal", "dim", "glimmer", "off") if kind == "glow" else ("",)
    readings = [
        Reading(
            f"t{k}", kind, asked.a, asked.b, instrument=asked.kind, conditions=conditions, seen=word
        )
        for k, word in enumerate(words)
    ]
    found = expect(
        worked.job.installation, readings, cause.fault, likeliest(cause), worked.prepared.plan
    )
    first = found[0]
    behind = ""
    if first.volts is not None and first.ohms is not None and not dead:
        behind = f"{_volts(first.volts)} behind {figure_words('ohms', first.ohms)}"
    if kind == "glow":
        best = max(range(len(words)), key=lambda k: found[k].chance or 0.0)
        lit = {"off": "stays dark", "glimmer": "glimmers", "dim": "is dim",
               "normal": "is lit normally", "bright": "is too bright"}  # fmt: skip
        return f"the lamp {lit[words[best]]}", behind
    if first.figure is None:
        return "no figure", behind
    if kind == "volts" and math.isfinite(first.figure):
        return _volts(first.figure), behind
    return figure_words(kind, first.figure if math.isfinite(first.figure) else math.inf), behind


def _volts(value: float) -> str:
    """Volts as a meter's display has them: tenths below ten, and no millivolts."""
    return f"{value:.1f} V" if value < 9.95 else figure_words("volts", value)


def _connected(
    there: Survey, asked: Asked, held: tuple[Hold, ...], inst: Installation
) -> tuple[tuple[Hold, ...], tuple[str, ...]]:
    """Where everything stands with the instrument on its two terminals, and what it makes live."""
    at = {terminal.node: k for k, terminal in enumerate(there.terminals)}
    if (asked.a != EARTH and asked.a not in at) or (asked.b != EARTH and asked.b not in at):
        return held, ()
    v, z = there.v[0], there.Z
    pick = np.zeros(len(there.terminals))
    for node, sign in ((asked.a, 1.0), (asked.b, -1.0)):
        if node != EARTH:
            pick[at[node]] = sign
    who = instrument(asked.kind)
    y = 25.0 / 230.0**2 if who.law else show.admittance(who, there.scene.lowered.omega)
    across, own = complex(pick @ v), complex(pick @ z @ pick)
    bend = y / (1 + own * y)
    after = v - (z @ pick) * (bend * across)
    zs = np.diag(z) - (z @ pick) * (pick @ z) * bend
    moved = replace_v(there, after, zs)
    return holds(moved, 0), _livened(there, v, after, zs, inst)


def replace_v(there: Survey, v: Complex, z: Complex) -> Survey:
    """The survey with other volts and source impedances."""
    return replace(there, v=v[None, :], z=z[None, :])


def _livened(
    there: Survey, before: Complex, after: Complex, z: Complex, inst: Installation
) -> tuple[str, ...]:
    """What stands higher than before, with what would pass through a person who touches it."""
    person = worst_touch()
    size = np.abs(after)
    for _ in range(3):
        y = np.real(person.admittance(size)[0])
        size = np.abs(after) / np.abs(1 + z * y)
    amps = size * np.real(person.admittance(size)[0])
    limit = float(shock.LET_GO_PLANNED.value)
    groups: dict[tuple[str, int], list[int]] = {}
    for k, terminal in enumerate(there.terminals):
        if np.abs(after[k]) - np.abs(before[k]) > LIVENS_FROM and terminal.place != "origin":
            size_key = round(float(np.abs(after[k])) / 5)
            groups.setdefault((terminal.conductor, size_key), []).append(k)
    said = []
    for (key, _), members in groups.items():
        where = joined(tuple(place_words(there.terminals[k].place, inst.region) for k in members))
        thing = "metalwork" if key == "frame" else f"the {conductor_words(key, inst.region)}"
        worst = max(members, key=lambda k: float(amps[k]))
        milli = float(amps[worst]) * 1e3
        hurts = "would hold a hand fast" if amps[worst] >= limit else "through a person"
        said.append(
            f"{thing} at {where} goes from {np.abs(before[worst]):.0f} V to "
            f"{np.abs(after[worst]):.0f} V to the ground: {milli:.1f} mA {hurts}"
        )
    return tuple(text[:1].upper() + text[1:] for text in said)
