"""What a written form was understood to say, with the defaults taken and what is unknown."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from halfsplit.diagnosis.orders import unordered
from halfsplit.faults.words import conductor_words, joined
from halfsplit.form import Job
from halfsplit.form.shape import aliases
from halfsplit.form.tree import parse
from halfsplit.problems import Problem
from halfsplit.quantity import ohms, volts
from halfsplit.report.ladder import device_words, length_words
from halfsplit.report.loads import load_words
from halfsplit.report.readings import told
from halfsplit.service.envelope import VERSION, problem_objects
from halfsplit.wiring.model import Circuit, Supply

UNKNOWN_FROM = 0.5  # a log spread from which a value counts as not known

_LIVE = {
    "single": "single phase",
    "split": "split phase",
    "three": "three phase",
    "centre tap": "centre tapped",
    "high leg": "high-leg delta",
}


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the description: a heading and its lines."""

    name: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Understood:
    """The form read back: its parts in order, what is unknown, and warnings."""

    job: Job
    parts: tuple[Part, ...]
    taken: tuple[str, ...]
    unknown: tuple[str, ...]
    warnings: tuple[Problem, ...]


def understand(job: Job, warnings: tuple[Problem, ...] = (), text: str | bytes = "") -> Understood:
    """Read a job back in words, so that a person can see whether it is what they meant.

    ``text`` is the form it was read from: what it leaves out is listed with what was taken.
    """
    parts = [Part("supply", (supply_words(job.installation.supply),)), _boards(job)]
    parts += [_circuit(job, circuit) for circuit in job.installation.circuits]
    paths = tuple(
        f"{p.name}: {p.a} to {p.b}, {ohms(p.ohms.value)}{'' if p.certain else ', uncertain'}"
        for p in job.installation.paths
    )
    if paths:
        parts.append(Part("other paths", paths))
    readings = tuple(f"{told(r, job.installation).place}: {told(r, job.installation).line}"
                     for r in job.readings)  # fmt: skip
    parts.append(Part("readings", readings or ("none yet",)))
    taken = tuple(_taken(job, text)) if text else ()
    return Understood(job, tuple(parts), taken, tuple(_unknown(job)), warnings)


def _taken(job: Job, text: str | bytes) -> Iterator[str]:
    """What the form does not say and has a usual value."""
    root, _ = parse(text, "the form")
    if root is None:
        return
    said = {_proper(key, "job"): value for key, value in root.pairs}
    if "region" not in said:
        yield f"region: {job.region}"
    if "supply" not in said:
        yield f"supply: {supply_words(job.installation.supply)}"
    circuits = dict(said["circuits"].pairs) if "circuits" in said else {}
    for circuit in job.installation.circuits:
        keys = {_proper(key, "circuit") for key, _ in circuits[circuit.name].pairs}
        if "device" not in keys:
            yield f"device of {circuit.name}: {device_words(circuit, job.region)}"
        if "cable" not in keys and "runs" not in keys and circuit.runs:
            yield f"cable of {circuit.name}: {circuit.runs[0].cable or 'the usual one'}"


def _proper(key: str, section: str) -> str:
    folded = key.casefold().replace("_", " ")
    return aliases(section).get(folded, folded)


def supply_words(supply: Supply) -> str:
    """A supply in one line: "TN-S, single phase, 230 V, 50 Hz"."""
    live = _LIVE[supply.live]
    size = volts(supply.volts.value)
    earthing = supply.earthing if supply.earthing_known else f"{supply.earthing} (taken)"
    return f"{earthing}, {live}, {size}, {supply.hertz:g} Hz"


def _boards(job: Job) -> Part:
    lines = []
    for board in job.installation.boards:
        fed = f", fed by {board.fed_by}" if board.fed_by else ""
        lines.append(f"{board.name}: {board.main.name} {board.main.amps:g} A{fed}")
        for group in board.groups:
            lines.append(f"behind {group.device.name}: {', '.join(group.circuits)}")
    return Part("boards", tuple(lines))


def _circuit(job: Job, circuit: Circuit) -> Part:
    legs = "" if circuit.legs == (("L", "L"),) else f", on {', '.join(b for _, b in circuit.legs)}"
    lines = [f"{device_words(circuit, job.region)}, {circuit.shape}{legs}, from {circuit.board}"]
    for run in circuit.runs:
        keys = tuple(dict.fromkeys(core.end for core in run.cores))
        names = joined(tuple(conductor_words(k, job.region) for k in keys))
        cable = f", {run.cable}" if run.cable else ""
        length = length_words(run.length, job.region)
        lines.append(f"{run.start} to {run.end}: {length}{cable} ({names})")
    for point in circuit.points:
        if point.loads:
            lines.append(f"at {point.name}: {joined(tuple(load_words(x) for x in point.loads))}")
    return Part(f"circuit {circuit.name}", tuple(lines))


def _unknown(job: Job) -> Iterator[str]:
    """What the description leaves open; each is weighed over its usual range."""
    supply = job.installation.supply
    if not supply.earthing_known:
        yield f"the supply's earthing: {supply.earthing} is taken"
    for circuit in job.installation.circuits:
        if not circuit.order_known:
            how = "several orders are weighed" if unordered(circuit) else "as listed is taken"
            yield f"the order in which {circuit.name} feeds its points: {how}"
        if not circuit.leg_known and job.installation.supply.live == "split":
            yield f"the leg of {circuit.name}: both are weighed"
        if not circuit.rating_known:
            yield f"the rating of {circuit.name}: {circuit.device.amps:g} A and others are weighed"
        runs = [r for r in circuit.runs if r.length.spread >= UNKNOWN_FROM]
        if runs:
            which = ", ".join(f"{r.start} to {r.end}" for r in runs[:4])
            more = f" and {len(runs) - 4} more" if len(runs) > 4 else ""
            usual = runs[0].length.value
            yield f"lengths on {circuit.name} ({which}{more}): about {usual:g} m each is taken"
        loads = [(p.name, x) for p in circuit.points for x in p.loads if not x.kind]
        if loads:
            names = ", ".join(f"{x.name} at {place}" for place, x in loads[:4])
            yield f"what kind of load: {names}; weighed as electronics"
    vague = [r for r in job.readings if r.kind == "volts" and not r.instrument]
    if vague:
        yield f"the instrument of {len(vague)} voltage readings: the usual ones are weighed"


def understood_object(found: Understood) -> dict[str, Any]:
    """What was understood as one object. Keys: docs/json.md."""
    return {
        "halfsplit": VERSION,
        "title": found.job.title,
        "region": found.job.region,
        "understood": [{"part": p.name, "lines": list(p.lines)} for p in found.parts],
        "taken": list(found.taken),
        "unknown": list(found.unknown),
        "problems": problem_objects(found.warnings),
    }
