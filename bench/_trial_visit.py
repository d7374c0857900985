"""A visit: the first observations, then the program's own checks until it says to stop or act."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from random import Random

from bench._trial_danger import missed, truly_live
from bench._trial_draw import Truth
from bench._trial_looks import MENDS, finds
from bench._trial_meters import Kit
from bench._trial_site import Site
from bench._trial_spice import Simulator
from halfsplit.checks.check import Check
from halfsplit.checks.choose import consider
from halfsplit.checks.costs import State
from halfsplit.diagnosis.diagnose import conclude, weigh
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.diagnosis.result import Diagnosis
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.conditions import AS_DESCRIBED
from halfsplit.wiring.plan import Plan

ALL_DEVICES = "every device and switch"  # as a look at them is called while none is known tripped
MOST_CHECKS = 12
MOST_FAULTS = 2


@dataclass
class Step:
    """One check done: what, its minutes, what came out, how sure the first suspect was before."""

    check: str
    minutes: float
    outcome: str
    belief: float


@dataclass
class Visit:
    """How a visit went.

    ``acted`` is the answer when the program first said to act, ``last`` the one before the last
    check or when nothing was left to propose. ``vain`` are the looks that had found nothing by
    then, each with its chances by cause; ``acted_vain`` of them when it first said to act.
    """

    first: tuple[Reading, ...]
    steps: list[Step] = field(default_factory=list)
    readings: list[Reading] = field(default_factory=list)
    acted: Diagnosis | None = None
    acted_after: int = 0
    acted_vain: int = 0
    vain: list[dict[str, float]] = field(default_factory=list)
    last: Diagnosis | None = None
    found_after: int = 0  # checks until the true place was opened; 0 never
    found_minutes: float = 0.0
    wrong_opens: int = 0
    wrong_repairs: int = 0
    stop: str = ""
    unsafe: tuple[str, ...] = ()
    slips: int = 0


def site_of(truth: Truth, simulator: Simulator) -> Site:
    """The true site, to be asked."""
    return Site(truth.parts, truth.wrong, truth.limits, truth.thresholds, simulator)


def first_readings(truth: Truth, kit: Kit, random: Random) -> tuple[tuple[Reading, ...], bool]:
    """(what is told and read first, whether it is a complaint).

    What works and what does not, every device that has parted, and one voltage at a socket. What
    is told depends only on what is there to be seen.
    """
    written = {p.name: p for c in truth.written.circuits for p in c.points}
    told: list[Reading] = []
    complaint = False
    for load in truth.parts.plan.loads:
        if load.place not in written or load.id.endswith("/left in"):
            continue
        asked = Reading(f"seen {load.id}", "works", of=load.id, place=load.place)
        reading = kit.take(asked)
        complaint |= reading.seen != "works"
        told.append(reading)
    found = kit.site.found(AS_DESCRIBED)
    for way in truth.parts.plan.ways:
        if way.name in found.parted or way.name in found.slow:
            told.append(kit.take(Reading(f"device {way.name}", "trips", of=way.name)))
            complaint = True
    spots = [s for s in truth.parts.plan.spots
             if s.name in written and s.front and "N" in s.conductors]  # fmt: skip
    if spots:
        spot = random.choice(spots)
        line = next(k for k in ("L", "L1", "L2") if k in spot.conductors)
        ends = (f"{spot.name}.{line}:front", f"{spot.name}.N:front")
        told.append(kit.take(Reading("first", "volts", *ends, instrument="multimeter",
                                     place=spot.name)))  # fmt: skip
    return tuple(told), complaint


def go(
    truth: Truth, random: Random, prepared: Prepared, first: Sequence[Reading], kit: Kit
) -> Visit:
    """Follow the program's first proposal until it is found, or ``MOST_CHECKS`` are done."""
    visit = Visit(tuple(first), readings=list(first))
    state, minutes = State(), 0.0
    known = frozenset(s.name for s in prepared.plan.spots)
    live = list(truly_live(kit.site))
    for count in range(MOST_CHECKS + 1):
        bench, weighed = weigh(prepared, visit.readings)
        diagnosis = conclude(bench, weighed)
        visit.last = diagnosis
        visit.unsafe = (*visit.unsafe, *missed(live, diagnosis.dangers, known))
        considered = consider(prepared.installation, prepared.plan, bench, weighed, diagnosis,
                              (), 3, state=state)  # fmt: skip
        last = count == MOST_CHECKS or not considered.proposals
        if visit.acted is None and (considered.stop or last):
            visit.acted, visit.acted_after, visit.stop = diagnosis, count, considered.stop
            visit.acted_vain = len(visit.vain)
        if last:
            break
        proposal = considered.proposals[0]
        check = proposal.check
        minutes += proposal.minutes
        state = state.after(check)
        outcome = _do(check, truth, kit, random)
        belief = diagnosis.suspects[0].probability if diagnosis.suspects else 0.0
        visit.steps.append(Step(check.id, proposal.minutes, _said(outcome), belief))
        if outcome is True or (outcome is not False and _proves(check, outcome, truth)):
            visit.found_after, visit.found_minutes = count + 1, minutes
            break
        if outcome is False:
            state = replace(state, looked=state.looked | {check.id})
            visit.vain.append(dict(check.finds))
            visit.wrong_opens += check.kind == "open"
            visit.wrong_repairs += check.kind in MENDS
        else:
            visit.readings.append(outcome)
    visit.slips = kit.slipped
    return visit


def _do(check: Check, truth: Truth, kit: Kit, random: Random) -> Reading | bool:
    """A check's reading, or whether a look found it."""
    chances = [random.random() for _ in range(MOST_FAULTS)]
    if check.reading is None or check.looks:
        plan = truth.parts.plan
        found = any(
            chance < finds(check, fault, plan)
            for chance, fault in zip(chances, truth.faults, strict=False)
        )
        return found or (check.kind == "devices" and _tripped(check, plan, kit))
    reading = kit.take(_on_site(check.reading, truth.alias))
    return replace(check.reading, value=reading.value, bound=reading.bound, seen=reading.seen)


def _tripped(check: Check, plan: Plan, kit: Kit) -> Reading | bool:
    """How a device has tripped, seen while looking at them all; False where none has."""
    for way in plan.ways if check.what == ALL_DEVICES else ():
        seen = kit.take(Reading("tripped", "trips", of=way.name, conditions=AS_DESCRIBED))
        if seen.seen != "holds":
            return seen
    return False


def _proves(check: Check, outcome: Reading | bool, truth: Truth) -> bool:
    """Whether an open joint has been measured open with its place in view."""
    if check.kind != "joint" or isinstance(outcome, bool):
        return False
    element = check.id.removeprefix("across ")
    return outcome.bound == ">" and any(element in f.parts for f in truth.faults)


def _said(outcome: Reading | bool) -> str:
    if isinstance(outcome, bool):
        return "found" if outcome else "nothing"
    if outcome.seen:
        return outcome.seen
    return f"{outcome.bound.strip('=')}{outcome.value:.4g}"


def _on_site(asked: Reading, alias: Mapping[str, str]) -> Reading:
    """The reading in the site's names."""
    if not alias:
        return asked

    def real(name: str) -> str:
        return alias.get(name, name)

    conditions = replace(
        asked.conditions,
        links=tuple((real(a), real(b)) for a, b in asked.conditions.links),
        lifted=tuple(real(x) for x in asked.conditions.lifted),
    )
    return replace(asked, a=real(asked.a), b=real(asked.b), conditions=conditions,
                   conductors=tuple(real(x) for x in asked.conductors))  # fmt: skip
