"""What every figure would be under many hypotheses, and how it leans on what is not known."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from halfsplit.diagnosis.bench import Bench
from halfsplit.diagnosis.nuisance import EVERY, Pulls, sensitivities
from halfsplit.diagnosis.predict import LOG_SCALE, Question, figure, ramp_figure, signs_of
from halfsplit.diagnosis.solve import Answers
from halfsplit.instruments import misread, show
from halfsplit.instruments.instrument import Instrument
from halfsplit.network import TOLERATED_VOLTS, Functional
from halfsplit.wiring.effects import Bridged, ReadingChange

Real = NDArray[np.float64]
Rows = NDArray[np.intp]
FLOATING_OHMS = 3e3  # behind more than this a figure is decided by capacitances
UNSETTLED = 0.5  # "the reading will not settle", of what floats: log spread
STIRS = 0.05  # of a figure: less is not called wandering
BETWEEN = 0.35  # of the way from sound to faulty, about its middle: anywhere between
SEE_SAWS = 0.5  # of the supply, as loads switch on one line and the other: judgement
DRIES = 1.2  # log spread of a leak from one day to another, as damp comes and goes: judgement
# How often it is said of what floats or comes and goes, and of what copper holds (judgement).
WANDERS, WANDERS_HELD = 0.5, 0.04
JUMP = 0.3  # of a figure: a tenth more of a resistance moves it no further, but by a trip
PULLED = 0.01  # of a voltage: a meter that changes it by less may as well be another
SURELY = 0.005  # of a figure: what the other readings cannot say of it at best
NONE_PRIOR = 0.01  # the catalogue holds what goes wrong nearly always: judgement


@dataclass(frozen=True, slots=True)
class Figures:
    """Predicted figures of K rows under each of A candidates for the instrument nobody named.

    ``mean`` and ``noise`` (A, K, n) in the figure's own scale (a log for insulation), ``sure``
    (A, K, n) the log chance that a figure is shown at all, ``shares`` (A,).
    """

    mean: Real
    noise: Real
    sure: Real
    shares: Real

    def part(self, rows: NDArray[np.intp]) -> Figures:
        """Some of the rows."""
        return Figures(self.mean[:, rows], self.noise[:, rows], self.sure[:, rows], self.shares)


@dataclass(frozen=True, slots=True)
class Still:
    """What is not asked of some rows, K of them.

    ``asked`` questions are, and the nuisances of ``circuits``; the rest stays as in ``figures`` (K)
    and ``seen`` (K, m), and leans on what is not known as ``J`` (n, E), the sound circuit, does.
    """

    asked: frozenset[int]
    circuits: frozenset[str] | None
    figures: Figures
    seen: Real
    J: Real

    def part(self, rows: NDArray[np.intp]) -> Still:
        """Some of the rows."""
        return replace(self, figures=self.figures.part(rows), seen=self.seen[rows])


class Predictor:
    """The numeric questions of a bench, asked of any rows."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.figures = tuple(k for k, q in enumerate(bench.questions) if q.numeric)
        questions = [bench.questions[k] for k in self.figures]
        self.kinds = tuple(q.reading.kind for q in questions)
        self.logged = np.array([q.reading.kind in LOG_SCALE for q in questions], dtype=np.bool_)
        values = np.array([float(q.reading.value or 0.0) for q in questions])
        self.measured: Real = np.where(self.logged, np.log(np.maximum(values, 1.0)), values)
        self.volts = bench.plan.volts
        said = [replace(q.reading, id="", value=None, text="", line=None) for q in questions]
        pairs = ((i, j) for i in range(len(said)) for j in range(i))
        self.unsaid = np.array([q.reading.showing is None and q.reading.settled for q in questions])
        self.alike = frozenset((i, j) for i, j in pairs if said[i] == said[j])

    def answers(
        self,
        rows: NDArray[np.intp],
        size: Real,
        tolerated: float = TOLERATED_VOLTS,
        asked: Collection[int] | None = None,
    ) -> list[Answers]:
        """Some rows solved in every scene, each with its severities multiplied by ``size``."""
        scenes = range(len(self.bench.scenes))
        return [self.bench.solve(k, rows, size, tolerated, asked) for k in scenes]

    @cached_property
    def far_off(self) -> Real:
        """(n,) a generous log slip term: any figure may be far off, at a price."""
        found: Real = np.log(misread.SLIP_CHANCE * 0.3 / (np.abs(self.measured) + 1.0))
        return found

    @cached_property
    def alternatives(self) -> tuple[tuple[Instrument | None, float], ...]:
        """What the voltmeter that nobody named may be, and how likely."""
        for k in self.figures:
            q = self.bench.questions[k]
            if q.reading.kind == "volts" and not q.reading.instrument:
                return q.candidates
        return ((None, 1.0),)

    def instruments(self, k: int) -> tuple[Instrument, ...]:
        """The instruments that question ``k`` is asked with: one, or each of the alternatives."""
        q = self.bench.questions[k]
        if q.reading.kind == "volts" and not q.reading.instrument:
            return tuple(one for one, _ in self.alternatives if one is not None)
        return tuple(one for one, _ in q.candidates[:1])

    def predict(
        self, rows: NDArray[np.intp], answers: Sequence[Answers], still: Still | None = None
    ) -> Figures:
        """Figures of every row under each candidate for the instrument nobody named."""
        K, n, A = len(rows), len(self.figures), len(self.alternatives)
        mean, noise, sure = np.zeros((A, K, n)), np.ones((A, K, n)), np.zeros((A, K, n))
        if still:
            before = still.figures
            mean[:], noise[:], sure[:] = before.mean, before.noise, before.sure
        for c, k in enumerate(self.figures):
            if still and k not in still.asked:
                continue
            answer = answers[self.bench.questions[k].scene]
            found = [self.one(k, x, rows, answer) for x in self.instruments(k)]
            for a in range(A):
                mean[a, :, c], noise[a, :, c], sure[a, :, c] = found[min(a, len(found) - 1)]
        return Figures(mean, noise, sure, np.array([s for _, s in self.alternatives]))

    def one(
        self, k: int, instrument: Instrument, rows: NDArray[np.intp], answer: Answers
    ) -> tuple[Real, Real, Real]:
        """(mean, noise, log chance of being shown), each (K,), of one question."""
        q = self.bench.questions[k]
        mean, noise, sure = self._shown(q, instrument, answer)
        if not q.reading.settled:
            mean, noise, sure = self._unsettled(q, rows, answer, (mean, noise, sure))
        if q.reading.kind == "megohms" and self.other_day:
            noise = np.hypot(noise, DRIES * self.leaks[rows])
        return self._falsified(k, rows, mean), noise, sure

    def _shown(
        self, q: Question, instrument: Instrument, answer: Answers
    ) -> tuple[Real, Real, Real]:
        scene = self.bench.scenes[q.scene]
        count = answer.f.shape[0]
        about = q.reading.spread
        if q.reading.kind == "ramp":
            left, chance, width = ramp_figure(q, scene, answer)
            return left, np.full(count, width), np.log(np.maximum(chance, 1e-6))
        if any(p not in answer.at for p in q.ports):
            return np.zeros(count), np.full(count, 1e3), np.zeros(count)
        value, chance = figure(q, scene, answer, instrument)
        sigma = np.hypot(show.sigma(instrument, value), about * abs(q.reading.value or 0.0))
        sure = np.log(np.maximum(chance, 1e-9))
        if q.reading.kind in LOG_SCALE:
            floor = instrument.floor + instrument.resolution
            part = floor / np.maximum(value, floor)
            noise = np.hypot(np.hypot(instrument.accuracy, about), part)
            return np.log(np.maximum(value, floor)), noise, sure
        return np.minimum(value, 1e9), np.minimum(sigma, 1e9), sure

    def _unsettled(
        self,
        q: Question,
        rows: NDArray[np.intp],
        answer: Answers,
        shown: tuple[Real, Real, Real],
    ) -> tuple[Real, Real, Real]:
        """(mean, noise, log chance) of a figure that is said not to settle; row 0 is sound.

        What floats wanders by itself. What comes and goes is between the sound circuit and the
        fault. Where the house's own loads share a lost neutral, they switch and it see-saws. What
        copper holds is seldom said to wander.
        """
        mean, noise, sure = shown
        if q.reading.kind != "volts" or q.ports[0] not in answer.at:
            wide = np.ones(mean.size) if q.reading.kind in LOG_SCALE else np.abs(mean)
            return mean, np.hypot(noise, UNSETTLED * wide), sure
        at = answer.at[q.ports[0]]
        floats = np.abs(answer.T[:, at, at]) > FLOATING_OHMS
        apart = np.abs(mean - mean[0])
        restless = floats | (apart > STIRS * max(abs(float(mean[0])), 1.0))
        shared = restless & ~floats & self.shared[rows]
        between = restless & ~floats & ~shared
        wide = np.hypot(np.where(floats, UNSETTLED, STIRS) * np.abs(mean), BETWEEN * apart)
        wide = np.where(shared, SEE_SAWS * self.volts, wide)
        said = np.log(np.where(restless, WANDERS, WANDERS_HELD))
        middle = np.where(between, 0.5 * (mean + mean[0]), mean)
        return middle, np.hypot(noise, wide), sure + said

    @cached_property
    def other_day(self) -> bool:
        """Whether something tripped: on another day than insulation was tested."""
        return any(r.kind in ("trips", "ramp") for r in self.bench.readings)

    @cached_property
    def leaks(self) -> NDArray[np.bool_]:
        """(H,) rows in which insulation lets some current through."""
        hyp = self.bench.hypotheses
        return np.array(
            [
                any(isinstance(e, Bridged) and 0 < e.siemens < math.inf for e in hyp.own(h))
                for h in range(len(hyp))
            ]
        )

    @cached_property
    def shared(self) -> NDArray[np.bool_]:
        """(H,) rows with what the rest of the house draws on a neutral that it shares."""
        boards = {board.name for board in self.bench.installation.boards}
        return np.array([place in boards for place in self.bench.hypotheses.beyond])

    def _falsified(self, k: int, rows: NDArray[np.intp], mean: Real) -> Real:
        """What a faulty instrument shows instead."""
        reading = self.bench.questions[k].reading
        for h, change in self.bench.false:
            if "all" in change.instruments or reading.kind in change.instruments:
                here = rows == h
                logged = reading.kind in LOG_SCALE
                mean[here] = falsified(change, reading.kind, mean[here], logged)
        return mean

    def leanings(
        self,
        rows: NDArray[np.intp],
        size: Real,
        loose: Real,
        answers: Sequence[Answers],
        here: Figures,
        still: Still | None = None,
    ) -> tuple[Real, Real]:
        """(J (A, K, n, E + 2), spread (K, E + 2)): every nuisance, and last the two severities.

        ``here`` are the figures of ``answers``; a severity's slope is a difference from them, and
        ``loose`` (K, 2) the log spread left about each.
        """
        bench, n = self.bench, len(self.figures)
        items = bench.prepared.items
        E = len(items)
        J = np.zeros((len(rows), n, E + 2))
        if still:
            J[:, :, :E] = still.J
        for c, k in enumerate(self.figures):
            q = bench.questions[k]
            if still and k not in still.asked:
                continue
            pulls = bench.pulls(q.scene, still.circuits if still else None)
            J[:, c, :E][:, pulls.felt] = self._slopes(k, answers[q.scene], pulls)[:, pulls.felt]
        for member in range(2):
            moving = np.flatnonzero(loose[:, member] > 0)
            if moving.size:
                at = np.concatenate([[0], moving])  # the sound row first
                more = size[at]
                more[:, member] *= 1.1
                again = self.answers(rows[at], more, asked=still.asked if still else None)
                up = self.predict(rows[at], again, still.part(at) if still else None).mean[0][1:]
                now = here.mean[0][moving]
                step = up - now
                # A device that parts at one and not at the other is no slope.
                jumps = np.abs(step) > JUMP * np.maximum(np.abs(up), np.abs(now))
                J[moving, :, E + member] = np.where(jumps, 0.0, step / math.log(1.1))
        spread = np.zeros((len(rows), E + 2))
        spread[:, :E] = [item.spread for item in items]
        spread[:, E:] = loose
        return np.stack([self._by(a, J, answers, still) for a in range(here.shares.size)]), spread

    def _by(self, a: int, J: Real, answers: Sequence[Answers], still: Still | None) -> Real:
        """``J`` (K, n, E + 2) of the first voltmeter that may have been used, of number ``a``.

        They differ where what is measured hangs free, so that the voltmeter itself pulls it.
        """
        if a == 0:
            return J
        J = J.copy()
        for c, k in enumerate(self.figures):
            q = self.bench.questions[k]
            instruments, answer = self.instruments(k), answers[q.scene]
            if (
                len(instruments) == 1
                or q.ports[0] not in answer.at
                or (still and k not in still.asked)
            ):
                continue
            omega = self.bench.scenes[q.scene].lowered.omega
            ys = [show.admittance(instruments[i], omega) for i in (0, a)]
            at = answer.at[q.ports[0]]
            free = np.flatnonzero(np.abs(answer.T[:, at, at]) * abs(ys[1] - ys[0]) > PULLED)
            if free.size:
                pulls = self.bench.pulls(q.scene, still.circuits if still else None)
                slopes = self._volts(q.ports[0], answer, pulls, ys[1], free)
                J[free[:, None], c, np.flatnonzero(pulls.felt)] = slopes[:, pulls.felt]
        return J

    @staticmethod
    def _volts(
        port: Functional, answer: Answers, pulls: Pulls, y: complex, rows: Rows | slice = EVERY
    ) -> Real:
        """∂(volts shown)/∂(log scale) (K, E) by a meter of admittance ``y``."""
        at = answer.at[port]
        v = answer.f[rows, at] / (1 + answer.T[rows, at, at] * y)
        slope = sensitivities(pulls, answer, port, y, rows=rows)
        unit = np.conj(v) / np.maximum(np.abs(v), 1e-12)
        return np.where(pulls.turned, np.abs(slope), np.real(unit[:, None] * slope))

    def _slopes(self, k: int, answer: Answers, pulls: Pulls) -> Real:
        """∂(figure)/∂(log scale) (K, E) of one reading, with the first instrument it may be."""
        q = self.bench.questions[k]
        scene = self.bench.scenes[q.scene]
        kind = q.reading.kind
        K, E = answer.f.shape[0], pulls.spread.size
        if kind == "ramp" or any(p not in answer.at for p in q.ports):
            return np.zeros((K, E))
        port = q.ports[0]
        at = answer.at[port]
        if kind == "volts":
            y = show.admittance(self.instruments(k)[0], scene.lowered.omega)
            return self._volts(port, answer, pulls, y)
        if kind == "amps":
            signed = list(zip(q.ports, signs_of(q.reading), strict=True))
            total = sum(
                (sign * answer.f[:, answer.at[p]] for p, sign in signed),
                np.zeros(K, dtype=np.complex128),
            )
            slope = sum(
                (sign * sensitivities(pulls, answer, p) for p, sign in signed),
                np.zeros((K, E), dtype=np.complex128),
            )
            unit = np.conj(total) / np.maximum(np.abs(total), 1e-12)
            return np.real(unit[:, None] * slope)
        slope = sensitivities(pulls, answer, port, of_transfer=True)
        z = answer.T[:, at, at]
        if kind in LOG_SCALE:
            return np.real(slope) / np.maximum(np.abs(z.real), 1e-9)[:, None]
        if kind == "loop":
            unit = np.conj(z) / np.maximum(np.abs(z), 1e-12)
            return np.real(unit[:, None] * slope)
        return np.clip(np.real(slope), -1e9, 1e9)

    def each_behind(self, answers: Sequence[Answers], count: int) -> Real:
        """(K, n) ohms that each voltage stands behind; 0 of other figures."""
        found = [self.behind(k, answers[self.bench.questions[k].scene]) for k in self.figures]
        return np.stack(found, axis=1) if found else np.zeros((count, 0))

    def behind(self, k: int, answer: Answers) -> Real:
        """(K,): the same of one question."""
        q = self.bench.questions[k]
        if q.reading.kind != "volts" or q.ports[0] not in answer.at:
            return np.zeros(answer.f.shape[0])
        at = answer.at[q.ports[0]]
        return np.abs(answer.T[:, at, at])

    @cached_property
    def picked_up(self) -> float:
        """Amperes that the lines of one circuit pick up from other cables at most."""
        items = self.bench.prepared.items
        return max((sum(amps for _, amps in item.picks) for item in items), default=0.0)

    def none_of_these(self, found: Figures) -> float:
        """Log weight of "none of these" by the figures: each may be anywhere in its span.

        Its prior is judgement. A figure follows the sound circuit (row 0) now and then, else it
        is anywhere in its span.
        """
        log = math.log(NONE_PRIOR)
        for c, kind in enumerate(self.kinds):
            mean = float(found.mean[0, 0, c])
            noise = float(np.hypot(found.noise[0, 0, c], 0.05 * abs(mean)))
            z = (self.measured[c] - mean) / noise
            near = math.exp(-0.5 * min(z * z, 1400.0)) / (noise * math.sqrt(2 * math.pi))
            log += math.log(0.4 * near + 0.6 * self._anywhere(c, kind))
            settled = self.bench.questions[self.figures[c]].reading.settled
            log += 0.0 if settled else math.log(WANDERS / 2)
        return log

    def _anywhere(self, c: int, kind: str) -> float:
        """Density of a figure that may be anything its kind may be."""
        if kind == "volts":
            return 1 / (1.2 * self.volts)
        low, high = misread.SPAN[kind]
        value = math.exp(self.measured[c]) if self.logged[c] else abs(float(self.measured[c]))
        scale = value if self.logged[c] else 1.0
        return scale / (max(value, low) * math.log(high / low))


def falsified(change: ReadingChange, kind: str, mean: Real, logged: bool) -> Real:
    """What a faulty instrument shows in place of ``mean``."""
    if change.how == "scale":
        return mean + math.log(change.factor) if logged else mean * change.factor
    if change.how == "offset" and kind == "ohms":
        return mean + change.factor
    if change.how == "lead open" and kind in ("amps", "ramp"):
        return mean  # a clamp has no leads, a plugged tester none that are the meter's
    if change.how == "lead open":
        if kind == "volts":
            return np.full_like(mean, 0.5)
        return np.full_like(mean, math.log(1e12) if logged else 1e9)
    if change.how == "fuse blown":
        if kind == "amps":
            return np.zeros_like(mean)
        if kind == "ohms":
            return np.full_like(mean, 1e9)
    return mean
