"""The mend, the tests after it and how things were left: read, written back, and refused."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfsplit.errors import BadInput
from halfsplit.form import read_job
from halfsplit.form.lines import layout
from halfsplit.form.tested import port_of
from halfsplit.form.write import write_job

SITE: dict[str, Any] = {
    "circuits": {
        "hall": {
            "device": "B16 RCBO 30 mA",
            "run": ["8 m", "Bench", "4 m", "Shelf"],
            "plugged in": {"Bench": "kettle 3 kW"},
        },
        "ring": {"device": "B32", "ring": ["9 m", "Kitchen", "5 m", "Dining", "8 m"]},
    },
    "other paths": {"gas pipe": "Board E to earth"},
}


def after(**more: Any) -> Any:
    """What the form says followed, from its keys (underscores stand for blanks)."""
    data = SITE | {key.replace("_", " "): value for key, value in more.items()}
    return read_job(layout(data), "job").after


def test_a_mend_names_the_part_it_disturbed() -> None:
    """Joint, point, cable, device, load, bond and supply are each read as what they are."""
    found = after(
        mend=[
            {"did": "remade", "at": "Bench", "joint": ["N", "L"]},
            {"did": "changed the outlet", "at": "Shelf"},
            {"did": "new cable", "from": "Bench", "to": "Shelf"},
            {"did": "new breaker", "device": "HALL"},
            {"did": "new cord", "load": "kettle"},
            {"did": "new clamp", "bond": "gas pipe"},
            {"did": "they mended it", "supply": "operator"},
            {"did": "switched it on", "nothing": "yes"},
        ]
    ).mends
    assert [(m.kind, m.place, m.conductors, m.part) for m in found] == [
        ("joint", "Bench", ("N", "L"), ""),
        ("accessory", "Shelf", (), ""),
        ("cable", "", (), "Bench–Shelf"),
        ("device", "", (), "hall"),
        ("load", "", (), "Bench/kettle"),
        ("bond", "", (), "gas pipe"),
        ("supply", "", (), ""),
        ("nothing", "", (), ""),
    ]
    assert [m.id for m in found] == [f"m{k}" for k in range(1, 9)]


def test_a_test_says_between_what_and_how_it_was_taken() -> None:
    """Each number of an entry is one result, with its circuit, test voltage and bound."""
    found = after(
        tests_after=[
            {"at": "Shelf", "R1+R2": "340 mΩ", "continuity": {"earth": "0.2"}, "nulled": "yes"},
            {"circuit": "hall", "insulation": {"PE-N+L": "over 299 MΩ at 500 V"}},
            {"device": "hall", "trip time": {"5x": "18 ms", "0.5 x": "holds"}, "button": "trips"},
            {"circuit": "ring", "ring ends": {"r1": 0.44, "r2": "over range"}},
        ]
    ).tests
    assert [(t.id, t.test, t.place, t.circuit, t.part, t.port) for t in found] == [
        ("t1", "continuity", "Shelf", "hall", "", "L+E"),
        ("t2", "continuity", "Shelf", "hall", "", "E"),
        ("t3", "insulation", "", "hall", "", "L+N-E"),
        ("t4", "trip time", "", "hall", "hall", "5x"),
        ("t5", "trip time", "", "hall", "hall", "0.5x"),
        ("t6", "button", "", "hall", "hall", ""),
        ("t7", "ring ends", "", "ring", "", "L"),
        ("t8", "ring ends", "", "ring", "", "E"),
    ]
    assert found[0].value == 0.34
    assert found[0].nulled
    assert (found[2].value, found[2].bound, found[2].volts) == (299e6, ">", 500.0)
    assert (found[4].seen, found[5].seen) == ("holds", "trips")
    assert (found[7].value, found[7].bound) == (None, ">")


@pytest.mark.parametrize(
    ("written", "port"),
    [("L-E", "L-E"), ("E-L", "L-E"), ("hot-ground", "L-E"), ("N+L-PE", "L+N-E"), ("L1-L2", "L1-L2"),
     ("neutral", "N"), ("shoe-E", ""), ("", "")],
)  # fmt: skip
def test_conductors_have_one_spelling(written: str, port: str) -> None:
    """However a pair is written, and in whichever order, it is the same pair."""
    assert port_of(written) == port


WRONG = [
    ({"mend": [{"did": "remade"}]}, "no part", "the part disturbed"),
    ({"mend": [{"at": "Bench"}]}, "no did", "the key did"),
    ({"mend": [{"did": "x", "joint": "N"}]}, "no at", "at: the place of the joint"),
    ({"mend": [{"did": "x", "at": "Bench", "joint": "T9"}]}, "T9", "a conductor at Bench"),
    ({"mend": [{"did": "x", "device": "halls"}]}, "halls", "a device"),
    ({"mend": [{"did": "x", "cable": "Bench", "device": "hall"}]}, "cable and device", "one part"),
    ({"mend": [{"did": "x", "from": "Board", "to": "Shelf"}]}, "Board", "both ends of one run"),
    ({"mend": [{"did": "x", "bond": "water pipe"}]}, "water pipe", "gas pipe"),
    ({"tests after": [{"at": "Bench"}]}, "no result", "a result"),
    ({"tests after": [{"at": "Benhc", "works": "yes"}]}, "Benhc", "a point or board"),
    ({"tests after": [{"at": "Bench", "R1+R2": "fine"}]}, "fine", "0.34"),
    ({"tests after": [{"at": "Bench", "insulation": {"L-E": "200 mΩ"}}]}, "200 mΩ", "MΩ"),
    ({"tests after": [{"at": "Bench", "insulation": "200"}]}, "200", "insulation: {L-E"),
    ({"tests after": [{"at": "Bench", "loop": {"sofa": 0.4}}]}, "sofa", "conductors such as"),
    ({"tests after": [{"device": "hall", "trip time": {"fast": "20 ms"}}]}, "fast", "times"),
    ({"tests after": [{"device": "hall", "trip time": {"0x": "20 ms"}}]}, "0x", "times"),
    ({"tests after": [{"at": "Bench", "polarity": "maybe"}]}, "maybe", "right"),
    ({"tests after": [{"at": "Bench", "works": "yes", "temperature": "200"}]}, "200", "Celsius"),
    ({"tests after": [{"id": "t1", "works": "yes"}, {"id": "t1", "works": "no"}]}, "t1", "once"),
    ({"tests after": "fine"}, "fine", "a list of entries"),
    ({"seen": [{"what": "crack", "class": "C9"}]}, "C9", "c1"),
    ({"left safe": "off"}, "off", "a mapping"),
]


@pytest.mark.parametrize(("more", "read", "accepted"), WRONG)
def test_a_wrong_entry_is_refused_with_its_place(
    more: dict[str, Any], read: str, accepted: str
) -> None:
    """What cannot be meant is named: where it stands, what was read, what is accepted."""
    with pytest.raises(BadInput) as caught:
        read_job(layout(SITE | more), "job")
    problem = caught.value.problems[0]
    assert read in problem.read
    assert accepted in problem.accepted
    assert next(iter(more)) in problem.where


WORDS = st.text(
    st.characters(codec="utf-8", categories=("L", "N"), include_characters=" -'+&()!#.:;?"),
    min_size=1, max_size=20,
).map(lambda s: "w " + " ".join(s.split()))  # fmt: skip
OHMS = st.one_of(
    st.floats(1e-3, 1e9).map(lambda x: f"{x!r} ohm"),
    st.sampled_from(["over range", "0.34", "340 mΩ", "about 0.4", ">2 MΩ"]),
)
TESTS = st.one_of(
    st.builds(lambda v: {"R1+R2": v}, OHMS),
    st.builds(lambda p, v: {"continuity": {p: v}}, st.sampled_from("LNE"), OHMS),
    st.builds(
        lambda p, v, u: {"insulation": {p: f"{v!r} MΩ" + u}},
        st.sampled_from(["L-E", "N-E", "L-N", "L+N-E"]), st.floats(0.001, 900),
        st.sampled_from(["", " at 250 V", " at 500 V"]),
    ),
    st.builds(lambda v: {"loop": {"L-E": v}}, OHMS),
    st.builds(lambda v: {"volts": {"L-N": repr(v)}}, st.floats(0.01, 500)),
    st.builds(
        lambda p, v: {"trip time": {p: v}}, st.sampled_from(["1x", "5x", "0.5x"]),
        st.one_of(st.just("holds"), st.floats(1, 500).map(lambda x: f"{x!r} ms")),
    ),
    st.sampled_from(
        [{"polarity": "wrong"}, {"works": "no"}, {"symptom": "gone"}, {"pull": "loose"},
         {"button": "holds"}, {"electrode": "68 ohm"}, {"trip current": "22 mA"},
         {"fault current": "0.9 kA"}, {"switching": "yes"}, {"proved dead": "yes"}]
    ),
)  # fmt: skip
MORE = st.sampled_from(
    [{}, {"by": "continuity"}, {"nulled": "no"}, {"temperature": "12"}, {"again": "tightened"},
     {"equipment": "yes"}, {"id": "x9"}]
)  # fmt: skip
ENTRIES = st.builds(lambda a, b: {"at": "Bench"} | a | b, TESTS, MORE)
MENDS = st.builds(
    lambda did, part, who: {"did": did} | part | ({"who": who} if who else {}), WORDS,
    st.sampled_from(
        [{"at": "Bench", "joint": "N"}, {"at": "Shelf"}, {"cable": "Bench–Shelf"},
         {"device": "hall"}, {"load": "kettle"}, {"bond": "gas pipe"}, {"supply": "electrode"},
         {"nothing": "yes", "at": "Bench"}]
    ),
    st.one_of(st.just(""), WORDS),
)  # fmt: skip
LEFT = st.fixed_dictionaries(
    {"why": WORDS}, optional={"told": st.lists(WORDS, min_size=1, max_size=3), "locked": WORDS}
)
SEEN = st.builds(
    lambda what, code: {"what": what, "class": code},
    WORDS,
    st.sampled_from(["C1", "C2", "C3", "FI"]),
)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(MENDS, max_size=3),
    st.lists(ENTRIES, max_size=4),
    st.one_of(st.none(), LEFT),
    st.lists(SEEN, max_size=2),
)
def test_all_that_followed_survives_being_written_and_read(
    mends: list[Any], tests: list[Any], left: Any, seen: list[Any]
) -> None:
    """The program's own writing of mends, tests and leavings reads as exactly the same."""
    data = SITE | {"mend": mends, "tests after": tests, "seen": seen}
    if left is not None:
        data |= {"left safe": left}
    if [e.get("id") for e in tests].count("x9") > 1:
        return
    job = read_job(layout(data), "typed")
    written = write_job(job)
    assert read_job(written, "written").bare() == job.bare()
    assert write_job(read_job(written, "written")) == written
