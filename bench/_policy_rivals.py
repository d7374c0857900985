"""Other ways to choose the next check, on the same trials and the same costs.

"Halving by probability per minute" is on equal terms: it stops by the product's rule too, and picks
among the measurements that pay for themselves (one more, then looking, takes fewer minutes than
looking now). The others are as they are taught: measure while anything tells the suspects left
apart and none holds nearly all belief, then look; looks alike are ordered by chance over cost.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic

import numpy as np
from numpy.typing import NDArray

from halfsplit.checks.policy import Flags, Ledger, Real, S, Task, after_outcomes, ending, gains

ALIVE = 0.005  # belief from which a suspect counts
TELLS = 0.5  # total variation at which a check rules a suspect in or out
SPLITS = 1e-3  # bits from which a measurement tells anything apart
SURE = 0.95  # belief at which one suspect is taken for it


@dataclass(frozen=True)
class Turn(Generic[S]):
    """What a rival sees: who is believed, which actions it may take, minutes and places of all."""

    task: Task[S]
    belief: Real
    open: NDArray[np.intp]
    minutes: Real
    place: NDArray[np.intp]


Picks = Callable[[Turn], int]  # type: ignore[type-arg]


def halving(turn: Turn[S]) -> int:
    """The split nearest to half by probability, per minute."""
    share = np.einsum("h,ahb->ab", turn.belief, turn.task.chance[turn.open])
    rate = (1 - share.max(axis=1)) / turn.minutes[turn.open]
    return int(turn.open[np.argmax(rate)])


def by_count(turn: Turn[S]) -> int:
    """The split nearest to half by the number of suspects left; the cheaper of equals."""
    alive = turn.belief > ALIVE
    likely = turn.task.chance[turn.open][:, alive].argmax(axis=2)
    most = np.array([np.bincount(row).max() for row in likely])
    order = np.lexsort((turn.minutes[turn.open], most))
    return int(turn.open[order[0]])


def in_order(turn: Turn[S]) -> int:
    """Point by point from the supply; the cheapest at each."""
    order = np.lexsort((turn.minutes[turn.open], turn.place[turn.open]))
    return int(turn.open[order[0]])


def likeliest(turn: Turn[S]) -> int:
    """The likeliest suspect first: the cheapest check or look that rules it in or out."""
    top = int(np.argmax(turn.belief))
    rest = turn.belief.copy()
    rest[top] = 0.0
    rest /= max(float(rest.sum()), 1e-300)
    tables = turn.task.chance[turn.open]
    apart = np.abs(tables[:, top] - np.einsum("h,ahb->ab", rest, tables)).sum(axis=1) / 2
    telling = turn.open[apart >= min(TELLS, float(apart.max()))]
    return int(telling[np.argmin(turn.minutes[telling])])


@dataclass(frozen=True)
class Way:
    """A rival: how it picks, whether it stops by the product's rule, whether looks are picked."""

    picks: Picks
    equal: bool = False
    looks: bool = False


RIVALS: dict[str, Way] = {
    "halving by probability per minute": Way(halving, equal=True),
    "most likely first, cheapest first": Way(likeliest, looks=True),
    "point by point in order": Way(in_order),
    "halving by count": Way(by_count),
}


class Rival(Generic[S]):
    """One rival on one task."""

    def __init__(self, task: Task[S], way: Way, place: NDArray[np.intp]) -> None:
        self.task, self.way, self.place = task, way, place
        self.ledger = Ledger(task)

    def choose(self, belief: Real, state: S, done: Flags) -> int:
        """The next action, -1 where nothing is worth its minutes."""
        task, node = self.task, np.array([self.ledger.number(state)])
        stop = ending(task, self.ledger, belief[None], node, done[None])
        minutes = self.ledger.cost(node)[0]
        open_ = np.flatnonzero(~done & (gains(task, belief[None])[0] > SPLITS))
        if self.way.equal:
            value = self._one_more(belief, node, done, open_) + minutes[open_]
            open_ = open_[value < float(stop.minutes[0]) - 1e-9]
        elif not self.way.looks and float(belief.max()) >= SURE:
            open_ = open_[:0]
        if not self.way.looks:
            open_ = open_[~task.ends[open_]]
        if not open_.size:
            return int(stop.first[0])
        return self.way.picks(Turn(task, belief, open_, minutes, self.place))

    def _one_more(
        self, belief: Real, node: NDArray[np.intp], done: Flags, actions: NDArray[np.intp]
    ) -> Real:
        """(n,) minutes of looking after each action, averaged over its outcomes."""
        count = len(actions)
        if not count:
            return np.zeros(0)
        share, after = after_outcomes(
            np.broadcast_to(belief, (count, belief.size)), self.task.chance[actions]
        )
        share[self.task.ends[actions], 0] = 0.0
        state = self.ledger.after(np.repeat(node, count), actions)
        then = np.broadcast_to(done, (count, done.size)).copy()
        then[np.arange(count), actions] = True
        at, outcome = np.nonzero(share > 0)
        left = ending(self.task, self.ledger, after[at, outcome], state[at], then[at])
        total = np.zeros(count)
        np.add.at(total, at, share[at, outcome] * left.minutes)
        return total
