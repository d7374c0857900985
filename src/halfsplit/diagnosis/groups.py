"""Suspect groups: causes that no allowed check can tell apart.

Two causes belong together when, at every terminal that a plug or an open cover gives access to,
they predict the same volts (meter and lamp) and the same dead resistance, along the conductors and
between them, within what a good instrument resolves: total variation under a tenth, a quarter of
its one sigma. What is wrong with an instrument or a load alone is parted by trying that alone.
Complete linkage.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from halfsplit.diagnosis.survey import LAMP_OHMS, Survey
from halfsplit.wiring.effects import Added, Effect, LoadChange, ReadingChange

Real = NDArray[np.float64]
RESOLVED = 0.25  # of one sigma: total variation 0.1 between two normals
VOLT_SHARE = 0.012  # one sigma of a voltage check, of the supply: meter and drift together
METER_OHMS = 10e6  # a common multimeter
OHM_SHARE, OHM_FLOOR = 0.03, 0.03  # one sigma of a continuity check
INSULATION_SHARE = 0.2  # one sigma of an insulation test: it goes with the damp of the day
INSULATION_FROM, INSULATION_TO = 0.5, 1e9  # ohm: below, continuity says more; above, over range
AT_ONCE = 8  # outcomes compared at a time


def signatures(live: Survey, volts: float) -> Real:
    """(K, s) live outcomes in units of what a check resolves: meter and lamp at each pair."""
    one, other = live.pairs.T
    voc = np.abs(live.v[:, one] - live.v[:, other])
    z = live.z[:, one] + live.z[:, other] - 2 * live.between
    y = (230.0 / volts) ** 2 / LAMP_OHMS
    shown = (
        voc / np.abs(1 + z / METER_OHMS),
        voc / np.abs(1 + z * y),
        np.abs(live.v) / np.abs(1 + live.z / METER_OHMS),
    )
    return np.concatenate(shown, axis=1) / (RESOLVED * VOLT_SHARE * volts * 2)


def wandering(ohms: Real) -> Real:
    """(K, s) dead resistances from the board's bars to each terminal, in what a check resolves."""
    # Equal steps of this scale are equally easy to tell apart: fine near zero, ratios above.
    steps: Real = np.log1p(np.clip(ohms, 0.0, 2e6) * OHM_SHARE / OHM_FLOOR)
    return steps / (OHM_SHARE * RESOLVED * 2)


def across(ohms: Real) -> Real:
    """(K, q) dead resistances between conductors: continuity where low, insulation where high."""
    steps: Real = np.log(np.clip(ohms, INSULATION_FROM, INSULATION_TO))
    return steps / (INSULATION_SHARE * RESOLVED * 2)


def by_itself(rows: Sequence[Sequence[Effect]], flexes: Mapping[str, str]) -> Real:
    """(K, i) what is tried by itself: the instrument on a known source, a load at another outlet.

    ``flexes`` names the load of each flex: a load with a broken flex is as dead elsewhere.
    """

    def alone(effect: Effect) -> object:
        if isinstance(effect, ReadingChange):
            return effect
        if isinstance(effect, LoadChange):
            return effect.load if not effect.kind else effect
        if isinstance(effect, Added) and math.isinf(effect.ohms):
            return flexes.get(effect.element)
        return None

    own = [{what for e in row if (what := alone(e)) is not None} for row in rows]
    every = sorted(set().union(*own), key=repr)
    found = np.array([[1e3 * (what in mine) for what in every] for mine in own])
    return found.reshape(len(rows), len(every)).astype(np.float64)


def linked(distance: Real, weight: Real) -> list[list[int]]:
    """Complete-linkage clusters at distance 1; the most believed first, members in order."""
    clusters: list[list[int]] = []
    for k in np.argsort(-weight, kind="stable"):
        for cluster in clusters:
            if all(distance[k, j] <= 1.0 for j in cluster):
                cluster.append(int(k))
                break
        else:
            clusters.append([int(k)])
    return clusters


def distances(owner: Sequence[int], *features: Real) -> Real:
    """(F, F) smallest largest-difference between any rows of two faults; rows have owners.

    What is above 1 is told apart and given as infinite: a pair is dropped at the first few
    outcomes that part it, so that many faults cost little.
    """
    owners = np.asarray(owner)
    both = np.concatenate(features, axis=1)
    both = both[:, np.argsort(-np.ptp(both, axis=0), kind="stable")]
    one, other = np.triu_indices(len(owners), 1)
    one, other = one[owners[one] != owners[other]], other[owners[one] != owners[other]]
    gap = np.zeros(one.size)
    for start in range(0, both.shape[1], AT_ONCE):
        block = both[:, start : start + AT_ONCE]
        gap = np.maximum(gap, np.abs(block[one] - block[other]).max(axis=1))
        near = gap <= 1.0
        one, other, gap = one[near], other[near], gap[near]
    count = int(owners.max()) + 1
    result = np.full((count, count), np.inf)
    np.fill_diagonal(result, 0.0)
    a, b = owners[one], owners[other]
    np.minimum.at(result, (a, b), gap)
    np.minimum.at(result, (b, a), gap)
    return result
