"""What readings would show on a sound installation, or with one named fault: no weighing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from itertools import product

from halfsplit.diagnosis.bench import Bench
from halfsplit.diagnosis.figures import falsified
from halfsplit.diagnosis.predict import Question, chance_seen, figure
from halfsplit.diagnosis.prepared import WILL_NOT_TRIP, Prepared
from halfsplit.diagnosis.scene import Scene
from halfsplit.diagnosis.solve import Answers, solve_rows
from halfsplit.errors import NotFound
from halfsplit.faults.both import JOINS
from halfsplit.faults.catalogue import enumerate_faults, two
from halfsplit.faults.fault import Fault
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.effects import Effect, ReadingChange, StateChange
from halfsplit.wiring.layout import lay_out
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import EARTH, Plan


@dataclass(frozen=True, slots=True)
class Expected:
    """A reading as it would be: ``figure`` in SI (inf over range), or the ``chance`` of what was
    seen; ``volts`` open-circuit and ``ohms`` source impedance of the port that it looks into.
    """

    reading: Reading
    figure: float | None
    chance: float | None
    volts: float | None
    ohms: float | None
    parted: tuple[str, ...]


def find_fault(installation: Installation, plan: Plan, id: str) -> Fault:
    """The fault of that id. Raises: NotFound, with ids that share a word with it."""
    faults = enumerate_faults(installation, plan)
    for fault in faults:
        if fault.id == id:
            return fault
    if JOINS in id:
        first, second = (find_fault(installation, plan, part) for part in id.split(JOINS, 1))
        steps = product(range(len(first.severities)), range(len(second.severities)))
        return two(first, second, tuple(steps))
    near = get_close_matches(id, [fault.id for fault in faults], n=4, cutoff=0.3)
    raise NotFound(f'no fault is called "{id}"; near it: {"; ".join(near)}')


def expect(
    installation: Installation,
    readings: Sequence[Reading],
    fault: Fault | None = None,
    severity: int = 0,
    plan: Plan | None = None,
) -> tuple[Expected, ...]:
    """What each reading would show, sound (``fault`` None) or with ``fault`` at ``severity``.

    Raises: NotFound for a reading at a terminal that is not there, with those near it.
    """
    return expect_each(installation, readings, [(fault, severity)], plan)[0]


def expect_each(
    installation: Installation,
    readings: Sequence[Reading],
    causes: Sequence[tuple[Fault | None, int]],
    plan: Plan | None = None,
) -> tuple[tuple[Expected, ...], ...]:
    """The same for several causes (fault, severity), solved together: one row for each.

    Raises: NotFound for a reading at a terminal that is not there, with those near it.
    """
    plan = lay_out(installation) if plan is None else plan
    _know(plan, readings)
    known = tuple(dict.fromkeys(fault for fault, _ in causes if fault is not None))
    bench = Bench(Prepared(installation, plan, known), readings)
    effects = [
        () if fault is None else fault.severities[severity].effects for fault, severity in causes
    ]
    answers = [_solved(bench, k, effects) for k in range(len(bench.scenes))]
    columns = [_shown(q, bench.scenes[q.scene], answers[q.scene], effects) for q in bench.questions]
    return tuple(tuple(column[k] for column in columns) for k in range(len(effects)))


def _shown(
    q: Question, scene: Scene, answer: Answers, effects: Sequence[tuple[Effect, ...]]
) -> list[Expected]:
    """One reading under each of the causes."""
    port = q.ports[0] if q.ports and q.ports[0] in answer.at else None
    at = answer.at[port] if port is not None else -1
    inside = port is not None and at < answer.T.shape[2]
    numeric = q.reading.kind in ("volts", "ohms", "megohms", "loop", "amps") and port is not None
    shown, sure = figure(q, scene, answer, q.candidates[0][0]) if numeric else (None, None)
    chance = None if numeric else chance_seen(q, scene, answer)
    found = []
    for k, row in enumerate(effects):
        value = None
        if shown is not None and sure is not None:
            one = shown[k : k + 1]
            for change in row:
                if isinstance(change, ReadingChange) and (
                    {"all", q.reading.kind} & set(change.instruments)
                ):
                    one = falsified(change, q.reading.kind, one, False)
            value = float(one[0]) if sure[k] > 0.5 else math.inf
        found.append(
            Expected(
                q.reading,
                value,
                None if chance is None else float(chance[k]),
                float(abs(answer.f[k, at])) if port is not None else None,
                float(abs(answer.T[k, at, at])) if inside else None,
                tuple(w.name for w, p in zip(scene.ways, answer.parted[k], strict=True) if p),
            )
        )
    return found


def _know(plan: Plan, readings: Sequence[Reading]) -> None:
    known = {EARTH, *(load.frame for load in plan.loads)}
    known |= {end for e in plan.elements for end in (e.a, e.b)}
    known |= {end for c in plan.couplings for end in (c.a, c.b)}
    known |= {end for load in plan.loads for end in (load.a, load.b)}
    for reading in readings:
        for node in (reading.a, reading.b):
            if node and node not in known:
                near = get_close_matches(node, sorted(known), n=4, cutoff=0.3)
                raise NotFound(f'no terminal is called "{node}"; near it: {"; ".join(near)}')


def _solved(bench: Bench, scene: int, effects: Sequence[tuple[Effect, ...]]) -> Answers:
    """The circuit as described with just these effects: nothing forgotten, nothing hiding."""
    stuck = frozenset(
        (k, e.control)
        for k, row in enumerate(effects)
        for e in row
        if isinstance(e, StateChange) and e.state == WILL_NOT_TRIP
    )
    ports = bench.ports(scene)
    view, rows = bench.bases[scene].rows(effects, ports)
    return solve_rows(view, rows, ports, (), stuck)
