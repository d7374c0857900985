"""How a trial begins: what strikes somebody, and two faults that both matter."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from bench._trial_draw import AS_ASSUMED, draw_truth
from bench._trial_net import Wrong
from bench._trial_one import begin, both_matter
from bench._trial_spice import Simulator
from bench._trial_visit import site_of


def test_the_same_seed_begins_the_same(ngspice: str) -> None:
    """House, trouble, first words and figures of a seed are the same twice."""
    with Simulator() as one, Simulator() as other:
        first, again = (begin(4, AS_ASSUMED, s) for s in (one, other))
    assert first.truth.house == again.truth.house
    assert first.truth.faults == again.truth.faults
    assert first.first == again.first


def test_most_visits_begin_with_a_complaint(ngspice: str) -> None:
    """Of eight seeds at least half; every load that works or does not is told of."""
    with Simulator() as simulator:
        starts = [begin(seed, AS_ASSUMED, simulator) for seed in range(30, 38)]
    assert sum(start.complaint for start in starts) >= 4
    for start in starts:
        told = {reading.of for reading in start.first if reading.kind == "works"}
        assert told == {load.id for load in start.truth.parts.plan.loads}


def test_a_second_fault_that_shows_nothing_is_not_a_second(ngspice: str) -> None:
    """Twice the same trouble, or one beside nothing, is one fault; a truth with one is not two."""
    with Simulator() as simulator:
        for seed in range(40):
            truth = draw_truth(AS_ASSUMED, Random(seed))
            if len(truth.faults) == 1 and truth.each[0]:
                break
        doubled = replace(
            truth, faults=truth.faults * 2, each=truth.each * 2, wrong=Wrong(truth.each[0] * 2)
        )
        assert not both_matter(truth, site_of(truth, simulator))
        assert not both_matter(doubled, site_of(replace(doubled, wrong=truth.wrong), simulator))
