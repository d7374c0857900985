"""The hypotheses a check is tried on: the heaviest, and one at least of every cause believed."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfsplit.diagnosis.hypotheses import SOUND, Hypotheses
from halfsplit.diagnosis.weigh import Weighed
from halfsplit.wiring.effects import Effect

Real = NDArray[np.float64]
MOST_ROWS = 80
COVERED = 0.999  # of the belief; rows beyond it are left out
BELIEVED = 1e-3  # a cause above this has a row, however light: safety counts it


@dataclass(frozen=True, slots=True)
class Rows:
    """The hypotheses a check is tried on: K rows.

    ``index`` (K,) into the hypotheses, ``weight`` (K,) summing to 1 less ``none``, ``fault`` (K,)
    index of the fault or SOUND, ``effects`` its effects, ``extra`` how many are a forgotten load,
    ``names`` the fault's id ("" none).
    """

    index: NDArray[np.intp]
    weight: Real
    fault: NDArray[np.intp]
    effects: tuple[tuple[Effect, ...], ...]
    extra: tuple[int, ...]
    none: float
    names: tuple[str, ...] = ()

    def part(self, which: NDArray[np.bool_]) -> Rows:
        """Some of the rows."""
        at = np.flatnonzero(which).tolist()
        return Rows(
            self.index[which],
            self.weight[which],
            self.fault[which],
            tuple(self.effects[k] for k in at),
            tuple(self.extra[k] for k in at),
            self.none,
            tuple(self.names[k] for k in at),
        )


def believed_rows(hyp: Hypotheses, weighed: Weighed) -> Rows:
    """The heaviest rows, and at least one of every cause above a tenth of a per cent."""
    whole = float(np.logaddexp(np.logaddexp.reduce(weighed.log), weighed.none))
    weight = np.exp(weighed.log - whole)
    fault = hyp.fault[weighed.rows]
    order = np.argsort(-weight, kind="stable")
    covered = np.cumsum(weight[order]) / max(float(weight.sum()), 1e-300)
    count = min(MOST_ROWS, int(np.searchsorted(covered, COVERED)) + 1)
    causes, at = np.unique(fault, return_inverse=True)
    total = np.bincount(at, weights=weight)
    light = order[count:]
    _, first = np.unique(at[light], return_index=True)  # the heaviest row of each cause left
    others = light[np.sort(first)]
    have = np.zeros(len(causes), dtype=np.bool_)
    have[at[order[:count]]] = True
    others = others[~have[at[others]] & (total[at[others]] >= BELIEVED)]
    picked = np.sort(np.append(order[:count], others))
    kept = weight[picked]
    none = math.exp(weighed.none - whole)
    kept = kept * (1 - none) / max(float(kept.sum()), 1e-300)
    effects, extra = [], []
    for k in picked:
        h = int(weighed.rows[k])
        effects.append(hyp.sized(h, weighed.size[k].tolist()) + hyp.beside(h))
        extra.append(int(hyp.forgotten[h]))
    names = tuple("" if f == SOUND else hyp.faults[f].id for f in fault[picked].tolist())
    return Rows(
        weighed.rows[picked], kept, fault[picked], tuple(effects), tuple(extra), none, names
    )
