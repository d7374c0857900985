"""A job's readings on the bench: each in its scene, ready to be asked of every hypothesis."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from halfsplit.diagnosis.encoded import Encoded
from halfsplit.diagnosis.nuisance import Pulls
from halfsplit.diagnosis.predict import Question, ports_of
from halfsplit.diagnosis.prepared import COARSE_VOLTS, Base, Prepared
from halfsplit.diagnosis.scene import Scene, seen_through
from halfsplit.diagnosis.solve import Answers, answer, solve_rows
from halfsplit.instruments.instrument import Instrument
from halfsplit.instruments.reading import Reading
from halfsplit.instruments.unknown import candidates
from halfsplit.network import Functional
from halfsplit.wiring.effects import Added, Bridged, Effect

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

    def look(self, scene: int, rows: NDArray[np.intp], ports: Sequence[Functional]) -> Answers:
        """Some hypotheses at their own severity, to the millivolt: for looking them all over."""
        standing = self.bases[scene].standing(self.hiding[scene]).part(rows)
        return answer(self.scenes[scene], standing, ports, (), COARSE_VOLTS)

    def solve(
        self,
        scene: int,
        rows: NDArray[np.intp],
        size: Real | None = None,
        also: Sequence[Functional] = (),
    ) -> Answers:
        """Some hypotheses solved in a scene, each with its severity multiplied by ``size``."""
        encoded = self._encoded(scene).part(rows, size)
        stuck = frozenset(
            (int(i), device)
            for device, which in self.prepared.stuck.items()
            for i in np.flatnonzero(np.isin(rows, which))
        )
        ports = self.ports(scene)
        if also:
            ports = [*ports, *(draw for draw, _ in self.pulls[scene].draws)]
        return solve_rows(self.scenes[scene], encoded, ports, also, stuck)

    def _encoded(self, scene: int) -> Encoded:
        base = self.bases[scene]
        return base.hidden if self.hiding[scene] else base.encoded


def scaled(effect: Effect, size: float) -> Effect:
    """An effect with its finite resistance or admittance multiplied by ``size`` in ohms."""
    if isinstance(effect, Added) and math.isfinite(effect.ohms):
        return replace(effect, ohms=effect.ohms * size)
    if isinstance(effect, Bridged) and math.isfinite(effect.siemens):
        return replace(effect, siemens=effect.siemens / size, farads=effect.farads / size)
    return effect
