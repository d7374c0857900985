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
from numpy.typing import NDArray

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
PAYS = 1e-9


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

    def part(self, rows: NDArray[np.intp] | NDArray[np.bool_]) -> _Front:
        return _Front(
            self.root[rows],
            self.chance[rows],
            self.belief[rows],
            self.state[rows],
            self.done[rows],
        )


class Planner(Generic[S]):
    """One task with what its actions cost from each state met, for any number of choices."""

    def __init__(self, task: Task[S], tried: int = TRIED, slight: float = SLIGHT) -> None:
        self.task, self.tried, self.slight = task, tried, slight
        self.ledger = Ledger(task)

    def rank(self, belief: Real, state: S, done: Flags) -> Ranked:
        """The best few first steps from a belief (H,), with ``done`` (A,) actions left out."""
        start = _Front(
            np.zeros(1, dtype=np.intp),
            np.ones(1),
            belief[None, :],
            np.array([self.ledger.number(state)], dtype=np.intp),
            done[None, :],
        )
        stop = ending(self.task, self.ledger, start.belief, start.state, start.done)
        tried = self._first(start, int(stop.first[0]))
        if not tried.size:
            return Ranked(tried, np.zeros(0), float(stop.minutes[0]), int(stop.first[0]))
        minutes = self._follow(start, tried)
        order = np.argsort(np.round(minutes, 9), kind="stable")
        return Ranked(tried[order], minutes[order], float(stop.minutes[0]), int(stop.first[0]))

    def greedy(self, belief: Real, state: S, done: Flags) -> int:
        """The plain plan's next action, -1 where nothing is left to do."""
        node = np.array([self.ledger.number(state)], dtype=np.intp)
        stop = ending(self.task, self.ledger, belief[None], node, done[None])
        step, saves = self._plain(belief[None], node, done[None], stop.minutes)
        return int(step[0]) if saves[0] else int(stop.first[0])

    def _first(self, start: _Front, look: int) -> Index:
        """First steps worth following: by bits per minute, by what they leave, and to look."""
        cost = self._cost(start)[0]
        gain = gains(self.task, start.belief)[0]
        rate = gain / cost
        open_ = np.flatnonzero(~start.done[0] & (gain > PAYS))
        if not open_.size:
            return np.array([look] if look >= 0 else [], dtype=np.intp)
        soon = self._then(start, open_)
        by_rate = open_[np.argsort(-rate[open_], kind="stable")[: self.tried]]
        by_value = open_[np.argsort(soon, kind="stable")[: self.tried]]
        found = dict.fromkeys([*by_rate.tolist(), *by_value.tolist()])
        if look >= 0:
            found[look] = None
        return np.array(list(found), dtype=np.intp)

    def _then(self, start: _Front, actions: Index) -> Real:
        """(n,) minutes of each action with looking straight after it."""
        many = _spread(start, actions)
        children, spent = self._step(many, actions)
        after = ending(self.task, self.ledger, children.belief, children.state, children.done)
        back = np.zeros(len(actions))
        np.add.at(back, children.root, children.chance * after.minutes)
        return spent + back

    def _cost(self, front: _Front) -> Real:
        return np.where(front.done, NEVER, self.ledger.cost(front.state))

    def _plain(
        self, belief: Real, state: Index, done: Flags, stop: Real
    ) -> tuple[Index, NDArray[np.bool_]]:
        """(the step with the most bits per minute (N,), whether it pays for itself (N,))."""
        count = len(belief)
        cost = np.where(done, NEVER, self.ledger.cost(state))
        step = np.argmax(gains(self.task, belief) / cost, axis=1)
        front = _Front(np.arange(count), np.ones(count), belief, state, done)
        children, spent = self._step(front, step)
        after = ending(self.task, self.ledger, children.belief, children.state, children.done)
        value = spent.copy()
        np.add.at(value, children.root, children.chance * after.minutes)
        return step, (value < stop - PAYS) & ~done[np.arange(count), step]

    def _step(self, front: _Front, actions: Index) -> tuple[_Front, Real]:
        """(the nodes after each node's action, minutes spent (N,)); what is found is gone.

        The children's ``root`` and ``chance`` are the node they come from and the chance there.
        """
        rows = np.arange(len(actions))
        spent = self.ledger.cost(front.state)[rows, actions]
        share, belief = after_outcomes(front.belief, self.task.chance[actions])
        share[self.task.ends[actions], 0] = 0.0
        state = self.ledger.after(front.state, actions)
        done = front.done.copy()
        done[rows, actions] = True
        at, outcome = np.nonzero(share > 0)
        return (
            _Front(at, share[at, outcome], belief[at, outcome], state[at], done[at]),
            np.asarray(spent, dtype=np.float64),
        )

    def _follow(self, start: _Front, tried: Index) -> Real:
        """(n,) expected minutes to the end, each first step followed by the plain plan."""
        total = np.zeros(len(tried))
        children, spent = self._step(_spread(start, tried), tried)
        total += spent
        front = children
        for _ in range(DEEPEST):
            if not front.root.size:
                return total
            stop = ending(self.task, self.ledger, front.belief, front.state, front.done)
            goes = front.chance > self.slight
            step = np.zeros(len(goes), dtype=np.intp)
            deep = np.flatnonzero(goes)
            if deep.size:
                part = front.part(deep)
                step[deep], saves = self._plain(
                    part.belief, part.state, part.done, stop.minutes[deep]
                )
                goes[deep] = saves
            np.add.at(total, front.root[~goes], (front.chance * stop.minutes)[~goes])
            part, step = front.part(goes), step[goes]
            if not part.root.size:
                return total
            children, spent = self._step(part, step)
            np.add.at(total, part.root, part.chance * spent)
            front = replace(
                children,
                root=part.root[children.root],
                chance=part.chance[children.root] * children.chance,
            )
        stop = ending(self.task, self.ledger, front.belief, front.state, front.done)
        np.add.at(total, front.root, front.chance * stop.minutes)
        return total


def _spread(start: _Front, actions: Index) -> _Front:
    """One node as many times as there are actions, each with its own root."""
    rows = np.zeros(len(actions), dtype=np.intp)
    return replace(start.part(rows), root=np.arange(len(actions)))
