"""What checks show and what they liven, remembered: it hangs on the wiring and what is wrong alone.

From one reading to the next most causes stay believed and most checks stay possible: only what is
new is solved.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Sequence
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from halfsplit.checks.check import Check
from halfsplit.checks.hazards import Livened, hurts, reachable, worst
from halfsplit.checks.rows import Rows
from halfsplit.checks.trial import WORDS, Shown, Trial, base
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.network import V
from halfsplit.wiring.effects import Effect

Real = NDArray[np.float64]
Index = NDArray[np.intp]
MOST_ROWS = 4000  # met in one installation, beyond which all is forgotten
Found = Iterable[tuple[Check, Real | None]]


class _Known:
    """Numbers of the rows met in an installation, and a column (n, w) of each check."""

    def __init__(self) -> None:
        self.rows: dict[tuple[tuple[Effect, ...], int], int] = {}
        self.columns: dict[Hashable, Real | None] = {}

    def number(self, rows: Rows) -> Index:
        """(K,) the numbers of these rows."""
        if len(self.rows) > MOST_ROWS:
            self.rows.clear()
            self.columns.clear()
        both = zip(rows.effects, rows.extra, strict=True)
        return np.array([self.rows.setdefault(row, len(self.rows)) for row in both], dtype=np.intp)

    def lacks(self, key: Hashable, at: Index) -> NDArray[np.bool_]:
        """(K,) rows not tried on a check; none where it cannot be made at all."""
        column = self.columns.get(key, _NOTHING)
        if column is None:
            return np.zeros(len(at), dtype=np.bool_)
        unknown = at >= len(column)
        unknown[~unknown] = np.isnan(column[at[~unknown], 0])
        return unknown

    def keep(self, key: Hashable, at: Index, values: Real | None) -> None:
        """Note what a check gave (k, w) under some rows; None where it cannot be made."""
        column = self.columns.get(key, _NOTHING)
        if values is None or column is None:
            self.columns[key] = None
            return
        if len(column) < len(self.rows):
            wide = np.full((2 * len(self.rows), values.shape[1]), np.nan)
            wide[: len(column)] = column
            column = self.columns[key] = wide
        column[at] = values


_NOTHING: Real = np.zeros((0, 1))
_KNOWN: WeakKeyDictionary[Prepared, _Known] = WeakKeyDictionary()


class Tried:
    """The rows of a step, tried on checks."""

    def __init__(self, prepared: Prepared, rows: Rows) -> None:
        self.ids = list(rows.names)
        self._prepared, self._rows = prepared, rows
        self._known = _KNOWN.setdefault(prepared, _Known())
        self._at = self._known.number(rows)
        self._trials: dict[bytes, Trial] = {}

    def shown(self, checks: Sequence[Check]) -> list[Shown | None]:
        """What each check would show; None where its terminals do not exist in its conditions."""
        self._learn("shown", [c for c in checks if c.reading is not None], _showing)
        return [self._shown(check) for check in checks]

    def livened(self, checks: Sequence[Check]) -> list[Livened | None]:
        """The worst each check does to metalwork; None where it can do nothing."""
        plan = self._prepared.plan
        able = [check for check in checks if hurts(check, plan)]
        self._learn("livened", able, worst)
        columns = {check.id: self._column("livened", check) for check in able}
        found = (columns.get(check.id) for check in checks)
        return [None if column is None else Livened.of(column) for column in found]

    @property
    def reach(self) -> tuple[V, ...]:
        """The metalwork looked at, as numbered in what is livened."""
        return reachable(self._prepared.plan)

    def _shown(self, check: Check) -> Shown | None:
        if check.reading is None:
            chances = dict(check.finds or check.answers)
            found = np.array([chances.get(id, 0.0) for id in self.ids])
            return Shown.worded(check.says, np.stack([found, 1 - found], axis=1))
        values, kind = self._column("shown", check), check.reading.kind
        if values is None:
            return None
        if kind in WORDS:
            return Shown.worded(WORDS[kind], values)
        return Shown(values[:, 0], values[:, 1], values[:, 2], logged=kind == "megohms")

    def _column(self, what: str, check: Check) -> Real | None:
        column = self._known.columns[_key(what, check)]
        return None if column is None else column[self._at]

    def _learn(
        self, what: str, checks: Sequence[Check], solve: Callable[[Trial, Sequence[Check]], Found]
    ) -> None:
        """Try on checks the rows that were not, those of one set of conditions together."""
        alike: dict[object, list[Check]] = {}
        for check in checks:
            alike.setdefault(base(check.conditions)[0].key(), []).append(check)
        for some in alike.values():
            lacks = [self._known.lacks(_key(what, check), self._at) for check in some]
            rows = np.logical_or.reduce(lacks)
            if rows.any():
                trial = self._trial(rows)
                wanting = [c for c, lack in zip(some, lacks, strict=True) if lack.any()]
                for check, values in solve(trial, wanting):
                    self._known.keep(_key(what, check), self._at[rows], values)

    def _trial(self, which: NDArray[np.bool_]) -> Trial:
        key = which.tobytes()
        if key not in self._trials:
            self._trials[key] = Trial(self._prepared, self._rows.part(which))
        return self._trials[key]


def _key(what: str, check: Check) -> Hashable:
    return what, check.id, check.instrument, check.conditions


def _showing(trial: Trial, checks: Sequence[Check]) -> Found:
    for check, shown in zip(checks, trial.shown(checks), strict=True):
        if shown is None:
            yield check, None
        elif shown.chance is not None:
            yield check, shown.chance
        else:
            yield check, np.stack([shown.mean, shown.sigma, shown.over], axis=1)
