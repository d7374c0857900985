"""From readings to odds: coarse over every row, then finely over those that could matter.

First every hypothesis is solved and weighed with generous tolerances. Those within reach of the
best are solved again with the severity in finer steps, and the last few hundred with all
nuisances in one Gaussian (Laplace's approximation, linear about each row).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from halfsplit.diagnosis.bench import Bench
from halfsplit.diagnosis.coarse import Coarse, chunk, everyone, joined, parted
from halfsplit.diagnosis.figures import FLOATING_OHMS, NONE_PRIOR, SURELY, Predictor
from halfsplit.diagnosis.finer import Finer, finer
from halfsplit.diagnosis.last import Last, LastPass
from halfsplit.diagnosis.pairs import Look, Pairs, PairSearch
from halfsplit.diagnosis.said import Said
from halfsplit.diagnosis.sights import Sights

Real = NDArray[np.float64]
Flags = NDArray[np.bool_]
REACH = 14.0  # nats below the best that the coarse pass keeps: beyond, under one in a million
FINE_REACH, PAIR_REACH = 13.0, 8.0
MOST_WIDENED = 3  # times that the coarse passes are asked for more
GIVEN_AWAY = 0.3  # nats at most at each figure, by widths that ignore what figures share
SETTLED = 0.2  # nats: what was found no longer changes what is kept
LEFT_OUT = 1e-2  # of the weight may be what they left out, as far as they saw it
STRETCHED = 2.5  # a step to the side where nothing parts, for one to where something does
MOST_PAIR_ROWS = 150  # of two faults at once, weighed to the last
MOST_ROWS = 3000
SPARED = 1e-4  # of the weight may be left out by each pass
SPARED_PAIRS = 7e-4  # and of two faults at once before the last
FINELY_WITHIN = 5.0  # nats of the best: pairs beyond are not looked at in finer severities
LOOKED_OVER_VOLTS = 0.05  # may be lost to rounding in the coarse passes, which allow for 5 %
MOVED = 0.3  # of a figure's noise: below, the next severity cannot be told from this one
COARSE_SPREAD = 0.05  # of any figure, for what the coarse pass does not model
COARSE_PICKUP = 0.1  # of the supply: what such a part may pick up from other cables at most
COARSE_FLOATING = 0.35  # of a figure behind more than a few kilohm: capacitances decide it


@dataclass(frozen=True, slots=True)
class Weighed:
    """The last rows with their weights.

    ``rows`` (K,) index the hypotheses' rows, ``size`` (K, 2) scales its severities; ``log``
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

    def and_still(self, rows: NDArray[np.intp], more: Real) -> Weighed:
        """With rows (K,) that show what the sound one shows, ``more`` (K,) likely beforehand."""
        if not rows.size:
            return self
        ones = np.zeros(rows.size, dtype=np.intp)  # the sound row is the first
        return replace(
            self,
            rows=np.append(self.rows, rows),
            size=np.concatenate([self.size, np.ones((rows.size, 2))]),
            log=np.append(self.log, self.log[0] + more),
            mean=np.concatenate([self.mean, self.mean[ones]]),
            noise=np.concatenate([self.noise, self.noise[ones]]),
            slip=np.concatenate([self.slip, self.slip[ones]]),
            seen=np.concatenate([self.seen, self.seen[ones]]),
        )

    @property
    def evidence(self) -> float:
        """Log chance of all readings, whatever the cause, "none of these" among them."""
        return float(np.logaddexp(np.logaddexp.reduce(self.log), self.none))


class Weigher:
    """Weighs every hypothesis of a bench against its readings."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.predictor = Predictor(bench)
        self.figures = self.predictor.figures
        self.sights = Sights(bench)
        sights = [bench.questions[k].reading for k in self.sights.columns]
        shown = zip(bench.scenes, bench.hiding, strict=True)
        ways = [() if hides else tuple(w.name for w in scene.ways) for scene, hides in shown]
        self.said = Said(bench.hypotheses, bench.plan, bench.readings, sights, ways)
        self.prior = self.said.prior.copy()
        self.volts = bench.plan.volts
        asked = [bench.questions[k].scene for k in self.figures]
        self._scene = np.array(asked, dtype=np.intp)

    def weigh(self) -> tuple[Bench, Weighed]:
        """All hypotheses, two faults at once among them: the bench that holds them, and weights."""
        seen = everyone(self.predictor, self.sights)
        step = _steps(seen, self._scene, self.bench.hypotheses.neighbours)
        every = np.arange(len(self.bench.hypotheses), dtype=np.intp)
        each, moved, wide = self._coarse(seen, 0.5 * step, every)
        log = self.prior + each.sum(axis=1)
        lively = np.stack([moved, moved], axis=1)
        look = Look(seen, each, wide, self.prior)
        pairs = PairSearch(self.predictor, self.sights, look).search()
        whole = float(np.logaddexp.reduce(log))
        both = Weigher(self.bench.with_pairs(pairs.first, pairs.second))
        both.prior[: log.size] += pairs.beside
        log += pairs.beside
        if pairs.first.size:
            alive = moved | ~_differs(seen)
            more = np.stack([alive[pairs.first], alive[pairs.second]], axis=1)
            lively = np.concatenate([lively, more])
            log = np.concatenate([log, both.pairs(pairs, step, log.size)])
        still = np.concatenate([pairs.still, np.zeros(pairs.first.size, dtype=np.bool_)])
        found = both._closely(log, lively, still)
        return both.bench, replace(
            found, dropped=found.dropped + both.unlisted(pairs, found, whole)
        )

    def unlisted(self, pairs: Pairs, found: Weighed, promised: float) -> float:
        """The share of pairs that were not solved, should they keep as much of their promise.

        That is as much as those that were solved, or with none as everything that ``promised``.
        """
        kept = found.evidence
        if pairs.first.size:
            promised = pairs.promised
            both = found.log[self.bench.hypotheses.second[found.rows] > 0]
            kept = float(
                np.logaddexp.reduce(both, initial=kept + math.log(max(found.dropped, 1e-9)))
            )
            kept = min(kept, promised)
        return math.exp(min(pairs.left - promised + kept - found.evidence, 0.0))

    def weigh_all(self) -> tuple[Weighed, Real]:
        """The rows as they are, no pairs searched; and their coarse log likelihoods (H,)."""
        every = np.arange(len(self.bench.hypotheses), dtype=np.intp)
        seen = self._seen(every, np.ones((every.size, 2)))
        step = _steps(seen, self._scene, self.bench.hypotheses.neighbours)
        each, moved, _ = self._coarse(seen, 0.5 * step, every)
        total: Real = each.sum(axis=1)
        lively = np.stack([moved, moved], axis=1) | (self.bench.hypotheses.second > 0)[:, None]
        still = np.zeros(every.size, dtype=np.bool_)
        return self._closely(self.prior + total, lively, still), total

    def _closely(self, log: Real, lively: Flags, still: Flags) -> Weighed:
        """The finer passes over what is within reach.

        ``still`` (H,) rows move no reading: they are as likely as the sound circuit makes them.
        The coarse passes are generous: where what they kept is found to be less likely than what
        they left out might be, they keep more.
        """
        known = -math.inf
        for _ in range(MOST_WIDENED):
            found, lost = self._narrowed(log, lively, still, known)
            # What was found, had it been looked at as generously as what was left out.
            before, known = known, found.evidence - self._too_generous(log, found)
            if lost - known < math.log(LEFT_OUT) or abs(known - before) < SETTLED:
                break
        return replace(found, dropped=math.exp(min(lost - known, 0.0)))

    def _too_generous(self, log: Real, found: Weighed) -> float:
        """Nats (0 or less) by which the best row came down from where the coarse look had it.

        No more than that gives away at each figure: where all that was kept fell further, what was
        left out may have been looked at more soberly.
        """
        fine = np.full(log.size, -math.inf)
        np.logaddexp.at(fine, found.rows, found.log)
        best = found.rows[int(np.argmax(found.log))]
        return min(max(float(fine[best] - log[best]), -GIVEN_AWAY * (1 + len(self.figures))), 0.0)

    def _narrowed(
        self, log: Real, lively: Flags, still: Flags, known: float
    ) -> tuple[Weighed, float]:
        """The finer passes, and the log weight of what they left out, as the coarse ones saw it.

        ``known`` is the log weight that was already found: what is small beside it is left out.
        """
        keep = self._within(log, REACH, SPARED, known)
        lost = _left_out(log, keep)
        hyp = self.bench.hypotheses
        same = keep[still[keep] & (keep > 0)]
        keep = np.setdiff1d(keep, same)
        rough = (hyp.second[keep] > 0) & (log[keep] < log.max() - FINELY_WITHIN)
        fine = finer(keep, np.where(lively, hyp.spread, 0.0)[keep], hyp.second[keep] > 0, rough)
        seen = self._seen(fine.rows, fine.size)
        each, _, _ = self._coarse(seen, 0.6 * _steps(seen, self._scene, fine.beside), fine.rows)
        log = self.prior[fine.rows] + fine.share + each.sum(axis=1)
        two = hyp.second[fine.rows] > 0
        alone, both = np.flatnonzero(~two), np.flatnonzero(two)
        keep = alone[self._within(log[alone], FINE_REACH, SPARED, known)]
        if both.size:
            share = float(np.exp(np.logaddexp.reduce(log[both]) - np.logaddexp.reduce(log)))
            spared = min(SPARED_PAIRS / max(share, 1e-300), 1.0)
            near = both[self._within(log[both], PAIR_REACH, spared, known)]
            most = MOST_PAIR_ROWS * (4 if math.isfinite(known) else 1)
            keep = np.union1d(keep, near[np.argsort(-log[near], kind="stable")[:most]])
        if not self.figures:
            found = self._as_seen(fine.part(keep), log[keep], seen.chances[keep])
        else:
            last = LastPass(self.predictor, self.sights, self.said, self.prior)
            kept = fine.part(keep)
            found = self._as_last(kept, last.over(kept, seen.part(keep)))
        lost = np.logaddexp(lost, _left_out(np.where(two, -np.inf, log), keep))
        rest = _left_out(np.where(two, log, -np.inf), keep)
        if two[keep].any():  # of pairs there are too many: they may keep as much as the best did
            less = np.logaddexp.reduce(found.log[two[keep]]) - np.logaddexp.reduce(
                log[keep[two[keep]]]
            )
            rest += min(float(less), 0.0)
        lost = float(np.logaddexp(lost, rest))
        return found.and_still(same, self.prior[same] - self.prior[0]), lost

    def pairs(self, pairs: Pairs, step: Real, singles: int) -> Real:
        """(N,) log weight of each pair at the catalogue's severities."""
        rows = np.concatenate([[0], singles + np.arange(pairs.first.size)]).astype(np.intp)
        seen = self._seen(rows, np.ones((rows.size, 2)))
        reach = 0.5 * (step[:, pairs.first] + step[:, pairs.second])
        reach = np.concatenate([np.zeros_like(reach[:, :1]), reach], axis=1)
        each, _, _ = self._coarse(seen, reach, rows)
        found: Real = (self.prior[rows] + each.sum(axis=1))[1:]
        return found

    def _seen(self, rows: NDArray[np.intp], size: Real) -> Coarse:
        """Some rows, a chunk at a time; row 0, the sound one, comes first, in each."""
        step = chunk(self.bench)
        found: list[Coarse] = []
        for start in range(0, max(rows.size - 1, 1), step):
            at = np.concatenate([[0], np.arange(start + 1, min(start + 1 + step, rows.size))])
            some, scale = rows[at], size[at]
            answers = self.predictor.answers(some, scale, LOOKED_OVER_VOLTS)
            part = Coarse(
                self.predictor.predict(some, answers),
                self.predictor.each_behind(answers, some.size),
                self.sights.chances(some, answers),
                parted([answer.parted for answer in answers], some.size),
            )
            found.append(part if not found else part.part(np.arange(1, some.size)))
        return joined(found)

    def _within(self, log: Real, reach: float, spared: float, known: float) -> NDArray[np.intp]:
        """The likeliest rows that hold all but ``spared`` of the weight; row 0 always.

        Of the weight that is ``known`` (log), where that is less than what the rows promise.
        """
        order = np.argsort(-log, kind="stable")
        whole = float(np.logaddexp.reduce(log))
        if math.isfinite(known):
            whole, reach = min(known, whole), math.inf
        rest = np.cumsum(np.exp(np.minimum(log[order][::-1] - whole, 50.0)))[::-1]
        enough = int((rest > spared).sum())
        near = int((log > log.max() - reach).sum())
        keep = np.union1d(order[: min(enough, near, MOST_ROWS)], [0])
        return keep.astype(np.intp)

    def _coarse(
        self, seen: Coarse, reach: Real, rows: NDArray[np.intp]
    ) -> tuple[Real, Flags, Real]:
        """Generous log likelihoods (K, n + m), where the severity moves a figure (K,), widths.

        The widths (K, n) are the one sigma that each figure was given.

        Each figure by itself, with a slip term; of the instruments that may have been used, the
        likeliest. ``reach`` (A, K, n) is how far a figure may be off for the steps of severity.
        """
        figures, said = seen.figures, self.said.each(seen.leaning, rows)
        untold = self.said.untold(seen.parted)[:, None]
        if not self.figures:
            each = said + untold / max(said.shape[1], 1)
            return each, np.zeros(len(said), dtype=np.bool_), np.zeros((len(said), 0))
        free = seen.behind > FLOATING_OHMS
        loose = np.hypot(COARSE_SPREAD, np.where(free, COARSE_FLOATING, 0.0))
        mean, noise = figures.mean, figures.noise
        width = np.where(self.predictor.logged, 1.0 + loose, np.abs(mean) * loose)
        picked = np.minimum(self.predictor.picked_up * seen.behind, COARSE_PICKUP * self.volts)
        width = np.hypot(width, np.where(free, picked, 0.0))
        wide = np.hypot(np.hypot(noise, width), np.minimum(reach, 1e9))
        felt = np.asarray(reach > 0.5 * MOVED * np.hypot(noise, 0.01 * np.abs(mean)))
        moved = np.asarray(felt.any(axis=2).any(axis=0))
        z = np.clip((self.predictor.measured - mean) / wide, -40, 40)
        # As near as the widths allow, as sure as the instrument is: what is wide is not punished.
        narrow = np.hypot(noise, SURELY * np.abs(mean))
        fits = -0.5 * z**2 - np.log(np.where(self.predictor.logged, wide, narrow)) - 0.919
        fits = fits + figures.sure
        hides = self.said.hides[rows][:, None] * self.predictor.unsaid
        if hides.any():
            with np.errstate(divide="ignore"):
                fits = np.logaddexp(fits + np.log1p(-hides), np.log(hides) + fits[:, :1])
        fits = np.logaddexp(fits, self.predictor.far_off)
        share = np.log(figures.shares)[:, None] + fits.sum(axis=2)
        best = np.argmax(share, axis=0)
        every = np.arange(fits.shape[1])
        each = fits[best, every]
        each[:, 0] += np.logaddexp.reduce(share, axis=0) - np.max(share, axis=0)
        each[:, 0] += np.log(figures.shares)[best]
        each = np.concatenate([each, said], axis=1)
        return each + untold / each.shape[1], moved, wide[best, every]

    def _as_last(self, fine: Finer, last: Last) -> Weighed:
        return Weighed(
            fine.rows, fine.size, last.log, last.mean, last.noise, last.slip, last.seen, 0.0,
            last.none, self.figures, self.sights.columns,
        )  # fmt: skip

    def _as_seen(self, fine: Finer, log: Real, seen: Real) -> Weighed:
        """The last pass where nothing was measured: there is no figure for a nuisance to move."""
        empty = np.zeros((len(fine.rows), 0))
        none = math.log(NONE_PRIOR) + self.said.none(seen[0])
        sights = self.sights.columns
        return Weighed(fine.rows, fine.size, log, empty, empty, empty, seen, 0.0, none, (), sights)


def _steps(seen: Coarse, scene: NDArray[np.intp], beside: NDArray[np.intp]) -> Real:
    """(A, K, n): the largest difference from the rows ``beside`` (K, b).

    Where a device parts at one severity and not at the other no figure lies between: such a step
    counts as the other one, a little longer.
    """
    mean, apart = seen.figures.mean, seen.parted[:, scene]
    step, jumps = np.zeros(mean.shape), np.zeros(mean.shape[1:], dtype=np.bool_)
    for other in beside.T:
        jump = apart[other] != apart
        jumps |= jump
        step = np.maximum(step, np.where(jump, 0.0, np.abs(mean[:, other] - mean)))
    return np.where(jumps, STRETCHED * step, step)


def _differs(seen: Coarse) -> Flags:
    """(K,) rows that show anything at all beside the sound circuit."""
    mean, noise = seen.figures.mean[0], seen.figures.noise[0]
    found = (np.abs(mean - mean[0]) > MOVED * noise).any(axis=1)
    return np.asarray(found | (np.abs(seen.chances - seen.chances[0]) > MOVED).any(axis=1))


def _left_out(log: Real, keep: NDArray[np.intp]) -> float:
    """Log weight of what is not kept."""
    mask = np.ones(log.size, dtype=np.bool_)
    mask[keep] = False
    return float(np.logaddexp.reduce(log[mask])) if mask.any() else -math.inf
