"""The checks of a site as a search problem: causes, what each check shows of them, what it costs.

Figures are cut into the few bands that keep most of what they tell about the suspect groups.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfsplit.checks.check import Check
from halfsplit.checks.costs import CONTENT, KINDS, LOST, State, lasting
from halfsplit.checks.gain import Binned, Grouped
from halfsplit.checks.policy import Real, Task
from halfsplit.checks.rows import Rows
from halfsplit.checks.site import Site

BANDS = 4  # outcomes of a check that a plan tells apart
MOST_CAUSES = 28
SLIGHT_GROUP = 4e-3  # belief below which groups are taken together
SLIGHT_CAUSE = 1e-3  # belief below which causes of one suspect group are taken together


class SitePrices:
    """Minutes of every check from a state: the change of conditions, and all else that counts."""

    def __init__(self, checks: Sequence[Check], site: Site) -> None:
        self.checks = tuple(checks)
        wanted = [lasting(check, site.behind(check.where)) for check in checks]
        self._tokens = {t: k for k, t in enumerate(dict.fromkeys(t for w in wanted for t in w))}
        self._price = np.zeros((len(self._tokens), len(checks)))
        for a, wants in enumerate(wanted):
            for token, price in wants.items():
                self._price[self._tokens[token], a] = price
        kinds = [KINDS[check.kind] for check in checks]
        self._own = np.array([kind.minutes + kind.more for kind in kinds])

    def minutes(self, state: State) -> Real:
        """(A,) minutes of each check from ``state``."""
        held = [self._tokens[token] for token in state.holds() if token in self._tokens]
        wanting = np.ones(len(self._tokens))
        wanting[held] = 0.0
        return np.asarray(self._own + wanting @ self._price, dtype=np.float64)

    def after(self, state: State, action: int) -> State:
        """The state once a check has been done."""
        return state.after(self.checks[action])


@dataclass(frozen=True, slots=True, eq=False)
class Causes:
    """Rows taken together into the hypotheses of a plan: ``of`` (K,) which one a row belongs to,
    ``group`` (H,) the suspect group of each, the last "none of these" if any belief is left,
    ``lost`` (H,) minutes where no look finds it."""

    of: NDArray[np.intp]
    group: NDArray[np.intp]
    belief: Real
    lost: Real


def causes(rows: Rows, groups: Grouped, ids: Sequence[str], cables: Collection[str] = ()) -> Causes:
    """Each cause by itself, the slight ones of a group together; "none of these" as one more.

    ``cables`` are ids of faults between two places: where no look shows them, a cable is renewed.
    """
    total: dict[str, float] = {}
    for id, weight in zip(ids, rows.weight.tolist(), strict=True):
        total[id] = total.get(id, 0.0) + weight
    order = sorted(total, key=lambda id: -round(total[id], 12))
    kept = {id for id in order[:MOST_CAUSES] if total[id] >= SLIGHT_CAUSE}
    number: dict[tuple[str, int], int] = {}
    share = groups.gather(rows.weight)
    of = np.empty(len(ids), dtype=np.intp)
    group: list[int] = []
    lost: list[float] = []
    for k, (id, g) in enumerate(zip(ids, groups.of.tolist(), strict=True)):
        g = g if share[g] >= SLIGHT_GROUP else groups.count - 1
        key = (id, g) if id in kept else ("slight", g)
        if key not in number:
            number[key] = len(group)
            group.append(g)
            lost.append(KINDS["renew"].minutes if id in cables else LOST if id else CONTENT)
        of[k] = number[key]
    belief = np.bincount(of, weights=rows.weight, minlength=len(group))
    if rows.none > 0:
        group.append(groups.count)
        lost.append(LOST)
        belief = np.append(belief, rows.none)
    return Causes(of, np.array(group), np.asarray(belief / belief.sum()), np.array(lost))


def task_of(
    checks: Sequence[Check],
    found: Sequence[Binned],
    rows: Rows,
    groups: Grouped,
    ids: Sequence[str],
    site: Site,
) -> Task[State]:
    """The search problem of these checks; ``found`` are their outcomes, ``ids`` (K,) the rows'
    fault ids."""
    between = (c.fault for c in site.diagnosis.causes if c.fault)
    who = causes(rows, groups, ids, {f.id for f in between if len(f.places) == 2})
    tables = np.stack([_table(b, c, rows, groups, who) for b, c in zip(found, checks, strict=True)])
    ends = np.array([check.looks for check in checks])
    return Task(who.belief, who.group, tables, ends, SitePrices(checks, site), who.lost)


def _table(found: Binned, check: Check, rows: Rows, groups: Grouped, who: Causes) -> Real:
    """(H, BANDS) chances of one check's outcomes under each cause."""
    chance = found.chance
    if chance.shape[1] > BANDS:
        chance = _joined(chance, banded(chance, rows, groups))
    weight = np.zeros((len(who.group), len(rows.weight)))
    weight[who.of, np.arange(len(rows.weight))] = np.maximum(rows.weight, 1e-300)
    mine = weight.sum(axis=1, keepdims=True)
    table = np.divide(weight, mine, out=weight, where=mine > 0) @ chance
    if rows.none > 0:
        table[-1] = np.eye(chance.shape[1])[-1] if check.looks else 1.0 / chance.shape[1]
    return np.pad(table, ((0, 0), (0, BANDS - table.shape[1])))


def banded(chance: Real, rows: Rows, groups: Grouped) -> list[int]:
    """Where the bands begin: columns (K, n) in BANDS runs that keep the most about the group."""
    joint = np.zeros((groups.count, chance.shape[1]))
    np.add.at(joint, groups.of, rows.weight[:, None] * chance)
    up = np.concatenate([np.zeros((groups.count, 1)), np.cumsum(joint, axis=1)], axis=1)
    n = chance.shape[1]
    run = up[:, None, :] - up[:, :, None]  # (G, from, to)
    run = np.maximum(run, 0.0)
    whole = run.sum(axis=0)
    told = _heat(run).sum(axis=0) - _heat(whole)
    told[np.tril_indices(n + 1)] = -np.inf
    best, back = told[0], []
    for _ in range(BANDS - 1):
        every = best[:, None] + told
        back.append(np.argmax(every, axis=0))
        best = np.max(every, axis=0)
    starts, at = [], n
    for step in reversed(back):
        at = int(step[at])
        starts.append(at)
    return [0, *reversed(starts)]


def _heat(p: Real) -> Real:
    return np.asarray(p * np.log2(np.maximum(p, 1e-300)), dtype=np.float64)


def _joined(chance: Real, starts: Sequence[int]) -> Real:
    """Columns of ``chance`` (K, n) summed from each start to the next."""
    return np.add.reduceat(chance, starts, axis=1)
