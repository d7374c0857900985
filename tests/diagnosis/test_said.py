"""What people say, and do not say: complaints, devices that hold, what comes and goes."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from halfsplit.behaviour.soft import LEANS
from halfsplit.diagnosis.diagnose import diagnose
from halfsplit.diagnosis.evidence import MISTAKEN, in_one_breath, soften
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.diagnosis.result import Diagnosis
from halfsplit.diagnosis.said import (
    FELT_AS,
    HIDES,
    MEASURED_ALONE,
    NAMED_ALONE,
    SAID_ANYWAY,
    UNTOLD,
    Said,
    comes_and_goes,
    hides,
    restless,
    unremarked,
    untold,
)
from halfsplit.form import Job, read_job
from halfsplit.instruments.reading import Reading

TWO = """
supply: TN-S 230 V
circuits:
  kilns: {run: [Bench, Loft]}
  office: {run: [Desk]}
readings:
"""


def _job(readings: str) -> Job:
    return read_job(TWO + readings)


def _share(found: Diagnosis, *words: str) -> float:
    return sum(c.probability for c in found.causes if any(w in c.id for w in words))


def test_a_word_that_complains_weighs_by_what_a_cause_adds() -> None:
    """Of a word the sound circuit gives 2 %, 2 % under a cause is as good as none; 80 % is not."""
    log = soften(np.array([[0.02], [0.02], [0.80]]), np.array([0.006]))[:, 0]
    assert log[0] == log[1] == pytest.approx(math.log(0.006))
    assert math.exp(log[2]) == pytest.approx(0.78, abs=0.03)


def test_a_word_that_does_not_complain_weighs_as_it_is() -> None:
    """What the sound circuit shows anyway is a plain chance, with its small floor."""
    log = soften(np.array([[0.95], [0.10]]))[:, 0]
    assert np.exp(log) == pytest.approx([0.95 * 0.98 + MISTAKEN, 0.098 + MISTAKEN])


def test_a_dead_outlet_is_hardly_nothing_wrong() -> None:
    """Somebody called: an outlet that is dead leaves a sound installation under 2 %."""
    job = _job("  - {dead: [Loft]}")
    assert diagnose(job.installation, job.readings).sound < 0.02


def test_a_device_said_to_hold_is_seldom_the_one_that_is_off() -> None:
    """ "No breaker tripped" takes most of the belief from a breaker that stands open, not all."""
    dead = "  - {dead: [Bench, Loft]}\n"
    job, more = _job(dead), _job(f"{dead}  - {{circuit: kilns, trips: holds}}")
    before = _share(diagnose(job.installation, job.readings), "device off: kilns")
    after = _share(diagnose(more.installation, more.readings), "device off: kilns")
    assert before > 0.3
    assert 0.02 < after < before / 2


def test_what_comes_and_goes_is_a_contact_before_a_switch_left_off() -> None:
    """Dead while it shows and well while it hides: a breaker that was left off does not do that."""
    dead = "  - {dead: [Bench, Loft], showing: yes}\n"
    job, more = _job(dead), _job(f"{dead}  - {{works: [Bench, Loft], showing: no}}")
    prepared = Prepared(job.installation)
    before = diagnose(job.installation, job.readings, prepared)
    after = diagnose(more.installation, more.readings, prepared)
    odds = [
        _share(d, "device off") / _share(d, "open joint", "loose joint") for d in (before, after)
    ]
    assert odds[1] < 0.2 * odds[0]


def test_one_reading_while_it_hides_supposes_nothing() -> None:
    """That the fault comes and goes is only said where it was seen to do both."""
    job = _job("  - {works: [Bench], showing: no}")
    hyp = Prepared(job.installation).hypotheses
    assert not comes_and_goes(job.readings, hyp).any()
    shown = (*job.readings, replace(job.readings[0], showing=True))
    assert comes_and_goes(shown, hyp).any()


def test_whoever_loses_the_house_does_not_name_one_room() -> None:
    """One circuit complained of speaks against what every circuit hangs on; two less."""
    one, two = _job("  - {dead: [Loft]}"), _job("  - {dead: [Loft, Desk]}")
    prepared = Prepared(one.installation)
    hyp, plan = prepared.hypotheses, prepared.plan
    for job, count in ((one, 1), (two, 2)):
        log = unremarked(job.readings, hyp, plan)
        assert np.exp(log).min() == pytest.approx(NAMED_ALONE[count])
        named = {hyp.faults[hyp.fault[h]].id for h in np.flatnonzero(log)}
        assert "device off: main switch" in named
        assert not any("kilns" in name or "Loft" in name for name in named)


@pytest.mark.parametrize(
    "more", ["  - {works: [Desk]}", "  - {at: Board, L-N: 230}", "  - {at: origin, L-N: 230}"]
)
def test_what_was_looked_at_speaks_for_itself(more: str) -> None:
    """With another circuit said to be well, or the board measured, nothing is read from silence."""
    job = _job(f"  - {{dead: [Loft]}}\n{more}")
    prepared = Prepared(job.installation)
    assert not unremarked(job.readings, prepared.hypotheses, prepared.plan).any()


def test_none_of_these_does_not_grow_with_every_further_complaint_of_one_kind() -> None:
    """An unknown cause behind four dead outlets is behind one: each further one says less."""
    job = _job("  - {dead: [Bench, Loft, Desk]}")
    prepared = Prepared(job.installation)
    sound = np.full(3, 0.02)

    def log(count: int) -> float:
        readings = job.readings[:count]
        said = Said(prepared.hypotheses, prepared.plan, readings, readings)
        return said.none(sound[:count])

    assert log(1) == pytest.approx(math.log(0.185))
    assert [log(3) - log(2), log(2) - log(1)] == pytest.approx([math.log(0.6)] * 2)
    again = (*job.readings[:1], replace(job.readings[0], id="again", line=9))
    twice = Said(prepared.hypotheses, prepared.plan, again, again).none(sound[:2])
    assert twice == pytest.approx(log(1))


def test_every_chance_of_being_said_anyway_is_small() -> None:
    """A word that is said of sound installations as often as not would be no complaint."""
    assert all(0.001 <= chance <= 0.02 for chance in SAID_ANYWAY.values())


def test_where_it_will_not_settle_a_good_reading_rules_no_bad_contact_out() -> None:
    """A wandering figure at one outlet, a good one at the board: a lost neutral comes and goes."""
    form = (
        "region: na\nsupply: split phase 120/240 V\ncircuits:\n"
        "  a: {legs: L1, run: [Bench], plugged in: {Bench: 100 W filament}}\n"
        "  b: {legs: L2, run: [Loft], plugged in: {Loft: 500 W heater}}\n"
        "readings:\n  - {at: Board, L1-N: 120 V, L2-N: 120 V, by: multimeter}\n"
        "  - {at: Bench, L-N: 200 V, by: multimeterSETTLES}\n"
    )

    def lost(settles: str) -> float:
        job = read_job(form.replace("SETTLES", settles))
        return _share(
            diagnose(job.installation, job.readings), "neutral", "tail Board N", "combined"
        )

    assert lost(", settles: no") > 0.4 > 4 * lost("")


def test_what_was_seen_in_two_ways_is_no_breaker_left_off() -> None:
    """Weak at one time and dead at another, nothing changed: what stays is the less believed."""
    dead, both = _job("  - {dead: [Loft]}"), _job("  - {dead: [Loft]}\n  - {weak: [Loft]}")
    odds = []
    for job in (dead, both):
        found = diagnose(job.installation, job.readings)
        odds.append(_share(found, "device off: kilns") / _share(found, "open joint", "loose joint"))
    assert restless(both.readings)
    assert not restless(dead.readings)
    assert odds[1] < 0.2 * odds[0]


def test_only_what_comes_and_goes_hides() -> None:
    """With a reading that will not settle, contacts may have held; crossed cores did not."""
    job = _job("  - {at: Loft, L-N: 120, settles: no}")
    hyp = Prepared(job.installation).hypotheses
    found = hides(job.readings, hyp)

    def of(family: str) -> set[float]:
        rows = range(1, len(hyp))
        return {float(found[h]) for h in rows if hyp.faults[hyp.fault[h]].family == family}

    assert of("open joint") == {HIDES}
    assert of("crossed front") == of("device off") == {0.0}
    assert found[0] == 0.0


def test_one_says_shock_where_another_says_tingle() -> None:
    """What is felt is said in one word or another: whatever is felt, the words add to one."""
    for felt in ("nothing", "tingle", "shock"):
        assert sum(FELT_AS[said][felt] for said in FELT_AS) == pytest.approx(1.0)


def test_a_shock_from_a_small_filter_is_nothing_wrong_in_an_old_room() -> None:
    """Half the supply on a case without earth, felt as a shock: its filter does that when sound."""
    job = read_job(
        "region: na\nsupply: 120 V 60 Hz\ncircuits:\n"
        "  room: {earth: no, run: [Bench], plugged in: {Bench: {name: PC, kind: electronics}}}\n"
        "readings:\n  - {at: Bench, case-earth: about 60 V}\n"
        "  - {at: Bench, shock: case, to touch: earth}\n"
    )
    found = diagnose(job.installation, job.readings)
    assert _share(found, "nothing wrong", "big filters") > 0.6


def test_a_sentence_that_is_wrong_may_be_wrong_throughout() -> None:
    """Three outlets said dead at once under a cause that leaves them well: one mistake, then less
    and less; where all fit it costs next to nothing, and one that misfits costs one mistake."""
    sound = [0.02, 0.02, 0.02]
    chance = np.array([sound, sound, [0.9, 0.9, 0.9], [0.9, 0.02, 0.9]])
    log = in_one_breath(chance, 0.006)
    assert math.exp(log[1]) == pytest.approx(0.006 * 0.3**2, rel=0.01)
    assert log[2] == pytest.approx(float(soften(chance, 0.006)[2].sum()), abs=0.05)
    assert log[3] == pytest.approx(float(soften(chance, 0.006)[3].sum()), abs=0.2)
    assert log[1] > float(soften(chance, 0.006)[1].sum()) + 7


def test_what_stands_on_one_line_is_one_sentence() -> None:
    """Outlets listed together share their log evenly; one written by itself stands alone."""
    job = _job("  - {dead: [Bench, Loft]}\n  - {dead: [Desk]}")
    prepared = Prepared(job.installation)
    said = Said(prepared.hypotheses, prepared.plan, job.readings, job.readings)
    assert said.sentences == ([0, 1],)
    chance = np.full((2, 3, LEANS), 0.02)
    each = said.each(chance, np.array([0, 1]))[1]
    assert each[0] == each[1] == pytest.approx(math.log(0.006 * 0.3) / 2, abs=0.01)
    assert each[2] == pytest.approx(math.log(0.006), abs=0.01)


@pytest.mark.parametrize(
    ("reading", "earth"),
    [
        ("  - {at: Loft, plug tester: open ground}", True),
        ("  - {at: Loft, L-E: 118, by: multimeter}", True),
        ("  - {at: Loft, L-N: 0}", False),
    ],
)
def test_whoever_measures_one_outlet_may_not_have_tried_the_next(reading: str, earth: bool) -> None:
    """What a tester finds at one outlet speaks against what every circuit hangs on, if less than
    what is noticed; of the earth it speaks where the earth was measured."""
    job = _job(reading)
    prepared = Prepared(job.installation)
    hyp = prepared.hypotheses
    log = unremarked(job.readings, hyp, prepared.plan)
    assert np.exp(log).min() == pytest.approx(MEASURED_ALONE[1])
    named = {hyp.faults[hyp.fault[h]].id for h in np.flatnonzero(log)}
    assert ("open joint: tail Board E" in named) == earth
    assert "open joint: tail Board N" in named
    assert not any("kilns" in name or "Loft" in name for name in named)


@pytest.mark.parametrize(
    "reading", ["  - {at: Loft, L-N: 228, N-E: 1}", "  - {at: Loft, L-N: 0, with: {off: [kilns]}}"]
)
def test_a_sound_figure_supposes_nothing_of_the_rest(reading: str) -> None:
    """Volts within a tenth of nominal, or taken with the circuit off, are no complaint."""
    job = _job(reading)
    prepared = Prepared(job.installation)
    assert not unremarked(job.readings, prepared.hypotheses, prepared.plan).any()


def test_nobody_puts_a_breaker_back_without_a_word() -> None:
    """Open in one scene and closed in another: a tenth, unless somebody tells of it; open in all,
    or in a scene where it stood off anyway, supposes nothing."""
    ways = (("main", "kilns"), ("main", "kilns"), ())
    parted = np.array([[0, 0, 0], [2, 0, 0], [2, 2, 0], [3, 2, 0]], dtype=np.int64)
    readings = _job("  - {dead: [Loft]}").readings
    assert np.exp(untold(readings, ways, parted)) == pytest.approx([1.0, UNTOLD, 1.0, UNTOLD])
    told = (*readings, Reading("t", "trips", of="kilns", seen="at once"))
    assert np.exp(untold(told, ways, parted)) == pytest.approx([1.0, 1.0, 1.0, UNTOLD])
    off = (ways[0], ("main",))  # kilns stood open in the second
    assert not untold(readings, off, np.array([[2, 0]])).any()


def test_an_untold_trip_holds_less_of_the_belief() -> None:
    """Dead with the heater on, alive without: a breaker that parts and is put back each time would
    be told of; a bad joint would not. Told, the short is believed more."""
    form = """
supply: TN-S 230 V
circuits:
  a: {device: B16, run: [Bench, Loft], plugged in: {Loft: 2 kW heater}}
readings:
  - {at: Bench, L-N: 0 V, by: multimeter}
  - {at: Bench, L-N: 230 V, by: multimeter, with: {unplugged: [Loft]}}
"""
    job, told = read_job(form), read_job(form + "  - {circuit: a, trips: yes}\n")
    shorted = ("element leaks", "element touches", "short")
    shares = [_share(diagnose(j.installation, j.readings), *shorted) for j in (job, told)]
    assert shares[0] < shares[1]
