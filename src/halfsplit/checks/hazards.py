"""What a check itself makes live, solved under every cause still believed.

The instrument hangs on its port, and everything that people reach is looked at again: no check
may put more than the planned let-go current through somebody who touches metalwork meanwhile.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfsplit.behaviour.body import worst_touch
from halfsplit.checks.check import Check
from halfsplit.checks.costs import KINDS
from halfsplit.checks.trial import Trial
from halfsplit.diagnosis.predict import ports_of
from halfsplit.diagnosis.solve import Answers
from halfsplit.instruments import show
from halfsplit.instruments.catalogue import instrument
from halfsplit.network import V
from halfsplit.tables import shock
from halfsplit.wiring.conditions import AS_DESCRIBED

Real = NDArray[np.float64]
LAMP_SIEMENS = 25.0 / 230.0**2  # a filament test lamp, hot
MORE = 1.1  # what stood there before may stand there during the check, within a tenth


@dataclass(frozen=True, slots=True)
class Livened:
    """What a check would do at the worst place: amperes through a person ``before`` and ``during``,
    the node reached and the row of belief under which it happens."""

    node: str
    before: float
    during: float
    row: int

    @property
    def dangerous(self) -> bool:
        """Whether it passes the current from which a hand may not let go, and the check did it."""
        limit: float = shock.LET_GO_PLANNED.value
        return self.during >= limit and self.during > MORE * self.before


def through_person(v: Real, z: NDArray[np.complex128]) -> Real:
    """Amperes through the person safety is judged by, at open-circuit ``v`` volts behind ``z``."""
    person, size = worst_touch(), v.copy()
    for _ in range(3):
        y = np.real(person.admittance(size.ravel())[0]).reshape(size.shape)
        size = v / np.abs(1 + z * y)
    y = np.real(person.admittance(size.ravel())[0]).reshape(size.shape)
    return np.asarray(size * y, dtype=np.float64)


def livened(trial: Trial, check: Check) -> Livened | None:
    """The worst that a live check does to metalwork; None where it connects nothing to a circuit."""
    if "live" not in KINDS[check.kind].needs or check.kind == "clamp":
        return None
    before = _reached(trial, trial.solved(AS_DESCRIBED)[1])
    _, answers = trial.solved(check.conditions)
    during = _reached(trial, answers, check)
    count = min(before.shape[1], during.shape[1])
    if count == 0:
        return None
    worse = during[:, :count] - before[:, :count]
    k, r = np.unravel_index(int(np.argmax(worse)), worse.shape)
    where = [p for p in trial.reach if p in answers.at][int(r)]
    name = where.a if isinstance(where, V) else ""
    return Livened(name, float(before[k, r]), float(during[k, r]), int(k))


def _reached(trial: Trial, answers: Answers, check: Check | None = None) -> Real:
    """(K, reach) amperes through a person, with the check's instrument on its port if given."""
    at = [answers.at[p] for p in trial.reach if p in answers.at]
    v, z = answers.f[:, at], answers.T[:, at, at]
    port = None
    if check is not None and check.reading is not None and check.reading.a:
        port = next(iter(ports_of(check.reading, trial.plan)[0]), None)
    if port is not None and port in answers.at and check is not None:
        p = answers.at[port]
        y = siemens(check.instrument, trial)
        bend = y / (1 + answers.T[:, p, p] * y)
        v = v - answers.T[:, at, p] * (bend * answers.f[:, p])[:, None]
        z = z - answers.T[:, at, p] * answers.T[:, p, at] * bend[:, None]
    return through_person(np.abs(v), z)


def siemens(id: str, trial: Trial) -> complex:
    """What an instrument hangs on its port; a lamp at its hot resistance."""
    who = instrument(id)
    if who.law:
        return complex(LAMP_SIEMENS * (230.0 / trial.plan.volts) ** 2 / 1.0)
    return show.admittance(who, 2 * np.pi * trial.plan.hertz)
