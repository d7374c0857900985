"""Electrical constants of a run: resistance and inductance per core, couplings per metre."""

from __future__ import annotations

import math

from halfsplit.errors import NotInTable
from halfsplit.tables import cables, conductors
from halfsplit.wiring.model import Core, Run

# What a protective core (or a core with none beside it) has to the true earth around it:
# judgement, from a thin wire some centimetres off damp masonry; it matters only where a
# protective conductor hangs free.
SURROUNDINGS_FARADS_PER_M = 25e-12


def cable_constants(core: Core, run: Run) -> tuple[float, float]:
    """(ohm, henry) of one core over the run's length, at the run's temperature."""
    metal: conductors.Metal = "aluminium" if core.metal == "aluminium" else "copper"
    metres = run.length.value
    gauge = gauge_of(core.mm2)
    if gauge is None:
        ohms = conductors.ohm_per_m(core.mm2, metal, run.temperature_c) * metres
    else:
        ohms = conductors.ohm_per_m_awg(gauge, metal, run.temperature_c) * metres
    return ohms, conductors.reactance_per_m(50.0) / (2 * math.pi * 50.0) * metres


def gauge_of(mm2: float) -> int | None:
    """The gauge number whose area this is within half a per cent; None for a metric size."""
    for gauge in range(18, -4, -1):
        if abs(conductors.awg_area(gauge) / mm2 - 1) < 0.005:
            return gauge
    return None


def build_of(run: Run) -> cables.Build:
    """How the cable is built, which decides what lies between its cores; round when not known."""
    try:
        return cables.cable(run.cable).build
    except NotInTable:
        return "round"


def run_coupling(run: Run) -> tuple[float, float, float]:
    """(siemens/m, farad/m core to core, farad/m core to protective core) of a run.

    The run's own values where stated, else the cable's typical ones.
    """
    siemens = 1.0 / run.insulation.value if run.insulation else cables.INSULATION.value
    if run.capacitance:
        return siemens, run.capacitance.value, run.capacitance.value
    build = build_of(run)
    return siemens, cables.CORE_CORE[build].value, cables.CORE_EARTH[build].value
