"""A job's readings on the bench: each in its scene, ready to be asked of every hypothesis."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from copy import copy

import numpy as np
from numpy.typing import NDArray

from halfsplit.diagnosis.encoded import Encoded
from halfsplit.diagnosis.nuisance import Pulls
from halfsplit.diagnosis.predict import Question, ports_of
from halfsplit.diagnosis.prepared import COARSE_VOLTS, Base, Prepared
from halfsplit.diagnosis.scene import Scene, seen_through
from halfsplit.diagnosis.senses import in_use
from halfsplit.diagnosis.solve import Answers, answer, solve_rows
from halfsplit.instruments.instrument import Instrument
from halfsplit.instruments.reading import Reading
from halfsplit.instruments.unknown import candidates
from halfsplit.network import TOLERATED_VOLTS, Functional

Real = NDArray[np.float64]
MOST_CANDIDATES = 3


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
            hides, conditions = reading.showing is False, in_use(reading)
            key = (conditions.key(), hides)
            if key not in keys:
                keys[key] = len(self.bases)
                self.bases.append(prepared.base(conditions))
                self.hiding.append(hides)
            ports, load = ports_of(reading, self.plan)
            self.questions.append(
                Question(reading, keys[key], ports, load, self._candidates(reading))
            )
        self.scenes: list[Scene] = [
            seen_through(base.scene, self.ports(k)) for k, base in enumerate(self.bases)
        ]
        self.false = prepared.false
        self.stuck = prepared.stuck
        self._encoded = [
            base.hidden if hides else base.encoded
            for base, hides in zip(self.bases, self.hiding, strict=True)
        ]

    def with_pairs(self, first: NDArray[np.intp], second: NDArray[np.intp]) -> Bench:
        """The same bench with pairs of its rows, ``first`` and ``second`` (N,), as further rows."""
        found = copy(self)
        found.hypotheses = self.hypotheses.with_pairs(first, second)
        found._encoded = [rows.and_pairs(first, second) for rows in self._encoded]
        H, at = len(self.hypotheses), np.arange(first.size)
        found.stuck = {
            way: np.append(rows, H + at[np.isin(first, rows) | np.isin(second, rows)])
            for way, rows in self.stuck.items()
        }
        more = [
            (H + int(n), change)
            for h, change in self.false
            for n in at[(first == h) | (second == h)]
        ]
        found.false = (*self.false, *more)
        return found

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

    def ports(self, scene: int, asked: Collection[int] | None = None) -> list[Functional]:
        """The functionals read in a scene, by all questions or those ``asked``."""
        return [
            p
            for k, q in enumerate(self.questions)
            if q.scene == scene and (asked is None or k in asked)
            for p in q.ports
        ]

    def pulls(self, scene: int, circuits: frozenset[str] | None = None) -> Pulls:
        """What the nuisances of some circuits, or of all, act on in a scene."""
        return self.bases[scene].pulls(circuits)

    def look(self, scene: int, rows: NDArray[np.intp], ports: Sequence[Functional]) -> Answers:
        """Some hypotheses at their own severity, to the millivolt: for looking them all over."""
        standing = self.bases[scene].standing(self.hiding[scene]).part(rows)
        return answer(self.scenes[scene], standing, ports, (), COARSE_VOLTS)

    def solve(
        self,
        scene: int,
        rows: NDArray[np.intp],
        size: Real | None = None,
        tolerated: float = TOLERATED_VOLTS,
        asked: Collection[int] | None = None,
        pulls: Pulls | None = None,
    ) -> Answers:
        """Some hypotheses solved in a scene, each with its severities multiplied by ``size``.

        ``tolerated`` volts may be lost to rounding. With ``asked`` only those questions are, and
        with ``pulls`` what the nuisances act on is solved too.
        """
        encoded = self.encoded(scene).part(rows, size)
        stuck = frozenset(
            (int(i), device)
            for device, which in self.stuck.items()
            for i in np.flatnonzero(np.isin(rows, which))
        )
        ports = self.ports(scene, asked)
        if pulls is not None:
            ports += (draw for draw, _ in pulls.draws)
        also = pulls.functionals if pulls is not None else ()
        return solve_rows(self.scenes[scene], encoded, ports, also, stuck, tolerated)

    def encoded(self, scene: int) -> Encoded:
        """Every hypothesis as it is felt in a scene."""
        return self._encoded[scene]
