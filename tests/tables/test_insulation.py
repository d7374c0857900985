"""Insulation limits by edition and the arithmetic of circuits read together."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.errors import NotInTable
from halfsplit.tables import insulation as i


@pytest.mark.parametrize("edition", ["bs7671-2018", "iec60364-6"])
@pytest.mark.parametrize(
    ("volts", "test_volts", "megohms"),
    [(24, 250, 0.5), (50, 250, 0.5), (230, 500, 1.0), (500, 500, 1.0), (690, 1000, 1.0)],
)
def test_limits_by_voltage(edition: str, volts: float, test_volts: float, megohms: float) -> None:
    """BS 7671 Table 64 (18th-edition course notes, Part 6) and Bane NOR's IEC 60364-6 table."""
    row = i.limit(volts, edition)
    assert (row.test_volts, row.least_ohm) == (test_volts, megohms * 1e6)


def test_with_equipment_connected() -> None:
    """L+N to earth at 250 V, still 1 MΩ (trade magazine technical page, May 2023; reg. 643.3.3)."""
    assert i.WITH_EQUIPMENT_V.value == 250
    assert i.WITH_EQUIPMENT_LEAST.value == i.limit(230).least_ohm == 1e6


def test_sixteenth_edition() -> None:
    """0.5 MΩ, looking further below 2 MΩ (inspection notes citing BS 7671 Table 71A)."""
    assert i.limit(400, "bs7671-16th").least_ohm == 0.5e6
    assert i.LOOK_FURTHER.value == 2e6


def test_older_separation_tests() -> None:
    """5 MΩ for SELV, 0.5 for FELV, 3750 V flash (Whitfield, 16th ed. 8.5.4)."""
    found = (i.SELV_16TH.value, i.FELV_16TH.value, i.FLASH_16TH.value)
    assert found == (5e6, 0.5e6, 3750)


def test_australian_practice() -> None:
    """500 V, 1 MΩ; 0.01 MΩ with heating elements in (Australian wiring-rules test notes)."""
    row = i.limit(230, "as-nzs-3000")
    assert (row.test_volts, row.least_ohm) == (500, 1e6)
    assert i.HEATING_ELEMENT_LEAST.value == 10e3


def test_indian_points_rule() -> None:
    """50 MΩ over the number of points: 25 points, 2 MΩ; appliances 0.5 MΩ (page on IS 732)."""
    assert i.points_limit_india(25) == 2e6
    assert i.APPLIANCE_LEAST_INDIA.value == 0.5e6


def test_early_sliding_scale() -> None:
    """Amperes times megohms is about 20 (Cyclopedia, NEC rule 66; the 10 A label is inferred)."""
    assert dict(i.NEC_EARLY.values) == {5: 4, 10: 2, 25: 0.8, 50: 0.4, 100: 0.2, 200: 0.1}
    for amperes, megohms in i.NEC_EARLY.values.items():
        assert amperes * megohms == pytest.approx(20)


def test_five_circuits_together() -> None:
    """5, 20, 10, 20 and 2 MΩ read 1.1111 MΩ together (exam coaching blog)."""
    assert i.in_parallel([5e6, 20e6, 10e6, 20e6, 2e6]) == pytest.approx(1.1111e6, rel=1e-4)


def test_a_new_circuit_is_expected_well_above() -> None:
    """Healthy new circuits read 100 MΩ or more (UK training site; Australian help page)."""
    assert i.EXPECTED_NEW.low == 100e6
    assert i.EXPECTED_NEW.value > 100 * i.limit(230).least_ohm


def test_north_american_guidance() -> None:
    """250 V class 500 V and 25 MΩ; 600 V class 1000 V and 100 MΩ (ANSI/NETA 100.1, memory)."""
    assert (i.limit(240, "neta").test_volts, i.limit(240, "neta").least_ohm) == (500, 25e6)
    assert (i.limit(480, "neta").test_volts, i.limit(480, "neta").least_ohm) == (1000, 100e6)
    with pytest.raises(NotInTable, match="insulation limits, neta: no row for 1000 V"):
        i.limit(1000, "neta")


@given(st.lists(st.floats(1e3, 1e9), min_size=1, max_size=12))
def test_together_reads_no_more_than_the_worst(resistances: list[float]) -> None:
    """Circuits together read at most the lowest, and at least that over their number."""
    together = i.in_parallel(resistances)
    worst = min(resistances)
    assert worst / len(resistances) * (1 - 1e-9) <= together <= worst * (1 + 1e-9)


def test_each_region_has_an_edition() -> None:
    """Each region's default edition exists; an unknown one lists the regions."""
    for region in ("uk", "eu", "au", "us"):
        assert i.limit(230, i.edition_for(region)).least_ohm > 0
    with pytest.raises(NotInTable, match="no row for mars; the table has uk, eu, au, us"):
        i.edition_for("mars")
    with pytest.raises(NotInTable, match="insulation limits: no row for 1899"):
        i.limit(230, "1899")
