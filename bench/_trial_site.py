"""The site as it truly is: what parts by itself, in which order, and what is left then.

Each device has its own thresholds, drawn once within what its kind allows.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from random import Random

from bench._trial_net import Net, Wrong, assemble
from bench._trial_parts import Parts, Shunt, Wire
from bench._trial_spice import Simulator, Volts
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.plan import Way

INSTANT = {"B": (3.0, 5.0), "C": (5.0, 10.0), "D": (10.0, 20.0)}  # IEC 60898-1, from memory
NO_CURVE = (5.0, 12.0)
THERMAL = (1.13, 1.45)  # IEC 60898-1, from memory
THERMAL_SECONDS, THERMAL_AT, THERMAL_POWER = 15.0, 2.55, 4.0
RESIDUAL = (0.5, 1.0, 0.8, 0.08)  # of the rating: never below, always above, usual, spread
CLASS_A = (4e-3, 6e-3, 5e-3, 0.4e-3)
SHORTLY = 60.0  # s: what parts sooner has parted before anybody reads a meter
MOST_PARTED = 6
PLAIN = ("switch", "none")


@dataclass(frozen=True, slots=True)
class Limits:
    """Where one device truly parts: amperes at once, amperes in the end, residual amperes."""

    instant: float
    thermal: float
    residual: float


@dataclass(frozen=True, slots=True)
class Found:
    """As found: volts, the poles and devices that have parted, and how long each took (s)."""

    volts: Volts
    net: Net
    poles: frozenset[str]
    parted: Mapping[str, float]
    slow: Mapping[str, float]  # devices that will part, but only after minutes


def draw_limits(parts: Parts, random: Random) -> dict[str, Limits]:
    """Every device's thresholds."""
    return {way.name: _limits(way, random) for way in parts.plan.ways}


def _limits(way: Way, random: Random) -> Limits:
    low, high = INSTANT.get(way.curve, NO_CURVE)
    at_once = way.amps * math.exp(random.uniform(math.log(low), math.log(high)))
    in_the_end = way.amps * random.uniform(*THERMAL)
    if way.kind in (*PLAIN, "rcd", "gfci"):
        at_once = in_the_end = math.inf
    class_a = way.kind == "gfci" or way.residual_type.lower() == "class a"
    least, most, usual, spread = CLASS_A if class_a else RESIDUAL
    drawn = min(max(random.gauss(usual, spread), least), most)
    residual = drawn if class_a else drawn * way.residual_amps
    return Limits(at_once, in_the_end, residual if way.residual_amps or class_a else math.inf)


@dataclass(frozen=True)
class Site:
    """One true installation with what is wrong in it."""

    parts: Parts
    wrong: Wrong
    limits: Mapping[str, Limits]
    thresholds: Mapping[str, float]
    simulator: Simulator
    _known: dict[tuple[object, ...], Found] = field(default_factory=dict)

    def found(self, conditions: Conditions, extra: Sequence[Wire | Shunt] = ()) -> Found:
        """The circuit in ``conditions`` once all that parts has parted.

        ``extra`` is hung on afterwards: an instrument, a person. Raises: Unsolved.
        """
        key = conditions.key()
        if extra and conditions.dead:  # nothing parts by itself; the tester is the only source
            net = with_extra(assemble(self.parts, self.wrong, conditions), extra)
            return Found(self.simulator.solve(net, self.thresholds), net, frozenset(), {}, {})
        if key not in self._known:
            self._known[key] = self._settle(conditions)
        found = self._known[key]
        if not extra:
            return found
        net = with_extra(found.net, extra)
        return replace(found, net=net, volts=self.simulator.solve(net, self.thresholds))

    def ports(
        self, conditions: Conditions, pairs: Sequence[tuple[str, str]]
    ) -> list[tuple[complex, complex]]:
        """(open volts, ohms) between pairs of nodes, as found with everything unplugged."""
        found = self.found(conditions)
        return self.simulator.ports(found.net, pairs)

    def _settle(self, conditions: Conditions) -> Found:
        """Devices part one after another, the quickest first, until nothing more parts."""
        poles: set[str] = set()
        parted: dict[str, float] = {}
        slow: dict[str, float] = {}
        net = assemble(self.parts, self.wrong, conditions)
        volts = self.simulator.solve(net, self.thresholds)
        for _ in range(0 if conditions.dead else MOST_PARTED):
            times = self._times(net, volts, parted)
            slow = {name: s for name, s in times.items() if SHORTLY <= s < math.inf}
            quick = {name: s for name, s in times.items() if s < SHORTLY}
            if not quick:
                break
            first = min(quick, key=lambda name: (quick[name], name))
            parted[first] = quick[first]
            poles |= set(next(w for w in self.parts.plan.ways if w.name == first).poles)
            net = assemble(self.parts, self.wrong, conditions, poles)
            volts = self.simulator.solve(net, self.thresholds)
        return Found(volts, net, frozenset(poles), parted, slow)

    def _times(self, net: Net, volts: Volts, parted: Mapping[str, float]) -> dict[str, float]:
        """Seconds until each device that still stands parts."""
        amps = {wire.id: volts.amps(wire) for wire in net.wires}
        states = self.wrong.states()
        found = {}
        for way in self.parts.plan.ways:
            if way.name in parted or states.get(way.name) == "will not trip":
                continue
            through = max((abs(amps.get(p, 0j)) for p in way.poles), default=0.0)
            leak = abs(sum((amps.get(p, 0j) for p in way.senses), 0j))
            found[way.name] = seconds(self.limits[way.name], way.amps, through, leak)
        return found


def with_extra(net: Net, extra: Sequence[Wire | Shunt]) -> Net:
    """The circuit with something more hung on it."""
    return replace(
        net,
        wires=[*net.wires, *(x for x in extra if isinstance(x, Wire))],
        shunts=[*net.shunts, *(x for x in extra if isinstance(x, Shunt))],
    )


def seconds(limits: Limits, rated: float, through: float, leak: float) -> float:
    """How long a device carries ``through`` and ``leak`` amperes before it parts."""
    if leak > limits.residual:
        return 0.04
    if through > limits.instant:
        return 0.01
    if through > limits.thermal:
        return float(THERMAL_SECONDS * (THERMAL_AT * rated / through) ** THERMAL_POWER)
    return math.inf
