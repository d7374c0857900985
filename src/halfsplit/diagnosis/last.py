"""The last pass: all nuisances in one Gaussian (Laplace's approximation, linear about each row)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfsplit.diagnosis.coarse import Coarse, parted
from halfsplit.diagnosis.evidence import agree
from halfsplit.diagnosis.felt import Felt, Parting, moved
from halfsplit.diagnosis.figures import Predictor, Still
from halfsplit.diagnosis.finer import Finer
from halfsplit.diagnosis.said import Said
from halfsplit.diagnosis.sights import Sights
from halfsplit.network import TOLERATED_VOLTS

Real = NDArray[np.float64]
Rows = NDArray[np.intp]
Flags = NDArray[np.bool_]
CHUNK_BYTES = 12e6  # of one chunk's transfers
PAIR_VOLTS = 1e-5  # that rounding may lose of two faults at once; of one, what the guard allows


@dataclass(frozen=True, slots=True)
class Last:
    """K rows: ``log`` (K,), and figures and observations as in ``Weighed``."""

    log: Real
    mean: Real
    noise: Real
    slip: Real
    seen: Real
    none: float

    def times(self, count: int) -> Last:
        """Its one row, ``count`` times."""
        log, mean, noise, slip, seen = (
            np.repeat(x, count, axis=0)
            for x in (self.log, self.mean, self.noise, self.slip, self.seen)
        )
        return Last(log, mean, noise, slip, seen, self.none)


class LastPass:
    """Weighs a few hundred rows at a time, each time with the sound row first."""

    def __init__(self, predictor: Predictor, sights: Sights, said: Said, prior: Real) -> None:
        self.bench, self.predictor = predictor.bench, predictor
        self.sights, self.said, self.prior = sights, said, prior
        self.volts = self.bench.plan.volts

    def over(self, fine: Finer, seen: Coarse) -> Last:
        """Rows, the sound one first, already ``seen`` (not to the last digit).

        Of two faults at once a little more may be lost to rounding.
        """
        columns = (*self.predictor.figures, *self.sights.columns)
        every = Felt(np.zeros(1, dtype=np.intp), frozenset(columns), None)
        sound, J = self._weighed(fine.part(every.rows), every, None, TOLERATED_VOLTS)
        K, names = fine.rows.size, ("log", "mean", "noise", "slip", "seen")
        found = sound.times(K)
        two = self.bench.hypotheses.second[fine.rows] > 0
        parting, moves = Parting(self.bench, columns), moved(seen)
        for some, tolerated in ((~two, TOLERATED_VOLTS), (two, PAIR_VOLTS)):
            at = np.flatnonzero(some & (np.arange(K) > 0))
            for felt in parting.groups(fine.rows[at], moves[at]) if at.size else ():
                for part in self._chunks(at[felt.rows], felt):
                    rows = np.concatenate([[0], part]).astype(np.intp)
                    before = seen.part(rows)
                    still = Still(felt.questions, felt.circuits, before.figures, before.leaning, J)
                    weighed, _ = self._weighed(fine.part(rows), felt, still, tolerated)
                    for name in names:
                        getattr(found, name)[part] = getattr(weighed, name)[1:]
        return found

    def _chunks(self, rows: Rows, felt: Felt) -> list[Rows]:
        bench = self.bench
        scenes = range(len(bench.scenes))
        asked = max(
            len(bench.ports(k, felt.questions)) + bench.scenes[k].ports.size for k in scenes
        )
        wide = asked + max(len(bench.pulls(k, felt.circuits).functionals) for k in scenes)
        step = max(20, int(CHUNK_BYTES / (16 * max(asked, 1) * wide)))
        return [rows[start : start + step] for start in range(0, rows.size, step)]

    def _weighed(
        self, fine: Finer, felt: Felt, still: Still | None, tolerated: float
    ) -> tuple[Last, Real]:
        """The rows weighed, and what the first, the sound one, leans on (n, E)."""
        bench, rows, size = self.bench, fine.rows, fine.size
        answers = [
            bench.solve(k, rows, size, tolerated, felt.questions, bench.pulls(k, felt.circuits))
            for k in range(len(bench.scenes))
        ]
        figures = self.predictor.predict(rows, answers, still)
        leaning = self.sights.chances(rows, answers, still)
        J, spread = self.predictor.leanings(rows, size, fine.loose, answers, figures, still)
        log = self.prior[rows] + fine.share + self.said.each(leaning, rows).sum(axis=1)
        log += self.said.untold(parted([answer.parted for answer in answers], len(rows)))
        none = self.predictor.none_of_these(figures) + self.said.none(leaning[0, :, 0])
        hides = self.said.hides[rows][:, None] * self.predictor.unsaid
        found = [
            agree(
                self.predictor.measured,
                figures.mean[a],
                figures.noise[a],
                J[a],
                spread,
                self.predictor.kinds,
                self.volts,
                self.predictor.logged,
                self.predictor.alike,
                hides,
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
        wide = np.sqrt(((J[best, every] * spread[:, None, :]) ** 2).sum(axis=2))
        noise = np.hypot(figures.noise[best, every], wide)
        mean = figures.mean[best, every]
        return Last(log + total, mean, noise, slip, leaning[..., 0], none), J[0, 0, :, :-2]
