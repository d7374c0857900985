"""Why a case was missed: which reading speaks against what was found, by the figures."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bench._found import Key
from halfsplit.diagnosis.bench import Bench
from halfsplit.diagnosis.evidence import soften
from halfsplit.diagnosis.hypotheses import SOUND, Hypotheses
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.diagnosis.result import Diagnosis
from halfsplit.diagnosis.weigh import Weighed, Weigher
from halfsplit.faults.fault import Fault
from halfsplit.faults.rates import CALLED
from halfsplit.form import Job
from halfsplit.instruments import misread
from halfsplit.instruments.reading import Reading

NOT_NAMED = "not in the catalogue"
PRIOR = "belief beforehand"
TOGETHER = "readings together"


@dataclass(frozen=True, slots=True)
class Pushed:
    """What pushed a cause down: a kind of reading, readings that only together speak against it,
    the prior, or the catalogue; and in words."""

    by: str
    words: str


@dataclass(frozen=True, slots=True)
class _Row:
    """One hypothesis at its best: log prior, log chance of all readings, and of each with its
    figure."""

    prior: float
    together: float
    log: dict[str, float]
    shown: dict[str, float]


def pushed(key: Key, job: Job, prepared: Prepared, found: Diagnosis) -> Pushed:
    """The reading whose likelihood ratio against the leading suspect is worst for what was found.

    Each reading is weighed by itself, nuisances included; what they say only together (they share
    lengths, loads and the supply) is what is missing from the ratio of the whole.
    """
    true = _candidates(key, prepared)
    if not true:
        return Pushed(NOT_NAMED, f"{NOT_NAMED}: no fault of this installation is what was found")
    leader = found.suspects[0].members[0].fault if found.suspects else None
    mine, other = _best(job, prepared, true), _best(job, prepared, (leader,))
    if mine is None or other is None:
        return Pushed(NOT_NAMED, f"{NOT_NAMED}: neither could be solved")
    readings = {r.id: r for r in job.readings}
    gap = {i: mine.log[i] - other.log[i] for i in mine.log}
    prior = mine.prior - other.prior
    worst = min(gap, key=lambda i: gap[i], default="")
    together = mine.together - other.together - sum(gap.values())
    least = min(prior, together, gap.get(worst, 0.0))
    if least == prior:
        return Pushed(PRIOR, f"{PRIOR}: {_times(prior)} against the leading suspect")
    if least == together:
        return Pushed(TOGETHER, f"{TOGETHER}, not one alone: {_times(together)}")
    reading = readings[worst]
    return Pushed(reading.kind, _sentence(reading, mine, other, gap[worst]))


def _candidates(key: Key, prepared: Prepared) -> tuple[Fault | None, ...]:
    found: tuple[Fault | None, ...] = tuple(f for f in prepared.hypotheses.faults if key.fits(f))
    return (*found, None) if key.fits(None) else found


def _best(job: Job, prepared: Prepared, faults: tuple[Fault | None, ...]) -> _Row | None:
    """The likeliest row of these faults alone, two at once among them; None: nothing wrong."""
    names = {f.id for f in faults if f is not None}
    single = {m.id: m for f in faults if f is not None for m in (f.members or (f,))}
    # Nothing wrong is weighed beside any one fault: a bench of no fault at all has no rows.
    some = tuple(single.values()) or prepared.hypotheses.faults[:1]
    bench = Bench(Prepared(job.installation, prepared.plan, some), job.readings)
    bench, weighed = Weigher(bench).weigh()
    hyp = bench.hypotheses
    wanted = [
        k for k, h in enumerate(hyp.fault[weighed.rows])
        if (None in faults if h == SOUND else hyp.faults[int(h)].id in names)
    ]  # fmt: skip
    if not wanted:
        return None
    return _row(bench, weighed, max(wanted, key=lambda k: float(weighed.log[k])))


def _row(bench: Bench, weighed: Weighed, k: int) -> _Row:
    log: dict[str, float] = {}
    shown: dict[str, float] = {}
    for c, q in enumerate(weighed.figures):
        reading = bench.questions[q].reading
        logged = reading.kind == "megohms"
        value = float(reading.value or 0.0)
        measured = math.log(max(value, 1.0)) if logged else value
        mean, sigma = float(weighed.mean[k, c]), max(float(weighed.noise[k, c]), 1e-12)
        z = (measured - mean) / sigma
        near = math.exp(-0.5 * min(z * z, 1400.0)) / (sigma * math.sqrt(2 * math.pi))
        slip = misread.SLIP_CHANCE * 0.3 / (abs(measured) + 1.0)  # as in the coarse weighing
        log[reading.id] = math.log(near + slip)
        shown[reading.id] = math.exp(mean) if logged else mean
    for c, q in enumerate(weighed.sights):
        reading = bench.questions[q].reading
        chance = weighed.seen[k : k + 1, c]
        log[reading.id] = float(soften(chance)[0])
        shown[reading.id] = float(chance[0])
    hyp, at = bench.hypotheses, int(weighed.rows[k])
    own = float(weighed.log[k] - hyp.prior[at])  # the likelihood, but for a fine step's share
    return _Row(_prior(hyp, at), own, log, shown)


def _prior(hyp: Hypotheses, at: int) -> float:
    """Log prior weight of a row, against a healthy installation's 0."""
    index = int(hyp.fault[at])
    if index == SOUND:
        return 0.0
    fault = hyp.faults[index]
    twice = CALLED if fault.members else 1.0
    return math.log(max(fault.rate * fault.severities[int(hyp.severity[at])].share / twice, 1e-300))


def _times(gap: float) -> str:
    """A likelihood ratio in words."""
    factor = math.exp(min(abs(gap), 200.0))
    return f"{factor:.3g} times {'less' if gap < 0 else 'more'} likely"


def _sentence(reading: Reading, mine: _Row, other: _Row, gap: float) -> str:
    what = reading.text or f"{reading.kind} {reading.of or reading.a}"
    figure = "" if reading.value is None else f"{reading.value:.4g}"
    taken = reading.seen or f"{reading.bound}{figure}"
    numeric = reading.value is not None and reading.bound in ("=", "~")
    form = "{:.4g} predicted, the leader {:.4g}" if numeric else "chance {:.2g}, the leader {:.2g}"
    shown = form.format(mine.shown[reading.id], other.shown[reading.id])
    return f"{what} ({taken}): {shown}; {_times(gap)}"
