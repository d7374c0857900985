"""What follows from dead results without another test: the voltage drop at full load."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.proving import limits
from halfsplit.proving.result import Derived, Verdict
from halfsplit.proving.rules import NONE_HELD, Rules
from halfsplit.proving.sites import Sites
from halfsplit.quantity import amps, ohms, volts
from halfsplit.tables import disconnection
from halfsplit.tables.voltage_drop import ENFORCEABLE, drop_from_loop
from halfsplit.wiring.model import Circuit


def drops(sites: Sites, rules: Rules, verdicts: Sequence[Verdict]) -> tuple[Derived, ...]:
    """The voltage drop to each place where line and neutral were measured together."""
    read: dict[tuple[str, str], dict[str, float]] = {}
    for verdict in verdicts:
        item = verdict.wanted
        for test in verdict.tests if item.test == "continuity" and item.circuit else ():
            if test.value is not None and test.bound in ("=", "~"):
                ports = read.setdefault((item.circuit, item.subject), {})
                ports[test.port] = max(ports.get(test.port, 0.0), test.value)
    found = []
    for (name, place), ports in read.items():
        circuit = sites.circuit(name)
        loop = ports.get("L+N", ports.get("L", 0.0) + ports["N"] if "N" in ports else None)
        if circuit is not None and loop is not None and ("L+N" in ports or "L" in ports):
            found.append(_drop(sites, rules, circuit, place, loop))
    return tuple(found)


def _drop(sites: Sites, rules: Rules, circuit: Circuit, place: str, loop: float) -> Derived:
    nominal = sites.inst.supply.volts.value
    current, whose = design_current(circuit, nominal)
    hot = disconnection.HOT_FACTOR_70C.value
    value = drop_from_loop(loop, current, hot)
    limit = limits.drop_limit(rules, circuit.shape == "lighting", nominal)
    sum_ = f"{ohms(loop)} x {hot:g} x {amps(current)} ({whose}) = {volts(value)}"
    title = f"Voltage drop to {place}"
    if limit is None or limit.most is None:
        return Derived(title, value, None, "no limit", f"{sum_}; {NONE_HELD}")
    good = value <= limit.most
    why = f"{sum_}; {limit.words}"
    binding = ENFORCEABLE.get(rules.drop, True)
    return Derived(title, value, limit, "pass" if good else "fail", why, binding)


def design_current(circuit: Circuit, nominal: float) -> tuple[float, str]:
    """The current to reckon with and whose it is: the device's rating, or the loads' if less.

    The loads count only where every one of them is fixed, for anything may be plugged in.
    """
    loads = [load for point in circuit.points for load in point.loads]
    fronts = any(point.front for point in circuit.points)
    total = sum(load.watts.value for load in loads) / nominal
    if loads and not fronts and total < circuit.device.amps:
        return total, "what is fixed on it"
    return circuit.device.amps, "its device's rating"
