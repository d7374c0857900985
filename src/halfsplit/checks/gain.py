"""How much a check settles: information about which suspect group it is, in bits.

Each check's outcomes are cut into at most 24 bins and one for "over range"; the gain is the exact
mutual information between bin and group under the predicted outcomes, noise and slips included.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfsplit.checks.rows import Rows
from halfsplit.checks.trial import OVER, Shown
from halfsplit.diagnosis.result import Diagnosis
from halfsplit.instruments import misread
from halfsplit.instruments.show import chance_below

Real = NDArray[np.float64]
BINS = 24
MARGIN = 1.5  # sigmas beyond the outermost figures to the outermost edges
FINEST = 0.6  # sigmas: no bin need be narrower
SURE = 8.0  # sigmas from an edge beyond which a figure is surely on its side
GAP = 4.0  # sigmas between neighbours beyond which a gap is no wider for the bins


@dataclass(frozen=True, slots=True)
class Grouped:
    """Which group each row belongs to: ``of`` (K,) in 0 to ``count`` - 1; the last are the rest."""

    of: NDArray[np.intp]
    count: int

    def gather(self, weight: Real) -> Real:
        """(count,) belief per group."""
        return np.asarray(
            np.bincount(self.of, weights=weight, minlength=self.count), dtype=np.float64
        )

    def members(self) -> Real:
        """(count, K) one where a row belongs to a group."""
        return np.asarray(self.of == np.arange(self.count)[:, None], dtype=np.float64)


def grouped(diagnosis: Diagnosis, ids: Sequence[str]) -> Grouped:
    """Rows by suspect group, in the diagnosis's order; what was too unlikely to group comes last.

    ``ids`` (K) are the rows' fault ids, "" for nothing wrong.
    """
    group: dict[str, int] = {}
    for number, suspect in enumerate(diagnosis.suspects):
        for member in suspect.members:
            group[member.fault.id if member.fault else ""] = number
    rest = len(diagnosis.suspects)
    return Grouped(np.array([group.get(i, rest) for i in ids], dtype=np.intp), rest + 1)


def by_remedy(remedy: Mapping[str, Hashable], ids: Sequence[str]) -> Grouped:
    """Rows by what would be done: causes of one suspect group at two places are two things to do,
    those of several groups at one place are one. What has none comes last.

    ``remedy`` says what would be done about each cause, by its id.
    """
    number = {done: n for n, done in enumerate(dict.fromkeys(remedy.values()))}
    of = [number[remedy[i]] if i in remedy else len(number) for i in ids]
    return Grouped(np.array(of, dtype=np.intp), len(number) + 1)


def by_cause(ids: Sequence[str]) -> Grouped:
    """Rows by fault, for the end, when groups no longer matter and places do."""
    order = {i: k for k, i in enumerate(dict.fromkeys(ids))}
    return Grouped(np.array([order[i] for i in ids], dtype=np.intp), len(order) or 1)


@dataclass(frozen=True, slots=True)
class Binned:
    """One check's outcomes: ``edges`` (b - 1,) on the compared scale and ``chance`` (K, b + 1), the
    last column over range. For words ``edges`` is empty and there is no such column.
    """

    edges: Real
    chance: Real


def _along(mean: Real, sigma: Real) -> tuple[NDArray[np.intp], Real, Real]:
    """How figures (C, K) lie, in sigmas: (their order (C, K), figures with a margin at both ends
    (C, K + 2), sigmas along these from the first (C, K + 2)), no gap wider than GAP."""
    order = np.argsort(mean, axis=1, kind="stable")
    m, s = np.take_along_axis(mean, order, 1), np.take_along_axis(sigma, order, 1)
    ends = MARGIN * s[:, [0, -1]] * (-1, 1)
    m = np.concatenate([m[:, :1] + ends[:, :1], m, m[:, -1:] + ends[:, 1:]], axis=1)
    s = np.concatenate([s[:, :1], s, s[:, -1:]], axis=1)
    step = np.diff(m, axis=1) / np.maximum((s[:, 1:] + s[:, :-1]) / 2, 1e-12)
    u = np.zeros_like(m)
    np.cumsum(np.minimum(step, GAP), axis=1, out=u[:, 1:])
    return order, m, u


def _size(u: Real) -> Real:
    """(C, 1) width of a bin in sigmas; where few bins part all there is, the last are empty."""
    return np.asarray(np.maximum(u[:, -1:] / (BINS - 1), FINEST))


def _edges(mean: Real, sigma: Real) -> Real:
    """(C, BINS - 1) edges of figures (C, K), evenly spread in sigmas along what is predicted.

    They begin and end a little outside it; where fewer bins part all there is, the last repeats.
    """
    _, m, u = _along(mean, sigma)
    wanted = (np.arange(BINS - 1) + 0.5) * _size(u)
    return np.stack([np.interp(w, x, y) for w, x, y in zip(wanted, u, m, strict=True)])


def _stacked(shown: Sequence[Shown]) -> tuple[Real, Real, Real]:
    """(where figures lie, their sigmas, chance of over range), each (C, K); what would read over
    range lies with the largest that would not."""
    mean = np.stack([one.mean for one in shown])
    sigma = np.stack([one.sigma for one in shown])
    over = np.stack([one.over for one in shown])
    inside = np.where(over > 0.5, -np.inf, mean).max(axis=1, keepdims=True)
    return np.where((over > 0.5) & np.isfinite(inside), inside, mean), sigma, over


def _mutual(joint: Real) -> Real:
    """Mutual information in bits of joint (..., G, B) chances; sums to one or less."""
    both = joint.sum(axis=(-1, -2), keepdims=True)
    p = joint / np.maximum(both, 1e-300)
    heat = [_heat(p.sum(axis=axis)).sum(axis=-1) for axis in (-1, -2)]
    return np.asarray(np.maximum(_heat(p).sum(axis=(-1, -2)) - heat[0] - heat[1], 0.0))


def _heat(p: Real) -> Real:
    """p log2 p, 0 at 0."""
    return np.asarray(p * np.log2(np.maximum(p, 1e-300)))


def screen(shown: Sequence[Shown], rows: Rows, groups: Grouped) -> Real:
    """A quick overestimate of every gain (C,): each row in the one bin it is likeliest in."""
    found = np.zeros(len(shown))
    figures = [c for c, s in enumerate(shown) if s.chance is None]
    if figures:
        mean, sigma, over = _stacked([shown[c] for c in figures])
        order, _, u = _along(mean, sigma)
        at = np.ceil(u[:, 1:-1] / _size(u) - 0.5).astype(np.intp)
        at = np.where(np.take_along_axis(over, order, 1) > 0.5, BINS, at)
        width = BINS + 1
        flat = (np.arange(len(figures))[:, None] * groups.count + groups.of[order]) * width + at
        joint = np.bincount(
            flat.ravel(),
            weights=rows.weight[order].ravel(),
            minlength=len(figures) * groups.count * width,
        ).reshape(len(figures), groups.count, width)
        found[figures] = _mutual(np.asarray(joint, dtype=np.float64))
    words = [c for c, s in enumerate(shown) if s.chance is not None]
    found[words] = information(binned([shown[c] for c in words], slips=False), rows, groups)
    return found


def binned(shown: Sequence[Shown], slips: bool = True) -> list[Binned]:
    """The exact chances of every bin of each check under every row, slips mixed in or not."""
    found: dict[int, Binned] = {}
    figures = [c for c, one in enumerate(shown) if one.chance is None]
    for c in range(len(shown)):
        chance = shown[c].chance
        if chance is not None:
            slip = misread.SLIP_CHANCE if slips and shown[c].words[0] != "found" else 0.0
            found[c] = Binned(np.zeros(0), chance * (1 - slip) + slip / chance.shape[1])
    if figures:
        mean, sigma, _ = _stacked([shown[c] for c in figures])
        for c, edges in zip(figures, _edges(mean, sigma), strict=True):
            edges = np.unique(edges)
            found[c] = Binned(edges, chances(shown[c], edges))
    return [found[c] for c in range(len(shown))]


def chances(shown: Shown, edges: Real) -> Real:
    """(K, b + 2) chances of the bands between ``edges`` (b,) and over range, slips mixed in."""
    x = (edges[None, :] - shown.mean[:, None]) / shown.sigma[:, None]
    below = (x > 0).astype(np.float64)
    near = np.abs(x) < SURE
    below[near] = chance_below(x[near])
    over = np.where(shown.mean >= OVER, 1.0, shown.over)[:, None]
    inside = np.diff(below, axis=1, prepend=0.0, append=1.0)
    chance = np.concatenate([inside * (1 - over), over], axis=1)
    slip = misread.SLIP_CHANCE
    return np.asarray(chance * (1 - slip) + slip / chance.shape[1], dtype=np.float64)


def information(found: Sequence[Binned], rows: Rows, groups: Grouped) -> Real:
    """(C,) bits that each check settles; "none of these" takes part with every outcome alike."""
    gain = np.zeros(len(found))
    members = groups.members()
    wide: dict[int, list[int]] = {}
    for c, one in enumerate(found):
        wide.setdefault(one.chance.shape[1], []).append(c)
    for width, mine in wide.items():
        joint = np.empty((len(mine), groups.count + 1, width))
        chance = np.stack([found[c].chance for c in mine])
        joint[:, :-1] = members @ (rows.weight[:, None] * chance)
        joint[:, -1] = rows.none / width
        gain[mine] = _mutual(joint if rows.none >= 1e-9 else joint[:, :-1])
    return gain
