"""The checks of a site in the order in which to take them: followed to the end, best first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from halfsplit.checks.check import Check
from halfsplit.checks.costs import KINDS, State
from halfsplit.checks.gain import Binned, Grouped
from halfsplit.checks.policy import Task
from halfsplit.checks.rollout import Planner
from halfsplit.checks.rows import Rows
from halfsplit.checks.site import Site
from halfsplit.checks.task import task_of
from halfsplit.checks.trial import Shown

MOST_NOW = 10  # measurements that a plan may take up, the most bits per minute as things stand
MOST_MEASURED = 16  # and with those that would be best once isolated, unplugged and laid out
ALIKE = 2  # measurements of one kind at one place that a plan may take up
ENDS = ("open", "remake", "renew", "call")  # looks with which measuring stops
MOST_LOOKS = 12  # looks, those that find it most often per minute first


@dataclass(frozen=True, slots=True, eq=False)
class Scored:
    """A check with what it settles (bits), what it takes (minutes), and what it would show.

    ``hit`` is the chance that a look finds it; ``whole`` the minutes till it is found with this
    check first, None where that was not followed to the end.
    """

    check: Check
    shown: Shown
    bands: Binned
    gain: float
    minutes: float
    hit: float = 0.0
    whole: float | None = None

    @property
    def rate(self) -> float:
        """Bits per minute."""
        return self.gain / self.minutes

    @property
    def score(self) -> float:
        """Bits per minute with live work's risk as minutes: dead before live at equal worth."""
        return self.gain * worth(self.check, self.minutes)

    @property
    def soon(self) -> float:
        """The same once all that lasts is paid for."""
        return self.gain * worth(self.check, KINDS[self.check.kind].minutes)


def worth(check: Check, minutes: float) -> float:
    """What a bit of this check is worth: one over minutes, all that count included."""
    return 1.0 / (minutes + KINDS[check.kind].more)


@dataclass(frozen=True, slots=True, eq=False)
class Planned:
    """Checks in the ``order`` in which to take them; whether the first thing to do is to look.

    ``best`` is the minutes till it is found with the first of them, ``stop`` those by looking
    alone, ``other`` those with the best measurement first (None: there is none).
    """

    order: tuple[Scored, ...]
    looks: bool
    best: float
    stop: float
    other: float | None


def planned(
    scored: Sequence[Scored], rows: Rows, groups: Grouped, ids: Sequence[str], site: Site
) -> Planned:
    """Follow the best few to the end and put them first; the others by bits per minute."""
    chosen, looks = _taken_up(scored)
    if not chosen:
        return Planned((), True, 0.0, 0.0, None)
    _, task = search_problem(scored, rows, groups, ids, site)
    planner = Planner(task)
    found = planner.rank(task.belief, site.state, np.zeros(len(chosen), dtype=np.bool_))
    tried = [
        replace(chosen[int(a)], whole=float(m))
        for a, m in zip(found.actions, found.minutes, strict=True)
    ]
    other = next((s.whole for s in tried if s.check.kind not in ENDS), None)
    first = found.best
    least = min([found.stop, *(float(m) for m in found.minutes)])
    if first < 0 or chosen[first].check.kind in ENDS:
        return Planned(_looking(tried, looks, scored), True, least, found.stop, other)
    have = {s.check.id for s in tried}
    rest = [s for s in scored if s.check.id not in have]
    return Planned((*tried, *rest), False, least, found.stop, other)


def _taken_up(scored: Sequence[Scored]) -> tuple[list[Scored], list[Scored]]:
    """(the checks a plan is made of, every look: the likeliest to find it per minute first)."""
    measured = _apart([s for s in scored if not s.check.looks])
    now = measured[:MOST_NOW]
    dead = sorted((s for s in measured[MOST_NOW:] if s.check.dead), key=lambda s: -s.soon)
    kept = [*now, *dead[: MOST_MEASURED - MOST_NOW]]
    looks = sorted((s for s in scored if s.hit > 0), key=lambda s: (-s.hit / s.minutes, s.check.id))
    return [*kept, *looks[:MOST_LOOKS]], looks


def _apart(measured: Sequence[Scored]) -> list[Scored]:
    """Without what only asks again, in other conditions, what a better check asks there."""
    count: dict[tuple[str, str], int] = {}
    kept = []
    for one in measured:
        key = (one.check.where, one.check.kind)
        count[key] = count.get(key, 0) + 1
        if count[key] <= ALIKE:
            kept.append(one)
    return kept


def search_problem(
    scored: Sequence[Scored], rows: Rows, groups: Grouped, ids: Sequence[str], site: Site
) -> tuple[tuple[Check, ...], Task[State]]:
    """The checks that a plan takes up, and the problem they make."""
    chosen, _ = _taken_up(scored)
    checks = tuple(s.check for s in chosen)
    return checks, task_of(checks, [s.bands for s in chosen], rows, groups, ids, site)


def _looking(
    tried: Sequence[Scored], looks: Sequence[Scored], scored: Sequence[Scored]
) -> tuple[Scored, ...]:
    """Looks first, the chance to find it over the minutes deciding; then what can be measured."""
    whole = {s.check.id: s.whole for s in tried}
    first = [replace(s, whole=whole.get(s.check.id)) for s in looks]
    have = {s.check.id for s in first}
    return (*first, *(s for s in scored if s.check.id not in have))
