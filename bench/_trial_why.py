"""One trial told in full: what is so, what was read, and what truth and leader would have shown."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from bench._trial_draw import SETTINGS, Truth
from bench._trial_judge import Answer, Judge, counted
from bench._trial_one import begin
from bench._trial_same import Sameness
from bench._trial_spice import Simulator
from bench._trial_visit import go
from halfsplit.diagnosis.expect import expect
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.errors import NotFound
from halfsplit.faults.fault import Fault
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.effects import Added, Bridged


def told(seed: int, setting: str) -> Iterator[str]:
    """The lines of one trial."""
    with Simulator() as simulator:
        start = begin(seed, SETTINGS[setting], simulator)
        truth = start.truth
        prepared = Prepared(truth.written)
        visit = go(truth, start.random, prepared, start.first, start.kit)
        assert visit.last is not None
        answer = counted(visit.last, visit.vain)
        standing = Judge(truth, Sameness(start.site)).standing(answer)
    yield truth.house.text
    yield f"true: {' and '.join(map(_effects, truth.faults)) or 'nothing wrong'}"
    yield f"      {truth.wrong.effects}" + (f" unlike: {truth.unlike}" if truth.unlike else "")
    yield f"rank {standing.rank}, belief {standing.belief:.3f}, none {answer.none:.3f}"
    yield from _suspects(answer)
    yield from (f"  {s.minutes:4.0f} min  {s.check}: {s.outcome}" for s in visit.steps)
    yield f"stop: {visit.stop}"
    yield from _readings(truth, prepared, answer, visit.readings)


def _effects(fault: Fault) -> str:
    return f"{fault.id} ({', '.join(s.name for s in fault.severities)})"


def _suspects(answer: Answer) -> Iterator[str]:
    for group in answer.groups[:4]:
        members = ", ".join(f"{m.id} {m.probability:.2f}" for m in group.members[:4])
        yield f"  {group.belief:5.2f}  {members}"


def _readings(
    truth: Truth, prepared: Prepared, answer: Answer, readings: Sequence[Reading]
) -> Iterator[str]:
    """Each reading beside what the program expects of it under the truth and the leader."""
    leader = answer.groups[0].members[0] if answer.groups else None
    known = {f.id: f for f in prepared.hypotheses.faults}
    true = next((known[f.id] for f in truth.faults if f.id in known), None)
    step = nearest(true, truth) if true else 0
    other = leader.fault if leader else None
    names = [s.name for s in other.severities] if other else []
    at = names.index(leader.severities[0][0]) if leader and leader.severities else 0
    yield f"{'reading':<44} {'taken':>10} {'if true':>10} {'leader':>10}"
    for reading in readings:
        mine = _shown(prepared, reading, true, step)
        its = _shown(prepared, reading, other, at)
        taken = reading.seen or f"{reading.bound.strip('=')}{reading.value:.4g}"
        yield f"{reading.id:<44} {taken:>10} {mine:>10} {its:>10}"


def nearest(fault: Fault, truth: Truth) -> int:
    """The step of a fault's severity that lies nearest to what is truly there."""
    true = [_size(e) for e in truth.wrong.effects if isinstance(e, (Added, Bridged))]
    if not true or len(fault.severities) == 1:
        return 0
    gaps = []
    for severity in fault.severities:
        sizes = [_size(e) for e in severity.effects if isinstance(e, (Added, Bridged))]
        ratio = max(sizes[0], 1e-3) / max(true[0], 1e-3) if sizes else 1e9
        gaps.append(max(ratio, 1 / max(ratio, 1e-12)))
    return gaps.index(min(gaps))


def _size(effect: Added | Bridged) -> float:
    if isinstance(effect, Added):
        return min(effect.ohms, 1e9)
    return 1 / max(effect.siemens, 1e-9)


def _shown(prepared: Prepared, reading: Reading, fault: Fault | None, step: int) -> str:
    asked = reading if reading.seen else replace(reading, value=1.0, bound="=")
    try:
        found = expect(prepared.installation, [asked], fault, step, prepared.plan)[0]
    except NotFound:
        return "no place"
    if reading.seen:
        return f"{found.chance:.2f}" if found.chance is not None else "-"
    return f"{found.figure:.4g}" if found.figure is not None else "-"
