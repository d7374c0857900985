"""How much a check settles: information about which suspect group it is, in bits.

Each check's outcomes are cut into at most 24 bins and one for "over range"; the gain is the exact
mutual information between bin and group under the predicted outcomes, noise and slips included.
"""

from __future__ import annotations

from collections.abc import Sequence
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


def _edges(mean: Real, sigma: Real) -> Real:
    """(C, BINS - 1) edges of figures (C, K), evenly spread in sigmas along what is predicted.

    They begin and end a little outside it; where fewer bins part all there is, the last repeats.
    """
    order = np.argsort(mean, axis=1, kind="stable")
    m, s = np.take_along_axis(mean, order, 1), np.take_along_axis(sigma, order, 1)
    ends = MARGIN * s[:, [0, -1]] * (-1, 1)
    m = np.concatenate([m[:, :1] + ends[:, :1], m, m[:, -1:] + ends[:, 1:]], axis=1)
    s = np.concatenate([s[:, :1], s, s[:, -1:]], axis=1)
    step = np.diff(m, axis=1) / np.maximum((s[:, 1:] + s[:, :-1]) / 2, 1e-12)
    u = np.zeros_like(m)
    np.cumsum(np.minimum(step, GAP), axis=1, out=u[:, 1:])
    size = np.maximum(u[:, -1:] / (BINS - 1), FINEST)
    wanted = (np.arange(BINS - 1) + 0.5) * size
    return np.stack([np.interp(w, x, y) for w, x, y in zip(wanted, u, m, strict=True)])


def _shown_at(shown: Shown) -> Real:
    """(K,) where figures lie; what would read over range lies with the largest that would not."""
    over = shown.over > 0.5
    if not over.any() or over.all():
        return shown.mean
    return np.where(over, shown.mean[~over].max(), shown.mean)


def _mutual(joint: Real) -> Real:
    """Mutual information in bits of joint (..., G, B) chances; sums to one or less."""
    both = joint.sum(axis=(-1, -2), keepdims=True)
    p = joint / np.maximum(both, 1e-300)
    rows, columns = p.sum(axis=-1, keepdims=True), p.sum(axis=-2, keepdims=True)
    ratio = np.where(p > 0, p / np.maximum(rows * columns, 1e-300), 1.0)
    found: Real = (p * np.log2(ratio)).sum(axis=(-1, -2))
    return np.maximum(found, 0.0)


def screen(shown: Sequence[Shown], rows: Rows, groups: Grouped) -> Real:
    """A quick overestimate of every gain (C,): each row in the one bin it is likeliest in."""
    found = np.zeros(len(shown))
    figures = [c for c, s in enumerate(shown) if s.chance is None]
    if figures:
        mean = np.stack([_shown_at(shown[c]) for c in figures])
        sigma = np.stack([shown[c].sigma for c in figures])
        over = np.stack([shown[c].over for c in figures]) > 0.5
        edges = _edges(mean, sigma)
        at = (mean[:, :, None] > edges[:, None, :]).sum(axis=2)
        at = np.where(over, BINS, at)
        width = BINS + 1
        flat = (np.arange(len(figures))[:, None] * groups.count + groups.of) * width + at
        joint = np.bincount(
            flat.ravel(),
            weights=np.broadcast_to(rows.weight, flat.shape).ravel(),
            minlength=len(figures) * groups.count * width,
        ).reshape(len(figures), groups.count, width)
        found[figures] = _mutual(np.asarray(joint, dtype=np.float64))
    for c, one in enumerate(shown):
        if one.chance is not None:
            found[c] = information(Binned(np.zeros(0), one.chance), rows, groups)
    return found


def binned(shown: Shown) -> Binned:
    """The exact chances of every bin under every row."""
    if shown.chance is not None:
        slip = 0.0 if shown.words[0] == "found" else misread.SLIP_CHANCE
        words = shown.chance.shape[1]
        return Binned(np.zeros(0), shown.chance * (1 - slip) + slip / words)
    edges = np.unique(_edges(_shown_at(shown)[None], shown.sigma[None])[0])
    return Binned(edges, chances(shown, edges))


def chances(shown: Shown, edges: Real) -> Real:
    """(K, b + 2) chances of the bands between ``edges`` (b,) and over range, slips mixed in."""
    below = chance_below((edges[None, :] - shown.mean[:, None]) / shown.sigma[:, None])
    ends = np.ones((below.shape[0], 1))
    inside = np.diff(np.concatenate([0 * ends, below, ends], axis=1), axis=1)
    over = np.where(shown.mean >= OVER, 1.0, shown.over)[:, None]
    chance = np.concatenate([inside * (1 - over), over], axis=1)
    slip = misread.SLIP_CHANCE
    return np.asarray(chance * (1 - slip) + slip / chance.shape[1], dtype=np.float64)


def information(found: Binned, rows: Rows, groups: Grouped) -> float:
    """Bits that a check settles; "none of these" takes part with every outcome alike."""
    joint = np.empty((groups.count + 1, found.chance.shape[1]))
    joint[:-1] = groups.members() @ (rows.weight[:, None] * found.chance)
    joint[-1] = rows.none / found.chance.shape[1]
    known = joint[:-1]
    if rows.none < 1e-9:
        return float(_mutual(known))
    return float(_mutual(joint)) if known.sum() > 0 else 0.0
