"""The next check: minutes beside the exact optimum and beside rivals, and safe in random states.

All four parts take about a quarter of an hour; one alone is run by setting the others to 0.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

import numpy as np

from bench._policy_chart import chart
from bench._policy_exact import Exact, TooLarge
from bench._policy_real import problems, smaller
from bench._policy_run import GREEDY, OURS, Problem, choosers, expected, remembered, walked
from bench._policy_safety import Run, run
from bench._policy_tasks import START, drawn
from halfsplit.checks.policy import Real

MOST_LIKELY = "most likely first, cheapest first"
MEAN, WORST, SAVING = 1.03, 1.25, 0.14  # what must hold
SAMPLES = 2000  # of the bootstrap, over problems
TRUTHS = 5  # drawn in each larger circuit
LARGE = 24, 30  # suspects and measurements of a larger abstract search
MOST_BELIEFS = 4_000_000  # of one of these, a minute's work where nothing slips
Any_ = Problem[Any]


@dataclass(frozen=True)
class Against:
    """Expected minutes over the optimum's, per policy (n,), for one sort of small search."""

    sort: str
    ratio: dict[str, Real]
    skipped: int


def abstract(seed: int, count: int, checks: int, slips: bool) -> Iterator[Any_]:
    """Abstract searches without end."""
    rng = np.random.default_rng(seed)
    while True:
        task = drawn(rng, count, checks, slips)
        prices: Any = task.prices
        yield Problem(task, START, prices.place, "abstract")


def circuits(seed: int, points: tuple[int, ...], each: int = 4) -> Iterator[Any_]:
    """Searches from circuits without end, ``each`` in every installation drawn."""
    rng = np.random.default_rng(seed)
    while True:
        for count in points:
            yield from problems(rng, count, each)


def cut(found: Iterable[Any_]) -> Iterator[Any_]:
    """Searches from circuits cut down until their optimum can be worked out."""
    for one in found:
        small = smaller(one, 6, 3, 3)
        if small is not None:
            yield small


def against(sort: str, found: Iterable[Any_]) -> Against:
    """Each policy's expected minutes over the optimum's."""
    ratio: dict[str, list[float]] = {}
    skipped = 0
    for one in found:
        try:
            least, _ = Exact(one.task).minutes(one.task.belief, one.start, one.nothing_done())
        except TooLarge:
            skipped += 1
            continue
        for name, choose in choosers(one).items():
            ratio.setdefault(name, []).append(expected(one, choose) / least)
    return Against(sort, {name: np.array(r) for name, r in ratio.items()}, skipped)


def side_by_side(found: Iterable[Any_], truths: int, seed: int) -> dict[str, Real]:
    """Minutes (problems, truths) of every policy with the same truths and the same luck."""
    rng = np.random.default_rng(seed)
    taken: dict[str, list[list[float]]] = {}
    for one in found:
        ways = {name: remembered(choose) for name, choose in choosers(one).items()}
        drawn_ = [
            (int(rng.choice(len(one.task.belief), p=one.task.belief)),
             rng.random(len(one.task.ends)))
            for _ in range(truths)
        ]  # fmt: skip
        for name, choose in ways.items():
            taken.setdefault(name, []).append([walked(one, choose, h, u) for h, u in drawn_])
    return {name: np.array(m) for name, m in taken.items()}


def saving(ours: Real, theirs: Real, seed: int = 0) -> tuple[float, float, float]:
    """(share of a rival's minutes saved, and its 95 % interval by a bootstrap over problems)."""
    rng = np.random.default_rng(seed)
    a, b = ours.mean(axis=1), theirs.mean(axis=1)
    pick = rng.integers(0, len(a), (SAMPLES, len(a)))
    low, high = np.quantile(1 - a[pick].mean(axis=1) / b[pick].mean(axis=1), (0.025, 0.975))
    return float(1 - a.mean() / b.mean()), float(low), float(high)


def told_small(found: Against) -> bool:
    """Print one sort of small searches; whether the product keeps its floors there."""
    count = len(found.ratio[OURS])
    more = f", {found.skipped} too large left out" if found.skipped else ""
    print(f"\n{found.sort}: {count} searches{more}. Minutes over the optimum's")
    print(f"  {'policy':36}{'mean':>8}{'worst':>8}")
    for name, ratio in found.ratio.items():
        print(f"  {name:36}{ratio.mean():8.3f}{ratio.max():8.3f}")
    ours = found.ratio[OURS]
    return bool(ours.mean() <= MEAN and ours.max() <= WORST)


def told_large(sort: str, taken: dict[str, Real]) -> None:
    """Print one sort of larger searches: minutes, and what is saved over each rival."""
    ours = taken[OURS]
    print(f"\n{sort}: {ours.shape[0]} searches, {ours.size} truths. Minutes till it is found")
    print(f"  {'policy':36}{'mean':>8}{'median':>8}{'95 %':>8}   saved by halfsplit")
    for name, minutes in taken.items():
        line = f"  {name:36}{minutes.mean():8.1f}{np.median(minutes):8.1f}"
        line += f"{np.quantile(minutes, 0.95):8.1f}"
        if name != OURS:
            saved, low, high = saving(ours, minutes)
            line += f"   {saved:6.1%}  ({low:.1%} to {high:.1%})"
        print(line)


def told_safety(found: Run) -> bool:
    """Print what came of random states; whether no rule was broken."""
    print(f"\n{found.states} random states, {found.offered} suggestions ({found.live} of them "
          f"live), {len(found.broken)} unsafe")  # fmt: skip
    for rule in found.broken:
        print(f"  {rule}")
    return not found.broken


def told_optimum(found: Iterable[Any_]) -> None:
    """Print what the optimum itself saves over the rival on larger searches, nothing slipping."""
    minutes = []
    for one in found:
        least, _ = Exact(one.task, MOST_BELIEFS).minutes(
            one.task.belief, one.start, one.nothing_done()
        )
        ways = choosers(one)
        minutes.append([least, *(expected(one, ways[name]) for name in (OURS, MOST_LIKELY))])
    best, ours, rival = np.array(minutes).T[:, :, None]
    print(f"\nAbstract, nothing slips, the exact optimum worked out: {len(best)} searches")
    print(f"  minutes: optimum {best.mean():.1f}, halfsplit {ours.mean():.1f} "
          f"({ours.mean() / best.mean():.3f} of it), {MOST_LIKELY} {rival.mean():.1f}")  # fmt: skip
    for name, mine in (("the optimum", best), ("halfsplit", ours)):
        saved, low, high = saving(mine, rival)
        print(f"  {name} saves {saved:.1%} over it ({low:.1%} to {high:.1%})")


def together(parts: list[dict[str, Real]]) -> dict[str, Real]:
    """All sorts as one, every search once: its truths averaged."""
    return {
        name: np.concatenate([part[name].mean(axis=1, keepdims=True) for part in parts])
        for name in parts[0]
    }


def arguments(given: list[str]) -> argparse.Namespace:
    """What was asked for."""
    ask = argparse.ArgumentParser(prog="scripts/bench policy", description=__doc__)
    ask.add_argument("--small", type=int, default=120, help="small searches of each sort")
    ask.add_argument("--large", type=int, default=1000, help="larger searches, all sorts together")
    ask.add_argument("--circuits", type=int, default=200, help="of these, from circuits")
    ask.add_argument("--optimum", type=int, default=8,
                     help="of the larger abstract ones, beside the exact optimum")  # fmt: skip
    ask.add_argument("--safety", type=int, default=200, help="random states against the rules")
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--chart", type=Path, help="where to put an SVG image of the distributions")
    return ask.parse_args(given)


def small_runs(count: int, seed: int) -> list[Against]:
    """Small searches of each sort; those with slips and from circuits a quarter as many."""
    few = max(count // 4, 1)
    return [
        against("Abstract, nothing slips", islice(abstract(seed, 7, 9, False), count)),
        against("Abstract, with slips", islice(abstract(seed + 1, 5, 5, True), few)),
        against("Circuits cut down", islice(cut(circuits(seed + 2, (4, 6, 8))), few)),
    ]


def large_runs(count: int, from_circuits: int, seed: int) -> dict[str, dict[str, Real]]:
    """Larger searches side by side: abstract without and with slips, and from circuits."""
    half = (count - from_circuits) // 2
    rest = count - from_circuits - half
    runs = {
        "Abstract, nothing slips": (abstract(seed + 3, *LARGE, False), half, 1),
        "Abstract, with slips": (abstract(seed + 4, *LARGE, True), rest, 1),
        "Circuits, with slips": (circuits(seed + 5, (6, 8, 10, 12)), from_circuits, TRUTHS),
    }
    return {
        sort: side_by_side(islice(found, many), truths, seed)
        for sort, (found, many, truths) in runs.items()
        if many
    }


def told_all(asked: argparse.Namespace) -> bool:
    """Larger searches side by side, told; whether enough is saved."""
    runs = large_runs(asked.large, asked.circuits, asked.seed)
    for sort, taken in runs.items():
        told_large(sort, taken)
    whole = together(list(runs.values()))
    told_large("All larger searches", whole)
    saved, low, _ = saving(whole[OURS], whole[MOST_LIKELY])
    print(f'\nSaved over "{MOST_LIKELY}": {saved:.1%}, at least {low:.1%}')
    if asked.chart:
        shown = {n: m.ravel() for n, m in whole.items() if n != GREEDY}
        asked.chart.write_text(chart("Minutes till it is found", shown), encoding="utf-8")
    return saved >= SAVING


def main(given: list[str]) -> int:
    """Run the parts asked for; 1 where a floor does not hold."""
    asked = arguments(given)
    small = small_runs(asked.small, asked.seed) if asked.small else []
    good = [told_small(one) for one in small]
    if asked.large:
        good.append(told_all(asked))
    if asked.optimum:
        found = abstract(asked.seed + 3, *LARGE, False)  # the first of the larger ones above
        told_optimum(islice(found, asked.optimum))
    if asked.safety:
        good.append(told_safety(run(asked.safety, asked.seed)))
    print(f"\nFloors: mean {MEAN}, worst {WORST} of the optimum; {SAVING:.0%} saved; no rule of "
          f"safety broken: {'kept' if all(good) else 'NOT kept'}")  # fmt: skip
    return 0 if all(good) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
