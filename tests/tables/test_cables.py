"""Cables: R1+R2 against published sums, what lies between cores, and names as people write them."""

from __future__ import annotations

import math

import pytest

from halfsplit.errors import NotInTable
from halfsplit.tables import cables, practice

# Locke, Guide to the Wiring Regulations (Wiley 2008) Appendix Table 4.3: mΩ/m, and 50 m in ohms
LOCKE = {
    "1.5/1.0": (30.2, 1.51),
    "2.5/1.5": (19.51, 0.98),
    "4/1.5": (16.71, 0.84),
    "6/2.5": (10.49, 0.52),
    "10/4": (6.44, 0.32),
    "16/6": (4.23, 0.211),
}
# Computed from IEC 60228; 1.0/1.0 and 4/2.5 also in forum answers quoting the On-Site Guide
COMPUTED = {
    (1.0, 1.0): 36.2, (2.5, 2.5): 14.82, (4, 2.5): 12.02, (4, 4): 9.22, (6, 4): 7.69,
    (6, 6): 6.16, (10, 6): 4.91, (10, 10): 3.66, (16, 10): 2.98, (16, 16): 2.3,
}  # fmt: skip


@pytest.mark.parametrize("sizes", LOCKE)
def test_twin_and_earth_line_plus_protective(sizes: str) -> None:
    """R1+R2 per metre and over 50 m as Locke's Appendix Table 4.3 prints them."""
    per_m, fifty = LOCKE[sizes]
    cable = cables.cable(f"{sizes} twin and earth")
    assert 1000 * cable.r1_r2_per_m() == pytest.approx(per_m, abs=0.006)
    assert 50 * cable.r1_r2_per_m() == pytest.approx(fifty, abs=0.006)


@pytest.mark.parametrize("sizes", COMPUTED)
def test_further_combinations_follow_the_sum_rule(sizes: tuple[float, float]) -> None:
    """Other pairs add up too (computed from IEC 60228; 36.20 and 12.02 seen in forum answers)."""
    line, earth = (cables.Core("live", size, False, "stranded") for size in sizes)
    assert 1000 * (line.ohm_per_m() + earth.ohm_per_m()) == pytest.approx(COMPUTED[sizes], abs=5e-3)


def test_one_millimetre_twin_and_earth() -> None:
    """1.0/1.0 is 36.20 mΩ/m (forum worked answers quoting the On-Site Guide table 9A)."""
    assert 1000 * cables.cable("1.0/1.0 twin and earth").r1_r2_per_m() == pytest.approx(36.2)


def test_twenty_two_metres_worked() -> None:
    """22 m of 2.5/1.5: 0.163, 0.266 and 0.429 Ω (electrician-training forum, revision notes)."""
    cable = cables.cable("2.5/1.5 twin and earth")
    line, earth = 22 * cable.core.ohm_per_m(), 22 * cable.cores[-1].ohm_per_m()
    assert line == pytest.approx(0.163, abs=5e-4)
    assert earth == pytest.approx(0.266, abs=5e-4)
    assert line + earth == pytest.approx(0.429, abs=5e-4)
    assert line * 1.67 == pytest.approx(0.27, abs=5e-3)


def test_measured_pair_of_nonmetallic_cable() -> None:
    """14/2 cable reads 5.26 nF for 250 ft, 21 pF/ft or 68.9 pF/m (electronics magazine, measured).

    Of our two direct capacitances the pair with the ground floating must give the measured one.
    """
    cable = cables.cable("14/2 NM-B")
    pair = cables.pair_capacitance(
        cable.core_core_capacitance.value, cable.core_earth_capacitance.value
    )
    assert pair == pytest.approx(21e-12 / 0.3048, rel=0.005)
    assert pair * 250 * 0.3048 == pytest.approx(5.26e-9, rel=0.01)
    assert cables.PAIR_NM.value == pytest.approx(68.9e-12)


def test_house_cable_passes_seventy_microamps_in_ten_metres() -> None:
    """10 m at about 100 pF/m is 1 nF and passes about 73 µA at 230 V; exactly 72.3.

    UK electrician's explanation of capacitance in switch cables.
    """
    cable = cables.cable("1.5/1.0 twin and earth")
    pair = cables.pair_capacitance(
        cable.core_core_capacitance.value, cable.core_earth_capacitance.value
    )
    assert pair == pytest.approx(100e-12, rel=0.01)
    amps = practice.capacitor_amps(10 * pair, 230, 50)
    assert amps == pytest.approx(2 * math.pi * 50 * 1e-9 * 230, rel=0.01)
    assert amps == pytest.approx(73e-6, rel=0.02)


def test_a_healthy_circuit_reads_hundreds_of_megohms() -> None:
    """50 m of sound cable lies above 100 MΩ typically (UK training site, insulation page)."""
    leak = cables.cable("2.5/1.5 twin and earth").insulation_conductance
    assert 1 / (50 * leak.value) > 100e6
    assert 1 / (50 * leak.high) == pytest.approx(50e6)


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("2.5/1.5 twin and earth", "2.5/1.5 twin and earth"),
        ("2.5 T&E", "2.5/1.5 twin and earth"),
        ("2.5mm twin & earth", "2.5/1.5 twin and earth"),
        ("1/1 twin and earth", "1/1 twin and earth"),
        ("1.5 3-core and earth", "1.5/1 three-core and earth"),
        ("14/2", "14/2 NM-B"),
        ("12-3 with ground", "12/3 NM-B"),
        ("3g2.5", "3G2.5"),
        ("5 G 6", "5G6"),
        ("6 mm² 2 core armoured", "6 two-core armoured"),
        ("1.5 flex", "1.5 three-core flex"),
        ("2.5 singles in conduit", "2.5 singles"),
    ],
)
def test_names_as_people_write_them(written: str, meant: str) -> None:
    """Case, spacing and common short forms all find the cable."""
    assert cables.cable(written).name == meant


def test_every_name_finds_itself() -> None:
    """A cable's own name finds it and no other."""
    for name, entry in cables.CABLES.items():
        assert cables.cable(name.upper()) is entry


def test_unknown_cable_offers_the_like() -> None:
    """A size that is not made lists what is made in that size."""
    with pytest.raises(
        NotInTable, match=r'cables: no row for "2\.5/2\.5 twin and earth".*2\.5/1\.5'
    ):
        cables.cable("2.5/2.5 twin and earth")
    with pytest.raises(NotInTable, match="two-core flex: no row for protective conductor"):
        cables.cable("1.5 two-core flex").r1_r2_per_m()


def test_cores_by_region() -> None:
    """Three-core and earth has three live cores and a smaller bare one; 14/3 three and a ground."""
    three = cables.cable("1.5/1 three-core and earth")
    assert [core.role for core in three.cores] == ["live"] * 3 + ["protective"]
    assert not three.cores[-1].insulated
    assert cables.cable("12/3 NM-B").cores[-1].area_mm2 == pytest.approx(3.31, abs=0.01)
    assert {entry.region for entry in cables.CABLES.values()} == {"uk", "eu", "us", "au"}
    assert all(entry.region == "us" for entry in cables.cables_of("us"))
