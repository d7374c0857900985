"""From readings to odds: coarse over every row, then finely over those that could matter.

First every hypothesis is solved and weighed with generous tolerances. Those within reach of the
best are solved again with the severity in finer steps, and the last few hundred with all
nuisances in one Gaussian (Laplace's approximation, linear about each row).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfsplit.diagnosis.bench import Bench
from halfsplit.diagnosis.coarse import Coarse, everyone
from halfsplit.diagnosis.evidence import agree
from halfsplit.diagnosis.figures import Predictor
from halfsplit.diagnosis.said import Said
from halfsplit.diagnosis.sights import Sights
from halfsplit.instruments import misread

Real = NDArray[np.float64]
REACH = 14.0  # nats below the best that the coarse pass keeps: beyond, under one in a million
FINE_REACH = 13.0
MOST_COARSE = 3000
MOST_ROWS = 3000
SPARED = 2e-4  # of the weight may be left out by each coarse pass
CHUNK = 400
MOVED = 0.3  # of a figure's noise: below, the next severity cannot be told from this one
STEPS = (-1.2, -0.6, 0.0, 0.6, 1.2)  # finer severities inside a grid step, in its spreads
STEP_SHARES = (0.12, 0.23, 0.30, 0.23, 0.12)
COARSE_SPREAD = 0.05  # of any figure, for what the coarse pass does not model
COARSE_FLOATING = 0.35  # of a figure behind more than a few kilohm: capacitances decide it


@dataclass(frozen=True, slots=True)
class Weighed:
    """The last rows with their weights.

    ``rows`` (K,) index the hypotheses' rows, ``size`` (K,) scales each row's severity; ``log``
    (K,) is the log posterior weight (not normalised), ``mean`` and ``noise`` (K, n) what each
    figure would be and its one sigma (nuisances included), ``slip`` (K, n) the chance of a slip,
    ``seen`` (K, m) that of each observation; ``dropped`` is the share of weight left out by the
    coarse passes, ``none`` the log weight of "none of these". Columns follow ``figures`` and
    ``sights``, indices into the bench's questions.
    """

    rows: NDArray[np.intp]
    size: Real
    log: Real
    mean: Real
    noise: Real
    slip: Real
    seen: Real
    dropped: float
    none: float
    figures: tuple[int, ...]
    sights: tuple[int, ...]

    @property
    def evidence(self) -> float:
        """Log chance of all readings, whatever the cause, "none of these" among them."""
        return float(np.logaddexp(np.logaddexp.reduce(self.log), self.none))


@dataclass(frozen=True, slots=True)
class _Part:
    """Some rows of the last pass."""

    log: Real
    mean: Real
    noise: Real
    slip: Real
    seen: Real
    none: float

    def part(self, rows: slice) -> _Part:
        return _Part(
            self.log[rows],
            self.mean[rows],
            self.noise[rows],
            self.slip[rows],
            self.seen[rows],
            self.none,
        )


class Weigher:
    """Weighs every hypothesis of a bench against its readings."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.predictor = Predictor(bench)
        self.figures = self.predictor.figures
        self.sights = Sights(bench)
        sights = [bench.questions[k].reading for k in self.sights.columns]
        self.said = Said(bench.hypotheses, bench.plan, bench.readings, sights)
        self.volts = bench.plan.volts

    def weigh(self) -> Weighed:
        """The three passes."""
        hyp = self.bench.hypotheses
        every = np.arange(len(hyp), dtype=np.intp)
        first = everyone(self.predictor, self.sights)
        found, moved = self._coarse(first, hyp.neighbours, 0.5)
        coarse = self.said.prior + found
        keep = self._within(coarse, REACH, MOST_COARSE)
        dropped = _left_out(coarse, keep)
        rows, size, share = self._finer(every[keep], moved[keep])
        found, _ = self._coarse(self._seen(rows, size), _steps(rows, share), 0.6)
        fine = self.said.prior[rows] + share + found
        keep = self._within(fine, FINE_REACH, MOST_ROWS)
        dropped += _left_out(fine, keep)
        rows, size, share = rows[keep], size[keep], share[keep]
        return self._last(rows, size, share, dropped)

    def _seen(self, rows: NDArray[np.intp], size: Real) -> Coarse:
        answers = self.predictor.answers(rows, size)
        return Coarse(
            self.predictor.predict(rows, answers),
            self.predictor.floating(answers, len(rows)),
            self.sights.chances(rows, answers),
        )

    def _within(self, log: Real, reach: float, most: int) -> NDArray[np.intp]:
        """The likeliest rows that hold all but ``SPARED`` of the weight; row 0 always."""
        order = np.argsort(-log, kind="stable")
        weight = np.exp(log[order] - log[order[0]])
        held = np.cumsum(weight) / weight.sum()
        enough = int(np.searchsorted(held, 1 - SPARED)) + 1
        near = int((log > log.max() - reach).sum())
        keep = np.union1d(order[: min(enough, near, most)], [0])
        return keep.astype(np.intp)

    def _finer(
        self, rows: NDArray[np.intp], moved: NDArray[np.bool_]
    ) -> tuple[NDArray[np.intp], Real, Real]:
        """Rows whose severity moves a figure (``moved``), each in finer steps."""
        spread = self.bench.hypotheses.spread[rows]
        out: list[tuple[int, float, float]] = []
        for row, s, lively in zip(rows, spread, moved, strict=True):
            if s == 0.0 or not lively:
                out.append((int(row), 1.0, 0.0))
                continue
            out += [
                (int(row), math.exp(step * s), math.log(share))
                for step, share in zip(STEPS, STEP_SHARES, strict=True)
            ]
        return (
            np.array([x[0] for x in out], dtype=np.intp),
            np.array([x[1] for x in out]),
            np.array([x[2] for x in out]),
        )

    def _coarse(
        self, seen: Coarse, beside: NDArray[np.intp], reach: float
    ) -> tuple[Real, NDArray[np.bool_]]:
        """Generous log likelihood (K,), and where the severity moves a figure (K,).

        Each figure by itself, with a slip term.

        ``beside`` (K, 2) are the rows of the next smaller and larger severity (itself where there
        is none); a figure may be ``reach`` of the way to theirs.
        """
        figures, count = seen.figures, seen.chances.shape[0]
        log = self.said.log(seen.chances)
        moved = np.zeros(count, dtype=np.bool_)
        if not self.figures:
            return log, moved
        per = []
        loose = np.hypot(COARSE_SPREAD, np.where(seen.floating, COARSE_FLOATING, 0.0))
        # A generous slip term: any figure may be far off, at a price.
        slip = np.log(misread.SLIP_CHANCE * 0.3 / (np.abs(self.predictor.measured) + 1.0))
        for a, share in enumerate(figures.shares):
            mean = figures.mean[a]
            width = np.where(self.predictor.logged, 1.0 + loose, np.abs(mean) * loose)
            step = np.maximum(np.abs(mean[beside[:, 0]] - mean), np.abs(mean[beside[:, 1]] - mean))
            noise = np.hypot(np.hypot(figures.noise[a], width), reach * np.minimum(step, 1e9))
            moved |= (step > MOVED * np.hypot(figures.noise[a], 0.01 * np.abs(mean))).any(axis=1)
            z = np.clip((self.predictor.measured - mean) / noise, -40, 40)
            fits = -0.5 * z**2 - np.log(noise) - 0.919 + figures.sure[a]
            per.append(np.logaddexp(fits, slip).sum(axis=1) + math.log(share))
        return np.asarray(log + np.logaddexp.reduce(np.stack(per), axis=0)), moved

    def _last(self, rows: NDArray[np.intp], size: Real, share: Real, dropped: float) -> Weighed:
        """The last pass, a few hundred rows at a time, each time with the sound row first."""
        parts = []
        for start in range(1, max(len(rows), 2), CHUNK):
            at = np.concatenate([[0], np.arange(start, min(start + CHUNK, len(rows)))])
            part = self._finely(rows[at], size[at], share[at])
            parts.append(part if start == 1 else part.part(slice(1, None)))
        names = ("log", "mean", "noise", "slip", "seen")
        joined = {name: np.concatenate([getattr(p, name) for p in parts]) for name in names}
        return Weighed(
            rows,
            size,
            **joined,
            dropped=dropped,
            none=parts[0].none,
            figures=self.figures,
            sights=self.sights.columns,
        )

    def _finely(self, rows: NDArray[np.intp], size: Real, share: Real) -> _Part:
        """All nuisances in one Gaussian."""
        bench = self.bench
        answers = [
            bench.solve(k, rows, size, bench.pulls[k].functionals) for k in range(len(bench.scenes))
        ]
        figures = self.predictor.predict(rows, answers)
        seen = self.sights.chances(rows, answers)
        log = self.said.prior[rows] + share + self.said.log(seen)
        n = len(self.figures)
        none = self.predictor.none_of_these(figures) + self.said.none(seen[0])
        if not n:
            empty = np.zeros((len(rows), 0))
            return _Part(log, empty, empty, empty, seen, none)
        J, spread = self.predictor.leanings(rows, size, share, answers, figures)
        found = [
            agree(
                self.predictor.measured,
                figures.mean[a],
                figures.noise[a],
                J,
                spread,
                self.predictor.kinds,
                self.volts,
                self.predictor.logged,
            )
            for a in range(figures.shares.size)
        ]
        stacked = (
            np.stack([f.log + figures.sure[a].sum(axis=1) for a, f in enumerate(found)])
            + np.log(figures.shares)[:, None]
        )
        total = np.logaddexp.reduce(stacked, axis=0)
        slip = np.einsum("ak,akn->kn", np.exp(stacked - total), np.stack([f.slip for f in found]))
        best, every = np.argmax(stacked, axis=0), np.arange(len(rows))
        wide = np.sqrt(((J * spread[:, None, :]) ** 2).sum(axis=2))
        noise = np.hypot(figures.noise[best, every], wide)
        return _Part(log + total, figures.mean[best, every], noise, slip, seen, none)


def _steps(rows: NDArray[np.intp], share: Real) -> NDArray[np.intp]:
    """(K, 2): the finer severities before and after each, itself at the ends of its run."""
    at = np.arange(rows.size)
    before, after = np.maximum(at - 1, 0), np.minimum(at + 1, rows.size - 1)
    same = share < 0
    return np.stack(
        [
            np.where(same & (rows[before] == rows), before, at),
            np.where(same & (rows[after] == rows), after, at),
        ],
        axis=1,
    )


def _left_out(log: Real, keep: NDArray[np.intp]) -> float:
    whole = np.logaddexp.reduce(log)
    mask = np.ones(log.size, dtype=np.bool_)
    mask[keep] = False
    return float(np.exp(np.logaddexp.reduce(log[mask]) - whole)) if mask.any() else 0.0
