"""The best few next actions, each followed to the end: bits per minute first, then rollout.

The plan followed inside a rollout is plain: the most bits per minute while one more measurement
pays for itself, then look where chance over cost is highest. Trying each of the best few first
steps with it behind is never worse than the plan itself, and mends what it is blind to: a cheap
question that settles little, a dear step that several later ones share.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Generic

import numpy as np

from halfsplit.checks.policy import (
    NEVER,
    Flags,
    Index,
    Ledger,
    Real,
    S,
    Task,
    after_outcomes,
    ending,
    gains,
)

DEEPEST = 12  # measurements one after another in a rollout
SLIGHT = 1e-2  # chance of a branch below which it is ended by looking
TRIED = 3  # first steps by bits per minute, and as many by what they save at once
PAYS = 1e-6  # minutes, or bits: less is nothing


@dataclass(frozen=True, slots=True, eq=False)
class Ranked:
    """First steps, best first: ``actions`` with the expected ``minutes`` to the end of each;
    ``stop`` is what it takes to look without measuring again, ``first`` the look it begins with
    (-1: no look is worth its minutes)."""

    actions: Index
    minutes: Real
    stop: float
    first: int

    @property
    def best(self) -> int:
        """The action to take; -1 where nothing is worth its minutes any more."""
        if not self.actions.size or self.stop < float(self.minutes[0]) - PAYS:
            return self.first
        return int(self.actions[0])


@dataclass(frozen=True, slots=True, eq=False)
class _Front:
    """Nodes of the tree on one level: the first step each came by, its chance, belief, state."""

    root: Index
    chance: Real
    belief: Real
    state: Index
    done: Flags

    def part(self, rows: Index | Flags) -> _Front:
        return _Front(
            self.root[rows],
            self.chance[rows],
            self.belief[rows],
            self.state[rows],
            self.done[rows],
        )


@dataclass(frozen=True, slots=True, eq=False)
class _Taken:
    """One action taken at each of N nodes: minutes ``spent`` (N,), the nodes that come of it, their
    ``root`` the node they come from, and what it takes to end each by looking (``stop``)."""

    spent: Real
    nodes: _Front
    stop: Real

    @property
    def minutes(self) -> Real:
        """(N,) minutes of the action with looking straight after it."""
        after = np.bincount(
            self.nodes.root, weights=self.nodes.chance * self.stop, minlength=len(self.spent)
        )
        return np.asarray(self.spent + after, dtype=np.float64)

    def of(self, kept: Flags) -> _Taken:
        """Only at the nodes ``kept`` (N,)."""
        at = kept[self.nodes.root]
        place = np.cumsum(kept) - 1
        nodes = self.nodes.part(at)
        return _Taken(self.spent[kept], replace(nodes, root=place[nodes.root]), self.stop[at])


class Planner(Generic[S]):
    """One task with what its actions cost from each state met, for any number of choices."""

    def __init__(self, task: Task[S], tried: int = TRIED, slight: float = SLIGHT) -> None:
        self.task, self.tried, self.slight = task, tried, slight
        self.ledger = Ledger(task)

    def rank(self, belief: Real, state: S, done: Flags) -> Ranked:
        """The best few first steps from a belief (H,), with ``done`` (A,) actions left out."""
        start = self._start(belief, state, done)
        stop = ending(self.task, self.ledger, start.belief, start.state, start.done)
        look, alone = int(stop.first[0]), float(stop.minutes[0])
        gain = gains(self.task, start.belief)[0]
        open_ = np.flatnonzero(~start.done[0] & (gain > PAYS))
        if look >= 0:
            open_ = np.union1d(open_, [look])
        if not open_.size:
            return Ranked(open_, np.zeros(0), alone, look)
        taken = self._take(start.part(np.zeros(len(open_), dtype=np.intp)), open_)
        rate = gain[open_] / taken.spent
        best = dict.fromkeys(np.argsort(-rate, kind="stable")[: self.tried].tolist())
        best |= dict.fromkeys(np.argsort(taken.minutes, kind="stable")[: self.tried].tolist())
        kept = (open_ == look) | np.isin(np.arange(len(open_)), list(best))
        minutes = self._follow(taken.of(kept))
        order = np.argsort(np.round(minutes, 9), kind="stable")
        return Ranked(open_[kept][order], minutes[order], alone, look)

    def greedy(self, belief: Real, state: S, done: Flags) -> int:
        """The plain plan's next action, -1 where nothing is left to do."""
        start = self._start(belief, state, done)
        stop = ending(self.task, self.ledger, start.belief, start.state, start.done)
        step, _, saves = self._plain(start, stop.minutes)
        return int(step[0]) if saves[0] else int(stop.first[0])

    def _start(self, belief: Real, state: S, done: Flags) -> _Front:
        node = np.array([self.ledger.number(state)], dtype=np.intp)
        return _Front(np.zeros(1, dtype=np.intp), np.ones(1), belief[None], node, done[None])

    def _plain(self, front: _Front, stop: Real) -> tuple[Index, _Taken, Flags]:
        """(the step with the most bits per minute (N,), taken, whether it pays for itself (N,))."""
        cost = np.where(front.done, NEVER, self.ledger.cost(front.state))
        step = np.argmax(gains(self.task, front.belief) / cost, axis=1)
        taken = self._take(front, step)
        again = front.done[np.arange(len(step)), step]
        return step, taken, (taken.minutes < stop - PAYS) & ~again

    def _take(self, front: _Front, actions: Index) -> _Taken:
        """An action at each node; what is found is gone."""
        rows = np.arange(len(actions))
        spent = self.ledger.cost(front.state)[rows, actions]
        share, belief = after_outcomes(front.belief, self.task.chance[actions])
        share[self.task.ends[actions], 0] = 0.0
        state = self.ledger.after(front.state, actions)
        done = front.done.copy()
        done[rows, actions] = True
        at, outcome = np.nonzero(share > 0)
        nodes = _Front(at, share[at, outcome], belief[at, outcome], state[at], done[at])
        stop = ending(self.task, self.ledger, nodes.belief, nodes.state, nodes.done)
        return _Taken(np.asarray(spent, dtype=np.float64), nodes, stop.minutes)

    def _follow(self, taken: _Taken) -> Real:
        """(n,) expected minutes to the end, each first step followed by the plain plan."""
        total = taken.spent.copy()
        front, stop = taken.nodes, taken.stop
        for _ in range(DEEPEST):
            goes = front.chance > self.slight
            part = front.part(goes)
            if part.root.size:
                _, then, saves = self._plain(part, stop[goes])
                goes[goes] = saves
            np.add.at(total, front.root[~goes], (front.chance * stop)[~goes])
            if not goes.any():
                return total
            part, then = part.part(saves), then.of(saves)
            np.add.at(total, part.root, part.chance * then.spent)
            nodes = then.nodes
            chance = part.chance[nodes.root] * nodes.chance
            front, stop = replace(nodes, root=part.root[nodes.root], chance=chance), then.stop
        np.add.at(total, front.root, front.chance * stop)
        return total
