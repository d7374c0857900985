"""Laws of the verdict: nothing that fails is passed, nothing is gained by leaving a test out."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfsplit.form.after import After, Tested
from halfsplit.proving import Expected, Limit, Wanted, prove
from halfsplit.proving.judge import judged
from halfsplit.proving.prove import plan_tests
from tests.proving.site import FULL, house, job

RANK = {"missing": 0, "fail": 0, "implausible": 0, "doubtful": 0, "near": 1, "no limit": 1,
        "pass": 2}  # fmt: skip
STANDINGS = ("not proved", "in doubt", "proved")

KINDS = st.sampled_from(
    ["continuity", "ring ends", "ring cross", "insulation", "loop", "trip time", "trip current",
     "volts", "electrode"]
)  # fmt: skip
INSTRUMENTS = st.sampled_from(
    ["", "continuity", "insulation 250", "insulation 500", "loop", "loop low", "ramp", "multimeter"]
)


@settings(max_examples=400)
@given(
    kind=KINDS,
    size=st.floats(1e-3, 1e9),
    beyond=st.floats(1.0001, 1e6),
    bound=st.sampled_from(["=", ">", "<", "~"]),
    instrument=INSTRUMENTS,
    nulled=st.sampled_from([None, True, False]),
    equipment=st.booleans(),
    celsius=st.one_of(st.none(), st.floats(-20, 60)),
    volts=st.sampled_from([None, 250.0, 500.0, 1000.0]),
    expected=st.one_of(st.none(), st.floats(1e-3, 1e9)),
    least=st.booleans(),
)
def test_no_combination_passes_what_lies_beyond_its_limit(
    kind: Any, size: float, beyond: float, bound: Any, instrument: str, nulled: bool | None,
    equipment: bool, celsius: float | None, volts: float | None, expected: float | None,
    least: bool,
) -> None:  # fmt: skip
    """Whatever else is said of it, a value beyond its limit is a fail."""
    limit = Limit("", "", least=size) if least else Limit("", "", most=size)
    value = size / beyond if least else size * beyond
    band = None if expected is None else Expected(expected, expected / 2, expected * 2)
    item = Wanted("w", kind, "L-E", "P", "c", "dead", "T", (), (), (), "continuity", band, limit)
    test = Tested("t", kind, "P", "c", "", "L-E", value, bound, volts=volts, instrument=instrument,
                  nulled=nulled, equipment=equipment, celsius=celsius)  # fmt: skip
    assert judged(item, [[test]]).outcome == "fail"
    good = replace(test, value=size * (2 if least else 0.5), bound="=")
    assert judged(item, [[good], [test]]).outcome == "fail"
    assert judged(item, [[test], [good]]).outcome == "fail"


@pytest.mark.parametrize("seen", ["no", "wrong", "loose", "holds", "still there"])
def test_what_was_seen_to_be_wrong_fails(seen: str) -> None:
    """A wrong polarity, a loose core, a button without effect: each is a fail."""
    kinds = {"no": "works", "wrong": "polarity", "loose": "pull", "holds": "button",
             "still there": "symptom"}  # fmt: skip
    kind: Any = kinds[seen]
    item = Wanted("w", kind, "", "P", "c", "dead", "T", (), (), (), "")
    assert judged(item, [[Tested("t", kind, seen=seen)]]).outcome == "fail"


@pytest.mark.parametrize(("bound", "least"), [(">", False), ("<", True)])
def test_a_bound_on_the_wrong_side_shows_nothing(bound: Any, least: bool) -> None:
    """ "over 0.2 Ω" for a greatest value, "under 5 MΩ" for a least one: neither is a pass."""
    limit = Limit("", "", least=1.0) if least else Limit("", "", most=10.0)
    item = Wanted("w", "loop", "", "P", "c", "live", "T", (), (), (), "loop", None, limit)
    found = judged(item, [[Tested("t", "loop", value=5.0, bound=bound)]])
    assert found.outcome == "doubtful"


def test_a_job_with_every_test_passed_is_proved() -> None:
    """Every test that a new cable calls for, each good: proved, and it may be energised."""
    proof = prove(house(FULL))
    assert [(v.wanted.id, v.outcome) for v in proof.verdicts if v.outcome != "pass"] == []
    assert proof.standing == "proved"
    assert proof.may_energise
    assert proof.rules == "uk-2022"


WORSE = st.sampled_from(
    [
        {"at": "Shelf", "R1+R2": "4.2"},
        {"at": "Shelf", "R1+R2": "0.39", "by": "meter ohms"},
        {"at": "Bench", "polarity": "wrong"},
        {"at": "Shelf", "loop": {"L-E": "2.9"}},
        {"at": "Shelf", "loop": {"L-E": "2.18"}},
        {"device": "hall", "trip time": {"1x": "340 ms"}},
        {"circuit": "hall", "insulation": {"L+N-E": "0.4 MΩ at 500 V"}},
        {"circuit": "hall", "insulation": {"L-N": ">299 MΩ at 250 V"}},
        {"at": "Shelf", "works": "no"},
        {"circuit": "hall", "proved dead": "yes", "by": "multimeter"},
        {"at": "Bench", "loop": {"L-E": "over range"}},
        {"device": "hall", "trip time": {"1x": "holds"}},
    ]
)


@settings(max_examples=40)
@given(instead=WORSE, data=st.data())
def test_taking_away_a_test_never_improves_the_verdict(instead: Any, data: st.DataObject) -> None:
    """Drop any one result of a job: neither the whole nor any test comes out better for it."""
    key = next(k for k in instead if k not in ("at", "circuit", "device", "by"))
    same = [e for e in FULL if all(instead.get(k, e.get(k)) == e.get(k)
                                   for k in ("at", "circuit", "device")) and key in e]  # fmt: skip
    kept = [{k: v for k, v in e.items() if not (any(e is s for s in same) and k == key)}
            for e in FULL]  # fmt: skip
    entries = [e for e in kept if set(e) - {"at", "circuit", "device", "by", "nulled"}] + [instead]
    whole = house(entries)
    before = prove(whole)
    tests = whole.after.tests
    drop = data.draw(st.integers(0, len(tests) - 1))
    after = replace(whole.after, tests=(*tests[:drop], *tests[drop + 1 :]))
    left = prove(replace(whole, after=after))
    assert STANDINGS.index(left.standing) <= STANDINGS.index(before.standing)
    outcomes = {v.wanted.id: v.outcome for v in before.verdicts}
    for found in left.verdicts:
        assert RANK[found.outcome] <= RANK[outcomes[found.wanted.id]]


@pytest.mark.parametrize(
    "bad",
    [{"at": "Shelf", "R1+R2": "4.2"}, {"at": "Bench", "polarity": "wrong"},
     {"at": "Shelf", "loop": {"L-E": "2.9"}}, {"device": "hall", "trip time": {"1x": "340 ms"}},
     {"circuit": "hall", "insulation": {"L+N-E": "0.4 MΩ at 500 V"}},
     {"at": "Shelf", "R1+R2": "0.04"}, {"at": "Shelf", "works": "no"}],
)  # fmt: skip
def test_taking_the_mend_away_clears_no_failure(bad: dict[str, Any]) -> None:
    """A bad result stays bad when the mend that called for its test is struck out: it is judged
    as if its place had been opened."""
    for mend in ({"did": "x", "at": "Bench", "nothing": "yes"}, {"did": "x", "supply": "link"}):
        proof = prove(house([bad], mend=[mend]))
        mine = [v for v in proof.verdicts if v.tests]
        assert [v.good for v in mine] == [False]
        assert proof.standing == "not proved"


@pytest.mark.parametrize("factor", [1e3, 1e-3])
@pytest.mark.parametrize("which", range(8))
def test_a_unit_slip_is_caught(which: int, factor: float) -> None:
    """Milliohms for ohms, kilohms for megohms, a second for a millisecond: none passes."""
    entries = [dict(entry) for entry in FULL]
    entries[3] = {
        "circuit": "hall", "insulation": {"L+N-E": "214 MΩ at 500 V", "L-N": "231 MΩ at 500 V"}
    }  # fmt: skip
    whole = house(entries)
    numbers = [test for test in whole.after.tests if test.value is not None]
    slipped = replace(numbers[which], value=(numbers[which].value or 0.0) * factor)
    tests = tuple(slipped if t is numbers[which] else t for t in whole.after.tests)
    clean, dirty = prove(whole), prove(replace(whole, after=replace(whole.after, tests=tests)))
    assert clean.standing == "proved"
    assert dirty.standing == "not proved"
    found = next(v for v in dirty.verdicts if slipped in v.tests)
    assert found.outcome in ("fail", "implausible")
    assert "unit" in found.why or "beyond what such a tester shows" in found.why \
        or "less than" in found.why  # fmt: skip


def test_an_open_item_forbids_energising_whatever_has_passed() -> None:
    """A link still in blocks, though every test passed, and the job is not proved."""
    proof = prove(house(FULL, **{"open items": ["L-E link at Board"]}))
    assert not proof.may_energise
    assert proof.blocks == ("still open: L-E link at Board",)
    assert proof.standing == "not proved"


@pytest.mark.parametrize("entry", range(6))
def test_energising_waits_for_every_dead_test(entry: int) -> None:
    """Without any one of the dead results the circuit stays off."""
    proof = prove(house(FULL[:entry] + FULL[entry + 1 :]))
    assert not proof.may_energise
    assert proof.blocks


def test_nothing_mended_is_nothing_proved() -> None:
    """Without a mend there is no standing to claim and nothing may be energised by it."""
    proof = prove(replace(house(FULL), after=After()))
    assert proof.standing == "nothing mended"
    assert not proof.may_energise


@settings(max_examples=200)
@given(
    low=st.floats(1e-3, 1e3), width=st.floats(1.05, 100.0), beyond=st.floats(1.0001, 1e3),
    above=st.booleans(), kind=KINDS,
)  # fmt: skip
def test_a_band_fails_at_both_its_ends(
    low: float, width: float, beyond: float, above: bool, kind: Any
) -> None:
    """A limit with a least and a greatest value (a supply voltage, a trip current) fails what lies
    beyond either, however wide it is; inside it does not fail."""
    high = low * width
    limit = Limit("", "", most=high, least=low)
    item = Wanted("w", kind, "L-N", "P", "", "live", "T", (), (), (), "", None, limit)
    outside = high * beyond if above else low / beyond
    assert judged(item, [[Tested("t", kind, "P", value=outside)]]).outcome == "fail"
    inside = (low * high) ** 0.5
    assert judged(item, [[Tested("t", kind, "P", value=inside)]]).outcome != "fail"


@settings(max_examples=60)
@given(
    cable=st.sampled_from(["1/1", "1.5/1", "2.5/1.5", "6/2.5", "16/6"]),
    metres=st.floats(0.5, 90.0),
    about=st.booleans(),
    device=st.sampled_from(["B6", "B32", "C16 RCBO 30 mA", "32 A fuse BS 88-3"]),
    supply=st.sampled_from(["TN-S 230 V", "TN-C-S 230 V", "TT 230 V"]),
    megohms=st.floats(1.02, 900.0),
    ms=st.floats(5.0, 290.0),
    factor=st.sampled_from([1e3, 1e-3]),
)
def test_a_unit_slip_is_caught_on_any_circuit(
    cable: str, metres: float, about: bool, device: str, supply: str, megohms: float, ms: float,
    factor: float,
) -> None:  # fmt: skip
    """A true reading of any circuit, long or a metre short, written a thousand times too large or
    too small: no test that gives a figure takes it for good."""
    length = f"{'about ' if about else ''}{metres:.1f} m"
    given_job = job(
        region="uk",
        supply=supply,
        mend=[{"did": "x", "cable": "Board–P"}],
        circuits={
            "c": {"device": device, "cable": f"{cable} twin and earth", "run": [length, "P"]}
        },
    )
    true = {"insulation": megohms * 1e6, "trip time": ms / 1e3}
    for found in prove(given_job).verdicts:
        item = found.wanted
        if item.test not in ("continuity", "loop", "insulation", "trip time"):
            continue
        value = true.get(item.test) or (item.expected.value if item.expected else 0.0)
        volts = 500.0 if item.test == "insulation" else None
        slip = Tested("t", item.test, "P", "c", "", item.port, value * factor, volts=volts)
        assert not judged(item, [[slip]]).good, (item.id, value)


def drawn_result(data: st.DataObject, id: str, test: Any) -> Any:
    """A result of a test drawn at random: sound, a little or far too much, too little, a bound."""
    values = {
        "continuity": [0.05, 0.2, 0.3, 0.41, 3.0], "ring ends": [0.02, 0.24, 0.25, 0.31, 0.9],
        "ring cross": [0.03, 0.16, 0.19, 0.6], "loop": [0.02, 0.4, 1.0, 1.2, 9.0],
        "insulation": [4e3, 0.4e6, 2e6, 250e6, 5e9], "trip time": [1e-3, 0.023, 0.29, 0.5],
    }  # fmt: skip
    words = {"dead": ["yes", "no"], "polarity": ["right", "wrong"], "pull": ["sound", "loose"],
             "button": ["trips", "holds"], "works": ["yes", "no"],
             "symptom": ["gone", "still there"]}  # fmt: skip
    if test in words:
        return {"seen": data.draw(st.sampled_from(words[test]), label=id)}
    return {"value": data.draw(st.sampled_from(values[test]), label=id),
            "bound": data.draw(st.sampled_from(["=", "=", "=", ">", "<"]))}  # fmt: skip


@settings(max_examples=60)
@given(data=st.data())
def test_leaving_any_results_out_never_proves_or_energises_a_job(data: st.DataObject) -> None:
    """Any result or none for every test of a ring with a spur; then any of them left out: the whole
    never stands better, and what had to stay off is not set free."""
    ring = {"device": "B32 RCBO 30 mA", "ring": ["7 m", "A", "9 m", "B", "8 m"],
            "spurs": {"A": ["3 m", "S"]}}  # fmt: skip
    bare = job(region="uk", circuits={"ring": ring}, mend=[{"did": "x", "at": "A"}])
    wanted = plan_tests(bare)
    results = []
    for item in wanted:
        if data.draw(st.integers(0, 9)):
            place = item.subject if item.subject in ("A", "B", "S") else ""
            part = "ring" if item.test in ("trip time", "button") else ""
            results.append(
                Tested(item.id, item.test, place, item.circuit, part, item.port,
                       volts=500.0 if item.test == "insulation" else None,
                       **drawn_result(data, item.id, item.test))
            )  # fmt: skip
    kept = [r for r in results if data.draw(st.booleans())]
    before, after = (
        prove(replace(bare, after=replace(bare.after, tests=tuple(tests))), wanted=wanted)
        for tests in (results, kept)
    )
    assert all(v.asked for v in before.verdicts)
    assert STANDINGS.index(after.standing) <= STANDINGS.index(before.standing)
    if kept != results and before.before_live:
        assert after.before_live
    assert before.standing != "proved" or all(v.outcome == "pass" for v in before.verdicts)
