"""Two faults at once: the search beside every pair solved, on small circuits.

Both sides weigh with the same code; what is compared is which pairs are looked at, and what the
others are taken to weigh. A pair that is not solved by name has to be one that the readings cannot
tell from one of its two faults: its weight is credited there (to both by half where it is neither).
"""

from __future__ import annotations

import argparse
import random
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from halfsplit.diagnosis.bench import Bench
from halfsplit.diagnosis.expect import expect
from halfsplit.diagnosis.hypotheses import SOUND, Hypotheses
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.diagnosis.weigh import Weighed, Weigher
from halfsplit.faults.catalogue import two
from halfsplit.faults.fault import Fault
from halfsplit.form import read_job
from halfsplit.instruments.reading import Reading

FAULTS = 26  # of the catalogue's for the circuit: every pair of these is solved
ALIKE = 0.05  # nats of likelihood: nearer, a partner counts as moving nothing
FORM = """
title: {points} points
region: uk
supply: {earthing} 230 V
circuits:
  yard:
    device: B16
    cable: 2.5/1.5 twin and earth
    run: [{run}]
    plugged in: {{{loads}}}
readings:
{readings}
"""


@dataclass(frozen=True, slots=True)
class Beside:
    """One job: the largest difference of a posterior, and what was left out, by both accounts."""

    difference: float
    unsolved: float
    dropped: float
    same_first: bool


def job(seed: int) -> tuple[Prepared, tuple[Reading, ...]]:
    """A circuit of three to five points with some of its faults, and readings of one or two."""
    dice = random.Random(seed)
    names = ["Gate", "Pump", "Trough", "Hen house", "Kennel"][: dice.randint(3, 5)]
    run = ", ".join(f"{dice.randint(3, 12)} m, {name}" for name in names)
    loads = f"{names[-1]}: {dice.choice(['60 W heater', 'electronics', '100 W filament'])}"
    asked = [
        f"  - {{at: {name}, {pair}: 1, by: {dice.choice(['multimeter', 'two-pole tester'])}}}"
        for name in names
        for pair in ("L-N", "L-E", "N-E")
        if dice.random() < 0.7
    ] or [f"  - {{at: {names[-1]}, L-N: 1, by: multimeter}}"]
    text = FORM.format(
        points=len(names), earthing=dice.choice(["TN-S", "TN-C-S", "TT"]), run=run, loads=loads,
        readings="\n".join(asked),
    )  # fmt: skip
    read = read_job(text)
    every = Prepared(read.installation)
    faults = tuple(dice.sample(every.hypotheses.faults, FAULTS))
    true = faults[0]
    if dice.random() < 0.6:
        true = two(faults[0], faults[1], ((0, 0),))
    shown = expect(read.installation, read.readings, true, 0, every.plan)
    readings = tuple(
        replace(e.reading, value=round(float(e.figure or 0.0) * dice.gauss(1.0, 0.004), 1))
        for e in shown
    )
    return Prepared(read.installation, every.plan, faults), readings


def compare(seed: int) -> Beside:
    """The search and every pair, side by side."""
    prepared, readings = job(seed)
    bench = Bench(prepared, readings)
    found_bench, found = Weigher(bench).weigh()
    every_bench, every, log = _all(bench)
    here = _posterior(found_bench, found)
    there, unsolved = _credited(every_bench, every, log, set(here))
    names = here.keys() | there.keys()
    gap = max(abs(here.get(n, 0.0) - there.get(n, 0.0)) for n in names)
    first = max(here, key=lambda n: here[n]) == max(there, key=lambda n: there[n])
    return Beside(gap, unsolved, found.dropped, first)


def _all(bench: Bench) -> tuple[Bench, Weighed, NDArray[np.float64]]:
    """Every pair of rows solved; the coarse log likelihood of all rows."""
    hyp = bench.hypotheses
    single = np.flatnonzero(hyp.fault != SOUND)
    plain = single[hyp.forgotten[single] == 0]
    pairs = [
        (a, b)
        for a in single.tolist()
        for b in plain.tolist()
        if hyp.fault[a] < hyp.fault[b] or (hyp.fault[a] > hyp.fault[b] and hyp.forgotten[a])
    ]
    first, second = np.array(pairs, dtype=np.intp).T
    weigher = Weigher(bench.with_pairs(first, second))
    return (weigher.bench, *weigher.weigh_all())


def _posterior(bench: Bench, weighed: Weighed) -> dict[str, float]:
    hyp = bench.hypotheses
    weight = np.exp(weighed.log - weighed.evidence)
    found: dict[str, float] = {}
    for h, w in zip(weighed.rows.tolist(), weight.tolist(), strict=True):
        name = _name(hyp.faults[hyp.fault[h]]) if hyp.fault[h] != SOUND else ""
        found[name] = found.get(name, 0.0) + w
    return found


def _name(fault: Fault) -> str:
    return " + ".join(sorted(m.id for m in fault.members)) if fault.members else fault.id


def _credited(
    bench: Bench, weighed: Weighed, log: NDArray[np.float64], named: set[str]
) -> tuple[dict[str, float], float]:
    """The posterior with every pair outside ``named`` credited; the share that nothing explains."""
    hyp = bench.hypotheses
    alone: dict[str, float] = {}
    for h in np.flatnonzero(hyp.second == 0).tolist():
        name = hyp.faults[hyp.fault[h]].id if hyp.fault[h] != SOUND else ""
        alone[f"{name} {hyp.severity[h]} {hyp.beyond[h]} {hyp.forgotten[h]}"] = log[h]
    found, unsolved = _posterior(bench, weighed), 0.0
    weight = np.exp(weighed.log - weighed.evidence)
    for h, w in zip(weighed.rows.tolist(), weight.tolist(), strict=True):
        fault = hyp.faults[hyp.fault[h]] if hyp.fault[h] != SOUND else None
        if fault is None or not fault.members or _name(fault) in named:
            continue
        found[_name(fault)] -= w
        near = [m.id for m in fault.members if _moot(hyp, h, m.id, log, alone)]
        for id in near:
            found[id] = found.get(id, 0.0) + w / len(near)
        unsolved += 0.0 if near else w
    return found, unsolved


def _moot(
    hyp: Hypotheses, h: int, id: str, log: NDArray[np.float64], alone: dict[str, float]
) -> bool:
    """Whether the other of the two moves nothing once this one is there."""
    fault = hyp.faults[hyp.fault[h]]
    member = next(m for m in fault.members if m.id == id)
    steps = fault.severities[int(hyp.severity[h])].name.split(", ")
    mine = steps[fault.members.index(member)] if len(steps) == 2 else ""
    step = next((k for k, s in enumerate(member.severities) if s.name == mine), 0)
    for beyond, count in ((hyp.beyond[h], hyp.forgotten[h]), ("", 0)):
        key = f"{id} {step} {beyond} {count}"
        if key in alone and abs(alone[key] - log[h]) < ALIKE:
            return True
    return False


def main() -> None:
    """Compare and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    rows = []
    for seed in range(asked.seed, asked.seed + asked.count):
        one = compare(seed)
        rows.append(one)
        first = "" if one.same_first else "another first"
        gap = f"difference {one.difference:.1e}  unsolved {one.unsolved:.1e}"
        print(f"{seed:5d}  {gap}  dropped {one.dropped:.1e}  {first}", flush=True)
    gaps = np.array([r.difference for r in rows])
    spread = f"median {np.median(gaps):.1e}, 95 % {np.quantile(gaps, 0.95):.1e}"
    same = sum(r.same_first for r in rows)
    print(
        f"{len(rows)} jobs: the same first in {same}; difference {spread}, worst {gaps.max():.1e}"
    )
    print(f"unsolved and not accounted for, worst {max(r.unsolved for r in rows):.1e}")


if __name__ == "__main__":
    main()
