"""Row 30: a second source. What looks isolated is not."""

from __future__ import annotations

import pytest

from halfsplit.wiring.conditions import Conditions
from tests.phenomena.rows import BOTH, REGIONS, row
from tests.phenomena.site import LOW, METER, three, volts

MAIN_OFF = Conditions(off=("main switch",))
SOURCES = "other sources: {Set: {kind: generator, ohms: 0.2 ohm}, Roof: {kind: solar, on: yes}}\n"


@pytest.mark.parametrize("region", BOTH)
def test_row_30_a_generator_nobody_switched_off_livens_an_isolated_circuit(region: str) -> None:
    """Main switch off: a sound outlet has nothing, or a ghost; with the generator feeding it has U
    between line and neutral and line and earth, on a low-impedance tester too (practice)."""
    s = row(region, also=SOURCES)
    u = REGIONS[region][2]
    feeding = s.fault("backfeed", "Set")
    line_neutral, line_earth, neutral_earth = three("Two", LOW, MAIN_OFF)
    assert s.shows(line_neutral, line_earth) == pytest.approx([0.0, 0.0], abs=2.0)
    found = s.shows(line_neutral, line_earth, neutral_earth, fault=feeding)
    assert found == pytest.approx([u, u, 0.0], abs=0.03 * u)


@pytest.mark.parametrize("region", BOTH)
def test_row_30_solar_alone_leaves_an_isolated_circuit_dead(region: str) -> None:
    """What feeds only beside the supply stops with it: with the main switch off there is no volt
    on a low-impedance tester, and with it on nothing looks amiss (practice)."""
    s = row(region, also=SOURCES)
    u = REGIONS[region][2]
    assert s.shows(three("Two", LOW, MAIN_OFF)[0])[0] < 2.0
    assert s.shows(*three("Two", METER)) == pytest.approx([u, u, 0.0], abs=0.03 * u)


def test_row_30_its_own_isolation_point_is_what_isolates_it() -> None:
    """On and feeding: the circuit's device or the source's isolation point kills the outlet, the
    main switch does not."""
    s = row("uk", also="other sources: {Set: {kind: generator, on: yes}}\n")
    pair = ("Two.L:front", "Two.N:front")
    still, isolated, device = (
        s.shows(volts(*pair, LOW, Conditions(off=off)))[0]
        for off in (("main switch",), ("main switch", "Set isolator"), ("main switch", "row"))
    )
    assert still > 220.0
    assert isolated < 2.0
    assert device < 2.0
