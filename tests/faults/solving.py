"""A fault put into a solved circuit: loads as their rated resistance, live or dead."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfsplit.faults.catalogue import enumerate_faults
from halfsplit.faults.fault import Fault
from halfsplit.network import (
    Bridge,
    Change,
    Emf,
    Factored,
    I,
    Series,
    V,
    factorise,
    solve_guarded,
)
from halfsplit.wiring.conditions import AS_DESCRIBED, Conditions
from halfsplit.wiring.effects import Added, Bridged, Effect, LoadChange, Scaled, StateChange, felt
from halfsplit.wiring.layout import lay_out
from halfsplit.wiring.lower import Lowered, lower
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import Plan


@dataclass(frozen=True)
class Bench:
    """An installation in given conditions, solved sound once; faults are put in one by one."""

    plan: Plan
    faults: dict[str, Fault]
    lowered: Lowered
    factored: Factored

    def changes(self, effects: tuple[Effect, ...]) -> list[Change]:
        """The network changes of effects and of the loads that draw."""
        omega = self.lowered.omega
        gone = {effect.load for effect in effects if isinstance(effect, LoadChange)}
        found: list[Change] = [
            Bridge(load.a, load.b, load.watts / load.rated_volts**2)
            for load in self.lowered.loads
            if load.id not in gone
        ]
        for effect in effects:
            if not felt(effect, self.lowered.conditions):
                continue
            match effect:
                case Added(element, ohms) if element not in self.lowered.open:
                    found.append(Series(element, ohms))
                case Bridged(a, b, siemens, farads):
                    y = siemens if np.isinf(siemens) else complex(siemens, omega * farads)
                    found.append(Bridge(a, b, y))
                case Scaled(element, factor):
                    found.append(Emf(element, self.plan.element(element).emf * (factor - 1)))
                case StateChange(control, state):
                    found += self._set(control, state in ("closed", "on"))
                case LoadChange(load, kind, watts) if kind:
                    port = next(p for p in self.plan.loads if p.id == load)
                    found.append(Bridge(port.a, port.b, watts / port.rated_volts**2))
        return found

    def _set(self, control: str, closes: bool) -> list[Change]:
        """A device closed or opened: its poles bridged, or parted, where they were not."""
        poles = [e for e in self.plan.elements if e.control == control and e.kind == "pole"]
        if closes:
            return [Bridge(e.a, e.b, np.inf) for e in poles if e.id in self.lowered.open]
        return [Series(e.id, np.inf) for e in poles if e.id not in self.lowered.open]

    def solve(
        self, effects: tuple[Effect, ...], *asked: V | I
    ) -> tuple[list[complex], list[complex]]:
        """(values, own impedances) of what is asked, with these effects in."""
        lowered = self.lowered
        values, transfer, _ = solve_guarded(
            lowered.network, lowered.omega, self.changes(effects), asked, factored=self.factored
        )
        return list(values), list(np.diag(transfer))

    def volts(self, fault: str, *pairs: tuple[str, str], step: int = 0) -> list[float]:
        """Sizes of the voltages between pairs of nodes with a fault ("" for none) in."""
        effects = self.faults[fault].severities[step].effects if fault else ()
        values, _ = self.solve(effects, *(V(a, b) for a, b in pairs))
        return [abs(value) for value in values]

    def amps(self, fault: str, *elements: str, step: int = 0) -> complex:
        """The sum of the currents of elements, as a clamp around them sees it."""
        effects = self.faults[fault].severities[step].effects if fault else ()
        values, _ = self.solve(effects, *(I(element) for element in elements))
        return sum(values, 0j)

    def ohms(self, fault: str, a: str, b: str, step: int = 0) -> float:
        """The resistance that a dead test finds between two nodes."""
        effects = self.faults[fault].severities[step].effects if fault else ()
        _, own = self.solve(effects, V(a, b))
        return float(own[0].real)


def bench(installation: Installation, conditions: Conditions = AS_DESCRIBED) -> Bench:
    """An installation ready for faults, in these conditions."""
    plan = lay_out(installation)
    lowered = lower(plan, conditions)
    faults = {fault.id: fault for fault in enumerate_faults(installation, plan)}
    return Bench(plan, faults, lowered, factorise(lowered.network, lowered.omega))
