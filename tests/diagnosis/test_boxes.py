"""Cables and cores counted in an opened box."""

from __future__ import annotations

import math

import pytest

from halfsplit.diagnosis.boxes import MISCOUNTED, OUT_OF_SIGHT, SPARE, Box
from halfsplit.diagnosis.diagnose import diagnose, weigh
from halfsplit.diagnosis.orders import ways
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.diagnosis.result import Diagnosis
from halfsplit.form import read_job
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.effects import Added
from halfsplit.wiring.layout import lay_out

RING = "circuits: {ring: {ring: [Desk, Bench, Sill], spurs: {Bench: [Loft]}}}\nreadings:\n"
LAMP = "circuits: {hall: {lighting: [Lamp: {switched by: Knob}], looped at: ceiling}}\nreadings:\n"
ALWAYS = "  - {lit: Lamp, with: {Knob: on}}\n  - {lit: Lamp, with: {Knob: off}}\n"


def _found(form: str) -> Diagnosis:
    job = read_job(form)
    return diagnose(job.installation, job.readings)


def _belief(found: Diagnosis, *families: str) -> float:
    return sum(c.probability for c in found.causes if c.fault and c.fault.family in families)


def _said(form: str) -> Reading:
    return read_job(form).readings[-1]


def test_the_plan_says_how_many_cables_there_are() -> None:
    """A ring's point with a spur has three cables and three cores of each conductor."""
    plan = lay_out(read_job(RING).installation)
    for said in ("cables: 3", "cores: {N: 3}", "cores: {L: three, E: 3}", "cores: 9"):
        assert Box(plan, "Bench").chance(_said(f"{RING}  - {{at: Bench, {said}}}"), ()) == (
            1 - MISCOUNTED
        )
    few = [Box(plan, "Bench").chance(_said(f"{RING}  - {{at: Bench, cables: {n}}}"), ())
           for n in range(12)]  # fmt: skip
    assert few[3] > few[2] == few[4] > few[1] == few[5]
    assert sum(few) == pytest.approx(1.0, abs=0.02)


def test_a_cable_that_is_off_may_be_out_of_sight() -> None:
    """Two seen where three are drawn: as likely as not once every core of one is off, else a
    miscount."""
    plan = lay_out(read_job(RING).installation)
    off = [Added(f"joint Bench {key} Desk–Bench", math.inf) for key in "LNE"]
    two = _said(f"{RING}  - {{at: Bench, cables: 2}}")
    sound, gone, part = (Box(plan, "Bench").chance(two, e) for e in ((), off, off[:2]))
    assert gone == pytest.approx(OUT_OF_SIGHT, abs=0.05)
    assert sound == part < 0.1 * gone


def test_fewer_cables_than_drawn_speak_for_one_that_is_off() -> None:
    """Two cables in the box of a ring's point with a spur: one of the three is off or cut."""
    sockets = (
        "  - {works: [Desk, Bench, Sill, Loft]}\n"
        "  - {circuit: ring, ring ends: {r1: open, rn: open, r2: open}}\n"
    )
    before = _found(RING + sockets)
    after = _found(f"{RING}{sockets}  - {{at: Bench, cables: 2}}")
    bench = [
        sum(c.probability for c in found.causes if c.fault and "Bench" in c.fault.places)
        for found in (before, after)
    ]
    assert bench[1] > 1.2 * bench[0]
    assert _belief(after, "cable off", "cable cut") > 0.5


def test_a_core_left_over_at_the_light_is_the_one_its_lamp_is_not_on() -> None:
    """A lamp always lit and a switched core that ends in nothing: it sits on the permanent line."""
    before, after = _found(LAMP + ALWAYS), _found(f"{LAMP}{ALWAYS}  - {{at: Lamp, loose: SL}}")
    odds = [(p := _belief(found, "light on permanent line")) / (1 - p) for found in (before, after)]
    assert odds[1] > 5 * odds[0]


def test_a_spare_core_alone_is_no_fault() -> None:
    """Where all works, a core that ends in nothing is a spare one, not nothing of the kind."""
    plan = lay_out(read_job(LAMP).installation)
    assert Box(plan, "Lamp").chance(_said(f"{LAMP}  - {{at: Lamp, loose: N}}"), ()) == SPARE


def test_one_cable_in_a_box_ends_the_chain() -> None:
    """Of an unknown order, the point with one cable is the last in every order but the listed."""
    form = (
        "circuits: {kilns: {run: [Bench, Shelf, Loft, Desk], order: unknown}}\nreadings:\n"
        "  - {dead: [Bench, Loft], works: [Shelf, Desk]}\n  - {at: Bench, cables: 1}\n"
    )
    job = read_job(form)
    found = ways(*weigh(Prepared(job.installation), job.readings))
    assert {way.installation.circuits[0].points[-1].name for way in found[2:]} == {"Bench"}
    first = _found(form).suspects[0]
    assert "Loft" in first.places
