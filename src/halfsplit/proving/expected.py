"""What each test should read on this circuit: solved, with the band that is not known.

Three circuits are solved. The middle one is as described. The low one has lengths at the short end
of what was said, conductors at 5 °C and a little better than the tabulated maximum, the best of
joints; the high one the long end, 30 °C, joints and contacts that are only just sound.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from halfsplit.diagnosis.expect import expect
from halfsplit.instruments.reading import Reading
from halfsplit.proving.result import Expected
from halfsplit.proving.sites import Sites
from halfsplit.tables import practice
from halfsplit.tables.conductors import temperature_factor
from halfsplit.wiring.plan import Element, Plan

MIDDLE_NINE_TENTHS = 1.645  # standard deviations either side
COLD_C, WARM_C = 5.0, 30.0  # conductors on site, judgement
BETTER_THAN_TABLE = 0.95  # tabulated resistances are maxima; real ones lie a few per cent below

_CONTACTS = {
    "joint": practice.JOINT_SOUND, "contact": practice.CONTACT_FRONT,
    "switch": practice.SWITCH_CLOSED, "pole": practice.DEVICE_POLE, "link": practice.JOINT_SOUND,
}  # fmt: skip


def expected_of(sites: Sites, readings: Sequence[Reading]) -> tuple[Expected | None, ...]:
    """The source impedance each reading looks into, ohms; None where no path leads there.

    Insulation does not hang on copper: it is solved once, and its band is that value.
    """
    if not readings:
        return ()
    low, plan, high = _plans(sites)
    copper = [k for k, reading in enumerate(readings) if reading.kind != "megohms"]
    middle = _solved(sites, plan, readings)
    ends = [dict(enumerate(middle)), dict(enumerate(middle))]
    for end, shifted in zip(ends, (low, high), strict=True) if copper else ():
        end.update(zip(copper, _solved(sites, shifted, [readings[k] for k in copper]), strict=True))
    return tuple(
        Expected(m, min(ends[0][k], m), max(ends[1][k], m)) if m < math.inf else None
        for k, m in enumerate(middle)
    )


def _solved(sites: Sites, plan: Plan, readings: Sequence[Reading]) -> list[float]:
    found = expect(sites.inst, readings, plan=plan)
    return [math.inf if item.ohms is None else item.ohms for item in found]


def _plans(sites: Sites) -> tuple[Plan, Plan, Plan]:
    spread = {run.name: run.length.spread for c in sites.inst.circuits for run in c.runs}
    plan = sites.plan

    def shifted(sign: int, heat: float) -> Plan:
        def moved(element: Element) -> Element:
            return replace(element, ohms=_shifted(element, spread, sign, heat))

        return replace(plan, elements=tuple(moved(element) for element in plan.elements))

    low = shifted(-1, temperature_factor(COLD_C) * BETTER_THAN_TABLE)
    return low, plan, shifted(1, temperature_factor(WARM_C))


def _shifted(element: Element, spread: dict[str, float], sign: int, heat: float) -> float:
    """The element's resistance at one end of its band, ohms."""
    if element.kind == "core":
        length = math.exp(sign * MIDDLE_NINE_TENTHS * spread.get(element.run, 0.0))
        return element.ohms * heat * length
    known = _CONTACTS.get(element.kind)
    if known is not None:
        end = known.high if sign > 0 else known.low
        return max(element.ohms, end) if sign > 0 else min(element.ohms, end)
    return element.ohms * math.exp(sign * MIDDLE_NINE_TENTHS * element.spread)
