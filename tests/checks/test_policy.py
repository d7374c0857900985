"""The plan's arithmetic, beside brute force and an exact optimum."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import islice, permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bench._policy_exact import Exact
from bench._policy_run import OURS, Problem, choosers, expected
from bench._policy_tasks import START, drawn
from bench.policy import (
    MEAN,
    MOST_LIKELY,
    SAVING,
    WORST,
    abstract,
    against,
    saving,
    side_by_side,
)
from halfsplit.checks.policy import Ledger, Real, Task, ending, gains
from halfsplit.checks.rollout import Planner


@dataclass(frozen=True)
class Flat:
    """Prices that nothing changes."""

    own: Real

    def minutes(self, state: int) -> Real:
        """(A,) minutes, the same always."""
        return self.own

    def after(self, state: int, action: int) -> int:
        """Nothing lasts."""
        return state


def looking(belief: list[float], minutes: list[float], lost: float = 500.0) -> Task[int]:
    """One look per suspect, each sure to see it, and nothing to measure."""
    count = len(belief)
    found = np.eye(count)
    chance = np.stack([found, 1 - found], axis=2)
    ends = np.ones(count, dtype=np.bool_)
    prices = Flat(np.array(minutes))
    shares = np.array(belief) / sum(belief)
    return Task(shares, np.arange(count), chance, ends, prices, np.full(count, lost))


def ended(task: Task[int]) -> float:
    """Minutes of looking in order of chance over cost."""
    done = np.zeros((1, len(task.ends)), dtype=np.bool_)
    ledger = Ledger(task)
    start = np.array([ledger.number(0)])
    return float(ending(task, ledger, task.belief[None], start, done).minutes[0])


@settings(max_examples=40)
@given(
    st.lists(st.tuples(st.floats(0.02, 1), st.floats(0.5, 20)), min_size=2, max_size=6),
)
def test_looks_in_order_of_chance_over_cost_are_the_best_order(
    drawn_: list[tuple[float, float]],
) -> None:
    """No order of looks takes fewer minutes: every permutation is tried.

    Outside figure: exhaustive search over the orders, written apart.
    """
    belief, minutes = (list(x) for x in zip(*drawn_, strict=True))
    task = looking(belief, minutes)
    p = task.belief
    best = min(
        sum(minutes[a] * float(sum(p[b] for b in order[k:])) for k, a in enumerate(order))
        for order in permutations(range(len(belief)))
    )
    assert ended(task) == pytest.approx(best, rel=1e-3)


def test_a_measurement_is_taken_only_while_it_pays() -> None:
    """Even odds, looks of 10 minutes: a sure test of 4 minutes saves 1, one of 6 costs 1 more.

    Worked by hand: looking alone is 10 + 10/2 = 15 minutes; testing first is its minutes + 10.
    """
    for minutes, chosen in ((4.0, 2), (6.0, 0)):
        task = looking([1, 1], [10.0, 10.0])
        sure = np.stack([np.eye(2)], axis=0)
        both = Task(task.belief, task.group, np.concatenate([task.chance, sure]),
                    np.array([True, True, False]), Flat(np.array([10.0, 10.0, minutes])),
                    task.lost)  # fmt: skip
        ranked = Planner(both).rank(both.belief, 0, np.zeros(3, dtype=np.bool_))
        assert ranked.best == chosen
        assert ranked.stop == pytest.approx(15.0)
        assert min(ranked.minutes) == pytest.approx(min(15.0, minutes + 10.0))


def test_a_gain_is_what_is_left_unknown_less() -> None:
    """A test that halves four equal suspects is one bit; a look that finds one of them is 0.81.

    Worked by hand: 2 - 3/4 log2 3 = 0.811 bits, what is found being known.
    """
    task = looking([1, 1, 1, 1], [1.0] * 4)
    halves = np.array([[[1.0, 0.0], [1.0, 0.0], [0.0, 1.0], [0.0, 1.0]]])
    both = Task(task.belief, task.group, np.concatenate([task.chance, halves]),
                np.array([True] * 4 + [False]), Flat(np.ones(5)), task.lost)  # fmt: skip
    found = gains(both, both.belief[None])[0]
    assert found[4] == pytest.approx(1.0)
    assert found[:4] == pytest.approx([2 - 0.75 * np.log2(3)] * 4)


@settings(max_examples=15)
@given(st.integers(0, 10_000), st.booleans())
def test_no_policy_beats_the_optimum_and_rollout_no_worse_than_its_plan(
    seed: int, slips: bool
) -> None:
    """The exact optimum bounds every policy from below, and a plan is never made worse by much."""
    task = drawn(np.random.default_rng(seed), 4, 4, slips)
    problem = Problem(task, START, np.zeros(len(task.ends), dtype=np.intp), "drawn")
    least, _ = Exact(task).minutes(task.belief, START, problem.nothing_done())
    minutes = {name: expected(problem, choose) for name, choose in choosers(problem).items()}
    assert min(minutes.values()) >= least - 1e-9
    assert minutes[OURS] <= minutes["bits per minute alone"] * 1.02 + 1e-9


def test_the_optimum_of_a_search_worked_by_hand() -> None:
    """Two suspects 3 to 1, looks of 8 and 2 minutes: 2 + 8 * 3/4 = 8, the cheap one first."""
    task = looking([3, 1], [8.0, 2.0])
    least, first = Exact(task).minutes(task.belief, 0, np.zeros(2, dtype=np.bool_))
    assert first == 1
    assert least == pytest.approx(8.0)


@pytest.mark.parametrize(("count", "checks", "slips"), [(7, 9, False), (5, 5, True)])
def test_minutes_are_near_the_exact_optimum(count: int, checks: int, slips: bool) -> None:
    """On small searches the mean is within 3 % of the optimum and the worst within 25 %."""
    found = against("small", islice(abstract(11, count, checks, slips), 4 if slips else 12))
    ours = found.ratio[OURS]
    assert ours.min() >= 1 - 1e-9
    assert ours.mean() <= MEAN
    assert ours.max() <= WORST


def test_minutes_are_saved_over_the_likeliest_first() -> None:
    """On larger searches with slips 14 % or more is saved over the likeliest and cheapest first."""
    taken = side_by_side(islice(abstract(5, 16, 20, True), 40), 1, 5)
    saved, low, high = saving(taken[OURS], taken[MOST_LIKELY])
    assert low <= saved <= high
    assert saved >= SAVING
