"""Heat, sparks, water: how each weighs by what the fault does, and where."""

from __future__ import annotations

import math

import pytest

from halfsplit.diagnosis.diagnose import diagnose
from halfsplit.diagnosis.senses import BY_CHANCE, ELSEWHERE, SENSES, chance_felt, in_use
from halfsplit.form import read_job
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Added, Bridged

LOOSE = (Added("joint Loft N", 3.0),)
OPEN = (Added("joint Loft N", math.inf),)
SOLID = (Bridged("Loft.L", "Loft.E", math.inf),)
DAMP = (Bridged("Loft.L", "Loft.E", 1e-6),)
# Under 2 kW at 230 V, 8.0 A through 3 ohm; 1e-6 S across 230 V. Solid or open, nothing is lost.
WATTS = {LOOSE: 192.0, DAMP: 0.05}
ENDS = {"Shelf–Loft": ("Shelf", "Loft")}


def _felt(seen: str, effects: tuple[Added | Bridged, ...], of: str = "Loft", *places: str) -> float:
    reading = Reading("r", "sense", of=of, seen=seen)
    return chance_felt(reading, places or ("Loft",), effects, WATTS.get(effects, 0.0), ENDS)


def test_heat_is_where_watts_are_lost() -> None:
    """3 Ω under 2 kW is felt; a micro-siemens of damp is not; nor is either in the next box."""
    assert _felt("heat", LOOSE) > 0.8
    assert _felt("heat", DAMP) == pytest.approx(BY_CHANCE)
    assert _felt("heat", LOOSE, "Shelf") == pytest.approx(ELSEWHERE * _felt("heat", LOOSE))


def test_a_dead_short_flashes_and_does_not_warm() -> None:
    """A solid short between conductors is seen as sparks and soot far more than felt as heat."""
    assert _felt("spark", SOLID) == SENSES["spark"].flash
    assert _felt("heat", SOLID) < 0.3 * _felt("spark", SOLID)


def test_crossed_cores_are_no_dead_short() -> None:
    """What joins two terminals only in place of what it parts carries its load and no flash."""
    crossed = (Added("joint Loft N", math.inf), Bridged("Loft.L", "Loft.N", math.inf))
    assert _felt("spark", crossed) == SENSES["spark"].parting


def test_water_speaks_for_insulation_that_leaks() -> None:
    """Where it is wet, a leak of any size is likelier than a loose joint, hot as that may be."""
    assert _felt("wet", DAMP) > 3 * _felt("wet", LOOSE)


def test_heat_along_a_cable_is_the_cable_before_its_ends() -> None:
    """A sense at a run counts in full for the run's own core, half for a joint at its ends."""
    core = _felt("heat", LOOSE, "Shelf–Loft", "Shelf", "Loft")
    assert core == pytest.approx(_felt("heat", LOOSE))
    assert _felt("heat", LOOSE, "Shelf–Loft") == pytest.approx(core / 2)
    assert _felt("heat", LOOSE, "Shelf–Loft", "Bench") == pytest.approx(core * ELSEWHERE)


def test_what_runs_elsewhere_in_the_house_is_not_heat_at_the_fault() -> None:
    """A lost neutral that lets 3 kW of the house wander warms no box on the way: no heat danger."""
    job = read_job(
        "region: na\nsupply: split phase 120/240 V\ncircuits: {a: {run: [Bench]}}\n"
        "readings:\n  - {at: Bench, L-N: 190 V, by: multimeter}\n"
    )
    found = diagnose(job.installation, job.readings)
    lost = [
        c for c in found.causes if c.id.startswith(("combined conductor lost:", "open joint: tail"))
    ]
    assert sum(c.probability for c in lost) > 0.2
    assert all("3000 W" not in d.why for d in found.dangers)


def test_what_burnt_did_so_in_use() -> None:
    """A scorched plate is found isolated and unplugged, and was scorched by what ran before; a buzz
    is of now."""
    isolated = Conditions(off=("main switch",), unplugged=("all",), dead=True, warm=True)
    for seen, now in (("scorch", False), ("buzz", True)):
        reading = Reading("r", "sense", of="Loft", seen=seen, conditions=isolated)
        assert in_use(reading) == (isolated if now else Conditions(warm=True))


def test_a_loose_contact_crackles_at_any_load_and_smells_at_a_large_one() -> None:
    """Half a watt in a loose joint is heard and seen, not smelt. Source: practice."""
    for seen, much in (("buzz", True), ("spark", True), ("smell", False)):
        reading = Reading("r", "sense", of="Loft", seen=seen)
        assert (chance_felt(reading, ("Loft",), LOOSE, 0.5) > 0.4) == much
        assert chance_felt(reading, ("Loft",), LOOSE, 0.0) == BY_CHANCE
