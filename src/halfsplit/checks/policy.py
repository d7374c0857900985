"""Which action next, so that the fault is found in the fewest minutes: arithmetic, no trade.

A task is a belief over hypotheses, what each action would show under each of them, and what each
action costs from where one stands. Some actions end the search when their first outcome comes: an
opened box in which the fault is seen. Nothing here knows what the actions are.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

Real = NDArray[np.float64]
Index = NDArray[np.intp]
Flags = NDArray[np.bool_]
S = TypeVar("S", bound=Hashable)
NEVER = 1e9  # minutes of an action that is done already
TINY = 1e-9
LEFT = 1e-4  # belief left at which a sequence of looks is as good as ended


class Prices(Protocol[S]):
    """What actions cost: what lasts (isolated, a cover off) is in the state."""

    def minutes(self, state: S) -> Real:
        """(A,) minutes of every action from ``state``, the change of conditions included."""

    def after(self, state: S, action: int) -> S:
        """The state once an action has been done."""


@dataclass(frozen=True, slots=True, eq=False)
class Task(Generic[S]):
    """What is believed and what can be done.

    ``belief`` (H,) sums to 1; ``group`` (H,) numbers the suspect group of each hypothesis;
    ``chance`` (A, H, B) is that of each outcome (zeros where an action has fewer); ``ends`` (A,)
    marks actions whose outcome 0 ends the search; ``lost`` (H,) is what it takes where none does.
    """

    belief: Real
    group: Index
    chance: Real
    ends: Flags
    prices: Prices[S]
    lost: Real


def after_outcomes(belief: Real, chance: Real) -> tuple[Real, Real]:
    """(chance of each outcome (N, B), belief after it (N, B, H)) of beliefs (N, H), one action's
    ``chance`` (N, H, B) each."""
    joint = np.swapaxes(belief[:, :, None] * chance, 1, 2)
    share = joint.sum(axis=2)
    return share, joint / np.maximum(share, 1e-300)[:, :, None]


def _surprise(p: NDArray[np.float32]) -> NDArray[np.float32]:
    """-p log2 p, 0 at 0."""
    found = np.maximum(p, np.float32(1e-30))
    np.log2(found, out=found)
    found *= p
    return np.negative(found, out=found)


def gains(task: Task[S], belief: Real) -> Real:
    """(N, A) bits about the suspect group that each action settles; what is found is known.

    Good to a millionth of a bit: half the digits take a fifth of the time.
    """
    order = np.argsort(task.group, kind="stable")
    first = np.diff(task.group[order], prepend=-1) != 0
    at = np.cumsum(first) - 1
    actions, _, outcomes = task.chance.shape
    tables = np.swapaxes(task.chance, 0, 1)[order].reshape(1, len(order), -1).astype(np.float32)
    mine = belief[:, order, None].astype(np.float32)
    both = mine * tables
    joint = both[:, first]
    for h in np.flatnonzero(~first):  # most groups have one member
        joint[:, at[h]] += both[:, h]
    joint = joint.reshape(len(belief), -1, actions, outcomes)
    left = _surprise(joint).sum(axis=1) - _surprise(joint.sum(axis=1))
    left[:, task.ends, 0] = 0.0
    before = _surprise(np.add.reduceat(mine[:, :, 0], np.flatnonzero(first), axis=1)).sum(axis=1)
    return np.asarray(np.maximum(before[:, None] - left.sum(axis=2), 0.0), dtype=np.float64)


class Ledger(Generic[S]):
    """What actions cost from each state met so far, asked once; states are numbered."""

    def __init__(self, task: Task[S]) -> None:
        self.prices, self._actions = task.prices, len(task.ends)
        self._states: list[S] = []
        self._number: dict[S, int] = {}
        self._minutes: Real = np.zeros((0, self._actions))
        self._after: Index = np.zeros((0, self._actions), dtype=np.intp)

    def number(self, state: S) -> int:
        """The number of a state."""
        found = self._number.get(state)
        if found is None:
            found = self._number[state] = len(self._states)
            if found == len(self._minutes):
                more = max(found, 16)
                self._minutes = np.concatenate([self._minutes, np.zeros((more, self._actions))])
                unknown = np.full((more, self._actions), -1, dtype=np.intp)
                self._after = np.concatenate([self._after, unknown])
            self._states.append(state)
            self._minutes[found] = self.prices.minutes(state)
        return found

    def cost(self, states: Index) -> Real:
        """(N, A) minutes from each of these states."""
        return np.asarray(self._minutes[states])

    def after(self, states: Index, actions: Index) -> Index:
        """(N,) the state once each action has been done from each state."""
        unknown = self._after[states, actions] < 0
        for state, action in dict.fromkeys(
            zip(states[unknown].tolist(), actions[unknown].tolist(), strict=True)
        ):
            then = self.number(self.prices.after(self._states[state], action))
            self._after[state, action] = then
        return np.asarray(self._after[states, actions])


@dataclass(frozen=True, slots=True, eq=False)
class Ending:
    """Looking in order of chance over cost until it is found: ``minutes`` (N,) expected, and which
    action comes ``first`` (N,), -1 where none is worth more than being lost."""

    minutes: Real
    first: Index


def ending(task: Task[S], ledger: Ledger[S], belief: Real, states: Index, done: Flags) -> Ending:
    """What it takes to end the search without another measurement, from each belief (N, H).

    What only the first look pays (isolating, the way there) does not tell in their order.
    """
    ends = np.flatnonzero(task.ends)
    count, rows = len(belief), np.arange(len(belief))
    lost = belief @ task.lost
    if not count or not ends.size:
        return Ending(lost, np.full(count, -1, dtype=np.intp))
    find = task.chance[ends, :, 0]
    shut = done[:, ends]
    now = ledger.cost(states)[:, ends]
    nearest = np.argmax(np.where(shut, -1.0, (belief @ find.T) / now), axis=1)
    price = ledger.cost(ledger.after(states, ends[nearest]))[:, ends]
    find = np.concatenate([find, np.ones((1, belief.shape[1]))])
    price = np.concatenate([price, np.zeros((count, 1))], axis=1)
    shut = np.concatenate([shut, np.zeros((count, 1), dtype=np.bool_)], axis=1)
    left, total = belief.copy(), np.zeros(count)
    first = np.full(count, ends.size)
    for step in range(ends.size + 1):
        mass = left.sum(axis=1)
        price[:, -1] = (left @ task.lost) / np.maximum(mass, 1e-300) + TINY
        pick = np.argmax(np.where(shut, -1.0, (left @ find.T) / price), axis=1)
        total += mass * price[rows, pick]
        left = left * (1 - find[pick])
        shut[rows, pick] = True
        if step == 0:
            first = pick
        if float(left.sum(axis=1).max(initial=0.0)) < LEFT:
            break
    real = first < ends.size
    at = np.where(real, first, 0)
    total += np.where(real, now[rows, at] - price[rows, at], 0.0)
    real &= total < lost
    return Ending(np.where(real, total, lost), np.where(real, ends[at], -1))
