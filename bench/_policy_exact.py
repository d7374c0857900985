"""The least expected minutes of a small search problem, by dynamic programming over beliefs."""

from __future__ import annotations

from typing import Generic

import numpy as np

from halfsplit.checks.policy import Flags, Real, S, Task

ROUND = 10  # digits of a belief that make two the same


class TooLarge(Exception):
    """More beliefs than were allowed."""


class Exact(Generic[S]):
    """Optimal minutes and actions of one problem, every belief reached solved once.

    No belief is left out and no branch is cut: what is remembered is the whole table. ``most``
    beliefs are allowed, beyond which TooLarge is raised.
    """

    def __init__(self, task: Task[S], most: int = 400_000) -> None:
        self.task, self.most = task, most
        self.known: dict[object, tuple[float, int]] = {}
        # Where nothing slips an action done twice settles nothing: belief says what was done.
        self.sure = bool(np.all((task.chance == 0) | (task.chance == 1)))
        self._cost: dict[object, Real] = {}

    def minutes(self, belief: Real, state: S, done: Flags) -> tuple[float, int]:
        """(least expected minutes, best action or -1 to be lost) from a belief (H,)."""
        left = float(belief.sum())
        if left < 1e-12:
            return 0.0, -1
        belief = belief / left
        key = (
            np.round(belief, ROUND).tobytes(),
            state,
            b"" if self.sure else np.packbits(done).tobytes(),
        )
        found = self.known.get(key)
        if found is None:
            if len(self.known) >= self.most:
                raise TooLarge(f"more than {self.most} beliefs")
            found = self.known[key] = self._solve(belief, state, done)
        return found

    def _solve(self, belief: Real, state: S, done: Flags) -> tuple[float, int]:
        cost = self._cost.get(state)
        if cost is None:
            cost = self._cost[state] = self.task.prices.minutes(state)
        best, chosen = float(belief @ self.task.lost), -1
        for a in np.argsort(cost, kind="stable"):
            if done[a] or cost[a] >= best:
                continue
            joint = belief[:, None] * self.task.chance[a]
            share = joint.sum(axis=0)
            if self.task.ends[a]:
                share[0] = 0.0
            elif (share > 1 - 1e-12).any():
                continue
            total = float(cost[a])
            then = done.copy()
            then[a] = True
            after = self.task.prices.after(state, int(a))
            for o in np.flatnonzero(share > 1e-15):
                more, _ = self.minutes(joint[:, o], after, then)
                total += float(share[o]) * more
                if total >= best:
                    break
            if total < best:
                best, chosen = total, int(a)
        return best, chosen
