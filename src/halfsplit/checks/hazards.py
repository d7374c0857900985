"""What a check itself makes live, solved under every cause still believed.

The instrument hangs on its port, and everything that people reach is looked at again: no check
may put more than the planned let-go current through somebody who touches metalwork meanwhile.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from weakref import WeakKeyDictionary

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
from halfsplit.network import Functional, V
from halfsplit.tables import shock
from halfsplit.wiring.conditions import AS_DESCRIBED, Conditions

Real = NDArray[np.float64]
LAMP_SIEMENS = 25.0 / 230.0**2  # a filament test lamp, hot
SLIGHT_AMPS = 1e-4  # through an instrument: it adds no more to anybody, and a tenth of 5 mA is more
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
    """The worst a live check does to metalwork; None where it connects nothing to a circuit."""
    if "live" not in KINDS[check.kind].needs or check.kind == "clamp":
        return None
    before, during = trial.solved(AS_DESCRIBED)[1], trial.solved(check.conditions)[1]
    both = tuple(p for p in trial.reach if p in before.at and p in during.at)
    if not both:
        return None
    hung = _hung(trial, check, during)
    slight = hung is None or abs(hung[1]) * trial.plan.volts < SLIGHT_AMPS
    if slight and check.conditions.key() == AS_DESCRIBED.key():
        return None  # what passes through the instrument is all that it can add
    was = _touched(trial, AS_DESCRIBED, both)
    if slight:
        now = _touched(trial, check.conditions, both) + SLIGHT_AMPS
    else:
        now = _reached(during, both, hung)
    bites = (now >= shock.LET_GO_PLANNED.value) & (now > MORE * was)
    worst = np.where(bites, now - was, -np.inf) if bites.any() else now - was
    k, r = np.unravel_index(int(np.argmax(worst)), was.shape)
    where = both[int(r)]
    name = where.a if isinstance(where, V) else ""
    return Livened(name, float(was[k, r]), float(now[k, r]), int(k))


_TOUCHED: WeakKeyDictionary[Trial, dict[object, Real]] = WeakKeyDictionary()


def _touched(trial: Trial, conditions: Conditions, reach: tuple[Functional, ...]) -> Real:
    """(K, reach) amperes through a person in some conditions, no instrument on: worked out once."""
    known = _TOUCHED.setdefault(trial, {})
    key = (conditions.key(), reach)
    if key not in known:
        known[key] = _reached(trial.solved(conditions)[1], reach)
    return known[key]


def _hung(trial: Trial, check: Check, answers: Answers) -> tuple[Functional, complex] | None:
    """The port an instrument hangs on and its admittance there."""
    reading = check.reading
    if reading is None or not check.instrument:
        return None
    port = next(iter(ports_of(reading, trial.plan)[0]), None)
    if port is None or port not in answers.at:
        return None
    y = siemens(check.instrument, trial)
    # A plug tester's lamps: one straight to earth, and two in series by way of the neutral.
    return port, 1.5 * y if reading.kind == "lamps" else y


def _reached(
    answers: Answers, reach: Sequence[Functional], hung: tuple[Functional, complex] | None = None
) -> Real:
    """(K, reach) amperes through a person, with an instrument on a port if given."""
    at = [answers.at[p] for p in reach]
    v, z = answers.f[:, at], answers.T[:, at, at]
    if hung is not None:
        p, y = answers.at[hung[0]], hung[1]
        bend = y / (1 + answers.T[:, p, p] * y)
        v = v - answers.T[:, at, p] * (bend * answers.f[:, p])[:, None]
        z = z - answers.T[:, at, p] * answers.T[:, p, at] * bend[:, None]
    return through_person(np.abs(v), z)


def siemens(id: str, trial: Trial) -> complex:
    """What an instrument hangs on its port; a lamp at its hot resistance."""
    who = instrument(id)
    if who.law:
        return complex(LAMP_SIEMENS * (230.0 / trial.plan.volts) ** 2)
    return show.admittance(who, 2 * np.pi * trial.plan.hertz)
