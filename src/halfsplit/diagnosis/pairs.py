"""Two faults at once: which pairs are worth solving, and what all the others weigh.

A partner that cannot move any reading, given the first, only adds its prior to the first: that is
added up without solving anything. Of the partners that do move one, a linear look at the circuit
with the first fault made says how well both together could agree with the readings; the best are
solved like any other hypothesis, and what is left out is bounded and said.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfsplit.diagnosis.coarse import Coarse
from halfsplit.diagnosis.figures import SURELY, Predictor
from halfsplit.diagnosis.hypotheses import SOUND, Hypotheses
from halfsplit.diagnosis.linear import Picture, Ports
from halfsplit.diagnosis.predict import LOG_SCALE, Question, signs_of
from halfsplit.diagnosis.scene import Scene
from halfsplit.diagnosis.sights import Sights
from halfsplit.faults.rates import CALLED
from halfsplit.instruments import show
from halfsplit.network import Functional, I

Real = NDArray[np.float64]
Rows = NDArray[np.intp]
Flags = NDArray[np.bool_]

FIRSTS = (9, 8)  # classes of first faults whose partners are looked at: alone, hopeful
MOST_PAIRS = 300  # pairs solved
ALONE = 6.0  # nats of the best: what explains less alone has its partners added up alike
WITHIN = 9.0  # nats of the best explanation: pairs promising less are only added up
STILL = 0.01  # of a figure's noise: what moves it less, many times over, is not solved again
MOVES = 0.1  # of a figure's noise: what moves it less does not move it
LOOSE = 0.1  # of what a partner moves, for loads that do not draw as they rest
SEEN_MOVES = 0.02  # of the supply: less changes nothing that is seen
AMPS_MOVE = 0.002  # A: less changes no device's mind


@dataclass(frozen=True, slots=True)
class Pairs:
    """``first``, ``second`` (N,) rows of the hypotheses to be solved together.

    ``beside`` (H,) is the log of one plus what partners that move nothing add to each row;
    ``promised`` the log weight that they seem to have, ``left`` that which those not solved seem to
    have at most; ``still`` (H,) are the rows that by themselves move no reading.
    """

    first: Rows
    second: Rows
    beside: Real
    promised: float
    left: float
    still: Flags


@dataclass(frozen=True, slots=True)
class Look:
    """Every single hypothesis looked over, figures before observations.

    ``seen`` is what each would show, ``each`` (H, c) how well every column agrees (log), ``wide``
    (H, n) the one sigma that each figure was given, ``prior`` (H,) log.
    """

    seen: Coarse
    each: Real
    wide: Real
    prior: Real


class PairSearch:
    """The pairs of one job."""

    def __init__(self, predictor: Predictor, sights: Sights, look: Look) -> None:
        self.bench = predictor.bench
        self.hypotheses: Hypotheses = self.bench.hypotheses
        self.predictor, self.sights = predictor, sights
        self.each, self.wide, self.prior = look.each, look.wide, look.prior
        figures = look.seen.figures
        best = int(np.argmax(figures.shares))
        self.mean, self.noise = figures.mean[best], figures.noise[best]
        self.chances = look.seen.chances
        self.single: Real = self.prior + self.each.sum(axis=1)
        self.partners = self._partners()
        self.log_called = math.log(CALLED) + float(self.hypotheses.prior[0])
        self.moved = self._moved(MOVES)
        circuits = np.array([fault.circuit for fault in self.hypotheses.faults])
        self.circuit = circuits[self.hypotheses.fault[self.partners]]
        self.seen_alone = self.moved[self.partners].any(axis=1)
        self.touches = [self._touches(k) for k in range(len(self.bench.scenes))]

    def _partners(self) -> Rows:
        """One row of each fault and severity, with nothing forgotten beside it."""
        hyp = self.hypotheses
        key = hyp.fault * 1000 + hyp.severity
        _, first = np.unique(key, return_index=True)
        return np.sort(first[hyp.fault[first] != SOUND]).astype(np.intp)

    def _moved(self, share: float) -> Flags:
        """(H, c): columns that a row by itself moves from where the sound circuit has them."""
        least = share * np.minimum(self.noise, self.noise[0])
        figures: Flags = np.abs(self.mean - self.mean[0]) > least
        seen: Flags = np.abs(self.chances - self.chances[0]) > SEEN_MOVES * share / MOVES
        return np.concatenate([figures, seen], axis=1)

    def search(self) -> Pairs:
        """The pairs worth solving."""
        H = len(self.hypotheses)
        whole = float(np.logaddexp.reduce(self.single))
        classes = self._classes()
        chosen = self._firsts(classes, whole)
        weight = np.exp(self.prior - self.hypotheses.prior[0]) / CALLED
        still = np.asarray(~self.moved.any(axis=1))
        idle = float(weight[self.partners[still[self.partners]]].sum())
        beside = np.full(H, idle)
        beside[still] = idle / 2
        pictures = self._pictures()
        whole_weight = float(weight[self.partners].sum())
        found: list[tuple[Rows, Rows, Real]] = []
        left = []
        for rows in chosen:
            a = int(rows[0])
            which = self._partners_of(a)
            partners = self.partners[which]
            log, moves = self._given(a, which, pictures)
            idle_here = whole_weight - float(weight[partners[moves]].sum())
            beside[rows] = idle_here / (2 if still[a] else 1)
            lively = np.flatnonzero(moves)
            promise = log[lively] + self.prior[partners[lively]] - self.log_called
            total = promise[None, :] + self.prior[rows][:, None]
            near: Flags = total > whole - WITHIN
            i, j = np.nonzero(near)
            found.append((rows[i], partners[lively[j]], total[i, j]))
            if (~near).any():
                left.append(float(np.logaddexp.reduce(total[~near])))
        beside[self.hypotheses.fault == SOUND] = 0.0
        return self._kept(found, left, np.log1p(beside))

    def _touches(self, scene: int) -> Rows:
        """(B, k) what the partners touch in a scene, -1 where they touch no more."""
        rows = self.bench.encoded(scene)
        touch = rows.batch.touch[self.partners]
        inside = np.arange(touch.shape[1]) < rows.count[self.partners, None]
        return np.where(inside, touch, -1)

    def _partners_of(self, a: int) -> Flags:
        """(B,) that may move something: in the same circuit, in none, or seen by themselves."""
        own = self.hypotheses.faults[self.hypotheses.fault[a]].circuit
        felt = (self.circuit == own) | (self.circuit == "") | self.seen_alone
        return np.asarray((felt if own else True) & ~self._shares(a))

    def _shares(self, a: int) -> Flags:
        """(B,) partners that touch what a row touches: not another fault, or one that is moot."""
        shared = np.asarray(self.hypotheses.fault[self.partners] == self.hypotheses.fault[a])
        for k, touch in enumerate(self.touches):
            rows = self.bench.encoded(k)
            own = rows.batch.touch[a, : rows.count[a]]
            shared = shared | np.isin(touch, own).any(axis=1)
        return shared

    def _kept(self, found: list[tuple[Rows, Rows, Real]], left: list[float], beside: Real) -> Pairs:
        """The most promising, each pair once; the others' promise is what is left out."""
        first = np.concatenate([f for f, _, _ in found]) if found else np.zeros(0, dtype=np.intp)
        second = np.concatenate([s for _, s, _ in found]) if found else first
        promise = np.concatenate([p for _, _, p in found]) if found else np.zeros(0)
        low, high = np.minimum(first, second), np.maximum(first, second)
        each = low * len(self.hypotheses) + high
        order = np.lexsort((each, -np.round(promise, 9)))
        _, once = np.unique(each[order], return_index=True)
        keep = np.sort(once)
        order = order[keep]
        order = order[np.argsort(-promise[order], kind="stable")]
        kept, rest = order[:MOST_PAIRS], order[MOST_PAIRS:]
        if rest.size:
            left = [*left, float(np.logaddexp.reduce(promise[rest]))]
        whole = float(np.logaddexp.reduce(left)) if left else -math.inf
        still = np.asarray(~self._moved(STILL).any(axis=1))
        promised = float(np.logaddexp.reduce(promise[kept], initial=-math.inf))
        return Pairs(first[kept], second[kept], beside, promised, whole, still)

    def _classes(self) -> list[Rows]:
        """Rows that show the same, together; what a partner does to one it does to all."""
        figures = np.clip(np.round((self.mean - self.mean[0]) / self.noise[0] * 2), -1e6, 1e6)
        seen = np.round(self.chances * 20)
        key = np.concatenate([figures, seen], axis=1).astype(np.int64)
        key = np.concatenate([key, self.moved], axis=1)
        if not key.shape[1]:
            return []
        # Sorting whole rows is slow: each is told by one number, in arithmetic modulo 2^64.
        odd = np.random.default_rng(0).integers(2**62, size=key.shape[1]) * 2 + 1
        _, inverse = np.unique(key @ odd, return_inverse=True)
        order = np.argsort(inverse, kind="stable")
        cuts = np.flatnonzero(np.diff(inverse[order])) + 1
        return [np.asarray(part, dtype=np.intp) for part in np.split(order, cuts)]

    def _firsts(self, classes: list[Rows], whole: float) -> list[Rows]:
        """The classes that explain most, and those that might if a partner explains the rest.

        Left out is what nothing can bring within reach of ``whole``.
        """
        sound = self.hypotheses.fault == SOUND
        best, beside = self.each.max(axis=0), float(self.prior[self.partners].max())
        alone = np.where(sound, -np.inf, self.single)
        hopeful = self.prior + np.where(self.moved, best, self.each).sum(axis=1)
        hopeful = np.where(sound, -np.inf, hopeful + beside - self.log_called)
        taken: dict[int, None] = {}
        for name, least, most in ((alone, ALONE, FIRSTS[0]), (hopeful, WITHIN, FIRSTS[1])):
            score = np.array([float(np.logaddexp.reduce(name[rows])) for rows in classes])
            order = np.argsort(-score, kind="stable")[:most]
            taken |= dict.fromkeys(int(k) for k in order if score[k] > whole - least)
        found = [rows[~sound[rows]] for rows in (classes[k] for k in taken)]
        return [rows[np.argsort(-self.prior[rows], kind="stable")] for rows in found]

    def _pictures(self) -> list[tuple[Picture, tuple[int, ...], list[list[int]]]]:
        """For each scene its picture, its questions, and where each one's ports stand in it."""
        bench = self.bench
        found = []
        for k, scene in enumerate(bench.scenes):
            mine = tuple(i for i, q in enumerate(bench.questions) if q.scene == k)
            order: dict[Functional, int] = {}
            where = []
            for i in mine:
                ports = [p for p in _looked_at(bench.questions[i], scene) if p in scene.index]
                where.append([order.setdefault(p, len(order)) for p in ports])
            encoded = bench.encoded(k)
            found.append((Picture(scene, encoded, tuple(order), self.partners), mine, where))
        return found

    def _given(
        self,
        a: int,
        which: Flags,
        pictures: list[tuple[Picture, tuple[int, ...], list[list[int]]]],
    ) -> tuple[Real, Flags]:
        """(log likelihood of a with each partner (b,), whether that moves a reading (b,))."""
        partners = self.partners[which]
        log = np.zeros(partners.size)
        moves = np.zeros(partners.size, dtype=np.bool_)
        column = {k: c for c, k in enumerate((*self.predictor.figures, *self.sights.columns))}
        for picture, questions, where in pictures:
            alone, both = picture.given(a, which)
            for k, ports in zip(questions, where, strict=True):
                c = column[k]
                if k in self.predictor.figures:
                    said, moved = self._figure(k, c, a, ports, alone, both)
                else:
                    said, moved = self._sight(k, c, a, partners, ports, alone, both)
                log += said
                moves |= moved
        return log, moves

    def _figure(
        self, k: int, c: int, a: int, ports: list[int], alone: Ports, both: Ports
    ) -> tuple[Real, Flags]:
        q = self.bench.questions[k]
        count = both.f.shape[0]
        if not ports:
            return np.full(count, self.each[a, c]), np.zeros(count, dtype=np.bool_)
        omega = self.bench.scenes[q.scene].lowered.omega
        before = _shown(q, omega, alone.f[ports], alone.z[ports])
        after = _shown(q, omega, both.f[:, ports], both.z[:, ports])
        if q.reading.kind in LOG_SCALE:
            delta = np.log(np.maximum(after, 1.0)) - math.log(max(float(before), 1.0))
        else:
            delta = np.minimum(after, 1e9) - min(float(before), 1e9)
        delta = np.nan_to_num(delta)
        mean = self.mean[a, c] + delta
        wide = np.hypot(self.wide[a, c], LOOSE * np.abs(delta))
        z = np.clip((self.predictor.measured[c] - mean) / wide, -40, 40)
        narrow = wide
        if q.reading.kind not in LOG_SCALE:
            narrow = np.hypot(self.noise[a, c], SURELY * np.abs(mean))
            narrow = np.hypot(narrow, LOOSE * np.abs(delta))
        said = np.logaddexp(-0.5 * z**2 - np.log(narrow) - 0.919, self.predictor.far_off[c])
        moved: Flags = np.abs(delta) > MOVES * self.noise[a, c]
        return np.where(moved, said, self.each[a, c]), moved

    def _sight(
        self,
        k: int,
        c: int,
        a: int,
        partners: Rows,
        ports: list[int],
        alone: Ports,
        both: Ports,
    ) -> tuple[Real, Flags]:
        """What a partner may change is taken as the better of the two, or as free."""
        reading = self.bench.questions[k].reading
        own = np.maximum(self.each[partners, c], self.each[a, c])
        if reading.kind == "sense":
            return own, self.moved[partners, c]
        if not ports:
            return np.full(partners.size, self.each[a, c]), np.zeros(partners.size, dtype=np.bool_)
        step = np.abs(both.f[:, ports] - alone.f[ports])
        amps = reading.kind in ("trips", "ramp")
        limit = AMPS_MOVE if amps else SEEN_MOVES * self.bench.plan.volts
        moved = np.asarray((np.nan_to_num(step, nan=np.inf) > limit).any(axis=1))
        return np.where(moved, self.each[:, c].max(), self.each[a, c]), moved


def _looked_at(question: Question, scene: Scene) -> tuple[Functional, ...]:
    """What an observation depends on: its ports, or the poles of the device it is about."""
    if question.ports or question.reading.kind not in ("trips", "ramp"):
        return question.ports
    ways = [w for w in scene.ways if w.name == question.reading.of] or list(scene.ways)
    return tuple(I(p) for way in ways for p in (*way.poles, *way.senses))


def _shown(
    question: Question, omega: float, f: NDArray[np.complex128], z: NDArray[np.complex128]
) -> Real:
    """What an instrument shows of ports (..., p), loads drawing as they rest."""
    instrument = question.candidates[0][0]
    kind = question.reading.kind
    if kind == "volts":
        y = show.admittance(instrument, omega)
        return np.asarray(np.abs(f[..., 0]) / np.abs(1 + z[..., 0] * y))
    if kind == "amps":
        return np.asarray(np.abs(f @ np.array(signs_of(question.reading)[: f.shape[-1]])))
    if kind in ("ohms", "megohms"):
        return np.asarray(np.abs(z[..., 0].real))
    return np.asarray(np.abs(z[..., 0]))
