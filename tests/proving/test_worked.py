"""Published worked examples, from the wiring to the verdict.

The examples leave joints and contacts out, so their circuits are laid out with none. What is
compared is what each prints, to the digits it prints.
"""

from __future__ import annotations

from typing import Any

import pytest

from halfsplit.diagnosis.expect import expect
from halfsplit.form.job import Job
from halfsplit.instruments.reading import Reading
from halfsplit.proving import Expected, Proof, prove
from halfsplit.proving.sites import Sites
from halfsplit.tables import conductors, ring
from tests.proving.site import ideal, job, radial, verdict

LINK = 0.001  # the temporary link at the board, which every R1+R2 reading has in it


def expected(proof: Proof, id: str) -> Expected:
    """What the wiring gives for the test of that id."""
    found = verdict(proof, id).wanted.expected
    assert found is not None
    return found


def test_22_m_of_2_5_over_1_5_gives_0_429_ohm() -> None:
    """Electrician-training forum thread (exam revision notes): R1+R2 of 22 m is 0.429 Ω."""
    given = radial("2.5/1.5 twin and earth", "22 m", tests_after=[{"at": "P1", "R1+R2": "0.43"}])
    proof = prove(given, ideal(given))
    assert expected(proof, "continuity L+E at P1").value - LINK == pytest.approx(0.429, abs=5e-4)
    assert verdict(proof, "continuity L+E at P1").outcome == "pass"


@pytest.mark.parametrize(
    ("sizes", "ohms"),
    [("1.5/1", 1.51), ("2.5/1.5", 0.98), ("4/1.5", 0.84), ("6/2.5", 0.52), ("10/4", 0.32),
     ("16/6", 0.211)],
)  # fmt: skip
def test_fifty_metres_of_twin_and_earth(sizes: str, ohms: float) -> None:
    """Locke, Guide to the Wiring Regulations (Wiley 2008) Appendix Table 4.3: 50 m columns."""
    result = [{"at": "P1", "R1+R2": f"{ohms + 0.01} ohm"}]
    given = radial(f"{sizes} twin and earth", "50 m", tests_after=result)
    proof = prove(given, ideal(given))
    digits = 5e-4 if sizes == "16/6" else 6e-3
    assert expected(proof, "continuity L+E at P1").value - LINK == pytest.approx(ohms, abs=digits)
    assert verdict(proof, "continuity L+E at P1").outcome in ("pass", "near")


def test_a_4_over_1_5_radial_at_12_18_and_20_5_m() -> None:
    """Exam-question thread: R1+R2 0.20, 0.30, 0.34 Ω and Zs 0.94 Ω against 1.09 Ω (30 A BS 3036).

    The example holds 0.94 Ω against the table itself; measured cold, 0.8 of the table is asked
    (trade-body technical magazine, 2015), and by that rule the same reading fails.
    """
    given = job(
        region="uk", edition="2008",
        supply={"earthing": "TN-S", "line": "0.3 ohm", "earth": "0.3 ohm"},
        circuits={"c": {"device": "30 A fuse BS 3036", "cable": "4/1.5 twin and earth",
                        "run": ["12 m", "P1", "6 m", "P2", "2.5 m", "P3"]}},
        mend=[{"did": "opened", "at": p} for p in ("P1", "P2", "P3")],
        tests_after=[{"at": "P3", "loop": {"L-E": "0.94 ohm"}}],
    )  # fmt: skip
    proof = prove(given, ideal(given))
    for place, ohms in (("P1", 0.20), ("P2", 0.30), ("P3", 0.34)):
        assert expected(proof, f"continuity L+E at {place}").value == pytest.approx(ohms, abs=0.006)
    loop = verdict(proof, "loop L-E at P3")
    assert expected(proof, "loop L-E at P3").value == pytest.approx(0.94, abs=0.005)
    assert loop.wanted.limit is not None
    assert loop.wanted.limit.most == pytest.approx(0.8 * 1.09)
    assert loop.outcome == "fail"


@pytest.mark.parametrize(
    ("cable", "metres", "cold", "hot", "loop"),
    [("4/2.5 twin and earth", 23, 0.276, 0.3312, 0.9312),
     ("1.5/1 twin and earth", 10, 0.302, 0.36, 0.96)],
)  # fmt: skip
def test_hot_loops_follow_from_cold_conductors(
    cable: str, metres: float, cold: float, hot: float, loop: float
) -> None:
    """Exam-question thread and DIY/trade question thread: R1+R2 cold and hot, Zs with Ze 0.6 Ω.

    They round the heating to 1.20; the coefficient 0.00393 gives 1.1965, within 0.4 %.
    """
    measured = [{"at": "P1", "R1+R2": f"{cold} ohm", "loop": {"L-E": f"{0.6 + cold:.3f} ohm"}}]
    given = radial(cable, f"{metres} m", tests_after=measured)
    warm = job(
        region="uk", supply={"earthing": "TN-S", "line": "0.3 ohm", "earth": "0.3 ohm"},
        circuits={"c": {"device": "B32", "cable": cable,
                        "run": [{"length": f"{metres} m", "temperature": "70"}, "P1"]}},
        mend=[{"did": "opened", "at": "P1"}],
    )  # fmt: skip
    here, there = prove(given, ideal(given)), prove(warm, ideal(warm))
    found = expected(here, "continuity L+E at P1").value - LINK
    assert found == pytest.approx(cold, abs=1e-3)
    found = expected(there, "continuity L+E at P1").value - LINK
    assert found == pytest.approx(hot, rel=0.006)
    assert expected(there, "loop L-E at P1").value == pytest.approx(loop, rel=0.003)
    for id in ("continuity L+E at P1", "loop L-E at P1"):  # 1.1 Ω is allowed cold behind B32
        assert verdict(here, id).outcome == "pass"


@pytest.mark.parametrize(("reading", "outcome"), [(0.9, "pass"), (1.06, "near"), (1.12, "fail")])
def test_a_b32_loop_is_held_to_1_37_ohm_and_1_1_ohm_on_site(reading: float, outcome: str) -> None:
    """Trade journal article on loop testing: 1.37 Ω by the table, 1.1 Ω as measured on site."""
    given = radial("2.5/1.5 twin and earth", "17 m",
                   tests_after=[{"at": "P1", "loop": {"L-E": f"{reading} ohm"}}])  # fmt: skip
    found = verdict(prove(given, ideal(given)), "loop L-E at P1")
    assert found.wanted.limit is not None
    assert found.wanted.limit.most == pytest.approx(1.1, abs=0.01)
    assert "1.37 Ω" in found.wanted.limit.words
    assert found.outcome == outcome


@pytest.mark.parametrize(("reading", "outcome"), [(0.60, "pass"), (0.74, "fail")])
def test_a_32_a_bs_88_3_fuse_allows_0_72_ohm_measured(reading: float, outcome: str) -> None:
    """Trade-body technical magazine, spring 2015: 0.8 of the table, printed rounded down."""
    given = radial("4/2.5 twin and earth", "5 m", device="32 A fuse BS 88-3",
                   supply={"earthing": "TN-S", "line": "0.2 ohm", "earth": "0.2 ohm"},
                   tests_after=[{"at": "P1", "loop": {"L-E": f"{reading} ohm"}}])  # fmt: skip
    found = verdict(prove(given, ideal(given)), "loop L-E at P1")
    assert found.wanted.limit is not None
    assert found.wanted.limit.most is not None
    assert 0.72 <= found.wanted.limit.most < 0.73
    assert found.outcome == outcome


def test_a_185_m_lighting_circuit_clears_and_a_498_m_one_does_not() -> None:
    """Exam-revision forum thread: 1/1 mm², 5 A BS 3036, Ze 0.45 Ω; a book's 498 m was a slip.

    185 m follows from a rule of thumb of 0.75 of the table, stricter than 0.8.
    """
    for metres, outcome in ((185, "pass"), (498, "fail")):
        loop = 0.45 + metres * 0.0362
        given = radial(
            "1/1 twin and earth", f"{metres} m", device="5 A fuse BS 3036", edition="2008",
            supply={"earthing": "TN-S", "line": "0.2 ohm", "earth": "0.25 ohm"},
            tests_after=[{"at": "P1", "loop": {"L-E": f"{loop:.2f} ohm"}}],
        )  # fmt: skip
        found = verdict(prove(given, ideal(given)), "loop L-E at P1")
        assert found.wanted.expected is not None
        assert found.wanted.expected.value == pytest.approx(loop, rel=0.005)
        assert (found.outcome == "fail") == (outcome == "fail")


def test_five_circuits_in_parallel_read_1_11_megohm() -> None:
    """Exam coaching blog: 5, 20, 10, 20 and 2 MΩ together give 1.11 MΩ, which passes by little.

    Line and neutral joined see two insulations to earth, so each core has twice the circuit's.
    """
    megohms = {"c0": 5, "c1": 20, "c2": 10, "c3": 20, "c4": 2}
    given = job(
        region="uk",
        circuits={
            n: {
                "device": "B6",
                "points": {f"P{n}": {}},
                "runs": [
                    {
                        "from": "Board",
                        "to": f"P{n}",
                        "length": "1 m",
                        "cores": ["L 1", "N 1", "E 1"],
                        "insulation": f"{2 * r} MΩ",
                    }
                ],
            }
            for n, r in megohms.items()
        },
        mend=[{"did": "opened", "at": f"P{n}"} for n in megohms],
        tests_after=[{"circuit": "c0", "insulation": {"L+N-E": "1.11 MΩ at 500 V"}}],
    )
    proof = prove(given)
    for name, r in megohms.items():  # each by itself, its neutral out of the bar
        assert expected(proof, f"insulation L+N-E at {name}").value == pytest.approx(r * 1e6, 0.01)
    together = Sites.of(given.installation).isolated(
        on=tuple(megohms), links=(("Board.L", "Board.N"),)
    )
    reading = Reading("", "megohms", "Board.L", "Board.E", conditions=together,
                      instrument="insulation 500")  # fmt: skip
    found = expect(given.installation, [reading])[0].ohms
    assert found == pytest.approx(1.1111e6, rel=0.01)
    outcome = verdict(proof, "insulation L+N-E at c0")
    assert outcome.outcome == "near"
    assert outcome.doubts


def ring_job(length: float, cable: str, **more: Any) -> Job:
    """A ring of four equal lengths, opened at its middle point."""
    quarter = f"{length / 4} m"
    return job(
        region="uk",
        circuits={"ring": {"device": "B32", "cable": cable,
                           "ring": [quarter, "A", quarter, "Mid", quarter, "C", quarter]}},
        mend=[{"did": "remade", "at": "Mid", "joint": "E"}], **more,
    )  # fmt: skip


def test_a_ring_of_0_54_and_0_90_ohm_reads_0_36_ohm_at_its_middle() -> None:
    """Forum worked example: 0.36 Ω at mid-ring; across the cross-links themselves 0.3375 Ω."""
    given = ring_job(72.87, "2.5/1.5 twin and earth",
                     tests_after=[{"at": "Mid", "ring cross": {"L-E": "0.36"}}])  # fmt: skip
    plan = ideal(given, L=0.54, N=0.54, E=0.90)
    proof = prove(given, plan)
    assert expected(proof, "ring ends L at ring").value == pytest.approx(0.54, abs=0.002)
    assert expected(proof, "ring ends E at ring").value == pytest.approx(0.90, abs=0.002)
    middle = expected(proof, "ring cross L-E at Mid").value
    assert middle == pytest.approx(0.36, abs=0.002)
    assert middle / ring.mid_over_links(0.54, 0.90) == pytest.approx(0.3375, abs=0.002)
    assert verdict(proof, "ring cross L-E at Mid").outcome == "pass"


def test_a_sound_ring_of_60_m() -> None:
    """Computed (IEC 60228 values): r1 0.4446, r2 0.726, L-N 0.2223, L-E 0.2926 Ω at mid-ring."""
    given = ring_job(
        60, "2.5/1.5 twin and earth",
        tests_after=[{"circuit": "ring", "ring ends": {"r1": 0.44, "rn": 0.45, "r2": 0.73}},
                     {"at": "Mid", "ring cross": {"L-N": 0.22, "L-E": 0.29}}],
    )  # fmt: skip
    proof = prove(given, ideal(given))
    for id, ohms in (
        ("ring ends L at ring", 0.4446), ("ring ends E at ring", 0.726),
        ("ring cross L-N at Mid", 0.2223), ("ring cross L-E at Mid", 0.2926),
    ):  # fmt: skip
        assert expected(proof, id).value == pytest.approx(ohms, abs=0.0015)
        assert verdict(proof, id).outcome == "pass"


def test_mid_ring_reads_higher_in_4_over_1_5_and_that_is_no_spur() -> None:
    """Institution magazine, March 2022 (ratios computed): 1.25 times the links in 4/1.5 cable."""
    given = ring_job(80, "4/1.5 twin and earth")
    proof = prove(given, ideal(given))
    r1, r2 = (expected(proof, f"ring ends {k} at ring").value for k in "LE")
    links = r1 * r2 / (r1 + r2)
    middle = expected(proof, "ring cross L-E at Mid").value
    assert middle / links == pytest.approx(1.2514, abs=0.01)
    found = prove(ring_job(80, "4/1.5 twin and earth",
                           tests_after=[{"at": "Mid", "ring cross": {"L-E": middle}}]),
                  ideal(given))  # fmt: skip
    assert verdict(found, "ring cross L-E at Mid").outcome == "pass"


def test_1_6_ohm_end_to_end_means_216_m_of_ring() -> None:
    """Forum thread on doubtful ring results: 1.6 Ω in 2.5 mm² is about 216 m."""
    given = ring_job(216, "2.5/1.5 twin and earth")
    proof = prove(given, ideal(given))
    assert expected(proof, "ring ends L at ring").value == pytest.approx(1.6, abs=0.005)
    long = [{"circuit": "ring", "ring ends": {"r1": 1.6, "rn": 1.6}}]
    short = ring_job(60, "2.5/1.5 twin and earth", tests_after=long)
    assert verdict(prove(short), "ring ends L at ring").outcome == "fail"


def test_ring_conductors_that_differ_by_more_than_0_05_ohm_fail() -> None:
    """Ring-final testing note citing On-Site Guide table 11: r1 and rn alike within 0.05 Ω, though
    each by itself is what the ring could give."""
    for rn, outcome in ((0.465, "pass"), (0.475, "fail")):
        given = ring_job(
            60, "2.5/1.5 twin and earth",
            tests_after=[{"circuit": "ring", "ring ends": {"r1": 0.42, "rn": rn}}],
        )  # fmt: skip
        for key, alone in (("L", 0.42), ("N", rn)):
            found = verdict(prove(given), f"ring ends {key} at ring")
            assert (found.outcome == "fail") == (outcome == "fail")
            assert found.wanted.expected is not None
            assert found.wanted.expected.low < alone < found.wanted.expected.high


def test_18_m_of_2_5_mm2_at_16_a_drops_5_18_v() -> None:
    """Computed from the published 18 mV/A/m: 5.184 V; dead readings give it within 2.5 %."""
    given = radial("2.5/1.5 twin and earth", "18 m", device="B16",
                   tests_after=[{"at": "P1", "R1+Rn": f"{2 * 18 * 7.41e-3:.4f} ohm"}])  # fmt: skip
    found = prove(given, ideal(given)).derived[0]
    assert found.value == pytest.approx(5.184, rel=0.025)
    assert found.outcome == "pass"
    assert found.limit is not None
    assert found.limit.most == pytest.approx(11.5)


def test_0_6_ohm_at_20_a_drops_14_4_v_and_is_too_much() -> None:
    """Kitcher, inspection and testing text: 0.6 x 1.2 x 20 = 14.4 V, over the 11.5 V allowed."""
    given = radial("2.5/1.5 twin and earth", "40 m", device="B20",
                   tests_after=[{"at": "P1", "R1+Rn": "0.6 ohm"}])  # fmt: skip
    proof = prove(given, ideal(given))
    assert proof.derived[0].value == pytest.approx(14.4)
    assert proof.derived[0].outcome == "fail"
    assert any("14.4 V" in doubt for doubt in proof.doubts)


def test_20_a_over_100_ft_of_12_gauge_drops_7_9_v() -> None:
    """Exam-practice page: about 7.9 V, 6.6 % of 120 V, where 3 % is advised.

    Its constant is for stranded copper at 75 °C; dead readings are warmed to 70 °C, 1.5 % less.
    """
    at_20 = conductors.ohm_per_m_awg(12, strand="stranded") * 30.48
    given = radial(
        "12/2 NM", "100 ft", device="20 A breaker", region="na", supply="split phase 120/240 V",
        tests_after=[{"at": "P1", "continuity": {"hot": at_20, "neutral": at_20}}],
    )  # fmt: skip
    found = prove(given, ideal(given)).derived[0]
    assert found.value == pytest.approx(7.9, rel=0.02)
    assert found.outcome == "fail"
    assert "advice" in found.why


@pytest.mark.parametrize(
    ("ohms", "outcome", "doubtful"),
    [(120, "pass", False), (600, "pass", True), (1700, "fail", True)],
)
def test_an_electrode_behind_30_ma_may_have_1667_ohm_but_200_is_advised(
    ohms: float, outcome: str, doubtful: bool
) -> None:
    """Electricians' question page citing BS 7671 Table 41.5 note 2: above 200 Ω, unstable."""
    given = job(
        region="uk", supply="TT", board="RCD 30 mA 63 A",
        circuits={"c": {"device": "B16", "run": ["8 m", "P1"]}},
        mend=[{"did": "new rod", "supply": "electrode"}],
        tests_after=[{"electrode": f"{ohms} ohm"}],
    )  # fmt: skip
    found = verdict(prove(given), "electrode")
    assert found.outcome == outcome
    assert any("stable" in doubt for doubt in found.doubts) is doubtful


def test_200_ohm_allows_250_ma_and_no_more() -> None:
    """Forum quoting On-Site Guide: an electrode of 200 Ω implies at most 250 mA at 50 V."""
    for rating, outcome in ((0.25, True), (0.3, False)):
        given = job(
            region="uk", supply="TT", board=f"RCD {1000 * rating:g} mA 63 A",
            circuits={"c": {"device": "B16", "run": ["8 m", "P1"]}},
                mend=[{"did": "new rod", "supply": "electrode"}],
            tests_after=[{"electrode": "200 ohm"}],
        )  # fmt: skip
        assert verdict(prove(given), "electrode").good is outcome
