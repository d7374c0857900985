"""What the trials are drawn from: readable houses, known troubles, and the program's own figures
where the setting says "as assumed"."""

from __future__ import annotations

import math
from dataclasses import replace
from random import Random

import pytest

from bench._trial_draw import AS_ASSUMED, AS_MET, MET, REST, SEVERITY_SPREAD, draw_truth, inside
from bench._trial_houses import KINDS, Pen, draw_house
from bench._trial_meters import NOTHING_BELOW, SAID, TOLD, WORKS
from bench._trial_parts import UNSEEN, draw_parts
from bench._trial_unlike import HIDDEN, unlike
from halfsplit.behaviour import output
from halfsplit.diagnosis import hypotheses, nuisance, predict
from halfsplit.faults.catalogue import FAMILIES
from halfsplit.faults.rates import RATES
from halfsplit.form import read_job
from halfsplit.instruments import misread
from halfsplit.wiring.effects import Bridged
from halfsplit.wiring.layout import lay_out


@pytest.mark.parametrize("make", [make for make, _ in KINDS], ids=lambda make: make.__name__)
def test_every_kind_of_house_can_be_read(make) -> None:  # type: ignore[no-untyped-def]
    """Whatever is drawn, the written form is one that the program takes, with loads in it."""
    for seed in range(15):
        installation = read_job(make(Pen(Random(seed)))).installation
        assert any(p.loads for p in installation.points())


def test_every_kind_of_house_is_drawn() -> None:
    """Among 300 seeds each kind comes up."""
    assert len({draw_house(Random(seed)).kind for seed in range(300)}) == len(KINDS)


def test_every_trouble_met_is_in_the_catalogue() -> None:
    """The table of what is met names families that exist; none is drawn by the program's rate."""
    assert set(MET) - {"nothing wrong"} <= {family.id for family in FAMILIES}
    shares = {name: weight for name, weight in MET.items() if name in RATES}
    assert len({round(RATES[n].weight / w, 6) for n, w in shares.items()}) > 20


def test_as_assumed_is_what_the_program_assumes() -> None:
    """Spreads, slips, severities and forgotten loads of the first setting are the program's own."""
    spreads, slips = AS_ASSUMED.spreads, AS_ASSUMED.slips
    assert spreads.length == nuisance.STATED_LENGTH_SPREAD
    assert spreads.ohms == nuisance.RESISTANCE_SPREAD
    assert spreads.capacitance == nuisance.CAPACITANCE_SPREAD
    assert spreads.insulation == nuisance.INSULATION_SPREAD
    assert spreads.contact == nuisance.CONTACT_SPREAD
    assert spreads.neutral_volts == nuisance.NEUTRAL_VOLTS
    assert spreads.unseen == hypotheses.FORGOTTEN
    assert UNSEEN == hypotheses.FORGOTTEN_KINDS
    assert SEVERITY_SPREAD == hypotheses.GRID_SPREAD
    assert slips.chance == misread.SLIP_CHANCE
    shares = {slip.factor: slip.share for slip in misread.SLIPS if slip.how == "factor"}
    assert dict((*slips.factors, *slips.prefixes)) == shares
    assert {kind: output._WORKS_FROM[kind] for kind in WORKS} == WORKS
    assert output.WORKS == SAID
    assert TOLD == predict.SAID_FOR
    assert predict.NOTHING_BELOW == NOTHING_BELOW
    assert {lines: hypotheses.REST[lines] for lines in REST} == REST
    others = {slip.how: slip.share for slip in misread.SLIPS if slip.how != "factor"}
    assert others == {"wrong pair": slips.pair, "anything": slips.anything}


def test_as_met_is_wider_than_assumed() -> None:
    """Every unknown is wider, figures slip more, and a slip repeats."""
    one, other = AS_ASSUMED.spreads, AS_MET.spreads
    for name in ("length", "ohms", "capacitance", "insulation", "contact", "neutral_volts"):
        assert getattr(other, name) > getattr(one, name)
    assert AS_MET.slips.chance == 0.03
    assert AS_MET.slips.repeats > 0


def test_the_same_seed_draws_the_same_truth() -> None:
    """Two draws of a seed are equal; another seed's is not."""
    first, again, other = (draw_truth(AS_MET, Random(s)) for s in (5, 5, 6))
    assert (first.house, first.faults, first.parts) == (again.house, again.faults, again.parts)
    assert first.house != other.house


def test_a_missing_point_keeps_every_terminal_that_was_written() -> None:
    """With a point the description is silent of, what it names is still there, by name or alias."""
    seen = 0
    for seed in range(60):
        written = read_job(draw_house(Random(seed)).text).installation
        site, alias, words = unlike(written, Random(seed + 1))
        if "point missing" not in words:
            continue
        seen += 1
        told = lay_out(written)
        real = lay_out(site)
        nodes = {n for e in real.elements for n in (e.a, e.b)} | {e.id for e in real.elements}
        for element in told.elements:
            for name in (element.a, element.b):
                assert alias.get(name, name) in nodes
            if element.kind == "joint":
                assert alias.get(element.id, element.id) in nodes
        assert any(spot.name == HIDDEN for spot in real.spots)
    assert seen >= 3


def test_a_short_in_a_cable_is_somewhere_along_it() -> None:
    """Between the ends of two cores it is moved to one of their inner sections, both the same."""
    installation = read_job(draw_house(Random(1)).text).installation
    plan = lay_out(installation)
    parts = draw_parts(installation, plan, AS_MET.spreads, Random(1))
    one, other = [e for e in plan.elements if e.kind == "core"][:2]
    (moved,) = inside([Bridged(one.a, other.a, math.inf)], parts, 0.9)
    assert isinstance(moved, Bridged)
    assert moved.a in parts.inside[one.id][1:-1]
    assert moved.b in parts.inside[other.id][1:-1]


def test_two_faults_are_two() -> None:
    """Asked for two, a draw has two different faults or one beside a load nobody mentioned."""
    setting = replace(AS_MET)
    for seed in range(12):
        truth = draw_truth(setting, Random(seed), two=True)
        assert len({f.id for f in truth.faults}) == len(truth.faults)
        assert len(truth.faults) in (1, 2)
        assert truth.wrong.effects


def test_a_point_nobody_mentioned_may_be_on_any_stretch_of_a_ring() -> None:
    """Between any two places, the way home to the board included, the site is still a whole one."""
    ring = read_job(
        "circuits:\n  sockets: {device: B32, cable: 2.5/1.5 twin and earth,"
        " ring: [4 m, Hall, 5 m, Study, 6 m, Den, 7 m]}"
    ).installation
    ends = set()
    for seed in range(400):
        site, _, words = unlike(ring, Random(seed))
        lay_out(site)
        if "point missing" in words:
            hidden = next(r for r in site.circuits[0].runs if r.start == HIDDEN)
            ends.add(hidden.end)
    assert ends == {"Study", "Den", "Board"}
