"""The order of points that nobody knows."""

from __future__ import annotations

import math

import pytest

from halfsplit.diagnosis.diagnose import diagnose, weigh
from halfsplit.diagnosis.homes import homes
from halfsplit.diagnosis.orders import posterior, reordered, unordered, ways
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.diagnosis.result import Diagnosis
from halfsplit.faults.catalogue import enumerate_faults
from halfsplit.form import Job, read_job
from halfsplit.wiring.layout import lay_out

CHAIN = """
supply: TN-S 230 V
circuits:
  kilns:
    run: [Bench, Shelf, Loft, Desk]
    order: {order}
readings:
"""


def _job(readings: str, order: str = "unknown") -> Job:
    return read_job(CHAIN.replace("{order}", order) + readings)


def _found(job: Job) -> Diagnosis:
    return diagnose(job.installation, job.readings)


DEAD = "  - {dead: [Bench, Loft]}\n  - {works: [Shelf, Desk]}"
SOME = "  - {dead: [Bench]}\n  - {works: [Shelf, Loft, Desk]}"


def test_orders_share_all_belief_by_the_permutations_they_stand_for() -> None:
    """Two dead of four come last in one of six orders: that share and no more goes to those."""
    job = _job(DEAD)
    found = ways(*weigh(Prepared(job.installation), job.readings))
    assert sum(way.share for way in found) == pytest.approx(1.0)
    assert found[0].installation == job.installation
    last = [
        way.share
        for way in found
        if {p.name for p in way.installation.circuits[0].points[2:]} == {"Bench", "Loft"}
    ]
    assert len(last) == 2
    assert sum(last) == pytest.approx(0.75 / math.comb(4, 2))
    assert len(found) <= 5


def test_a_break_before_those_that_are_dead_is_believed_in_any_order() -> None:
    """The first and third listed are dead: with the order unknown it is one break, known it is two
    things wrong or none of these."""
    unknown, known = _found(_job(DEAD)), _found(_job(DEAD, "known"))
    leader = unknown.suspects[0]
    assert leader.kind in ("open joint", "loose joint")
    assert {"Bench", "Loft", "Shelf", "Desk"} == set(leader.places)
    assert unknown.none < 0.5 * known.none


def test_no_order_is_claimed_for_the_place() -> None:
    """Each dead outlet may be the first and each that works the last before: alike in belief."""
    found = _found(_job(DEAD))
    by_place: dict[str, float] = {}
    for suspect in found.suspects[:2]:
        for cause in suspect.members:
            if cause.fault and cause.fault.family == "open joint":
                for place in cause.fault.places:
                    by_place[place] = by_place.get(place, 0.0) + cause.probability
    assert by_place["Bench"] == pytest.approx(by_place["Loft"], rel=0.2)
    assert by_place["Shelf"] == pytest.approx(by_place["Desk"], rel=0.2)


def test_where_all_are_dead_and_one_crackles_that_one_may_be_the_first() -> None:
    """Sparks at one of four dead outlets make it the first of them, wherever it is listed."""
    job = _job(
        "  - {dead: [Bench, Shelf, Loft, Desk]}\n  - {at: Loft, notice: crackle}\n"
        "  - {at: Board, circuit: kilns, L-N: 230}"
    )
    leader = _found(job).suspects[0]
    assert leader.members[0].fault is not None
    assert leader.members[0].fault.places == ("Loft",)


def test_answers_with_unknown_order_add_to_one_and_name_faults_that_there_are() -> None:
    """All belief is shared out, nothing twice, under the names of the installation as listed."""
    job = _job(SOME)
    found = _found(job)
    names = {f.id for f in enumerate_faults(job.installation, lay_out(job.installation))}
    assert sum(c.probability for c in found.causes) + found.none == pytest.approx(1.0, abs=1e-9)
    ids = [c.id for c in found.causes if c.fault and c.probability > 1e-3]
    assert set(ids) <= names
    grouped = [m.id for s in found.suspects for m in s.members]
    assert len(grouped) == len(set(grouped))
    assert found == _found(job)


def test_a_known_order_is_weighed_as_it_is() -> None:
    """Nothing is mixed where the order is known, nor where no place is affected."""
    known, well = _job(DEAD, "known"), _job("  - {works: [Bench, Loft]}")
    for job in (known, well):
        assert len(ways(*weigh(Prepared(job.installation), job.readings))) == 1


def test_the_first_point_stays_where_it_is_known() -> None:
    """ "Unknown after the first" leaves the first point where it is listed."""
    job = _job(SOME, "unknown after the first")
    circuit = job.installation.circuits[0]
    assert unordered(circuit) == ("Shelf", "Loft", "Desk")
    found = ways(*weigh(Prepared(job.installation), job.readings))
    assert {way.installation.circuits[0].points[0].name for way in found} == {"Bench"}


def test_readings_that_name_a_cable_know_the_order() -> None:
    """Where a reading was taken on the cable from one point to the next, that order stands."""
    job = _job(f"{SOME}\n  - {{at: Shelf, contacts: in, L-N: 230}}")
    assert len(ways(*weigh(Prepared(job.installation), job.readings))) == 1


def test_points_move_with_what_is_in_them() -> None:
    """Reordered, the chain is whole: same cables, lengths in place, each point fed once."""
    circuit = _job(SOME).installation.circuits[0]
    moved = reordered(circuit, unordered(circuit), ("Desk", "Loft", "Shelf", "Bench"))
    assert [r.name for r in moved.runs] == ["Board–Desk", "Desk–Loft", "Loft–Shelf", "Shelf–Bench"]
    assert [r.length for r in moved.runs] == [r.length for r in circuit.runs]
    assert {p.name: p for p in moved.points} == {p.name: p for p in circuit.points}
    lay_out(_job(SOME).installation.with_circuit(moved))


def test_an_unknown_leg_may_be_the_other() -> None:
    """A lost leg is believed for a dead circuit whose leg nobody knows, however it is drawn."""
    form = (
        "region: na\nsupply: split phase 120/240 V\ncircuits:\n"
        "  a: {legs: L1, run: [Bench]}\n  b: {legs: LEG, run: [Loft]}\n"
        "  c: {legs: L2, run: [Desk]}\nreadings:\n  - {dead: [Bench, Loft]}\n  - {works: [Desk]}\n"
    )

    def lost(leg: str) -> float:
        found = _found(read_job(form.replace("LEG", leg)))
        return sum(c.probability for c in found.causes if "supply line lost: service L1" in c.id)

    assert lost("L2") < 0.1 < 0.3 < lost("L1")
    assert lost("unknown") > 0.3


def test_belief_in_the_ways_is_their_share_times_their_evidence() -> None:
    """Bayes: shares of 0.6 and 0.4, the second four times likelier to read so."""
    found = posterior((0.6, 0.4), (-900.0, -900.0 + math.log(4)))
    assert found == pytest.approx((0.6 / 2.2, 1.6 / 2.2))


def test_an_unknown_rating_may_be_larger_or_smaller_where_something_trips() -> None:
    """A rating nobody read is weighed at three sizes once a device is said to trip, not before."""
    form = (
        "supply: TN-S 230 V\ncircuits:\n"
        "  a: {device: 'breaker, rating unknown', run: [Bench], plugged in: {Bench: 4 kW heater}}\n"
        "readings:\n"
    )
    for reading, count in (("  - {dead: [Bench]}", 1), ("  - {circuit: a, trips: after 4 min}", 3)):
        job = read_job(form + reading)
        found = ways(*weigh(Prepared(job.installation), job.readings))
        assert len(found) == count
        assert sum(way.share for way in found) == pytest.approx(1.0)


TWO = """
circuits:
  hall: {run: [5 m, Hall, 3 m, Landing]}
  porch: {run: [4 m, Porch, 6 m, Gate], points: {Gate: {FED}}}
readings:
  - {dead: [Hall, Landing, Gate], works: [Porch]}
"""


def test_a_point_that_may_be_fed_from_another_circuit_is_weighed_on_both() -> None:
    """Dead with the hall and not with the porch: with its circuit unknown one thing is wrong, the
    hall's feed; with it known it takes two, or none of these."""
    unknown = _found(read_job(TWO.replace("FED", "fed by: unknown")))
    known = _found(read_job(TWO.replace("FED", "worn: no")))
    leader = unknown.suspects[0]
    assert leader.members[0].fault is not None
    assert leader.members[0].fault.circuit == "hall"
    assert known.none > 10 * unknown.none
    assert sum(c.probability for c in unknown.causes) + unknown.none == pytest.approx(1.0)


def test_a_moved_point_leaves_its_old_cables_joined_and_takes_what_is_in_it() -> None:
    """Taken out of the middle, the cables before and after it are one, as long as both."""
    form = (
        "circuits:\n  hall: {run: [5 m, Hall, 3 m, Landing, 2 m, Attic]}\n"
        "  porch: {run: [4 m, Porch]}\nreadings: [{dead: [Attic]}]\n"
    ).replace("2 m, Attic]", "2 m, Attic], points: {Landing: {fed by: porch, history: old}}")
    job = read_job(form)
    drawn, moved = homes(job.installation)
    assert drawn == job.installation
    hall, porch = moved.circuits
    assert [(r.name, r.length.value) for r in hall.runs] == [("Board–Hall", 5), ("Hall–Attic", 5)]
    assert [r.name for r in porch.runs] == ["Board–Porch", "Porch–Landing"]
    assert porch.points[-1] == job.installation.circuits[0].points[1]
    lay_out(moved)


@pytest.mark.parametrize(
    "other", ["{earth: no, run: [Porch]}", "{neutral: no, legs: [L1, L2], run: [Porch]}"]
)
def test_a_point_is_not_moved_to_where_its_conductors_are_not(other: str) -> None:
    """A circuit without a conductor that the point has cannot feed it."""
    form = (
        "region: na\nsupply: split phase 120/240 V\ncircuits:\n"
        f"  hall: {{run: [Hall], points: {{Hall: {{fed by: unknown}}}}}}\n  porch: {other}\n"
    )
    assert len(homes(read_job(form).installation)) == 1


def test_readings_that_name_its_cable_know_which_circuit_feeds_it() -> None:
    """Who measured on the cable from one point to the next has seen what feeds it."""
    text = TWO.replace("FED", "fed by: unknown") + "  - {at: Gate, contacts: in, L-N: 0}\n"
    job = read_job(text)
    assert len(ways(*weigh(Prepared(job.installation), job.readings))) == 1


def test_of_many_unknown_legs_all_that_is_dead_may_be_on_one() -> None:
    """Two dead and two that work on legs nobody knows: a lost line, by one wiring in eight,
    since either leg may be called the first."""
    form = (
        "region: na\nsupply: split phase 120/240 V\ncircuits:\n"
        + "".join(f"  {c}: {{legs: unknown, run: [{c.upper()}]}}\n" for c in "abcd")
        + "readings:\n  - {dead: [A, C]}\n  - {works: [B, D]}\n"
    )
    job = read_job(form)
    found = ways(*weigh(Prepared(job.installation), job.readings))
    legs = {"".join(dict(c.legs)["L"][1] for c in way.installation.circuits): way.share
            for way in found}  # fmt: skip
    rest = legs.keys() - {"1212"}
    assert len(rest) == 1
    assert [legs["1212"], legs[rest.pop()]] == pytest.approx([1 / 8, 7 / 8])
    lost = [c for c in _found(job).causes if c.fault and c.fault.family == "supply line lost"]
    assert sum(c.probability for c in lost) > 0.2


def test_what_is_too_bright_may_all_be_on_one_leg_and_what_is_dim_on_the_other() -> None:
    """Four circuits on legs nobody knows, two too bright and two dim: a lost neutral explains
    them, by one wiring in eight; with all on one leg it could not."""
    form = (
        "region: na\nsupply: split phase 120/240 V\ncircuits:\n"
        + "".join(f"  {c}: {{legs: unknown, lighting: [{c.upper()}]}}\n" for c in "abcd")
        + "readings:\n  - {bright: [A, D], dim: [B, C]}\n"
    )
    job = read_job(form)
    found = ways(*weigh(Prepared(job.installation), job.readings))
    assert sum(way.share for way in found) == pytest.approx(1.0)
    legs = ["".join(leg[1] for c in w.installation.circuits for _, leg in c.legs) for w in found]
    assert legs == ["1212", "1221"]
    leaders = [c.fault for c in _found(job).causes[:5]]
    assert {key for fault in leaders if fault for key in fault.conductors} <= {"N", "PEN"}


def test_a_board_crossed_on_a_leg_is_named_by_its_circuits_where_legs_are_unknown() -> None:
    """Two circuits reversed and one right, legs unknown: only in some ways of it are those two one
    leg, yet the cause is told as theirs, not as one circuit's crossed at the same board."""
    circuits = ", ".join(
        f"{name}: {{legs: unknown, run: [3 m, {place}]}}"
        for name, place in (("attic", "Attic"), ("cellar", "Cellar"), ("porch", "Porch"))
    )
    job = read_job(
        "region: na\nsupply: split phase 120/240 V 60 Hz\nboard: {history: renewed}\n"
        f"circuits: {{{circuits}}}\nreadings:\n"
        "  - {at: Attic, L-E: 0.5, N-E: 121}\n  - {at: Cellar, L-E: 0.5, N-E: 121}\n"
        "  - {at: Porch, L-E: 121, N-E: 0.5}\n"
    )
    leader = _found(job).causes[0]
    assert leader.fault is not None
    assert leader.fault.id == "crossed at run end: Board L-N of the circuits attic and cellar"
    assert leader.probability > 0.5


def test_an_unknown_order_hides_no_unknown_leg() -> None:
    """A circuit whose order and leg nobody knows is weighed in other orders, and on the other
    leg."""
    form = (
        "region: na\nsupply: split phase 120/240 V\ncircuits:\n"
        "  a: {legs: unknown, order: unknown, run: [Bench, Shelf]}\n  b: {legs: L2, run: [Desk]}\n"
        "readings:\n  - {dead: [Bench], works: [Shelf, Desk]}\n"
    )
    job = read_job(form)
    found = [
        w.installation.circuits[0] for w in ways(*weigh(Prepared(job.installation), job.readings))
    ]
    assert {dict(c.legs)["L"] for c in found} == {"L1", "L2"}
    assert {c.points[0].name for c in found} == {"Bench", "Shelf"}
