"""Two like parts disturbed in one job: each has its own tests, and a result counts for its own."""

from __future__ import annotations

from typing import Any

import pytest

from halfsplit.proving import Proof, prove
from tests.proving.site import job, verdict

BOARD = {
    "Board": {
        "main": "switch 63 A",
        "groups": {
            "RCD A": {"device": "RCD 30 mA 40 A", "circuits": ["bench"]},
            "RCD B": {"device": "RCD 30 mA 40 A", "circuits": ["lamps"]},
        },
    }
}
CIRCUITS = {
    "bench": {"device": "B16", "run": ["10 m", "Bench", "6 m", "Glue table"],
              "plugged in": {"Bench": "kettle", "Glue table": "kettle"}},
    "lamps": {"device": "B6", "run": ["9 m", "Row"]},
}  # fmt: skip
PATHS = {
    "gas bond": "Board E to earth, about 0.3 ohm",
    "water bond": "Board E to earth, about 0.3 ohm",
}


def proved(mends: list[dict[str, Any]], tests: list[dict[str, Any]]) -> Proof:
    """The proof of a house with two of everything."""
    return prove(
        job(region="uk", boards=BOARD, circuits=CIRCUITS, other_paths=PATHS,
            mend=[{"did": "x"} | mend for mend in mends], tests_after=tests)
    )  # fmt: skip


@pytest.mark.parametrize(
    ("mends", "entry", "mine", "other"),
    [
        ([{"bond": "gas bond"}, {"bond": "water bond"}],
         {"bond": "water bond", "continuity": {"E": 0.04}},
         "continuity E at water bond", "continuity E at gas bond"),
        ([{"device": "RCD A"}, {"device": "RCD B"}], {"device": "RCD B", "pull": "sound"},
         "pull at RCD B", "pull at RCD A"),
        ([{"device": "RCD A"}, {"device": "RCD B"}], {"device": "RCD B", "polarity": "right"},
         "polarity at RCD B", "polarity at RCD A"),
        ([{"device": "RCD A"}, {"device": "RCD B"}], {"device": "RCD A", "trip time": {"1x": 0.02}},
         "trip time 1x at RCD A", "trip time 1x at RCD B"),
        ([{"load": "kettle", "at": "Bench"}, {"load": "kettle", "at": "Glue table"}],
         {"load": "kettle", "at": "Glue table", "continuity": {"E": 0.1}},
         "continuity E at Glue table/kettle", "continuity E at Bench/kettle"),
        ([{"device": "bench"}, {"device": "lamps"}], {"circuit": "lamps", "pull": "sound"},
         "pull at lamps", "pull at bench"),
        ([{"device": "bench"}, {"device": "lamps"}], {"device": "lamps", "pull": "sound"},
         "pull at lamps", "pull at bench"),
    ],
)  # fmt: skip
def test_a_result_counts_for_its_own_part_and_no_other(
    mends: list[dict[str, Any]], entry: dict[str, Any], mine: str, other: str
) -> None:
    """Two bonds, two shared devices, two appliances alike, two ways: named apart, judged apart."""
    proof = proved(mends, [entry])
    assert len(verdict(proof, mine).tests) == 1
    assert verdict(proof, other).outcome == "missing"
    assert all(v.asked for v in proof.verdicts)


def test_a_bond_without_its_name_counts_only_where_there_is_one() -> None:
    """Of two bonds a nameless result is nobody's; of one it is that one's."""
    result = [{"continuity": {"E": "0.04"}}]
    one = proved([{"bond": "gas bond"}], result)
    assert len(verdict(one, "continuity E at gas bond").tests) == 1
    two = proved([{"bond": "gas bond"}, {"bond": "water bond"}], result)
    for name in ("gas", "water"):
        assert verdict(two, f"continuity E at {name} bond").outcome == "missing"
    assert two.standing == "not proved"


def test_an_unknown_bond_is_refused_with_those_that_are_there() -> None:
    """A misspelt bond is no result of another one."""
    from halfsplit.errors import BadInput

    with pytest.raises(BadInput) as caught:
        proved([{"bond": "gas bond"}], [{"bond": "gas pond", "continuity": {"E": 0.04}}])
    assert caught.value.problems[0].read == "gas pond"
    assert "water bond" in caught.value.problems[0].accepted


THREE = {"fan": {"device": "C16", "legs": ["L1", "L2", "L3"], "cable": "5G2.5",
                 "feeds": "Fan", "length": "22 m"}}  # fmt: skip


def test_every_line_of_a_three_phase_point_is_tested_by_itself() -> None:
    """A terminal of line 3 remade: readings of line 1 do not stand for it."""
    tests = [{"at": "Fan", "continuity": {"L1+E": 0.34, "L1+N": 0.34, "L2+E": 0.34}}]
    proof = prove(
        job(
            region="eu",
            supply="TN-S three phase 400/230 V",
            circuits=THREE,
            mend=[{"did": "x", "at": "Fan", "joint": "L3"}],
            tests_after=tests,
        )
    )
    assert verdict(proof, "continuity L1+E at Fan").outcome == "pass"
    assert verdict(proof, "continuity L2+E at Fan").outcome == "pass"
    assert verdict(proof, "continuity L3+E at Fan").outcome == "missing"
    asked = {v.wanted.id for v in proof.verdicts}
    assert {f"loop {line}-E at Fan" for line in ("L1", "L2", "L3")} <= asked


def test_a_new_three_phase_cable_is_tested_between_every_two_lines() -> None:
    """Between live conductors means every pair of lines, and the lines to neutral."""
    proof = prove(
        job(
            region="eu",
            supply="TN-S three phase 400/230 V",
            circuits=THREE,
            mend=[{"did": "x", "cable": "Board–Fan"}],
        )
    )
    found = {v.wanted.port for v in proof.verdicts if v.wanted.test == "insulation"}
    assert found == {"L+N-E", "L1-L2", "L1-L3", "L2-L3", "L-N"}


def test_both_hots_of_a_240_v_circuit_are_tested_in_north_america() -> None:
    """Two hots and a ground, no neutral: each conductor by a long lead."""
    proof = prove(job(region="na", supply="split phase 120/240 V",
                      circuits={"water heater": {"device": "30 A breaker", "legs": ["L1", "L2"],
                                "neutral": "no", "feeds": "Heater", "length": "20 ft"}},
                      mend=[{"did": "x", "at": "Heater"}]))  # fmt: skip
    found = {v.wanted.port for v in proof.verdicts if v.wanted.test == "continuity"}
    assert found == {"E", "L1", "L2"}


def test_polarity_of_the_supply_is_a_live_test_and_blocks_nothing() -> None:
    """A main switch changed: what comes in can only be seen live, after the dead tests."""
    proof = proved([{"device": "main switch"}], [])
    supply = verdict(proof, "polarity at Board").wanted
    assert supply.stage == "live"
    assert not any(supply.title in block for block in proof.blocks)
    assert verdict(proof, "polarity at main switch").wanted.stage == "dead"


def test_a_point_of_a_ring_is_read_across_the_ring_and_not_twice() -> None:
    """Fed from both sides, nothing but its spurs lies beyond it; R1+R2 is asked for at those."""
    ring = {"device": "B32", "ring": ["9 m", "A", "5 m", "B", "9 m"], "spurs": {"A": ["3 m", "S"]}}
    proof = prove(job(region="uk", circuits={"ring": ring}, mend=[{"did": "x", "at": "A"}],
                      tests_after=[{"at": "A", "R1+R2": "7"}]))  # fmt: skip
    asked = [v.wanted.id for v in proof.verdicts if v.asked]
    assert [i for i in asked if i.startswith("continuity")] == [
        "continuity L+E at S", "continuity L+N at S",
    ]  # fmt: skip
    assert "works at A" in asked
    assert "works at B" not in asked
    further = [v for v in proof.verdicts if not v.asked]
    assert [v.outcome for v in further] == ["fail"]  # not needed, and judged all the same
