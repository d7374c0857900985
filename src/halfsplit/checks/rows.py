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


def believed_rows(hyp: Hypotheses, weighed: Weighed) -> Rows:
    """The heaviest rows, and at least one of every cause above a tenth of a per cent."""
    whole = float(np.logaddexp(np.logaddexp.reduce(weighed.log), weighed.none))
    weight = np.exp(weighed.log - whole)
    fault = hyp.fault[weighed.rows]
    order = np.argsort(-weight, kind="stable")
    covered = np.cumsum(weight[order]) / max(float(weight.sum()), 1e-300)
    count = min(MOST_ROWS, int(np.searchsorted(covered, COVERED)) + 1)
    chosen = dict.fromkeys(int(k) for k in order[:count])
    totals: dict[int, float] = {}
    for k in order:
        totals[int(fault[k])] = totals.get(int(fault[k]), 0.0) + float(weight[k])
    have = {int(fault[k]) for k in chosen}
    for k in order:
        if int(fault[k]) not in have and totals[int(fault[k])] >= BELIEVED:
            chosen[int(k)] = None
            have.add(int(fault[k]))
    picked = np.array(sorted(chosen), dtype=np.intp)
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
