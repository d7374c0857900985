"""Limits by edition: published figures reach the verdict, and what is not held is not guessed."""

from __future__ import annotations

from typing import Any

import pytest

from halfsplit.proving import limits, prove
from halfsplit.proving.page import limits_page
from halfsplit.proving.rules import NONE_HELD, RULES, rules_for
from halfsplit.tables.disconnection import FUSES
from tests.proving.site import job, verdict
from tests.tables.test_disconnection import BREAKERS_2008, BREAKERS_2018, FUSES_2008


def circuit_job(device: str, region: str = "uk", edition: str = "", **more: Any) -> Any:
    """A job with one circuit behind that device."""
    keys: dict[str, Any] = {"region": region, "circuits": {"c": {"device": device,
                            "run": ["9 m", "P"]}}} | more  # fmt: skip
    if edition:
        keys["edition"] = edition
    return job(**keys)


def most(device: str, edition: str) -> float:
    """The loop limit by the form's own spelling of a device, conductors hot."""
    given = circuit_job(device)
    circuit = given.installation.circuits[0]
    limit = limits.loop_limit(rules_for("uk", edition), given.installation, circuit)
    assert limit is not None
    assert limit.most is not None
    return limit.most / 0.8


@pytest.mark.parametrize(("edition", "table"), [("2008", BREAKERS_2008), ("2018", BREAKERS_2018)])
def test_breaker_limits_of_both_editions_stand_side_by_side(
    edition: str, table: dict[str, dict[int, float]]
) -> None:
    """BS 7671 Table 41.3: 2008 in Locke (Wiley 2008) Appendix 3, 2018 by its defining formula."""
    for curve, rows in table.items():
        for rating, ohms in rows.items():
            assert most(f"{curve}{rating}", edition) == pytest.approx(ohms, abs=0.0051)


def test_fuse_limits_of_2008() -> None:
    """BS 7671 Table 41.2 reproduced in Locke (Wiley 2008) Appendix 3."""
    for kind, rows in FUSES_2008.items():
        if ("bs7671-2008", kind, 0.4) in FUSES and kind != "BS 1362":
            for rating, ohms in rows.items():
                assert most(f"{rating} A fuse {kind}", "2008") == pytest.approx(ohms, abs=1e-9)


def test_the_two_editions_disagree_and_each_is_used_as_asked() -> None:
    """A B32 of 2008 may have 1.44 Ω, one of 2018 1.37 Ω: 1.12 Ω cold passes one, not the other."""
    for edition, outcome in (("2008", True), ("2018", False)):
        given = circuit_job(
            "B32", edition=edition, mend=[{"did": "x", "at": "P"}],
            supply={"earthing": "TN-S", "line": "0.4 ohm", "earth": "0.4 ohm"},
            tests_after=[{"at": "P", "loop": {"L-E": "1.12 ohm"}}],
        )  # fmt: skip
        proof = prove(given)
        assert verdict(proof, "loop L-E at P").good is outcome
        assert proof.rules == f"uk-{edition}"


@pytest.mark.parametrize(
    ("device", "ohms"), [("C16", 1.92), ("C20", 1.53), ("C32", 0.96), ("B20", 2.88), ("D20", 0.92)]
)
def test_australian_and_new_zealand_loops_use_their_own_multipliers(
    device: str, ohms: float
) -> None:
    """AS/NZS 3000 Table 8.1 (from memory, computed), C also by the New Zealand regulator."""
    given = circuit_job(device, region="au")
    limit = limits.loop_limit(rules_for("au"), given.installation, given.installation.circuits[0])
    assert limit is not None
    assert limit.most is not None
    assert limit.most * 1.2 == pytest.approx(ohms, abs=0.01)
    assert "from memory" in limit.source


@pytest.mark.parametrize(
    ("region", "edition", "volts", "test", "megohms"),
    [("uk", "2018", 40, 250, 0.5), ("uk", "2018", 230, 500, 1.0), ("uk", "2018", 690, 1000, 1.0),
     ("eu", "", 40, 250, 0.5), ("eu", "", 400, 500, 1.0), ("eu", "", 690, 1000, 1.0),
     ("uk", "16th", 230, 500, 0.5), ("au", "", 230, 500, 1.0),
     ("na", "", 240, 500, 25.0), ("na", "", 480, 1000, 100.0)],
)  # fmt: skip
def test_insulation_limits_by_region_and_edition(
    region: str, edition: str, volts: float, test: float, megohms: float
) -> None:
    """BS 7671 Table 64; IEC 60364-6 (railway rulebook); Table 71A; Australian notes; ANSI/NETA."""
    rules = rules_for(region, edition)
    limit = limits.insulation_limit(rules, volts, False)
    assert limit is not None
    assert limit.least == pytest.approx(megohms * 1e6)
    assert limits.insulation_volts(rules, volts, False) == test
    assert limits.insulation_volts(rules, volts, True) == 250.0


def residual(times: float, region: str = "uk", milliamps: float = 30.0) -> float | None:
    """The time a residual device has at so many times its rating."""
    given = circuit_job(f"B16 RCBO {milliamps:g} mA", region=region)
    device = given.installation.circuits[0].device
    limit = limits.trip_time_limit(rules_for(region), device, times)
    return None if limit is None else limit.most if limit.most is not None else limit.least


def test_residual_times() -> None:
    """300 ms at the rating and 40 ms at five times (forum quoting guidance; IEC 61008-1, memory);
    at half the rating no trip in 2 s (college text)."""
    assert residual(1.0) == 0.3
    assert residual(5.0) == 0.04
    assert residual(0.5) == 2.0


def test_required_residual_tests_follow_the_edition() -> None:
    """Institution technical forum, regs 643.7.1/643.8: since 2022 one a.c. test suffices."""
    assert limits.required_times(rules_for("uk", "2022")) == (1.0,)
    assert limits.required_times(rules_for("uk", "2018")) == (1.0, 5.0)


def test_ground_fault_limits() -> None:
    """4 to 6 mA (engineering glossary, UL 943 note); 5.59 s at 6 mA (breaker maker's FAQ)."""
    given = circuit_job("GFCI 20 A", region="na", supply="split phase 120/240 V")
    device = given.installation.circuits[0].device
    limit = limits.trip_current_limit(rules_for("na"), device)
    assert limit is not None
    assert (limit.least, limit.most) == (0.004, 0.006)
    timed = limits.trip_time_limit(rules_for("na"), device, 0.006 / device.residual_amps)
    assert timed is not None
    assert timed.most == pytest.approx(5.59, abs=0.01)


def test_a_30_ma_device_trips_between_15_and_30_ma() -> None:
    """Switchgear maker's training page: holds below 15 mA, must trip from 30 mA."""
    given = circuit_job("B16 RCBO 30 mA")
    limit = limits.trip_current_limit(rules_for("uk"), given.installation.circuits[0].device)
    assert limit is not None
    assert (limit.least, limit.most) == (0.015, 0.030)


@pytest.mark.parametrize(
    ("region", "supply", "low", "high"),
    [("uk", "TN-S 230 V", 216.2, 253.0), ("eu", "TN-S 230 V", 207, 253),
     ("na", "split phase 120/240 V", 114, 126)],
)  # fmt: skip
def test_supply_bands(region: str, supply: str, low: float, high: float) -> None:
    """ESQCR 2002 by a regulator's note; EN 50160 by a trade forum; 120 V within 5 %."""
    given = circuit_job("B16" if region != "na" else "20 A breaker", region=region, supply=supply)
    limit = limits.supply_limit(rules_for(region), given.installation, "L-N")
    assert limit is not None
    assert limit.least == pytest.approx(low)
    assert limit.most == pytest.approx(high)


@pytest.mark.parametrize(
    ("region", "lighting", "nominal", "volts"),
    [("uk", True, 230, 6.9), ("uk", False, 230, 11.5), ("na", False, 120, 3.6)],
)
def test_drop_limits(region: str, lighting: bool, nominal: float, volts: float) -> None:
    """BS 7671 guidance by a training-school guide: 3 and 5 %; NEC notes, 3 %, advice only."""
    limit = limits.drop_limit(rules_for(region), lighting, nominal)
    assert limit is not None
    assert limit.most == pytest.approx(volts)
    assert ("advice" in limit.words) is (region == "na")


def test_what_a_region_lacks_is_said_and_never_guessed() -> None:
    """No loop limit in North America, no drop limit for IEC, none for an edition without rows."""
    given = circuit_job(
        "20 A breaker", region="na", supply="split phase 120/240 V",
        mend=[{"did": "x", "at": "P"}], tests_after=[{"at": "P", "loop": {"L-E": "0.5 ohm"}}],
    )  # fmt: skip
    found = next(v for v in prove(given).verdicts if v.wanted.test == "loop")
    assert found.outcome == "no limit"
    assert NONE_HELD in found.why
    assert limits.drop_limit(rules_for("eu"), False, 230) is None
    assert limits.insulation_limit(rules_for("uk", "2008"), 230, False) is None
    old = circuit_job(
        "B16", edition="2008", mend=[{"did": "x", "at": "P"}],
        tests_after=[{"circuit": "c", "insulation": {"L+N-E": ">299 MΩ at 500 V"}}],
    )  # fmt: skip
    assert verdict(prove(old), "insulation L+N-E at c").outcome == "no limit"


def test_every_edition_and_every_source_stands_on_the_page() -> None:
    """The manual lists every edition with its limits, and says which are from memory."""
    page = limits_page()
    for rules in RULES.values():
        assert f"## {rules.title}" in page
    assert "from memory" in page
    assert NONE_HELD in page


def test_a_switch_or_an_unknown_fuse_has_no_loop_limit() -> None:
    """A device outside the tables gives none, not the nearest row."""
    for device in ("63 A fuse BS 9999", "none", "B33"):
        given = circuit_job(device)
        limit = limits.loop_limit(rules_for("uk"), given.installation,
                                  given.installation.circuits[0])  # fmt: skip
        assert (limit is None) == (device != "B33")
