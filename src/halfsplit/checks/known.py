"""What checks show and what they liven, remembered: it hangs on the wiring and what is wrong alone.

From one reading to the next most causes stay believed and most checks stay possible: only what is
new is solved.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from halfsplit.checks.check import Check
from halfsplit.checks.hazards import Livened, energised, hurts, livened
from halfsplit.checks.looks import OTHERS, SEEN_STATE
from halfsplit.checks.rows import Rows
from halfsplit.checks.trial import WORDS, Shown, Trial, base, reachable
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.network import V
from halfsplit.wiring.conditions import AS_DESCRIBED, Conditions
from halfsplit.wiring.effects import Effect

Real = NDArray[np.float64]
Index = NDArray[np.intp]
Flags = NDArray[np.bool_]
TRIPPED = "a device has tripped"
MOST_ROWS = 4000  # met in one installation, beyond which all is forgotten
Solve = Callable[[Trial, Sequence[Check]], Iterable[tuple[Check, Real | None]]]


class _Columns:
    """What checks in one set of conditions gave: (n, w) for the rows met, None where a check cannot
    be made there at all."""

    def __init__(self) -> None:
        self._kept: dict[tuple[str, str], Real | None] = {}

    def of(self, check: Check, at: Index) -> Real | None:
        """(K, w) what it gave under some rows."""
        column = self._kept[check.id, check.instrument]
        return None if column is None else column[at]

    def lacks(self, check: Check, at: Index) -> Flags:
        """(K,) rows that it was not tried on."""
        column = self._kept.get((check.id, check.instrument), _NOTHING)
        if column is None:
            return np.zeros(len(at), dtype=np.bool_)
        unknown = at >= len(column)
        unknown[~unknown] = np.isnan(column[at[~unknown], 0])
        return unknown

    def keep(self, check: Check, at: Index, values: Real | None) -> None:
        """Note what it gave (k, w) under some rows."""
        key = check.id, check.instrument
        if values is None:
            self._kept[key] = None
            return
        column = self._kept.get(key)
        most = int(at.max()) + 1
        if column is None or len(column) < most:
            wide = np.full((2 * most, values.shape[1]), np.nan)
            if column is not None:
                wide[: len(column)] = column
            column = self._kept[key] = wide
        column[at] = np.nan_to_num(values)


_NOTHING: Real = np.zeros((0, 1))


class _Known:
    """Numbers of the rows met in an installation, and the columns of every set of conditions."""

    def __init__(self) -> None:
        self.rows: dict[tuple[tuple[Effect, ...], int], int] = {}
        self.columns: dict[tuple[str, Conditions], _Columns] = {}

    def number(self, rows: Rows) -> Index:
        """(K,) the numbers of these rows."""
        if len(self.rows) > MOST_ROWS:
            self.rows.clear()
            self.columns.clear()
        both = zip(rows.effects, rows.extra, strict=True)
        return np.array([self.rows.setdefault(row, len(self.rows)) for row in both], dtype=np.intp)


_KNOWN: WeakKeyDictionary[Prepared, _Known] = WeakKeyDictionary()


class Tried:
    """The rows of a step, tried on checks."""

    def __init__(self, prepared: Prepared, rows: Rows) -> None:
        self.ids = list(rows.names)
        self._prepared, self._rows = prepared, rows
        self._known = _KNOWN.setdefault(prepared, _Known())
        self._at = self._known.number(rows)
        self._trials: dict[bytes, Trial] = {}

    @property
    def reach(self) -> tuple[V, ...]:
        """The metalwork looked at, as numbered in what is livened."""
        return reachable(self._prepared.plan)

    def shown(self, checks: Sequence[Check]) -> list[Shown | None]:
        """What each check would show; None where its terminals do not exist in its conditions."""
        found = self._learnt("shown", [c for c in checks if c.reading is not None], _showing)
        standing = [c for c in checks if c.kind == "devices" and c.what != OTHERS]
        found |= self._learnt("parted", standing, _parting)
        return [self._shown(check, found.get(check.id)) for check in checks]

    def livened(self, checks: Sequence[Check], energises: bool) -> dict[str, Livened | None]:
        """The worst each check does to metalwork, by its id; None where it can do nothing. Where it
        ``energises`` what is off, nothing stood there before."""
        plan = self._prepared.plan
        able = [check for check in checks if hurts(check, plan, energises)]
        what, solve = ("energised", energised) if energises else ("livened", livened)
        found = self._learnt(what, able, solve)
        columns = {check.id: found.get(check.id) for check in checks}
        return {id: None if one is None else Livened.of(one) for id, one in columns.items()}

    def _shown(self, check: Check, values: Real | None) -> Shown | None:
        if check.reading is None:
            chances = dict(check.finds or check.answers)
            chance = np.array([chances.get(id, 0.0) for id in self.ids])
            if values is None:
                return Shown.worded(check.says, np.stack([chance, 1 - chance], axis=1))
            tripped = (1 - chance) * SEEN_STATE * values[:, 0]  # is seen too, and ends nothing
            shares = np.stack([chance, tripped, 1 - chance - tripped], axis=1)
            return Shown.worded((check.says[0], TRIPPED, check.says[1]), shares)
        kind = check.reading.kind
        if values is None:
            return None
        if kind in WORDS:
            return Shown.worded(WORDS[kind], values)
        return Shown(values[:, 0], values[:, 1], values[:, 2], logged=kind == "megohms")

    def _learnt(self, what: str, checks: Sequence[Check], solve: Solve) -> dict[str, Real | None]:
        """(K, w) per check id; what was not tried is, that of one set of conditions together."""
        columns: dict[str, _Columns] = {}
        alike: dict[object, list[Check]] = {}
        known: dict[int, tuple[_Columns, object]] = {}  # many checks share one object
        for check in checks:
            set_ = check.conditions
            if id(set_) not in known:
                mine = self._known.columns.setdefault((what, set_), _Columns())
                known[id(set_)] = mine, base(set_)[0].key()
            columns[check.id], key = known[id(set_)]
            alike.setdefault(key, []).append(check)
        for some in alike.values():
            lacks = [columns[check.id].lacks(check, self._at) for check in some]
            rows = np.logical_or.reduce(lacks)
            if rows.any():
                wanting = [c for c, lack in zip(some, lacks, strict=True) if lack.any()]
                for check, values in solve(self._trial(rows), wanting):
                    columns[check.id].keep(check, self._at[rows], values)
        return {check.id: columns[check.id].of(check, self._at) for check in checks}

    def _trial(self, which: Flags) -> Trial:
        key = which.tobytes()
        if key not in self._trials:
            self._trials[key] = Trial(self._prepared, self._rows.part(which))
        return self._trials[key]


def _parting(trial: Trial, checks: Sequence[Check]) -> Iterable[tuple[Check, Real]]:
    """Chance (K, 1) that some device has parted by itself, as things stand."""
    holds = trial.stood(AS_DESCRIBED).rows.chance[..., -1]
    for check in checks:
        yield check, 1 - holds.prod(axis=1, keepdims=True)


def _showing(trial: Trial, checks: Sequence[Check]) -> Iterable[tuple[Check, Real | None]]:
    for check, shown in zip(checks, trial.shown(checks), strict=True):
        if shown is None:
            yield check, None
        elif shown.chance is not None:
            yield check, shown.chance
        else:
            yield check, np.stack([shown.mean, shown.sigma, shown.over], axis=1)
