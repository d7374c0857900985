"""Policies followed through one search: exactly, over every outcome, or with one truth drawn."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Generic

import numpy as np
from numpy.typing import NDArray

from bench._policy_rivals import RIVALS, Rival
from halfsplit.checks.policy import Flags, Real, S, Task
from halfsplit.checks.rollout import Planner

OURS, GREEDY = "halfsplit", "bits per minute alone"
MOST_STEPS = 60


@dataclass(frozen=True, slots=True, eq=False)
class Problem(Generic[S]):
    """A search: its task, where it starts, where each action takes place, where it came from."""

    task: Task[S]
    start: S
    place: NDArray[np.intp]
    name: str
    words: tuple[str, ...] = field(default=())

    def nothing_done(self) -> Flags:
        """No action done yet."""
        return np.zeros(len(self.task.ends), dtype=np.bool_)


Choose = Callable[[Real, S, Flags], int]


def choosers(problem: Problem[S]) -> dict[str, Choose[S]]:
    """Every policy on this problem by name, the product's own first."""
    planner: Planner[S] = Planner(problem.task)
    found: dict[str, Choose[S]] = {
        OURS: lambda belief, state, done: planner.rank(belief, state, done).best,
        GREEDY: planner.greedy,
    }
    for name, way in RIVALS.items():
        found[name] = Rival(problem.task, way, problem.place).choose
    return found


def expected(problem: Problem[S], choose: Choose[S]) -> float:
    """Expected minutes of a policy, every outcome followed."""
    task = problem.task
    known: dict[object, float] = {}

    def follow(belief: Real, state: S, done: Flags) -> float:
        left = float(belief.sum())
        if left < 1e-12:
            return 0.0
        belief = belief / left
        key = (np.round(belief, 10).tobytes(), state, done.tobytes())
        if key not in known:
            known[key] = float(belief @ task.lost)
            action = choose(belief, state, done)
            if action >= 0:
                known[key] = step(belief, state, done, action)
        return known[key]

    def step(belief: Real, state: S, done: Flags, action: int) -> float:
        total = float(task.prices.minutes(state)[action])
        joint = belief[:, None] * task.chance[action]
        share = joint.sum(axis=0)
        then = done.copy()
        then[action] = True
        after = task.prices.after(state, action)
        for o in np.flatnonzero(share > 1e-15):
            if not (task.ends[action] and o == 0):
                total += float(share[o]) * follow(joint[:, o], after, then)
        return total

    return follow(task.belief, problem.start, problem.nothing_done())


def walked(problem: Problem[S], choose: Choose[S], truth: int, luck: Real) -> float:
    """Minutes until it is found, the truth and every action's ``luck`` (A,) in [0, 1) given."""
    task, belief, state = problem.task, problem.task.belief, problem.start
    done, minutes = problem.nothing_done(), 0.0
    for _ in range(MOST_STEPS):
        action = choose(belief, state, done)
        if action < 0:
            break
        minutes += float(task.prices.minutes(state)[action])
        chance = task.chance[action, truth]
        outcome = min(int((luck[action] >= np.cumsum(chance)).sum()), chance.size - 1)
        if task.ends[action] and outcome == 0:
            return minutes
        belief = belief * task.chance[action, :, outcome]
        belief = belief / max(float(belief.sum()), 1e-300)
        done[action] = True
        state = task.prices.after(state, action)
    return minutes + float(task.lost[truth])


def remembered(choose: Choose[S]) -> Choose[S]:
    """The same policy, asked once for the same belief, state and actions done."""
    known: dict[object, int] = {}

    def choice(belief: Real, state: S, done: Flags) -> int:
        key = (np.round(belief, 10).tobytes(), state, done.tobytes())
        if key not in known:
            known[key] = choose(belief, state, done)
        return known[key]

    return choice
