"""A wired installation whose readings can be asked for: sound, with a fault, or with parts gone."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

from halfsplit.diagnosis.expect import Expected, expect
from halfsplit.faults.catalogue import enumerate_faults
from halfsplit.faults.fault import Fault, Severity
from halfsplit.form import read_job
from halfsplit.instruments.reading import Kind, Reading
from halfsplit.tables import cables
from halfsplit.wiring.cabling import build_of
from halfsplit.wiring.conditions import AS_DESCRIBED, Conditions
from halfsplit.wiring.effects import Added, Bridged, Effect
from halfsplit.wiring.layout import lay_out
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import Coupling, Element, Plan

METER = "multimeter"  # about 10 MΩ with about 100 pF
LOW = "low impedance"  # 3.5 kΩ
TWO_POLE = "two-pole"  # about 200 kΩ
DEAD = Conditions(dead=True)
BARE = Conditions(dead=True, unplugged=("all",))


@dataclass(frozen=True)
class Site:
    """An installation laid out; ``plan`` may have been altered to take a mechanism away."""

    installation: Installation
    plan: Plan

    @cached_property
    def faults(self) -> dict[str, Fault]:
        """Every fault of the catalogue by id."""
        return {fault.id: fault for fault in enumerate_faults(self.installation, self.plan)}

    def fault(self, family: str, *words: str) -> Fault:
        """The one fault of a family whose id holds all the words."""
        found = [
            f
            for f in self.faults.values()
            if f.family == family and all(word in f.id for word in words)
        ]
        if len(found) != 1:
            known = [f.id for f in self.faults.values() if f.family == family]
            raise LookupError(f"{family} {words}: {[f.id for f in found]} among {known}")
        return found[0]

    def expected(
        self, readings: Iterable[Reading], fault: Fault | None = None, step: str = ""
    ) -> tuple[Expected, ...]:
        """What each reading would be, with ``fault`` at the severity called ``step``."""
        if fault is None:
            return expect(self.installation, tuple(readings), None, 0, self.plan)
        names = [s.name for s in fault.severities]
        effects = fault.severities[names.index(step) if step else 0].effects
        plan, left = self._parted(effects)
        return expect(self.installation, tuple(readings), made(*left) if left else None, 0, plan)

    def _parted(self, effects: tuple[Effect, ...]) -> tuple[Plan, tuple[Effect, ...]]:
        """Faults of a neutral that the whole board shares are put into the plan itself.

        As a fault they would be weighed with loads that nobody described; here only what is
        described draws current.
        """
        added = {e.element: e.ohms for e in effects if isinstance(e, Added)}
        added = {k: v for k, v in added.items() if self._shared(self.plan.element(k))}
        if not added:
            return self.plan, effects
        kept = tuple(
            replace(e, ohms=e.ohms + added.get(e.id, 0.0))
            for e in self.plan.elements
            if not math.isinf(added.get(e.id, 0.0))
        )
        left = tuple(e for e in effects if not (isinstance(e, Added) and e.element in added))
        return replace(self.plan, elements=kept), left

    @staticmethod
    def _shared(element: Element) -> bool:
        return element.conductor in ("N", "PEN") and not element.circuit

    def shows(self, *readings: Reading, fault: Fault | None = None, step: str = "") -> list[float]:
        """The figure of each reading, SI; inf over range."""
        found = self.expected(readings, fault, step)
        return [_known(e.reading, e.figure) for e in found]

    def chances(
        self, *readings: Reading, fault: Fault | None = None, step: str = ""
    ) -> list[float]:
        """The chance of each observation."""
        found = self.expected(readings, fault, step)
        return [_known(e.reading, e.chance) for e in found]

    def metered(self, a: str, b: str, ohms: float, fault: Fault | None = None) -> float:
        """Volts between two nodes with exactly these ohms hung across them, by an ideal meter.

        The ohms are part of the circuit here, so that they and the loads are solved together.
        """
        hung = Bridged(a, b, 1.0 / ohms)
        effects = (*fault.severities[0].effects, hung) if fault else (hung,)
        found = self.expected([volts(a, b, METER)], made(*effects))[0].volts
        assert found is not None
        return found

    def banded(self, between: float, to_earth: float) -> Site:
        """The same with its cables' capacitances within their bands: 0 low, 1 high (log scale)."""
        runs = {run.name: build_of(run) for c in self.installation.circuits for run in c.runs}

        def within(c: Coupling) -> Coupling:
            keys = c.id.split()[-2].split("-") if c.kind == "insulation" else ["earth"]
            if "earth" in keys:
                return c
            band, share = (cables.CORE_CORE, between)
            if "E" in keys:
                band, share = (cables.CORE_EARTH, to_earth)
            one = band[runs[c.owner]]
            return replace(c, farads=c.farads / one.value * one.low * (one.high / one.low) ** share)

        return self.couplings(within)

    def without_capacitance(self) -> Site:
        """The same without any capacitance of cables, filters or surroundings."""
        return self.couplings(lambda c: replace(c, farads=0.0))

    def without_filters(self) -> Site:
        """The same with the appliances' filter capacitors taken out."""
        return self.couplings(lambda c: replace(c, farads=0.0) if c.kind == "filter" else c)

    def couplings(self, change: Callable[[Coupling], Coupling]) -> Site:
        """The same with every coupling changed."""
        changed = tuple(change(c) for c in self.plan.couplings)
        return Site(self.installation, replace(self.plan, couplings=changed))


def _known(reading: Reading, value: float | None) -> float:
    """A figure or chance; a reading that has none was asked of a place that is not there."""
    if value is None:
        raise LookupError(f"nothing to read for {reading}")
    return value


@lru_cache(maxsize=256)
def site(text: str) -> Site:
    """The site that a written form describes."""
    return built(read_job(text).installation)


def built(installation: Installation) -> Site:
    """The site of an installation."""
    return Site(installation, lay_out(installation))


def made(*effects: Effect, name: str = "made here") -> Fault:
    """A fault, or two at once, from its effects."""
    return Fault(name, "made here", (), (), (Severity("made", effects, 1.0),), 1.0)


def also(*faults: Fault) -> Fault:
    """Several faults at once, each at its first severity."""
    return made(*(e for f in faults for e in f.severities[0].effects), name="several at once")


def volts(a: str, b: str, by: str = METER, when: Conditions = AS_DESCRIBED) -> Reading:
    """A voltage reading between two nodes."""
    return reading("volts", a, b, by, when)


def ohms(a: str, b: str, when: Conditions = BARE) -> Reading:
    """A continuity reading of a dead circuit, leads nulled."""
    return reading("ohms", a, b, "continuity", when)


def megohms(a: str, b: str, by: str = "insulation 500", when: Conditions = BARE) -> Reading:
    """An insulation reading of a dead circuit."""
    return reading("megohms", a, b, by, when)


def loop(a: str, b: str, by: str = "loop", when: Conditions = AS_DESCRIBED) -> Reading:
    """A live loop test."""
    return reading("loop", a, b, by, when)


def reading(
    kind: Kind, a: str = "", b: str = "", by: str = "", when: Conditions = AS_DESCRIBED
) -> Reading:
    """Any reading between two nodes."""
    return Reading(f"{kind} {a} {b} {by}", kind, a, b, instrument=by, conditions=when)


def clamp(*elements: str, when: Conditions = AS_DESCRIBED) -> Reading:
    """A clamp round some conductors together, A."""
    return Reading("clamp", "amps", conductors=elements, instrument="clamp", conditions=when)


def trips(device: str, seen: str = "trips", when: Conditions = AS_DESCRIBED) -> Reading:
    """Whether a device trips."""
    return Reading(f"{device} {seen}", "trips", of=device, seen=seen, conditions=when)


def three(place: str, by: str = METER, when: Conditions = AS_DESCRIBED) -> tuple[Reading, ...]:
    """Line-neutral, line-earth and neutral-earth at a socket's front."""
    line, neutral, earth = (f"{place}.{key}:front" for key in "LNE")
    return (
        volts(line, neutral, by, when),
        volts(line, earth, by, when),
        volts(neutral, earth, by, when),
    )
