"""What a look truly finds: by what is wrong and where one looks, not by what was expected.

The chances are the program's own (judgement); what may be seen where is said here again. Tracing a
tone, feeling for warmth and mending unseen are looks too.
"""

from __future__ import annotations

import math

from halfsplit.checks.check import Check
from halfsplit.faults.fault import Fault
from halfsplit.wiring.effects import Added, Bridged, LoadChange, ReadingChange, StateChange
from halfsplit.wiring.plan import Plan

AT_PLACE, IN_CABLE, STATE, METER, ELSEWHERE, TRACED, WARM = 0.85, 0.15, 0.97, 0.97, 0.95, 0.8, 0.7
SLIGHT = 0.5  # of the chance at its place, where less than an ohm is added
NOT_OURS = ("origin", "source")
HIDDEN = "Hidden"
MENDS = ("remake", "renew", "call")


def finds(check: Check, fault: Fault, plan: Plan) -> float:
    """The chance that a look at ``check`` finds ``fault``."""
    effects = [e for s in fault.severities for e in s.effects]
    owner = load_of(fault, plan)
    state = all(isinstance(e, StateChange) for e in effects)
    if check.kind == "devices":
        stuck = any(isinstance(e, StateChange) and e.state == "will not trip" for e in effects)
        return STATE if state and not stuck else 0.0
    if check.kind == "meter":
        return METER if all(isinstance(e, ReadingChange) for e in effects) else 0.0
    if check.kind in ("elsewhere", "appliance"):
        shows = check.kind == "elsewhere" or _at_plug(fault, plan)
        return ELSEWHERE if owner == check.what and shows else 0.0
    if check.kind == "open":
        return opened(check.where, fault, state)
    if check.kind == "remake":
        return 1.0 if fault.places == (check.where,) and not state else 0.0
    if check.kind == "renew":
        return 1.0 if dict(fault.detail).get("run", "") == check.what else 0.0
    if check.kind == "call":
        tail = any(part.startswith("tail ") for part in fault.parts)
        return 1.0 if tail or set(NOT_OURS) & set(fault.places) else 0.0
    if check.kind == "tone":
        broken = any(isinstance(e, Added) and math.isinf(e.ohms) for e in effects)
        mine = fault.circuit == check.circuit and fault.conductors == (check.what,)
        return TRACED if broken and mine else 0.0
    if check.kind == "thermal":
        warm = any(isinstance(e, Added) and math.isfinite(e.ohms) for e in effects)
        return WARM if warm and fault.places == (check.where,) else 0.0
    return 0.0


def _at_plug(fault: Fault, plan: Plan) -> bool:
    """Whether an appliance measured unplugged shows it: a leak, a short, or its own resistance."""
    kinds = {load.id: load.kind for load in plan.loads}
    joined = any(isinstance(e, Bridged | LoadChange) for s in fault.severities for e in s.effects)
    return joined or kinds.get(load_of(fault, plan)) in ("heater", "filament", "motor")


def opened(where: str, fault: Fault, state: bool = False) -> float:
    """The chance that what is wrong is seen in the box opened at ``where``."""
    if HIDDEN in fault.places:
        return IN_CABLE if where in fault.places else 0.0
    if where not in fault.places:
        return 0.0
    ohms = [e.ohms for s in fault.severities for e in s.effects if isinstance(e, Added)]
    slight = bool(ohms) and max(ohms) < 1.0
    chance = IN_CABLE if len(fault.places) > 1 or state else AT_PLACE
    return chance * SLIGHT if slight else chance


def load_of(fault: Fault, plan: Plan) -> str:
    """The appliance a fault is in, or whose flex it is in; "" for none."""
    for load in plan.loads:
        changed = any(
            isinstance(e, LoadChange) and e.load == load.id
            for s in fault.severities for e in s.effects
        )  # fmt: skip
        if changed or any(p == load.id or p.startswith(f"flex {load.id} ") for p in fault.parts):
            return load.id
    return ""
