"""Conductor resistance by size, metal, stranding and temperature; gauge areas; reactance.

Tabulated resistances are the *maximum* a conductor may have; real ones lie up to a few per cent
below. Resistance per metre in Ω/m, temperatures in °C, sizes in mm² or gauge numbers
(14, 12, ... 1, then 0 for 1/0, -1 for 2/0).
"""

from __future__ import annotations

import math
from typing import Literal

from halfsplit.errors import NotInTable, OutOfRange
from halfsplit.quantity import Quantity
from halfsplit.tables.source import Figure, Table

Metal = Literal["copper", "aluminium"]
Strand = Literal["solid", "stranded", "flexible"]

KFT_M = 304.8  # metres in 1000 ft

CU_CLASS_1_2 = Table(
    "cu-class-1-2",
    "ohm/km",
    "iec60228",
    {0.5: 36.0, 0.75: 24.5, 1.0: 18.1, 1.5: 12.1, 2.5: 7.41, 4.0: 4.61, 6.0: 3.08}
    | {10.0: 1.83, 16.0: 1.15, 25.0: 0.727, 35.0: 0.524},
    temp_c=20.0,
    uncertainty=0.005,
)
CU_CLASS_2_LARGE = Table(
    "cu-class-2-large",
    "ohm/km",
    "iec60228-memory",
    {50.0: 0.387, 70.0: 0.268, 95.0: 0.193, 120.0: 0.153, 150.0: 0.124, 185.0: 0.0991}
    | {240.0: 0.0754},
    temp_c=20.0,
    uncertainty=0.005,
)
CU_CLASS_5 = Table(
    "cu-class-5",
    "ohm/km",
    "iec60228",
    {0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 4.0: 4.95, 6.0: 3.30}
    | {10.0: 1.91, 16.0: 1.21, 25.0: 0.780, 35.0: 0.554},
    temp_c=20.0,
    uncertainty=0.005,
)
CU_TINNED_CLASS_2 = Table(
    "cu-tinned-class-2",
    "ohm/km",
    "iec60228",
    {1.0: 18.2, 1.5: 12.2, 2.5: 7.56, 4.0: 4.70, 6.0: 3.11, 10.0: 1.84, 16.0: 1.16}
    | {25.0: 0.734, 35.0: 0.529},
    temp_c=20.0,
    uncertainty=0.005,
)
CU_TINNED_CLASS_5 = Table(
    "cu-tinned-class-5",
    "ohm/km",
    "iec60228",
    {1.0: 20.0, 1.5: 13.7, 2.5: 8.21, 4.0: 5.09, 6.0: 3.39, 10.0: 1.95, 16.0: 1.24}
    | {25.0: 0.795, 35.0: 0.565},
    temp_c=20.0,
    uncertainty=0.005,
)
AL_CLASS_1_2 = Table(
    "al-class-1-2",
    "ohm/km",
    "iec60228-memory",
    {10.0: 3.08, 16.0: 1.91, 25.0: 1.20, 35.0: 0.868, 50.0: 0.641, 70.0: 0.443, 95.0: 0.320}
    | {120.0: 0.253, 150.0: 0.206, 185.0: 0.164, 240.0: 0.125},
    temp_c=20.0,
    uncertainty=0.005,
)
NEC8_CU_STRANDED = Table(
    "nec8-cu-stranded",
    "ohm/kft",
    "nec-table8-2011",
    {14: 3.14, 12: 1.98, 10: 1.24, 8: 0.778, 6: 0.491, 4: 0.308, 2: 0.194},
    temp_c=75.0,
    uncertainty=0.005,
    key="gauge",
)
NEC8_AL_STRANDED = Table(
    "nec8-al-stranded",
    "ohm/kft",
    "nec-table8-2011",
    {14: 5.17, 12: 3.25, 10: 2.04, 8: 1.28, 6: 0.808},
    temp_c=75.0,
    uncertainty=0.005,
    key="gauge",
)
NEC8_CU_SOLID = Table(
    "nec8-cu-solid",
    "ohm/kft",
    "nec-table8-solid",
    {14: 3.07, 12: 1.93, 10: 1.21, 8: 0.764},
    temp_c=75.0,
    uncertainty=0.005,
    key="gauge",
)
NEC9_R_PVC = Table(
    "nec9-r-pvc",
    "ohm/kft",
    "nec-table9",
    {14: 3.1, 12: 2.0, 10: 1.2, 8: 0.78, 6: 0.49, 4: 0.31},
    temp_c=75.0,
    uncertainty=0.04,
    key="gauge",
)
NEC9_X_PVC = Table(
    "nec9-x-pvc",
    "ohm/kft",
    "nec-table9",
    {14: 0.058, 12: 0.054, 10: 0.050, 8: 0.052, 6: 0.051, 4: 0.048},
    temp_c=75.0,
    uncertainty=0.02,
    key="gauge",
    note="at 60 Hz",
)
AWG_AREA = Table(
    "awg-area",
    "mm2",
    "awg-guide",
    {14: 2.08, 12: 3.31, 10: 5.26, 8: 8.37, 6: 13.3},
    uncertainty=0.002,
    key="gauge",
)
AWG_NEXT_METRIC = Table(
    "awg-next-metric",
    "mm2",
    "awg-guide",
    {14: 2.5, 12: 4.0, 10: 6.0, 8: 10.0, 6: 16.0},
    key="gauge",
)
TO_20C = Table(
    "cu-factor-to-20C",
    "ratio",
    "iec60228-annex",
    {5.0: 1.064, 10.0: 1.042, 15.0: 1.020, 20.0: 1.0, 25.0: 0.980, 30.0: 0.962, 35.0: 0.943}
    | {40.0: 0.926, 45.0: 0.909, 50.0: 0.893, 55.0: 0.877, 60.0: 0.862, 65.0: 0.847}
    | {70.0: 0.833, 75.0: 0.820, 80.0: 0.806, 85.0: 0.794, 90.0: 0.781, 100.0: 0.758},
    uncertainty=0.001,
    key="temperature °C",
)
ALPHA_CU = Figure("alpha-cu", 0.00393, "1/K", "winding-wire", temp_c=20.0)
ALPHA_CU_TRADE = Figure("alpha-cu-trade", 0.004, "1/K", "alpha-trade", temp_c=20.0)
ALPHA_AL = Figure("alpha-al", 0.00403, "1/K", "alpha-al", 0.0038, 0.00403, temp_c=20.0)
ALPHA_CU_TEACHING = Figure("alpha-cu-teaching", 0.0039, "1/K", "teaching-alpha")
ALPHA_AL_TEACHING = Figure("alpha-al-teaching", 0.0038, "1/K", "teaching-alpha")
GAUGE_36_MM = Figure("gauge-36-diameter", 0.127, "mm", "astm-b258")
GAUGE_RATIO = Figure("gauge-ratio", 92.0, "over 39 steps", "astm-b258")
RHO_CU = Figure("rho-cu", 0.017241, "ohm mm2/m", "iacs", temp_c=20.0)
RHO_AL = Figure("rho-al", 0.028264, "ohm mm2/m", "al-rho", temp_c=20.0)
REACTANCE = Figure(
    "cable-reactance", 8e-5, "ohm/m", "reactance", 6e-5, 1.5e-4, note="per conductor at 50 Hz"
)
NEXT_SIZES_MM2 = tuple(CU_CLASS_1_2) + tuple(CU_CLASS_2_LARGE)


def temperature_factor(temp_C: float, metal: Metal = "copper") -> float:
    """Resistance at ``temp_C`` over that at 20 °C: the linear law 1 + α (T - 20).

    Raises: OutOfRange outside -80 to 250 °C, where the straight line no longer holds.
    """
    if not -80.0 <= temp_C <= 250.0:
        raise OutOfRange(
            f"conductor temperature {temp_C:g} °C: the linear law serves -80 to 250 °C"
        )
    alpha = ALPHA_CU if metal == "copper" else ALPHA_AL
    return 1.0 + alpha.value * (temp_C - 20.0)


def ohm_per_m(
    size_mm2: float,
    metal: Metal = "copper",
    temp_C: float = 20.0,
    strand: Strand = "solid",
    tinned: bool = False,
) -> float:
    """Greatest DC resistance per metre of a metric conductor, Ω/m at ``temp_C``.

    Sizes between the standard ones follow the neighbouring rows on logarithmic axes; sizes beyond
    the table keep the resistivity of its last row. Raises: OutOfRange unless ``size_mm2`` > 0.
    """
    if not 0.0 < size_mm2 < math.inf:
        raise OutOfRange(f"conductor size {size_mm2:g} mm²: a size above 0 is needed, such as 2.5")
    return _between(_metric_rows(metal, strand, tinned), size_mm2) * temperature_factor(
        temp_C, metal
    )


def ohm_per_m_awg(
    gauge: int, metal: Metal = "copper", temp_C: float = 20.0, strand: Strand = "solid"
) -> float:
    """DC resistance per metre of a gauge conductor, Ω/m at ``temp_C``.

    From the NEC table where it has the row (75 °C, brought to ``temp_C``), else from area and
    resistivity with the table's 2 % for stranding. ``gauge`` as in :func:`awg_area`.
    """
    stranded = NEC8_CU_STRANDED if metal == "copper" else NEC8_AL_STRANDED
    table = NEC8_CU_SOLID if strand == "solid" and metal == "copper" else stranded
    scale = temperature_factor(temp_C, metal)
    if gauge in table:
        return table[gauge] / KFT_M * scale / temperature_factor(75.0, metal)
    rho = RHO_CU if metal == "copper" else RHO_AL
    lay = 1.0 if strand == "solid" else 1.02
    return lay * rho.value / awg_area(gauge) * scale


def ohm_per_m_of(
    size: Quantity, metal: Metal = "copper", temp_C: float = 20.0, strand: Strand = "solid"
) -> float:
    """The same for a size as read from the form: mm² or gauge. Raises: OutOfRange if neither."""
    if size.unit == "AWG":
        return ohm_per_m_awg(round(size.value), metal, temp_C, strand)
    if size.unit == "mm2":
        return ohm_per_m(size.value, metal, temp_C, strand)
    raise OutOfRange(f'"{size.text}" is not a conductor size; give mm² or a gauge, such as 2.5')


def awg_area(gauge: int) -> float:
    """Area in mm² of a gauge number from 40 down to 1, then 0 (1/0) to -3 (4/0): the gauge law.

    Raises: NotInTable outside 40 to -3.
    """
    if not -3 <= gauge <= 40:
        raise NotInTable("gauge numbers", gauge, ("40 down to 1", "1/0 to 4/0 as 0 to -3"))
    diameter_mm: float = GAUGE_36_MM.value * GAUGE_RATIO.value ** ((36 - gauge) / 39)
    return math.pi * diameter_mm * diameter_mm / 4


def area_mm2(size: Quantity) -> float:
    """Area in mm² of a size as read from the form."""
    return awg_area(round(size.value)) if size.unit == "AWG" else size.value


def reactance_per_m(frequency_Hz: float = 50.0) -> float:
    """Series reactance per metre and conductor, Ω/m: small beside resistance below 16 mm²."""
    return REACTANCE.value * frequency_Hz / 50.0


def _metric_rows(metal: Metal, strand: Strand, tinned: bool) -> dict[float, float]:
    if metal == "aluminium":
        return dict(AL_CLASS_1_2.values)
    if strand == "flexible":
        return dict((CU_TINNED_CLASS_5 if tinned else CU_CLASS_5).values)
    if tinned:
        return dict(CU_TINNED_CLASS_2.values)
    return {**CU_CLASS_1_2.values, **CU_CLASS_2_LARGE.values}


def _between(rows: dict[float, float], size: float) -> float:
    """Ω/m from Ω/km rows: resistivity interpolated in log size, held flat beyond the ends."""
    if size in rows:
        return rows[size] / 1000.0
    sizes = sorted(rows)
    if size < sizes[0] or size > sizes[-1]:
        end = sizes[0] if size < sizes[0] else sizes[-1]
        return rows[end] * end / size / 1000.0
    upper = next(s for s in sizes if s > size)
    lower = sizes[sizes.index(upper) - 1]
    share = math.log(size / lower) / math.log(upper / lower)
    resistivity = (1 - share) * rows[lower] * lower + share * rows[upper] * upper
    return resistivity / size / 1000.0
