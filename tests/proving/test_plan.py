"""Which tests a mend calls for: from what was disturbed, in order, no more than the circuit has."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfsplit.errors import BadInput
from halfsplit.faults.catalogue import enumerate_faults
from halfsplit.form import read_job
from halfsplit.form.after import After, Mended
from halfsplit.form.guide import EXAMPLES
from halfsplit.proving import prove
from halfsplit.proving.drafts import order_of
from halfsplit.proving.prove import plan_tests
from halfsplit.tables.procedure import out_of_order
from halfsplit.wiring.layout import lay_out
from tests.proving.site import job

RUN = {"hall": {"device": "B16 RCBO 30 mA", "run": ["9 m", "Bench", "4 m", "Shelf", "3 m", "Rack"]}}


def ids(mend: dict[str, Any], **more: Any) -> list[str]:
    """The tests that a mend calls for, by id."""
    keys: dict[str, Any] = {"region": "uk", "circuits": RUN, "mend": [{"did": "x"} | mend]} | more
    return [wanted.id for wanted in plan_tests(job(**keys))]


def test_a_joint_remade_calls_for_the_place_and_all_beyond_it() -> None:
    """Continuity at the place and the far end, insulation, polarity, loop, device, function."""
    assert ids({"at": "Shelf", "joint": "N"}) == [
        "dead at hall",
        "continuity L+E at Shelf", "continuity L+N at Shelf",
        "continuity L+E at Rack", "continuity L+N at Rack",
        "insulation L+N-E at hall",
        "pull at Shelf", "polarity at Shelf",
        "loop L-E at Rack",
        "trip time 1x at hall", "button at hall",
        "works at Shelf", "works at Rack", "symptom",
    ]  # fmt: skip


def test_a_cable_adds_both_its_ends_and_insulation_between_live_conductors() -> None:
    """A new cable disturbs the joints at both ends, and line to neutral is tested as well."""
    found = ids({"from": "Bench", "to": "Shelf"})
    assert {"pull at Bench", "pull at Shelf", "insulation L-N at hall"} <= set(found)
    assert "continuity L+E at Bench" in found


def test_nothing_opened_calls_for_nothing_but_use() -> None:
    """A switch that stood off: see that it works and that the complaint is gone."""
    assert ids({"at": "Shelf", "nothing": "yes"}) == ["works at Shelf", "symptom"]


def test_an_appliance_calls_for_its_own_tests_and_none_of_the_circuit() -> None:
    """A cord changed: its protective conductor, its insulation, its use."""
    circuits = {"hall": RUN["hall"] | {"plugged in": {"Shelf": "kettle 3 kW"}}}
    assert ids({"load": "kettle"}, circuits=circuits) == [
        "continuity E at Shelf/kettle", "insulation L+N-E at Shelf/kettle",
        "works at Shelf/kettle", "symptom",
    ]  # fmt: skip


def test_no_protective_conductor_no_loop_no_residual_device_no_timing() -> None:
    """What a circuit does not have is not asked for."""
    circuits = {"hall": {"device": "B16", "earth": "no", "run": ["9 m", "Bench"]}}
    found = ids({"at": "Bench"}, circuits=circuits)
    assert not any("loop" in id or "trip" in id or "E" in id.split() for id in found)
    assert "continuity L+N at Bench" in found


def test_a_spur_of_a_ring_does_not_call_for_ring_tests_but_the_ring_does() -> None:
    """Opening a point in the ring calls for all three ends and both cross readings there."""
    ring = {"device": "B32", "ring": ["9 m", "A", "5 m", "B", "9 m"], "spurs": {"A": ["3 m", "S"]}}
    spur = ids({"at": "S"}, circuits={"ring": ring})
    assert not any(id.startswith("ring") for id in spur)
    found = ids({"at": "B"}, circuits={"ring": ring})
    assert [id for id in found if id.startswith("ring")] == [
        "ring ends L at ring", "ring ends N at ring", "ring ends E at ring",
        "ring cross L-N at B", "ring cross L-E at B",
    ]  # fmt: skip


def test_north_america_has_long_leads_and_no_loop_or_ring() -> None:
    """Ground, hot and neutral one by one; no R1+R2, no loop; a device by its button."""
    circuits = {"den": {"device": "GFCI 20 A", "run": ["20 ft", "Desk"]}}
    more = {"region": "na", "supply": "split phase 120/240 V", "circuits": circuits}
    found = plan_tests(job(mend=[{"did": "x", "at": "Desk"}], **more))
    names = [w.id for w in found]
    assert {"continuity E at Desk", "continuity L at Desk", "continuity N at Desk"} <= set(names)
    assert not any("loop" in n or "ring" in n or "L+" in n.split()[1:2] for n in names)
    titles = " ".join(w.title for w in found)
    assert "equipment ground" in titles or "ground" in titles
    assert "R1+R2" not in titles


def test_electronics_that_are_wired_in_call_for_250_v_with_live_conductors_joined() -> None:
    """Trade magazine technical page (reg. 643.3.3): 250 V, line and neutral joined, to earth."""
    circuits = {"hall": RUN["hall"] | {
        "points": {"Rack": {"kind": "fused unit", "loads": "electronics"}}}}  # fmt: skip
    found = plan_tests(
        job(region="uk", circuits=circuits, mend=[{"did": "x", "cable": "Bench–Shelf"}])
    )
    insulation = [w for w in found if w.test == "insulation"]
    assert [w.port for w in insulation] == ["L+N-E"]
    assert insulation[0].instrument == "insulation 250"
    assert any("250 V" in step for step in insulation[0].steps)


def test_two_mends_at_one_place_ask_once_and_say_both_reasons() -> None:
    """A test that two mends need stands once in the list, with both reasons."""
    keys: dict[str, Any] = {"region": "uk", "circuits": RUN}
    found = plan_tests(
        job(mend=[{"did": "one", "at": "Rack"}, {"did": "two", "at": "Rack"}], **keys)
    )
    names = [w.id for w in found]
    assert len(names) == len(set(names))
    assert all(len(w.why) == 2 for w in found if w.id == "continuity L+E at Rack")


def test_an_edition_that_is_not_held_is_refused_with_those_that_are() -> None:
    """An unknown edition names what is accepted."""
    with pytest.raises(BadInput) as caught:
        prove(job(region="uk", edition="1881", circuits=RUN, mend=[{"did": "x", "at": "Rack"}]))
    assert caught.value.problems[0].read == "1881"
    assert "2022" in caught.value.problems[0].accepted


EVERY = [
    (title, fault.id)
    for title, _, text in EXAMPLES
    for given_job in [read_job(text, title)]
    for fault in enumerate_faults(given_job.installation, lay_out(given_job.installation))
]
TEXTS = {title: text for title, _, text in EXAMPLES}


@settings(max_examples=60)
@given(which=st.sampled_from(EVERY))
def test_every_fault_of_every_example_can_be_proved_mended(which: tuple[str, str]) -> None:
    """Whatever was put right: tests in the standards' order, dead before live, each explained."""
    title, id = which
    given_job = read_job(TEXTS[title], title)
    mend = Mended("m1", "put right", "accessory", fault=id)
    plain = replace(given_job, after=After(mends=(mend,)))
    wanted = plan_tests(plain)
    places = [order_of(w.test) for w in wanted]
    assert places == sorted(places)
    assert out_of_order([name for w in wanted if (name := _named(w.test))]) == ()
    assert wanted[-1].id == "symptom"
    assert all(w.why and w.steps and w.title for w in wanted)
    assert len({w.id for w in wanted}) == len(wanted)
    dead = [w for w in wanted if w.stage == "dead" and w.test != "dead" and w.circuit]
    if any(not w.subject.count("/") for w in dead):
        assert any(w.test == "dead" for w in wanted)


def _named(test: str) -> str:
    return {
        "continuity": "protective conductor continuity", "insulation": "insulation",
        "ring ends": "ring continuity", "polarity": "polarity", "electrode": "electrode",
        "loop": "loop", "trip time": "residual device", "works": "functional",
    }.get(test, "")  # fmt: skip


def test_a_fixed_appliance_is_isolated_and_not_unplugged() -> None:
    """A shower has no plug: its circuit is proved dead first, and it is parted from it."""
    shower = {"shower": {"device": "B40 RCBO 30 mA", "feeds": "Shower", "length": "9 m"}}
    found = plan_tests(
        job(
            region="uk",
            circuits=shower,
            mend=[{"did": "new element", "load": "Shower", "at": "Shower"}],
        )
    )
    assert found[0].id == "dead at shower"
    steps = " ".join(step for wanted in found for step in wanted.steps)
    assert "nplug it" not in steps
    assert "part its live conductors: open items" in steps
    insulation = next(w for w in found if w.test == "insulation")
    assert insulation.instrument == "insulation 500"
    tv = {"hall": RUN["hall"] | {"plugged in": {"Shelf": "TV"}}}
    found = plan_tests(job(region="uk", circuits=tv, mend=[{"did": "x", "load": "TV"}]))
    assert next(w for w in found if w.test == "insulation").instrument == "insulation 250"


def test_a_neutral_is_parted_only_after_the_clamp_shows_nothing() -> None:
    """A shared or borrowed neutral bites with its own breaker off: every test that takes a neutral
    out says first what has to be off, clamped and proved dead."""
    ring = {"ring": {"device": "B32", "ring": ["9 m", "A", "5 m", "B", "9 m"]}}
    found = plan_tests(job(region="uk", circuits=ring, mend=[{"did": "x", "at": "A"}]))
    for wanted in found:
        steps = wanted.steps
        parting = [k for k, s in enumerate(steps) if "out of its bar" in s or "ring out of" in s]
        said = [k for k, s in enumerate(steps) if "0 A by a clamp" in s]
        assert bool(parting) == bool(said)
        assert all(a < b for a, b in zip(said, parting, strict=True))
    assert any("0 A by a clamp" in step for wanted in found for step in wanted.steps)
