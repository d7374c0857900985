"""The rules of safety, restated apart from the filters that keep them."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bench._policy_safety import run
from halfsplit.checks.candidates import candidates
from halfsplit.checks.check import Check
from halfsplit.checks.costs import KINDS, State
from halfsplit.checks.safety import RULES, cautions, refusal
from halfsplit.checks.site import Site, look_round
from halfsplit.checks.steps import steps
from halfsplit.checks.trial import reachable
from halfsplit.instruments.reading import Reading
from halfsplit.tables.shock import LET_GO_PLANNED
from halfsplit.wiring.conditions import AS_DESCRIBED, Conditions
from tests.checks.restated import Given, broken, hung, touched
from tests.checks.simulating import (
    considered,
    diagnosed,
    fault_named,
    prepared,
    taken,
    volts,
)

TOOLS = ("multimeter", "low impedance", "two-pole load", "test lamp", "plug tester", "loop",
         "loop low", "continuity", "insulation 250", "insulation 500", "leakage clamp")  # fmt: skip
OPEN_EARTH = "open joint: joint P3 E P2–P3"


def site(
    name: str,
    readings: list[Reading],
    state: State | None = None,
    sources: tuple[str, ...] = (),
) -> Site:
    ready = prepared(name)
    _, _, diagnosis = diagnosed(name, readings)
    return look_round(ready.installation, ready.plan, readings, diagnosis, TOOLS, state, sources)


def read(name: str, id: str, *templates: Reading) -> list[Reading]:
    return [taken(name, fault_named(name, id), 0, t) for t in templates]


def allowed(where: Site) -> list[Check]:
    return [c for c in candidates(where) if refusal(c, where) is None]


def is_live(check: Check) -> bool:
    return "live" in KINDS[check.kind].needs


EARTH_DOUBT = [volts("P4", "L", "N"), volts("P4", "L", "E")]
TINGLE = Reading("t", "touch", "P4/kettle:frame", "earth", seen="tingle")


def test_rule_1_a_shock_is_answered_before_any_other_check() -> None:
    """After a shock the first proposal is to isolate, and nothing live is offered at all."""
    readings = [*read("row", OPEN_EARTH, *EARTH_DOUBT), TINGLE]
    found = considered("row", readings)
    assert found.proposals[0].check.kind == "isolate"
    assert "keep people away" in found.proposals[0].what
    assert not any(is_live(p.check) for p in found.proposals)
    assert any(r.rule == 1 for r in found.refused)


def test_rule_1_is_answered_by_proving_dead() -> None:
    """Once it is isolated the call to isolate is gone."""
    readings = [*read("row", OPEN_EARTH, *EARTH_DOUBT), TINGLE]
    found = considered("row", readings, state=State(isolated=True))
    assert all(p.check.kind != "isolate" for p in found.proposals)
    proved = Reading("d", "proved dead", "P4.L:front", "P4.N:front", seen="dead",
                     conditions=Conditions(off=("main switch",)))  # fmt: skip
    assert not site("row", [*readings, proved]).alarm


def test_rule_1_what_bit_is_not_energised_again() -> None:
    """After a shock, isolated or not, nothing live is offered that the cause would make bite again,
    though it stood so before, and the appliance that bit is tried nowhere."""
    lost, ready = fault_named("row", "combined conductor lost: service PEN"), prepared("row")
    readings = [replace(TINGLE, seen="shock"), taken("row", lost, 0, volts("P4", "L", "N"))]
    assert max(touched(ready, lost.severities[0].effects, AS_DESCRIBED).values()) > 0.01
    found = considered("row", readings, limit=40, state=State(isolated=True))
    assert found.proposals
    for check in (p.check for p in found.proposals):
        assert check.kind != "elsewhere"
        if is_live(check):
            hung_on = (*lost.severities[0].effects, *hung(check, ready))
            amps = touched(ready, hung_on, check.conditions)
            assert max(amps.values()) < LET_GO_PLANNED.value, check.id
    assert any("through somebody" in r.reason for r in found.refused)


def test_rule_2_dead_means_proved_dead_on_every_pair() -> None:
    """Every dead check starts by proving the detector, every pair, and the detector again."""
    where = site("row", read("row", OPEN_EARTH, *EARTH_DOUBT))
    for check in allowed(where):
        if check.dead:
            said = " ".join(steps(check, where))
            assert "every pair" in said
            assert "line and neutral each to a proved earth" in said
            assert said.index("Prove the two-pole detector") < said.index(
                "Prove the detector again"
            )


def test_rule_3_no_continuity_or_insulation_test_on_a_live_circuit() -> None:
    """All continuity and insulation checks are dead ones, and a live one would be refused."""
    where = site("row", read("row", OPEN_EARTH, *EARTH_DOUBT))
    ohms = [c for c in candidates(where) if c.reading and c.reading.kind in ("ohms", "megohms")]
    assert ohms
    assert all(c.dead for c in ohms)
    alive = replace(ohms[0], conditions=AS_DESCRIBED)
    found = refusal(alive, where)
    assert found is not None
    assert found.rule == 3


def test_rule_4_dead_or_plug_before_live_work_in_an_opened_box() -> None:
    """Nothing that bares live parts is offered while another check settles anything."""
    dark = [Reading("x", "works", of="Store lamp/lamp", seen="dead")]
    for name, readings in (("row", read("row", OPEN_EARTH, *EARTH_DOUBT)), ("lights", dark)):
        offered = considered(name, readings).proposals
        assert offered
        assert not [p for p in offered if is_live(p.check) and p.check.access != "plug"]


@pytest.mark.parametrize("tool", ["low impedance", "two-pole load", "loop", "loop low"])
def test_rule_5_no_load_onto_an_earth_nobody_has_measured(tool: str) -> None:
    """What loads line to earth is refused until that earth has been measured dead."""
    before = site("row", read("row", OPEN_EARTH, *EARTH_DOUBT))
    reading = Reading("x", "volts", "P4.L:front", "P4.E:front", instrument=tool, place="P4")
    check = Check("x", "loaded volts", "L-E", "P4", tool, reading, access="plug")
    found = refusal(check, before)
    assert found is not None
    assert found.rule == 5
    assert "P4" in found.reason
    proved = Reading("e", "ohms", "Board.E", "P4.E:front", value=0.4, instrument="continuity",
                     conditions=Conditions(dead=True, unplugged=("all",)))  # fmt: skip
    assert refusal(check, replace(before, earthed=frozenset({"P4"}))) is None
    assert site("row", [proved]).earthed == {"P4"}


def test_rule_5_one_outlet_to_the_next_proves_no_earth() -> None:
    """Continuity between two places says nothing of the way to the board."""
    between = Reading("e", "ohms", "P3.E:front", "P4.E:front", value=0.2,
                      conditions=Conditions(dead=True))  # fmt: skip
    assert site("row", [between]).earthed == frozenset()


def test_rule_5_an_earth_that_measures_open_is_not_proved() -> None:
    """A reading over range, or of kilohms, proves nothing."""
    for value, bound in ((float("inf"), ">"), (3000.0, "=")):
        bad = Reading("e", "ohms", "Board.E", "P4.E:front", value=value, bound=bound,  # type: ignore[arg-type]
                      instrument="continuity", conditions=Conditions(dead=True))  # fmt: skip
        assert site("row", [bad]).earthed == frozenset()


def test_rule_5_a_load_on_a_doubtful_neutral_is_warned_of() -> None:
    """Whoever puts a lamp in is told that a broken neutral comes alive with it."""
    where = site("row", read("row", "open joint: joint P3 N P2–P3", volts("P4", "L", "N")))
    lamps = [c for c in candidates(where) if c.conditions.added]
    assert lamps
    assert all("neutral to line voltage" in " ".join(cautions(c, where)) for c in lamps)


def test_rule_6_parting_a_neutral_is_warned_of() -> None:
    """Every check that lifts a neutral says that it may bite, and what to do first."""
    where = site("ring", [Reading("x", "works", of="U2/kettle", seen="dead")])
    lifting = [c for c in candidates(where) if any(" N " in j for j in c.conditions.lifted)]
    assert lifting
    for check in lifting:
        assert "clamp 0 A" in " ".join(cautions(check, where))


def test_rule_7_a_lost_supply_neutral_keeps_people_off_metalwork() -> None:
    """With the supply's combined conductor in doubt it is said, and nothing is linked to earth."""
    readings = read("row", "combined conductor lost: service PEN", volts("P4", "L", "N"),
                    Reading("x", "volts", "P4.E:front", "earth", instrument="multimeter",
                            place="P4"))  # fmt: skip
    where = site("row", readings)
    for check in allowed(where):
        assert not check.conditions.links
        assert not (check.dead and check.reading and "E" in check.what.split("-"))
        assert "network operator" in " ".join(cautions(check, where))


def test_rule_7_with_the_neutral_in_doubt_no_hand_is_laid_on_a_conductor() -> None:
    """Nothing is opened or remade before the operator has answered; then it may be."""
    rod = Reading("x", "volts", "P4.E:front", "earth", instrument="multimeter", place="P4")
    readings = read("row", "combined conductor lost: service PEN", volts("P4", "L", "N"), rod)
    doubt = site("row", readings)
    assert doubt.lost_supply >= 0.05
    assert not [c.id for c in allowed(doubt) if c.kind in ("open", "remake", "renew")]
    answered = State(looked=frozenset({"call the network operator"}))
    found = considered("row", readings, limit=40, state=answered)
    assert any(p.check.kind == "open" for p in found.proposals)


def test_rule_7_the_earth_is_measured_to_an_independent_one() -> None:
    """Where the supply's neutral may be lost, the earth at a plug is measured to true earth."""
    where = site("row", read("row", "combined conductor lost: service PEN", volts("P4", "L", "N")))
    check = next(c for c in allowed(where) if c.kind == "earth volts")
    assert "spike in the soil" in " ".join(steps(check, where))


def test_rule_6_making_joints_anew_parts_a_neutral() -> None:
    """Whoever remakes a place's joints first clamps the neutral that comes out, and is warned."""
    where = site("row", read("row", "open joint: joint P3 N P2–P3", volts("P4", "L", "N")))
    made = [c for c in candidates(where) if c.kind in ("remake", "renew")]
    assert made
    for check in made:
        said = " ".join(steps(check, where))
        assert said.index("clamp it, 0 A") < max(said.find("Cut back"), said.find("Disconnect"))
        assert "it can bite" in " ".join(cautions(check, where))


def test_an_appliance_that_may_be_shorted_is_measured_before_it_is_tried() -> None:
    """After a trip no appliance of that circuit is plugged in elsewhere; each is measured dead."""
    trip = Reading("t", "trips", of="outlets breaker", seen="at once")
    kinds = {c.kind for c in allowed(site("row", [trip]))}
    assert "appliance" in kinds
    assert "elsewhere" not in kinds


def test_metalwork_on_every_circuit_is_looked_at() -> None:
    """What a check livens is looked for at every earthed point, not only where suspects are."""
    ready = prepared("barn")
    reach = {v.a.rpartition(".")[0] for v in reachable(ready.plan)}
    points = {p.name for c in ready.installation.circuits for p in c.points if "E" in p.conductors}
    assert points
    assert points <= reach


def test_rule_7_sealed_equipment_is_never_opened() -> None:
    """No check opens the origin or a sealed place."""
    for name in ("row", "house", "american", "barn", "workshop"):
        where = site(name, [])
        for check in allowed(where):
            assert check.where not in ("origin", "source")
            assert not (check.access == "cover" and where.behind(check.where) == "sealed")


@pytest.mark.parametrize("seen", ["at once", "trips"])
def test_rule_8_no_reclosing_after_a_trip_before_dead_tests(seen: str) -> None:
    """A circuit whose device parted at once is measured dead only, until its line is known to be
    apart from neutral and from earth; from one of them is not enough, nor half the circuit."""
    trip = Reading("t", "trips", of="outlets breaker", seen=seen)
    where = site("row", [trip])
    assert where.tripped == {"outlets"}
    assert not any(is_live(c) for c in allowed(where))
    assert any(c.kind == "insulation" for c in allowed(where))
    assert any(refusal(c, where).rule == 8 for c in candidates(where) if is_live(c))  # type: ignore[union-attr]
    line, dead = "Board.L:way outlets", Conditions(dead=True, unplugged=("all",))
    earth = Reading("i", "megohms", line, "Board.E", value=200e6, instrument="insulation 500",
                    conditions=dead)  # fmt: skip
    neutral = replace(earth, id="j", b="Board.N", instrument="insulation 250")
    assert site("row", [trip, earth]).tripped
    assert not site("row", [trip, earth, neutral]).tripped
    assert site("row", [trip, replace(earth, value=2e3), neutral]).tripped
    half = replace(dead, lifted=("joint P2 L P2–P3",))
    assert site("row", [trip, replace(earth, conditions=half), neutral]).tripped
    by_ohms = replace(neutral, kind="ohms", value=float("inf"), bound=">", instrument="continuity")
    assert not site("row", [trip, earth, by_ohms]).tripped


def test_rule_9_no_insulation_test_across_electronics() -> None:
    """Everything is out for an insulation test; fixed electronics forbid line to neutral."""
    where = site("row", [])
    tests = [c for c in candidates(where) if c.kind == "insulation"]
    assert all("all" in c.conditions.unplugged for c in tests)
    assert all(c.instrument == "insulation 250" for c in tests if c.what == "L-N")
    across = next(c for c in tests if c.what == "L-N")
    point = where.points["P1"]
    fixed = replace(point, loads=(replace(point.loads[0], kind="electronics", plugged=False),))
    there = replace(where, points={**where.points, "P1": fixed})
    found = refusal(across, there)
    assert found is not None
    assert found.rule == 9
    assert refusal(next(c for c in tests if c.what == "L-E"), there) is None


def test_rule_10_links_and_lifted_cores_are_open_items() -> None:
    """The line is lifted before a link is made, and both are said to block energising."""
    where = site("row", [])
    linked = [c for c in candidates(where) if c.conditions.links]
    assert linked
    for check in linked:
        said = " ".join(steps(check, where))
        assert said.index("Lift the line") < said.index("Link ")
        assert "nothing is energised until it is back" in " ".join(cautions(check, where))


def test_rule_11_other_sources_are_isolated_or_asked_about() -> None:
    """Isolation names each other source, or says that they must be asked about."""
    asked, told = site("row", []), site("row", [], sources=("solar", "battery"))
    check = next(c for c in candidates(asked) if c.dead)
    assert "Ask about other sources" in " ".join(cautions(check, asked))
    assert "solar, battery" in steps(check, told)[0]


def test_rule_12_energising_waits_for_the_dead_tests() -> None:
    """Going from dead to live says what must be back and passed first."""
    where = site("row", [], State(isolated=True))
    check = next(c for c in candidates(where) if c.kind == "volts")
    assert "only if the dead tests have passed" in steps(check, where)[0]


def test_every_rule_has_a_number_and_a_reason() -> None:
    """Rules are data that can be listed: a number of the page, and a sentence."""
    assert {r.number for r in RULES} <= set(range(1, 16))
    assert all(r.says.endswith(".") for r in RULES)


JOINTS = [
    f"{kind}: joint P{k} {key} P{k - 1}–P{k}"
    for kind in ("open joint", "loose joint")
    for k in (2, 3, 4)
    for key in ("N", "E", "L")
]
OTHERS = ["combined conductor lost: service PEN", "line to frame: P4/kettle",
          "crossed front: P3 L-E"]  # fmt: skip


@settings(max_examples=12)
@given(
    id=st.sampled_from(JOINTS + OTHERS),
    place=st.sampled_from(["P2", "P4", "P5"]),
    pair=st.sampled_from([("L", "N"), ("L", "E"), ("N", "E")]),
)
def test_no_offered_check_livens_metalwork(id: str, place: str, pair: tuple[str, str]) -> None:
    """In the true faulted state no offered check raises what metalwork passes to 5 mA or more.

    The state during the check is solved anew, with the instrument as one more element; the person
    is IEC 60479-1's, and 5 mA the current planned for letting go.
    """
    fault, ready = fault_named("row", id), prepared("row")
    severity = len(fault.severities) - 1
    readings = [taken("row", fault, severity, volts(place, *pair))]
    effects = fault.severities[severity].effects
    before = touched(ready, effects, AS_DESCRIBED)
    for offered in considered("row", readings, TOOLS, limit=5).proposals:
        check = offered.check
        if not is_live(check):
            continue
        during = touched(ready, (*effects, *hung(check, ready)), check.conditions)
        for terminal, amps in during.items():
            limit = max(LET_GO_PLANNED.value, 1.1 * before.get(terminal, 0.0))
            assert amps < limit, f"{check.id} puts {amps * 1e3:.1f} mA on {terminal}"


def test_random_states_get_no_unsafe_suggestion() -> None:
    """A few dozen random states: every suggestion keeps the rules, restated from what is offered.

    The body current is worked out in the true faulted state during each suggested check.
    """
    found = run(24, seed=7)
    assert found.offered > 60
    assert found.broken == ()


def test_the_restated_rules_can_fail() -> None:
    """A loop test onto an earth nobody measured, and one that livens a frame, are both caught."""
    fault, ready = fault_named("row", OPEN_EARTH), prepared("row")
    readings = read("row", OPEN_EARTH, *EARTH_DOUBT)
    given = Given(ready, fault.severities[0].effects, tuple(readings), None, (), 0.0)
    offered = considered("row", readings, TOOLS).proposals[0]
    reading = Reading("x", "volts", "P4.L:front", "P4.E:front", instrument="low impedance",
                      place="P4")  # fmt: skip
    bad = Check("x", "loaded volts", "L-E", "P4", "low impedance", reading, access="plug")
    wrong = broken([replace(offered, check=bad)], given)
    assert any(rule.startswith("5") for rule in wrong)
    lamp = replace(bad, instrument="test lamp", reading=replace(reading, instrument="test lamp"))
    assert any(rule.startswith("14") for rule in broken([replace(offered, check=lamp)], given))
    ohms = replace(bad, kind="lead", reading=replace(reading, kind="ohms"))
    assert any(rule.startswith("3") for rule in broken([replace(offered, check=ohms)], given))
