"""What a check itself makes live, solved under every cause still believed.

The instrument hangs on its port, and everything that people reach is looked at again: no check
may put more than the planned let-go current through somebody who touches metalwork meanwhile.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfsplit.behaviour.body import worst_touch
from halfsplit.checks.check import Check
from halfsplit.checks.costs import KINDS
from halfsplit.checks.trial import MOST_PORTS, Stood, Trial, reachable
from halfsplit.diagnosis.predict import ports_of
from halfsplit.instruments import show
from halfsplit.instruments.catalogue import instrument
from halfsplit.network import Functional, V
from halfsplit.tables import shock
from halfsplit.wiring.conditions import AS_DESCRIBED
from halfsplit.wiring.plan import Plan

Real = NDArray[np.float64]
Array = NDArray[np.complex128]
LAMP_SIEMENS = 25.0 / 230.0**2  # a filament test lamp, hot
SLIGHT_AMPS = 1e-4  # through an instrument: it adds no more to anybody, and a tenth of 5 mA is more
LET_GO: float = shock.LET_GO_PLANNED.value
MORE = 1.1  # what stood there before may stand there during the check, within a tenth


@dataclass(frozen=True, slots=True)
class Livened:
    """What a check would do at the worst place: amperes through a person ``before`` and ``during``,
    the place's number among those reached, and the row of belief under which it happens."""

    place: int
    before: float
    during: float
    row: int

    @property
    def dangerous(self) -> bool:
        """Whether it passes the current from which a hand may not let go, and the check did it."""
        return bool(_bites(np.array(self.during), np.array(self.before)))

    @classmethod
    def of(cls, worst: Real) -> Livened:
        """The worst row of ``worst`` (K, 3)."""
        k = int(np.argmax(_rank(worst[:, 0], worst[:, 1])))
        during, before, place = worst[k].tolist()
        return cls(int(place), before, during, k)


def _bites(during: Real, before: Real) -> NDArray[np.bool_]:
    return (during >= LET_GO) & (during > MORE * before)


def _rank(during: Real, before: Real) -> Real:
    """What bites before what does not, then by what the check adds, to a tenth of a milliampere."""
    return np.where(_bites(during, before), 1e3, 0.0) + np.round(during - before, 4)


def _touched(v: Array, z: Array) -> Real:
    """Amperes through the person safety is judged by, at open-circuit ``v`` volts behind ``z``."""
    person, size = worst_touch(), np.abs(v)
    for _ in range(3):
        y = np.real(person.admittance(size.ravel())[0]).reshape(size.shape)
        size = np.abs(v) / np.abs(1 + z * y)
    y = np.real(person.admittance(size.ravel())[0]).reshape(size.shape)
    return np.asarray(size * y, dtype=np.float64)


def harmless(v: Real) -> bool:
    """Whether no such voltage passes the current from which a hand may not let go, even if
    nothing but the person were in its way."""
    most = np.nanmax(v, initial=0.0, keepdims=True).ravel()
    return bool((most * np.real(worst_touch().admittance(most)[0]) < LET_GO).all())


def hung(check: Check, plan: Plan) -> tuple[Functional, complex] | None:
    """The port an instrument hangs on and its admittance there; None where it adds nothing."""
    reading = check.reading
    if reading is None or not check.instrument:
        return None
    port = next(iter(ports_of(reading, plan)[0]), None)
    y = siemens(check.instrument, plan)
    if port is None or abs(y) * plan.volts < SLIGHT_AMPS:
        return None
    # A plug tester's lamps: one straight to earth, and two in series by way of the neutral.
    return port, 1.5 * y if reading.kind == "lamps" else y


def hurts(check: Check, plan: Plan, energises: bool) -> bool:
    """Whether it could do anything to metalwork: by its load, by what is plugged in or out, or, if
    that is asked about, by energising."""
    if "live" not in KINDS[check.kind].needs:
        return False
    if energises or check.conditions.key() != AS_DESCRIBED.key():
        return True
    return hung(check, plan) is not None


Worst = Iterator[tuple[Check, Real | None]]


def livened(trial: Trial, checks: Sequence[Check]) -> Worst:
    """What each check in the same conditions does under each row at its worst place: (K, 3)
    amperes through a person during it and before, and the number of the place; None for a check
    whose terminals do not exist there."""
    reach = reachable(trial.plan)
    before = _touched(*_sees(trial.stood(AS_DESCRIBED, reach), reach))
    return _during(trial, checks, before)


def energised(trial: Trial, checks: Sequence[Check]) -> Worst:
    """The same where everything is off before."""
    return _during(trial, checks, np.zeros((len(trial.rows.weight), 1)))


def _during(trial: Trial, checks: Sequence[Check], before: Real) -> Worst:
    reach = reachable(trial.plan)
    loads = {check.id: hung(check, trial.plan) for check in checks}
    ports = dict.fromkeys(load[0] for load in loads.values() if load)
    stood = trial.stood(checks[0].conditions, (*reach, *ports))
    v, z = _sees(stood, reach)
    found: dict[object, Real] = {}
    if None in loads.values():
        found[None] = _worst(v, z, before, SLIGHT_AMPS)
    for few in _few(tuple(ports)):
        answers = stood.ask(few, reach)
        there = [n for n, place in enumerate(reach) if place in answers.at]
        at = [answers.at[reach[n]] for n in there]
        for load in {load for load in loads.values() if load and load[0] in answers.at}:
            p, y = answers.at[load[0]], load[1]
            bend = y / (1 + answers.T[:, p, p] * y)
            to = np.full(v.shape, np.nan, dtype=np.complex128)
            to[:, there] = answers.T[:, at, p]
            during = v - to * (bend * answers.f[:, p])[:, None]
            found[load] = _worst(during, z - to**2 * bend[:, None], before, 0.0)
    for check in checks:
        yield check, found.get(loads[check.id])


def _sees(stood: Stood, reach: Sequence[V]) -> tuple[Array, Array]:
    """(volts to earth, ohms there) (K, r) at the places reached; NaN where one is not there."""
    shape = len(stood.rows.volts), len(reach)
    volts, ohms = (np.full(shape, np.nan, dtype=np.complex128) for _ in range(2))
    number: dict[Functional, int] = {place: n for n, place in enumerate(reach)}
    for few in _few(reach):
        answers = stood.ask(few)
        there = [number[place] for place in few if place in answers.at]
        at = [answers.at[reach[n]] for n in there]
        volts[:, there], ohms[:, there] = answers.f[:, at], answers.T[:, at, at]
    return volts, ohms


def _few(ports: Sequence[Functional]) -> Iterator[Sequence[Functional]]:
    return (ports[k : k + MOST_PORTS] for k in range(0, len(ports), MOST_PORTS))


def _worst(v: Array, z: Array, before: Real, more: float) -> Real:
    """(K, 3) of volts and ohms (K, r) at the places reached, ``more`` amperes added."""
    if harmless(np.abs(v)):
        return np.zeros((len(v), 3))
    during = _touched(v, z) + more
    before = np.broadcast_to(before, during.shape)
    at = np.argmax(np.where(np.isnan(before + during), -1.0, _rank(during, before)), axis=1)
    rows = np.arange(len(at))
    return np.stack([during[rows, at], before[rows, at], at], axis=1)


def siemens(id: str, plan: Plan) -> complex:
    """What an instrument hangs on its port; a lamp at its hot resistance."""
    who = instrument(id)
    if who.law:
        return complex(LAMP_SIEMENS * (230.0 / plan.volts) ** 2)
    return show.admittance(who, 2 * np.pi * plan.hertz)
