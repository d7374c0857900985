"""From readings to odds: coarse over every row, then finely over those that could matter.

First every hypothesis is solved and weighed with generous tolerances. Those within reach of the
best are solved again with the severity in finer steps, and the last few hundred with all
nuisances in one Gaussian (Laplace's approximation, linear about each row).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from halfsplit.diagnosis.evidence import agree, soften
from halfsplit.diagnosis.hypotheses import SOUND, Hypotheses
from halfsplit.diagnosis.nuisance import Pulls, sensitivities
from halfsplit.diagnosis.predict import (
    LOG_SCALE,
    Question,
    chance_seen,
    figure,
    ports_of,
    ramp_figure,
)
from halfsplit.diagnosis.prepared import Base, Prepared
from halfsplit.diagnosis.scene import Scene, seen_through
from halfsplit.diagnosis.solve import Answers, solve_rows
from halfsplit.instruments import misread, show
from halfsplit.instruments.instrument import Instrument
from halfsplit.instruments.reading import Reading
from halfsplit.instruments.unknown import candidates
from halfsplit.network import Functional
from halfsplit.wiring.effects import Added, Bridged, Effect, ReadingChange, StateChange
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import Plan

Real = NDArray[np.float64]
REACH = 14.0  # nats below the best that the coarse pass keeps: beyond, under one in a million
FINE_REACH = 13.0
MOST_COARSE = 360
MOST_ROWS = 300
STEPS = (-1.2, -0.6, 0.0, 0.6, 1.2)  # finer severities inside a grid step, in its spreads
STEP_SHARES = (0.12, 0.23, 0.30, 0.23, 0.12)
STEP_SPREAD = 0.22  # log spread left about each finer severity
COARSE_SPREAD = 0.05  # of any figure, for what the coarse pass does not model
COARSE_FLOATING = 0.35  # of a figure behind more than a few kilohm: capacitances decide it
FLOATING_OHMS = 3e3
MOST_CANDIDATES = 3
UNSETTLED = 0.5  # "the reading will not settle": log spread


@dataclass(frozen=True, slots=True)
class Weighed:
    """The last rows with their weights.

    ``rows`` (K,) index the hypotheses' rows, ``size`` (K,) scales each row's severity; ``log``
    (K,) log posterior weight (not normalised), ``mean`` and ``noise`` (K, n) what each numeric
    reading would show and its one sigma (nuisances included), ``slip`` (K, n) chance of a slip,
    ``seen`` (K, m) chance of each observation; ``dropped`` the share of weight left out by the
    coarse passes; ``none`` log weight of "none of these". Columns follow ``figures`` and ``sights``.
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


class Bench:
    """All scenes of a job, with what is asked of each: built once, weighed against any readings."""

    def __init__(self, prepared: Prepared, readings: Sequence[Reading]) -> None:
        self.prepared = prepared
        self.installation, self.plan = prepared.installation, prepared.plan
        self.hypotheses = prepared.hypotheses
        self.readings = tuple(readings)
        keys: dict[object, int] = {}
        self.bases: list[Base] = []
        self.questions: list[Question] = []
        self.hiding: list[bool] = []  # scenes in which the fault was not showing
        for reading in self.readings:
            hides = reading.showing is False
            key = (reading.conditions.key(), hides)
            if key not in keys:
                keys[key] = len(self.bases)
                self.bases.append(prepared.base(reading.conditions))
                self.hiding.append(hides)
            ports, load = ports_of(reading, self.plan)
            self.questions.append(
                Question(reading, keys[key], ports, load, self._candidates(reading))
            )
        self.scenes: list[Scene] = [
            seen_through(base.scene, self.ports(k)) for k, base in enumerate(self.bases)
        ]
        self.pulls: list[Pulls] = [base.pulls for base in self.bases]
        self.encoded = [
            base.hidden() if hides else base.encoded
            for base, hides in zip(self.bases, self.hiding, strict=True)
        ]
        self.false = prepared.false

    def _candidates(self, reading: Reading) -> tuple[tuple[Instrument, float], ...]:
        found = candidates(reading.kind, reading.instrument, self.installation.region)
        if reading.kind == "volts" and not reading.instrument:
            merged: dict[str, tuple[Instrument, float]] = {}
            for one, share in found:
                before = merged.get(one.id)
                better = before is None or abs(math.log(one.r_in / 2e5)) < abs(
                    math.log(before[0].r_in / 2e5)
                )
                merged[one.id] = (
                    one if better or before is None else before[0],
                    share + (before[1] if before else 0.0),
                )
            found = tuple(sorted(merged.values(), key=lambda x: -x[1])[:MOST_CANDIDATES])
        elif len(found) > 1:
            found = (max(found, key=lambda x: x[1]),)
        whole = sum(share for _, share in found) or 1.0
        return tuple((one, share / whole) for one, share in found)

    def ports(self, scene: int) -> list[Functional]:
        """The functionals read in a scene."""
        return [p for q in self.questions if q.scene == scene for p in q.ports]

    def solve(
        self,
        scene: int,
        rows: NDArray[np.intp],
        size: Real | None = None,
        also: Sequence[Functional] = (),
    ) -> Answers:
        """Some hypotheses solved in a scene, each with its severity multiplied by ``size``."""
        encoded = self.encoded[scene].part(rows, size)
        stuck = frozenset(
            (int(i), device)
            for device, which in self.prepared.stuck.items()
            for i in np.flatnonzero(np.isin(rows, which))
        )
        ports = self.ports(scene)
        if also:
            ports = [*ports, *(draw for draw, _ in self.pulls[scene].draws)]
        return solve_rows(self.scenes[scene], encoded, ports, also, stuck)


def scaled(effect: Effect, size: float) -> Effect:
    """An effect with its finite resistance or admittance multiplied by ``size`` in ohms."""
    if isinstance(effect, Added) and math.isfinite(effect.ohms):
        return replace(effect, ohms=effect.ohms * size)
    if isinstance(effect, Bridged) and math.isfinite(effect.siemens):
        return replace(effect, siemens=effect.siemens / size, farads=effect.farads / size)
    return effect


@dataclass(slots=True)
class _Figures:
    """Predicted figures of a set of rows, per candidate instrument set."""

    mean: Real  # (A, K, n)
    noise: Real  # (A, K, n)
    sure: Real  # (A, K, n) log chance that a figure is shown at all
    shares: Real  # (A,)
    J: NDArray[np.float64] | None  # (K, n, E)


class Weigher:
    """Weighs every hypothesis of a bench against its readings."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.figures = tuple(k for k, q in enumerate(bench.questions) if q.numeric)
        self.sights = tuple(k for k, q in enumerate(bench.questions) if not q.numeric)
        qs = [bench.questions[k] for k in self.figures]
        self.kinds = tuple(q.reading.kind for q in qs)
        self.logged = np.array([q.reading.kind in LOG_SCALE for q in qs], dtype=np.bool_)
        values = np.array([float(q.reading.value or 0.0) for q in qs])
        self.measured = np.where(self.logged, np.log(np.maximum(values, 1.0)), values)
        self.volts = bench.plan.volts

    def weigh(self) -> Weighed:
        """The three passes."""
        hyp = self.bench.hypotheses
        every = np.arange(len(hyp), dtype=np.intp)
        beside = hyp.neighbours()
        coarse = hyp.prior + self._coarse(every, np.ones(len(hyp)), beside, 0.5)
        keep = self._within(coarse, REACH, MOST_COARSE)
        dropped = _left_out(coarse, keep)
        rows, size, share = self._finer(every[keep])
        fine = hyp.prior[rows] + share + self._coarse(rows, size, _steps(rows, share), 0.6)
        keep = self._within(fine, FINE_REACH, MOST_ROWS)
        dropped += _left_out(fine, keep)
        rows, size, share = rows[keep], size[keep], share[keep]
        return self._last(rows, size, share, dropped)

    def _within(self, log: Real, reach: float, most: int) -> NDArray[np.intp]:
        keep = np.flatnonzero(log > log.max() - reach)
        if keep.size > most:
            order = np.argsort(-log[keep], kind="stable")[:most]
            keep = np.sort(keep[order])
        sound = 0
        if sound not in keep and log.size:
            keep = np.concatenate([[sound], keep])
        return keep.astype(np.intp)

    def _finer(self, rows: NDArray[np.intp]) -> tuple[NDArray[np.intp], Real, Real]:
        """Rows with a sized severity, each in finer steps."""
        spread = self.bench.hypotheses.spread[rows]
        out: list[tuple[int, float, float]] = []
        for row, s in zip(rows, spread, strict=True):
            if s == 0.0 or not self.figures:
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
        self, rows: NDArray[np.intp], size: Real, beside: NDArray[np.intp], reach: float
    ) -> Real:
        """Generous log likelihood (K,): each figure by itself, with a slip term.

        ``beside`` (K, 2) are the rows of the next smaller and larger severity (itself where there
        is none); a figure may be ``reach`` of the way to theirs.
        """
        answers = self._answers(rows, size)
        figures = self._predict(rows, answers, None)
        seen = self._sights(rows, answers)
        log = soften(seen).sum(axis=1) if seen.size else np.zeros(len(rows))
        if not self.figures:
            return log
        per = []
        floating = self._floating(answers, len(rows))
        loose = np.hypot(COARSE_SPREAD, np.where(floating, COARSE_FLOATING, 0.0))
        for a, share in enumerate(figures.shares):
            mean = figures.mean[a]
            width = np.where(self.logged, 1.0 + loose, np.abs(mean) * loose)
            step = np.maximum(np.abs(mean[beside[:, 0]] - mean), np.abs(mean[beside[:, 1]] - mean))
            noise = np.hypot(np.hypot(figures.noise[a], width), reach * np.minimum(step, 1e9))
            z = np.clip((self.measured - mean) / noise, -40, 40)
            fits = -0.5 * z**2 - np.log(noise) - 0.919 + figures.sure[a]
            # A generous slip term: any figure may be far off, at a price.
            slip = np.log(misread.SLIP_CHANCE * 0.3 / (np.abs(self.measured) + 1.0))
            per.append(np.logaddexp(fits, slip).sum(axis=1) + math.log(share))
        return log + np.logaddexp.reduce(np.stack(per), axis=0)

    def _answers(self, rows: NDArray[np.intp], size: Real) -> list[Answers]:
        return [self.bench.solve(k, rows, size) for k in range(len(self.bench.scenes))]

    def _floating(self, answers: Sequence[Answers], count: int) -> NDArray[np.bool_]:
        columns = []
        for k in self.figures:
            q = self.bench.questions[k]
            answer = answers[q.scene]
            if q.reading.kind != "volts" or q.ports[0] not in answer.at:
                columns.append(np.zeros(count, dtype=np.bool_))
                continue
            at = answer.at[q.ports[0]]
            columns.append(np.abs(answer.T[:, at, at]) > FLOATING_OHMS)
        return np.stack(columns, axis=1)

    def _sights(self, rows: NDArray[np.intp], answers: Sequence[Answers]) -> Real:
        """(K, m) chance of each observation (bounds on figures count as observations)."""
        columns = []
        for k in self.sights:
            q = self.bench.questions[k]
            answer = answers[q.scene]
            scene = self.bench.scenes[q.scene]
            if q.reading.kind == "sense":
                columns.append(self._sense(q, rows))
            elif q.reading.bound in ("<", ">") and q.reading.value is not None:
                columns.append(self._bound(q, scene, answer))
            else:
                columns.append(chance_seen(q, scene, answer))
        count = len(rows)
        found = np.stack(columns, axis=1) if columns else np.ones((count, 0))
        return self._falsify_sights(found, rows)

    def _bound(self, q: Question, scene: Scene, answer: Answers) -> Real:
        instrument = q.candidates[0][0]
        if q.ports and any(p not in answer.at for p in q.ports):
            return np.full(answer.f.shape[0], 0.5)
        mean, sure = figure(q, scene, answer, instrument)
        value = float(q.reading.value or 0.0)
        if math.isinf(value):
            return 1 - sure if q.reading.bound == ">" else sure
        ratio = np.log(np.maximum(mean, 1e-9) / max(value, 1e-9))
        wide = 1.0 if q.reading.kind in ("megohms",) else 0.15
        above = show.chance_below(ratio / wide)
        above = 1 - sure * (1 - above)
        return above if q.reading.bound == ">" else 1 - above

    def _sense(self, q: Question, rows: NDArray[np.intp]) -> Real:
        from halfsplit.diagnosis.senses import chance_felt

        return np.array(
            [
                chance_felt(
                    q.reading,
                    self._fault_places(int(h)),
                    self.bench.hypotheses.effects[int(h)],
                    self.volts,
                )
                for h in rows
            ]
        )

    def _fault_places(self, h: int) -> tuple[str, ...]:
        index = int(self.bench.hypotheses.fault[h])
        return () if index == SOUND else self.bench.hypotheses.faults[index].places

    def _falsify_sights(self, found: Real, rows: NDArray[np.intp]) -> Real:
        for h, change in self.bench.false:
            if change.how != "lamp blown":
                continue
            for i in np.flatnonzero(rows == h):
                for c, k in enumerate(self.sights):
                    reading = self.bench.questions[k].reading
                    if reading.kind == "glow" and reading.instrument:
                        found[i, c] = 1.0 if reading.seen == "off" else 0.0
        return found

    def _predict(
        self, rows: NDArray[np.intp], answers: Sequence[Answers], J: Real | None
    ) -> _Figures:
        """Figures of every row under each candidate for the instrument nobody named."""
        alternatives = self._alternatives()
        K, n = len(rows), len(self.figures)
        mean = np.zeros((len(alternatives), K, n))
        noise = np.ones((len(alternatives), K, n))
        sure = np.zeros((len(alternatives), K, n))
        for a, (chosen, _) in enumerate(alternatives):
            for c, k in enumerate(self.figures):
                q = self.bench.questions[k]
                instrument = (
                    chosen
                    if chosen and not q.reading.instrument and q.reading.kind == "volts"
                    else q.candidates[0][0]
                )
                self._one(
                    q, instrument, answers[q.scene], mean[a, :, c], noise[a, :, c], sure[a, :, c]
                )
        self._falsify(rows, mean)
        return _Figures(mean, noise, sure, np.array([s for _, s in alternatives]), J)

    def _alternatives(self) -> tuple[tuple[Instrument | None, float], ...]:
        for k in self.figures:
            q = self.bench.questions[k]
            if q.reading.kind == "volts" and not q.reading.instrument:
                return q.candidates
        return ((None, 1.0),)

    def _one(
        self,
        q: Question,
        instrument: Instrument,
        answer: Answers,
        mean: Real,
        noise: Real,
        sure: Real,
    ) -> None:
        scene = self.bench.scenes[q.scene]
        about = 0.1 if q.reading.bound == "~" else 0.0
        if not q.reading.settled:
            about = UNSETTLED
        if q.reading.kind == "ramp":
            value, chance, sigma = ramp_figure(q, scene, answer)
            mean[:], noise[:], sure[:] = value, sigma, np.log(np.maximum(chance, 1e-6))
            return
        if any(p not in answer.at for p in q.ports):
            mean[:], noise[:] = 0.0, 1e3
            return
        value, chance = figure(q, scene, answer, instrument)
        sigma = np.hypot(show.sigma(instrument, value), about * np.abs(value))
        if q.reading.kind in LOG_SCALE:
            floor = instrument.floor + instrument.resolution
            mean[:] = np.log(np.maximum(value, floor))
            noise[:] = np.hypot(
                np.hypot(instrument.accuracy, about), floor / np.maximum(value, floor)
            )
        else:
            mean[:], noise[:] = np.minimum(value, 1e9), np.minimum(sigma, 1e9)
        sure[:] = np.log(np.maximum(chance, 1e-9))

    def _falsify(self, rows: NDArray[np.intp], mean: Real) -> None:
        """What a faulty instrument shows instead."""
        for h, change in self.bench.false:
            for i in np.flatnonzero(rows == h):
                for c, k in enumerate(self.figures):
                    reading = self.bench.questions[k].reading
                    if "all" not in change.instruments and reading.kind not in change.instruments:
                        continue
                    mean[:, i, c] = _falsified(
                        change, reading.kind, mean[:, i, c], bool(self.logged[c])
                    )

    def _last(self, rows: NDArray[np.intp], size: Real, share: Real, dropped: float) -> Weighed:
        """The last pass: all nuisances in one Gaussian."""
        bench = self.bench
        answers = [
            bench.solve(k, rows, size, bench.pulls[k].functionals) for k in range(len(bench.scenes))
        ]
        figures = self._predict(rows, answers, None)
        seen = self._sights(rows, answers)
        log = bench.hypotheses.prior[rows] + share
        if seen.size:
            log = log + soften(seen).sum(axis=1)
        n = len(self.figures)
        noise, slip = np.ones((len(rows), n)), np.zeros((len(rows), n))
        mean = np.zeros((len(rows), n))
        if n:
            J, spread = self._nuisances(rows, size, share, answers)
            parts, slips = [], []
            for a, part in enumerate(figures.shares):
                found = agree(
                    self.measured,
                    figures.mean[a],
                    figures.noise[a],
                    J,
                    spread,
                    self.kinds,
                    self.volts,
                    self.logged,
                )
                parts.append(found.log + figures.sure[a].sum(axis=1) + math.log(part))
                slips.append(found.slip)
            stacked = np.stack(parts)
            total = np.logaddexp.reduce(stacked, axis=0)
            weight = np.exp(stacked - total)
            slip = np.einsum("ak,akn->kn", weight, np.stack(slips))
            best = np.argmax(stacked, axis=0)
            mean = figures.mean[best, np.arange(len(rows))]
            wide = np.sqrt(((J * spread[:, None, :]) ** 2).sum(axis=2))
            noise = np.hypot(figures.noise[best, np.arange(len(rows))], wide)
            log = log + total
        none = self._none_of_these(answers, figures)
        return Weighed(
            rows, size, log, mean, noise, slip, seen, dropped, none, self.figures, self.sights
        )

    def _nuisances(
        self, rows: NDArray[np.intp], size: Real, share: Real, answers: Sequence[Answers]
    ) -> tuple[Real, Real]:
        """(J (K, n, E + 1), spread (K, E + 1)): every nuisance, and last the severity itself."""
        bench, n = self.bench, len(self.figures)
        E = len(bench.prepared.items)
        J = np.zeros((len(rows), n, E + 1))
        for c, k in enumerate(self.figures):
            q = bench.questions[k]
            J[:, c, :E] = self._slopes(q, answers[q.scene])
        up = self._predict(rows, self._answers(rows, size * 1.1), None)
        here = self._predict(rows, answers, None)
        J[:, :, E] = (up.mean[0] - here.mean[0]) / math.log(1.1)
        spread = np.zeros((len(rows), E + 1))
        spread[:, :E] = bench.pulls[0].spread if bench.pulls else 0.0
        spread[:, E] = np.where(share < 0, STEP_SPREAD, 0.0)
        return J, spread

    def _slopes(self, q: Question, answer: Answers) -> Real:
        """∂(figure)/∂(log scale) (K, E) of one reading."""
        pulls, scene = self.bench.pulls[q.scene], self.bench.scenes[q.scene]
        kind = q.reading.kind
        K, E = answer.f.shape[0], pulls.spread.size
        if kind == "ramp" or any(p not in answer.at for p in q.ports):
            return np.zeros((K, E))
        port = q.ports[0]
        at = answer.at[port]
        if kind == "volts":
            y = show.admittance(q.candidates[0][0], scene.lowered.omega)
            v = answer.f[:, at] / (1 + answer.T[:, at, at] * y)
            slope = sensitivities(pulls, answer, port, y)
            unit = np.conj(v) / np.maximum(np.abs(v), 1e-12)
            return np.real(unit[:, None] * slope)
        if kind == "amps":
            at_all = [answer.at[p] for p in q.ports]
            total = answer.f[:, at_all].sum(axis=1)
            slope = sum(
                (sensitivities(pulls, answer, p) for p in q.ports),
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

    def _none_of_these(self, answers: Sequence[Answers], figures: _Figures) -> float:
        """Log weight of "none of these": any figure as likely as any other, any sight as its pair.

        Its prior is judgement. A figure follows the sound circuit half the time, else it is
        anywhere in its span.
        """
        log = math.log(NONE_PRIOR) + float(np.log(NONE_SIGHT)) * len(self.sights)
        for c in range(len(self.figures)):
            kind = self.kinds[c]
            mean, noise = (
                figures.mean[0, 0, c],
                np.hypot(figures.noise[0, 0, c], 0.05 * abs(figures.mean[0, 0, c])),
            )
            z = (self.measured[c] - mean) / noise
            near = math.exp(-0.5 * min(z * z, 1400.0)) / (noise * math.sqrt(2 * math.pi))
            value = math.exp(self.measured[c]) if self.logged[c] else abs(self.measured[c])
            low, high = misread.SPAN[kind]
            anywhere = (
                1 / (1.2 * self.volts)
                if kind == "volts"
                else (
                    1
                    / (max(value, low) * math.log(high / low))
                    * (value if self.logged[c] else 1.0)
                )
            )
            log += math.log(0.4 * near + 0.6 * anywhere)
        return log


NONE_PRIOR = 0.01  # the catalogue holds what goes wrong nearly always: judgement
NONE_SIGHT = 0.35  # an observation under a cause nobody thought of


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


def _falsified(change: ReadingChange, kind: str, mean: Real, logged: bool) -> Real:
    """What a faulty instrument shows in place of ``mean``."""
    if change.how == "scale":
        return mean + math.log(change.factor) if logged else mean * change.factor
    if change.how == "offset" and kind == "ohms":
        return mean + change.factor
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
