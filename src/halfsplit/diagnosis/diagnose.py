"""The whole diagnosis of a job: weigh, group, look for danger, compare each reading."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from halfsplit.diagnosis.bench import Bench
from halfsplit.diagnosis.danger import LEAST, dangers_of
from halfsplit.diagnosis.groups import (
    across,
    by_itself,
    distances,
    linked,
    signatures,
    wandering,
)
from halfsplit.diagnosis.heat import everyday, lost
from halfsplit.diagnosis.hypotheses import SOUND, Hypotheses
from halfsplit.diagnosis.orders import claimed, posterior, ways
from halfsplit.diagnosis.predict import LOG_SCALE
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.diagnosis.result import Cause, Compared, Diagnosis, Suspect
from halfsplit.diagnosis.senses import alarming
from halfsplit.diagnosis.survey import Survey, holds, survey, wander
from halfsplit.diagnosis.together import Part, all_dangers, blend
from halfsplit.diagnosis.weigh import Weighed, Weigher
from halfsplit.faults.catalogue import family
from halfsplit.faults.words import describe
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.conditions import AS_DESCRIBED, Conditions
from halfsplit.wiring.effects import Effect
from halfsplit.wiring.model import Installation

Real = NDArray[np.float64]
GROUPED_FROM = 1e-3  # belief below which a cause is not worth grouping
ROWS_EACH = ((60, 3), (150, 1))  # so many causes, and severities of each that are compared
MOST_GROUPED = sum(count for count, _ in ROWS_EACH)
MOST_SURVEYED = 500  # rows whose terminals are looked at for danger
DREGS = 0.02  # of a cause's belief: severities below this share are not surveyed


def diagnose(
    installation: Installation, readings: Sequence[Reading], prepared: Prepared | None = None
) -> Diagnosis:
    """Everything that could explain the readings, with how sure, where it hurts and why.

    Deterministic: the order of the readings does not matter. ``prepared`` (of the same
    installation) saves laying it out again at every step.
    """
    prepared = Prepared(installation) if prepared is None else prepared
    bench, weighed = weigh(prepared, readings)
    return conclude(bench, weighed)


def weigh(prepared: Prepared, readings: Sequence[Reading]) -> tuple[Bench, Weighed]:
    """The readings on the bench and the hypotheses weighed, for whoever wants more."""
    bench = Bench(prepared, sorted(readings, key=_order))
    return Weigher(bench).weigh()


def _order(reading: Reading) -> tuple[str, ...]:
    return (
        reading.kind,
        reading.a,
        reading.b,
        reading.of,
        reading.seen,
        repr(reading.value),
        reading.instrument,
        repr(reading.conditions.key()),
        "".join(reading.conductors),
        reading.bound,
        repr(reading.showing),
        reading.id,
    )


def conclude(
    bench: Bench, weighed: Weighed, missed: Mapping[str, float] = MappingProxyType({})
) -> Diagnosis:
    """From weights to the answer, over every way it may be wired that nobody has ruled out.

    ``missed`` is evidence beside the readings: by fault id, the chance that what was looked at
    and found sound would have looked so.
    """
    weighed = _unfound(bench, weighed, missed)
    alone, several = _concluded(bench, weighed), ways(bench, weighed)
    if len(several) == 1:
        return alone
    others = [Bench(_prepared(way.installation), bench.readings) for way in several[1:]]
    # Two faults at once are looked for in the first way alone: by single faults they are compared.
    weights = [_unfound(other, Weigher(other).weigh_all()[0], missed) for other in others]
    evidence = [_alone(bench, weighed), *(one.evidence for one in weights)]
    believed = posterior([way.share for way in several], evidence)
    parts = [Part(believed[0], bench.installation, alone)] + [
        Part(belief, other.installation, _concluded(other, one))
        for belief, other, one in zip(believed[1:], others, weights, strict=True)
        if belief >= LEAST
    ]
    whole = sum(part.weight for part in parts)
    return _together(bench, [replace(part, weight=part.weight / whole) for part in parts])


def _unfound(bench: Bench, weighed: Weighed, missed: Mapping[str, float]) -> Weighed:
    """The rows as likely as they are after looks that found nothing."""
    if not missed:
        return weighed
    hyp = bench.hypotheses
    by_fault = np.log([max(missed.get(fault.id, 1.0), 1e-6) for fault in hyp.faults] + [1.0])
    return replace(weighed, log=weighed.log + by_fault[hyp.fault[weighed.rows]])


def _alone(bench: Bench, weighed: Weighed) -> float:
    """Log chance of all readings by single faults, or "none of these"."""
    single = bench.hypotheses.second[weighed.rows] == 0
    return float(np.logaddexp(np.logaddexp.reduce(weighed.log[single]), weighed.none))


@lru_cache(maxsize=8)
def _prepared(installation: Installation) -> Prepared:
    return Prepared(installation)


def _together(bench: Bench, parts: list[Part]) -> Diagnosis:
    """One answer from the diagnoses of several ways."""
    blended = blend(parts, bench.hypotheses.faults)

    def over(part: str) -> float:
        return sum(p.weight * float(getattr(p.found, part)) for p in parts)

    def suspect(group: tuple[Cause, ...]) -> Suspect:
        places = [p for m in group if m.fault for p in claimed(m.fault, bench.installation)]
        return replace(
            _suspect(bench.installation, list(group)), places=tuple(dict.fromkeys(places))
        )

    return Diagnosis(
        tuple(suspect(group) for group in blended.groups),
        blended.causes,
        over("sound"),
        over("none"),
        blended.leader.readings,
        all_dangers(parts),
        blended.leader.holds,
        blended.leader.sound_holds,
        over("left_out"),
        parts[0].found.alarm,
    )


def _concluded(bench: Bench, weighed: Weighed) -> Diagnosis:
    """The answer for the installation as described."""
    prepared, hyp = bench.prepared, bench.hypotheses
    installation, plan = prepared.installation, prepared.plan
    weight = np.exp(weighed.log - weighed.evidence)
    none = math.exp(weighed.none - weighed.evidence)
    causes = _causes(hyp, weighed, weight, _harmless(bench))
    own = [hyp.sized(int(h), s) for h, s in zip(weighed.rows, weighed.size.tolist(), strict=True)]
    effects = [e + hyp.beside(int(h)) for e, h in zip(own, weighed.rows, strict=True)]
    chosen, owner = _chosen(causes, hyp, weighed, weight)
    believed = _believed(hyp, weighed, weight)
    looked_at = np.flatnonzero(believed | _heaviest(weight))
    rows = sorted({*chosen, *(int(k) for k in looked_at), _sound_row(weighed)})
    live = survey(prepared, [effects[k] for k in rows], AS_DESCRIBED)
    at = {k: i for i, k in enumerate(rows)}
    suspects = _suspects(prepared, causes, chosen, owner, effects, live, at)
    places = [_places(hyp, int(weighed.rows[k])) for k in rows]
    dangers = dangers_of(
        live,
        weight[rows],
        believed[rows],
        lost(everyday(live.scene), live.rows, [own[k] for k in rows], places, live.parted),
        places,
        installation.region,
        plan.volts,
        none,
    )
    top = _leading(suspects, hyp, weighed, weight)
    if top not in at:
        top = rows[0]
    sound = next((c.probability for c in causes if c.fault is None), 0.0)
    return Diagnosis(
        suspects,
        causes,
        sound,
        none,
        _compared(bench, weighed, weight, top),
        dangers,
        holds(live, at[top]),
        holds(live, at[_sound_row(weighed)]),
        weighed.dropped,
        any(alarming(reading) for reading in bench.readings),
    )


def _leading(suspects: tuple[Suspect, ...], hyp: Hypotheses, weighed: Weighed, weight: Real) -> int:
    """The likeliest row of the first suspect's first cause: the one the ladder shows."""
    fault = suspects[0].members[0].fault
    mine = [
        k
        for k, h in enumerate(weighed.rows)
        if (hyp.faults[int(hyp.fault[h])] if hyp.fault[h] != SOUND else None) is fault
    ]
    return max(mine, key=lambda k: float(weight[k]))


def _sound_row(weighed: Weighed) -> int:
    return int(np.flatnonzero(weighed.rows == 0)[0])


def _believed(hyp: Hypotheses, weighed: Weighed, weight: Real) -> NDArray[np.bool_]:
    """(K,) rows of causes believed at a tenth of a per cent or more, but for their dregs."""
    owner = hyp.fault[weighed.rows]
    total = np.bincount(owner + 1, weights=weight, minlength=len(hyp.faults) + 1)
    mine = total[owner + 1]
    found: NDArray[np.bool_] = (mine >= LEAST) & (weight >= DREGS * mine)
    return found


def _heaviest(weight: Real) -> NDArray[np.bool_]:
    """(K,) the heaviest rows: what is left out together is believed less than a single cause."""
    order = np.argsort(-weight, kind="stable")
    left = 1.0 - np.cumsum(weight[order]) / max(float(weight.sum()), 1e-300)
    found = np.zeros(weight.size, dtype=np.bool_)
    found[order[: min(int((left > LEAST).sum()) + 1, MOST_SURVEYED)]] = True
    return found


def _places(hyp: Hypotheses, h: int) -> tuple[str, ...]:
    index = int(hyp.fault[h])
    return () if index == SOUND else hyp.faults[index].places


def _harmless(bench: Bench) -> frozenset[int]:
    """Faults that are none: something plugged in and not mentioned, where nothing trips."""
    if any(r.kind in ("trips", "ramp") for r in bench.readings):
        return frozenset()
    faults = bench.hypotheses.faults
    return frozenset(i for i, f in enumerate(faults) if f.family == "forgotten load")


def _causes(
    hyp: Hypotheses, weighed: Weighed, weight: Real, harmless: frozenset[int]
) -> tuple[Cause, ...]:
    """Belief per fault, severities inside it, most believed first (ties in catalogue order)."""
    total: dict[int, float] = {}
    inside: dict[int, dict[str, float]] = {}
    forgot: dict[int, float] = {}
    for k, h in enumerate(weighed.rows):
        index = SOUND if int(hyp.fault[h]) in harmless else int(hyp.fault[h])
        total[index] = total.get(index, 0.0) + float(weight[k])
        if hyp.forgotten[h] or int(hyp.fault[h]) in harmless:
            forgot[index] = forgot.get(index, 0.0) + float(weight[k])
        if index != SOUND:
            name = hyp.faults[index].severities[int(hyp.severity[h])].name
            shares = inside.setdefault(index, {})
            shares[name] = shares.get(name, 0.0) + float(weight[k])
    order = sorted(total, key=lambda i: (-round(total[i], 12), i))
    return tuple(
        Cause(
            None if i == SOUND else hyp.faults[i],
            total[i],
            tuple(
                sorted(
                    ((n, w / max(total[i], 1e-300)) for n, w in inside.get(i, {}).items()),
                    key=lambda x: -x[1],
                )
            ),
            forgot.get(i, 0.0) / max(total[i], 1e-300),
        )
        for i in order
    )


def _chosen(
    causes: tuple[Cause, ...], hyp: Hypotheses, weighed: Weighed, weight: Real
) -> tuple[list[int], list[int]]:
    """Rows (indices into ``weighed``) that stand for the causes to be grouped, and their owners."""
    ids = {id(f): i for i, f in enumerate(hyp.faults)}
    rows: list[int] = []
    owner: list[int] = []
    each = [rows for count, rows in ROWS_EACH for _ in range(count)]
    for number, cause in enumerate(causes[:MOST_GROUPED]):
        if cause.probability < GROUPED_FROM and number > 0:
            break
        index = SOUND if cause.fault is None else ids[id(cause.fault)]
        mine = np.flatnonzero(hyp.fault[weighed.rows] == index)
        for k in mine[np.argsort(-weight[mine], kind="stable")][: each[number]]:
            rows.append(int(k))
            owner.append(number)
    return rows, owner


def _suspects(
    prepared: Prepared,
    causes: tuple[Cause, ...],
    chosen: list[int],
    owner: list[int],
    effects: list[tuple[Effect, ...]],
    live: Survey,
    at: dict[int, int],
) -> tuple[Suspect, ...]:
    installation, plan = prepared.installation, prepared.plan
    circuits = installation.circuits
    # Isolated at the main switch with every way closed, so that a lead from the bars reaches all.
    ways = tuple(w.name for w in plan.ways if w.circuit or len(w.covers) < len(circuits))
    apart = Conditions(dead=True, unplugged=("all",), on=ways)
    rows = [effects[k] for k in chosen]
    along, between = wander(prepared, rows, apart)
    features = signatures(live, plan.volts)[[at[k] for k in chosen]]
    flexes = {e.id: e.control.removeprefix("plug ") for e in plan.elements if e.kind == "flex"}
    alone = by_itself(rows, flexes)
    gap = distances(owner, features, wandering(along), across(between), alone)
    count = max(owner) + 1
    clusters = linked(gap, np.array([c.probability for c in causes[:count]]))
    found = [_suspect(installation, [causes[i] for i in sorted(cluster)]) for cluster in clusters]
    return tuple(sorted(found, key=lambda s: -round(s.probability, 12)))


def _suspect(installation: Installation, members: list[Cause]) -> Suspect:
    first = members[0]
    probability = sum(m.probability for m in members)
    if first.fault is None:
        return Suspect(
            "nothing wrong",
            (),
            (),
            probability,
            tuple(members),
            "nothing wrong in what was described",
        )
    places = tuple(dict.fromkeys(p for m in members if m.fault for p in m.fault.places))
    conductors = tuple(dict.fromkeys(c for m in members if m.fault for c in m.fault.conductors))
    says = describe(first.fault, family(first.fault.family), installation)
    return Suspect(first.fault.family, conductors, places, probability, tuple(members), says)


def _compared(bench: Bench, weighed: Weighed, weight: Real, top: int) -> tuple[Compared, ...]:
    """Each reading beside what the row ``top`` predicts, and the sound circuit."""
    sound = _sound_row(weighed)
    slip = weight @ weighed.slip / max(float(weight.sum()), 1e-300) if weighed.slip.size else None
    result: list[tuple[int, Compared]] = []
    for c, k in enumerate(weighed.figures):
        reading = bench.questions[k].reading
        logged = reading.kind in LOG_SCALE
        mean, sigma = float(weighed.mean[top, c]), float(weighed.noise[top, c])
        measured = (
            math.log(max(float(reading.value or 0), 1.0)) if logged else float(reading.value or 0)
        )
        chance = float(slip[c]) if slip is not None else 0.0
        off = abs(measured - mean) / max(sigma, 1e-12)
        fits = "slip" if chance > 0.5 else "yes" if off < 3.0 else "no"
        back = math.exp if logged else float
        result.append(
            (
                k,
                Compared(
                    reading,
                    back(mean),
                    sigma,
                    back(float(weighed.mean[sound, c])),
                    None,
                    fits,
                    chance,
                ),
            )
        )
    for c, k in enumerate(weighed.sights):
        chance = float(weighed.seen[top, c])
        result.append(
            (
                k,
                Compared(
                    bench.questions[k].reading,
                    None,
                    None,
                    None,
                    chance,
                    "yes" if chance > 0.1 else "no",
                    0.0,
                ),
            )
        )
    return tuple(x for _, x in sorted(result, key=lambda x: x[0]))
