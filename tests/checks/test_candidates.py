"""Which checks there are, where they are offered, and how they are told."""

from __future__ import annotations

from dataclasses import replace

import pytest

from halfsplit.checks.candidates import candidates
from halfsplit.checks.check import Check
from halfsplit.checks.costs import KINDS
from halfsplit.checks.known import Tried
from halfsplit.checks.rows import believed_rows
from halfsplit.checks.safety import refusal
from halfsplit.checks.site import Site, look_round
from halfsplit.checks.steps import steps
from halfsplit.checks.words import conditions, what, where
from halfsplit.diagnosis.result import Danger
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.conditions import Conditions
from tests.checks.simulating import diagnosed, fault_named, prepared, taken, volts

TOOLS = ("multimeter", "low impedance", "two-pole", "plug tester", "continuity", "insulation 250",
         "insulation 500", "loop low", "clamp", "leakage clamp", "ramp", "millivolts",
         "tone tracer", "thermal camera")  # fmt: skip
LOOSE = "loose joint: joint P3 N P2–P3"


def site(name: str, readings: list[Reading], tools: tuple[str, ...] = TOOLS) -> Site:
    """The site after these readings."""
    ready = prepared(name)
    _, _, diagnosis = diagnosed(name, readings)
    return look_round(ready.installation, ready.plan, readings, diagnosis, tools)


def kinds(where_: Site) -> dict[str, list[Check]]:
    """Candidates by kind."""
    found: dict[str, list[Check]] = {}
    for check in candidates(where_):
        found.setdefault(check.kind, []).append(check)
    return found


def leaking(name: str, place: str) -> list[Reading]:
    """A poor insulation reading between line and earth at a board's way."""
    circuit = prepared(name).installation.circuits[0]
    return [Reading("i", "megohms", f"{circuit.board}.L:way {circuit.name}", f"{circuit.board}.E",
                    value=40e3, instrument="insulation 500", place=place,
                    conditions=Conditions(dead=True, unplugged=("all",)))]  # fmt: skip


SITES = [
    ("row", [volts("P4", "L", "N")], LOOSE, 6),
    ("ring", [volts("U3", "L", "N")], "open joint: joint U2 N U1–U2", 0),
    ("barn", [volts("Pen 2", "L", "N")], "open joint: joint Pen 1 N Pen 1–Pen 2", 0),
    ("american", [], "", 0),
    ("lights", [], "", 0),
]  # fmt: skip


def at(index: int) -> Site:
    name, first, id, severity = SITES[index]
    readings = [taken(name, fault_named(name, id), severity, r) for r in first] if id else []
    return site(name, readings)


@pytest.mark.parametrize("index", range(len(SITES)))
def test_no_check_says_an_id_or_a_letter(index: int) -> None:
    """What is said of a check has no slash of a load's id, no node, and ends in full sentences."""
    there = at(index)
    for check in candidates(there):
        assert check.kind in KINDS
        said = [what(check, there), where(check, there), conditions(check, there)]
        assert "/" not in " ".join(said), said
        for step in steps(check, there):
            assert step.endswith((".", "?")), step
            assert ":front" not in step
            assert not any(f"{load.id} " in step for load in there.plan.loads), step


@pytest.mark.parametrize("index", range(len(SITES)))
def test_every_check_asks_only_for_what_is_at_hand(index: int) -> None:
    """A check's instrument is one of its kind's tools, and among those said to be there."""
    there = at(index)
    for check in candidates(there):
        if check.instrument:
            assert check.instrument in KINDS[check.kind].tools
            assert check.instrument in TOOLS


def test_a_tired_joint_is_loaded_to_show_itself() -> None:
    """Volts at plugs with a heater at the end, and millivolts across joints, live and warned of."""
    found = kinds(at(0))
    assert {c.conditions.added[0][1] for c in found["volts under load"]} == {"heater"}
    assert all(c.access == "cover" for c in found["drop"])
    assert "drop" not in kinds(site("row", [], TOOLS[:10]))


def test_a_ring_is_split_and_taken_one_leg_at_a_time() -> None:
    """Its ends are measured end to end, from each end to a place, and clamped leg by leg."""
    found = kinds(at(1))
    assert {c.what for c in found["ring"]} == {"L", "N", "E"}
    assert len({c.reading.a for c in found["leg"] if c.reading and c.what == "N"}) == 2
    assert len(found["leg clamp"]) == 4
    assert "leg" not in kinds(at(0))


def test_a_leak_is_measured_with_everything_in_at_250_volts() -> None:
    """Line and neutral joined, to earth, at 250 V only."""
    there = site("barn", leaking("barn", "Board"))
    found = kinds(there)
    joined = found["joined insulation"][0]
    assert refusal(joined, there) is None
    assert not joined.conditions.unplugged
    assert joined.reading is not None
    high = replace(joined, reading=replace(joined.reading, instrument="insulation 500"))
    refused = refusal(high, there)
    assert refused is not None
    assert refused.rule == 9


def tripped(name: str = "row", device: str = "outlets breaker") -> Site:
    """A site whose device parted at once."""
    return site(name, [Reading("t", "trips", of=device, seen="at once")])


def test_a_short_is_halved_by_a_core_parted_on_the_way() -> None:
    """After a trip: ohms from the line to neutral and earth joined at the board, and beyond a place
    about half of belief away; by low voltage only, for electronics may still be in."""
    there = tripped()
    found = kinds(there)
    assert any(c.what == "L-N+E" for c in found["between"])
    split = found["split"][0]
    assert split.where in ("P2", "P3")
    assert split.reading is not None
    assert split.reading.kind == "ohms"
    said = " ".join(steps(split, there))
    assert said.index("Take off the cover") < said.index("Lift the line") < said.index("Link ")
    assert f"at {split.where}" in conditions(split, there)


def test_a_leak_is_halved_with_line_and_neutral_joined() -> None:
    """Where something leaks: both lifted and joined, to earth, at 250 V, the neutral clamped."""
    there = site("row", leaking("row", "Board"))
    split = kinds(there)["split"][0]
    assert split.what == "L+N-E"
    assert split.instrument == "insulation 250"
    said = " ".join(steps(split, there))
    assert said.index("0 A") < said.index("Lift the line and neutral")
    assert "Discharge the conductors." in said
    assert refusal(split, there) is None


def test_a_ring_is_parted_at_the_board_too() -> None:
    """Round a ring one parted core parts nothing: its ends at the board are lifted with it."""
    there = tripped("ring", "sockets breaker")
    split = kinds(there)["split"][0]
    places = {joint.split(" ")[1] for joint in split.conditions.lifted}
    assert places == {split.where, "Board"}
    assert len(split.conditions.lifted) == 3


def test_what_a_core_parted_on_the_way_shows_halves_a_short() -> None:
    """With a short at P4 the part beyond P2 is shorted; with one at P1 it is not.

    Outside figure: 5 m of 2.5 and 1.5 mm2 are 0.037 and 0.061 ohm at 20 degrees (IEC 60228, from
    memory), so two lengths there and back are about 0.15 to 0.2 ohm.
    """
    check = next(c for c in kinds(tripped())["split"] if c.where == "P2")
    assert check.reading is not None
    far = taken("row", fault_named("row", "short at point: P4 L-N"), 0, check.reading)
    near = taken("row", fault_named("row", "short at point: P1 L-N"), 0, check.reading)
    assert far.value is not None
    assert 0.1 < far.value < 0.4
    assert near.bound == ">"


def test_nobody_is_asked_what_works_behind_a_tripped_device() -> None:
    """Nothing works there: asking settles nothing."""
    assert any(c.kind == "question" for c in candidates(at(0)))
    assert not any(c.kind == "question" for c in candidates(tripped()))


def test_a_look_at_the_devices_tells_of_one_that_has_tripped() -> None:
    """A short that trips its breaker is seen as tripped, which is neither found nor nothing; once
    it is known the look is at the others."""
    readings = [Reading("w", "works", of="P4/kettle", seen="dead")]
    bench, weighed, diagnosis = diagnosed("row", readings)
    ready = prepared("row")
    there = look_round(ready.installation, ready.plan, readings, diagnosis, TOOLS)
    look = next(c for c in candidates(there) if c.kind == "devices")
    rows = believed_rows(bench.hypotheses, weighed)
    shown = Tried(ready, rows).shown([look])[0]
    assert shown is not None
    assert shown.words == ("found", "a device has tripped", "not found")
    assert shown.chance is not None
    short = rows.names.index("short at point: P4 L-N")
    off = rows.names.index("device off: outlets breaker")
    assert shown.chance[short, 1] > 0.9
    assert shown.chance[off, 0] > 0.9
    other = next(c for c in candidates(tripped()) if c.kind == "devices")
    assert other.what == "every other device and switch"


def test_a_tool_brings_what_is_in_the_same_case() -> None:
    """A multimeter measures ohms; a 500 V insulation tester has 250 V too (common practice)."""
    assert site("row", [], ("multimeter",)).tool("continuity", "meter ohms") == "meter ohms"
    assert site("row", [], ("insulation 500",)).tool("insulation 250") == "insulation 250"
    assert site("row", [], ("two-pole",)).tool("meter ohms") == ""


def test_a_ramp_waits_until_the_earth_is_proved() -> None:
    """A residual device is ramped into a proved earth only: its current goes there."""
    there = site("guarded", leaking("guarded", "Board"))
    ramp = kinds(there)["ramp"][0]
    refused = refusal(ramp, there)
    assert refused is not None
    assert refused.rule == 5
    assert refusal(ramp, replace(there, earthed=frozenset({ramp.where}))) is None
    assert "ramp guard" in " ".join(steps(ramp, there))


def test_a_parted_neutral_is_clamped_before_it_is_lifted() -> None:
    """The neutral is lifted only after what shares it is isolated and it carries nothing."""
    there = site("row", leaking("row", "Board"))
    parted = kinds(there)["parted"][0]
    said = " ".join(steps(parted, there))
    assert said.index("0 A") < said.index("Lift the neutral")
    assert "put back each core" in said


def test_a_question_is_asked_where_the_answers_would_differ() -> None:
    """After works: the crossed and the joints above the rest; beyond: only if it may matter."""
    found = kinds(at(0))
    works = next(c for c in found["ask"] if c.what == "after works")
    chance = dict(works.answers)
    assert len({round(p, 6) for p in chance.values()}) > 1
    assert all(0 < p < 1 for p in chance.values())
    assert not works.looks


def test_what_is_hidden_is_said_so() -> None:
    """A joint below the floor is got at by lifting the floor, and that is said and paid for."""
    there = at(0)
    point = replace(there.points["P3"], access="floor")
    hidden = replace(there, points={**there.points, "P3": point})
    look = next(c for c in candidates(hidden) if c.id == "open P3")
    assert "lift the floor" in what(look, hidden)
    assert "Lift the floor by P3" in " ".join(steps(look, hidden))


def test_tone_and_heat_are_used_where_at_hand() -> None:
    """A tone finds a break; a picture of heat is taken where the diagnosis finds warmth."""
    there = at(1)
    assert any("tone" in what(c, there) for c in kinds(there)["tone"])
    assert "tone" not in kinds(replace(there, tools=TOOLS[:12]))
    loose = at(0)
    warm = Danger("P3", "N", 0.0, 0.0, 0.1, "warm", "heat")
    hot = replace(loose, diagnosis=replace(loose.diagnosis, dangers=(warm,)))
    assert [c.where for c in kinds(hot)["thermal"]] == ["P3"]


def test_mending_unseen_is_offered_for_what_a_look_may_miss() -> None:
    """A place's joints remade find each of its faults for certain; a look finds most of them."""
    found = kinds(at(0))
    look = dict(next(c for c in found["open"] if c.where == "P3").finds)
    made = dict(next(c for c in found["remake"] if c.where == "P3").finds)
    assert set(made.values()) == {1.0}
    assert all(look[id] < 1.0 for id in made if id in look)
