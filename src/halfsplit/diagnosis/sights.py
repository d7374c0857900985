"""The chance of every observation under many hypotheses; a bound on a figure is one too."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from halfsplit.behaviour.soft import LEANS, reached
from halfsplit.diagnosis.bench import Bench
from halfsplit.diagnosis.boxes import Box
from halfsplit.diagnosis.figures import Still
from halfsplit.diagnosis.heat import Uses, everyday, lost
from halfsplit.diagnosis.hypotheses import SOUND
from halfsplit.diagnosis.predict import (
    DESTROYED_FROM,
    DESTROYED_SPREAD,
    LOG_SCALE,
    NUMERIC,
    Question,
    chance_seen,
    chances_seen,
    figure,
    whose,
)
from halfsplit.diagnosis.said import FELT_AS, FOUND_ON, stands_open
from halfsplit.diagnosis.scene import Scene
from halfsplit.diagnosis.senses import BURNS, BURNT, chance_felt
from halfsplit.diagnosis.solve import Answers
from halfsplit.diagnosis.touches import OPEN_STATES
from halfsplit.instruments import show
from halfsplit.wiring.effects import Effect

Real = NDArray[np.float64]
FLICKERS = 0.6  # how often a bad contact is seen to flicker beyond it: judgement
FLICKER_SWING = 0.03  # of the supply: a change of light that people see (common practice)


class Sights:
    """The observations of a bench, ``columns`` being their places among its questions."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.columns = tuple(k for k, q in enumerate(bench.questions) if not q.numeric)
        self.volts = bench.plan.volts
        runs = [run for circuit in bench.installation.circuits for run in circuit.runs]
        self.ends = {run.name: (run.start, run.end) for run in runs}
        self._uses: dict[int, Uses] = {}

    def chances(
        self, rows: NDArray[np.intp], answers: Sequence[Answers], still: Still | None = None
    ) -> Real:
        """(K, m, L) chance of each observation (bounds on figures count as observations).

        The first of L is by anybody's threshold, the rest by each of a few that stand for all.
        """
        found = np.ones((len(rows), len(self.columns), LEANS))
        if still:
            found[:] = still.seen
        for c, k in enumerate(self.columns):
            if not still or k in still.asked:
                found[:, c] = self.one(k, rows, answers[self.bench.questions[k].scene])
        return found

    def one(self, k: int, rows: NDArray[np.intp], answer: Answers) -> Real:
        """(K, L) chance of the observation that is question ``k``."""
        q = self.bench.questions[k]
        scene = self.bench.scenes[q.scene]
        if q.reading.kind == "touch":
            return self._touched(q, scene, answer)
        if q.reading.kind == "sense":
            chance = self._sense(q, answer, rows)
        elif q.reading.kind == "count":
            chance = self._counted(q, rows)
        elif q.reading.bound in ("<", ">") and q.reading.kind in NUMERIC:
            chance = self._bound(q, scene, answer)
        elif q.reading.kind == "trips":
            chance = self._tripped(q, scene, answer, rows)
        else:
            return self._falsified(q, self._seen(q, scene, answer, rows), rows)
        return np.repeat(chance[:, None], LEANS, axis=1)

    def _counted(self, q: Question, rows: NDArray[np.intp]) -> Real:
        """Chance of what was counted in a box."""
        box = Box(self.bench.plan, q.reading.of)
        return np.array([box.chance(q.reading, self.bench.hypotheses.own(int(h))) for h in rows])

    def _touched(self, q: Question, scene: Scene, answer: Answers) -> Real:
        """Chance of what is said to have been felt, by the chances of what would be felt."""
        total = np.zeros((answer.f.shape[0], LEANS))
        for felt, share in FELT_AS[q.reading.seen].items():
            asked = replace(q, reading=replace(q.reading, seen=felt))
            total += share * chances_seen(asked, scene, answer, whose(q.reading))
        return total

    def _tripped(self, q: Question, scene: Scene, answer: Answers, rows: NDArray[np.intp]) -> Real:
        """Chance of what is said of a device; one that stands open is seldom taken for closed."""
        chance, effects = chance_seen(q, scene, answer), self.bench.hypotheses.effects
        if q.reading.seen == "holds":
            off = np.array([stands_open(q.reading, effects[int(h)], OPEN_STATES) for h in rows])
            chance = np.where(off, FOUND_ON, chance)
        return np.asarray(chance)

    def _seen(self, q: Question, scene: Scene, answer: Answers, rows: NDArray[np.intp]) -> Real:
        """Chance of an observation; a contact that comes and goes makes what is beyond it flicker.

        How much it can is the change of voltage from the sound circuit (row 0) to the fault.
        """
        chance = chances_seen(q, scene, answer, whose(q.reading))
        if q.reading.seen != "flicker" or not q.ports or q.ports[0] not in answer.at:
            return chance
        volts = np.abs(answer.f[:, answer.at[q.ports[0]]])
        swing = np.abs(volts - volts[0]) / max(scene.plan.volts, 1.0)
        loose = self.bench.hypotheses.contact[rows]
        flickers = FLICKERS * loose * reached(swing, FLICKER_SWING, 0.4)
        return np.maximum(chance, flickers[:, None])

    def _bound(self, q: Question, scene: Scene, answer: Answers) -> Real:
        instrument = q.candidates[0][0]
        if q.ports and any(p not in answer.at for p in q.ports):
            return np.full(answer.f.shape[0], 0.5)
        mean, sure = figure(q, scene, answer, instrument)
        value = math.inf if q.reading.value is None else float(q.reading.value)
        if math.isinf(value):
            return 1 - sure if q.reading.bound == ">" else sure
        ratio = np.log(np.maximum(mean, 1e-9) / max(value, 1e-9))
        wide = 1.0 if q.reading.kind in LOG_SCALE else 0.15
        above = show.chance_below(ratio / wide)
        above = 1 - sure * (1 - above)
        return above if q.reading.bound == ">" else 1 - above

    def _sense(self, q: Question, answer: Answers, rows: NDArray[np.intp]) -> Real:
        """Chance of a sense: by what the fault does there, or by too much voltage at the place."""
        hyp = self.bench.hypotheses
        own = [hyp.own(int(h)) for h in rows]
        places = [self._fault_places(int(h)) for h in rows]
        felt: Real = np.array(
            [
                chance_felt(q.reading, there, effects, watts, self.ends)
                for there, effects, watts in zip(
                    places, own, self._watts(q.scene, rows, own, places, answer), strict=True
                )
            ]
        )
        if not q.ports or q.ports[0] not in answer.at or q.reading.seen not in BURNT:
            return felt
        high = np.abs(answer.f[:, answer.at[q.ports[0]]]) / self.volts
        burns: Real = BURNS * reached(high, DESTROYED_FROM, DESTROYED_SPREAD)
        return np.maximum(felt, burns)

    def _watts(
        self,
        scene: int,
        rows: NDArray[np.intp],
        own: Sequence[tuple[Effect, ...]],
        places: Sequence[tuple[str, ...]],
        answer: Answers,
    ) -> list[float]:
        """Watts that each row's fault turns to heat, with what is in use now and then."""
        if scene not in self._uses:
            self._uses[scene] = everyday(self.bench.scenes[scene])
        touched = self.bench.encoded(scene).part(rows)
        found: list[float] = lost(self._uses[scene], touched, own, places, answer.parted).tolist()
        return found

    def _fault_places(self, h: int) -> tuple[str, ...]:
        index = int(self.bench.hypotheses.fault[h])
        return () if index == SOUND else self.bench.hypotheses.faults[index].places

    def _falsified(self, q: Question, found: Real, rows: NDArray[np.intp]) -> Real:
        """What is seen with a test lamp that is blown."""
        if q.reading.kind == "glow" and q.reading.instrument:
            for h, change in self.bench.false:
                if change.how == "lamp blown":
                    found[rows == h] = 1.0 if q.reading.seen == "off" else 0.0
        return found
