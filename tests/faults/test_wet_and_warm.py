"""What leaks only in the wet, or only when hot, and shows nothing otherwise."""

from __future__ import annotations

from dataclasses import replace

import pytest

from halfsplit.form import read_job
from halfsplit.form.write import write_job
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Added, Bridged, felt
from halfsplit.wiring.model import About, Supply
from tests.faults.houses import barn, radial
from tests.faults.solving import Bench, bench

U = 230.0
DRY, WET, WARM = Conditions(), Conditions(wet=True), Conditions(warm=True)
POLES = ("pole main switch L", "pole main switch N")


def row(when: Conditions) -> Bench:
    """A kettle at the first of three outlets, earthed by the supply."""
    return bench(replace(radial(3), supply=Supply("TN-S", volts=About(U))), when)


@pytest.mark.parametrize("ohms", ["1 kΩ", "5 kΩ", "20 kΩ", "100 kΩ"])
def test_a_damp_box_leaks_in_the_rain_and_not_when_dry(ohms: str) -> None:
    """In the wet U over its ohms is missing from the sum of line and neutral (Ohm's law); dry, or
    merely warm, nothing is."""
    fault = "damp point: P2"
    size = {"1 kΩ": 1e3, "5 kΩ": 5e3, "20 kΩ": 2e4, "100 kΩ": 1e5}[ohms]
    sound = abs(row(DRY).amps("", *POLES))
    step = [s.name for s in row(DRY).faults[fault].severities].index(ohms)
    assert abs(row(WET).amps(fault, *POLES, step=step)) == pytest.approx(U / size, rel=0.03)
    for when in (DRY, WARM):
        assert abs(row(when).amps(fault, *POLES, step=step)) == pytest.approx(sound, rel=0.01)


def test_insulation_measured_dry_finds_nothing_of_a_damp_box() -> None:
    """Dead and dry the box reads as sound; dead and wet it reads its ohms."""
    fault, pair = "damp point: P2", ("P2.L", "P2.E")
    dead = Conditions(dead=True, unplugged=("all",))
    dry, wet = bench(radial(3), dead), bench(radial(3), replace(dead, wet=True))
    assert dry.ohms(fault, *pair) == pytest.approx(dry.ohms("", *pair), rel=1e-3)
    assert wet.ohms(fault, *pair) == pytest.approx(1e3, rel=0.02)


def test_only_a_cable_said_to_be_wet_or_outdoors_is_suspected_of_leaking_in_the_rain() -> None:
    """Of the barn's runs the one to the pen where water got in is, and in rain it leaks U over its
    ohms; the others are not."""
    house = barn()
    wet, dry = (bench(house, when) for when in (WET, DRY))
    found = [f for f in wet.faults.values() if f.family == "damp cable"]
    assert [f.places for f in found] == [("Pen 1", "Pen 2")]
    step = [s.name for s in found[0].severities].index("5 kΩ")
    poles = ("pole feeder rcbo L", "pole feeder rcbo N")
    sound = abs(dry.amps("", *poles))
    assert abs(wet.amps(found[0].id, *poles, step=step)) == pytest.approx(U / 5e3, rel=0.1)
    assert abs(dry.amps(found[0].id, *poles, step=step)) == pytest.approx(sound, rel=0.01)


def test_an_element_may_leak_only_once_it_is_hot() -> None:
    """Hot, half of U over the leak and a quarter of the element; cold, and in rain, nothing."""
    fault = "element to frame: P1/kettle"
    step = [s.name for s in row(DRY).faults[fault].severities].index("3 kΩ when hot")
    by_hand = U / 2 / (3000.0 + U**2 / 2000.0 / 4)
    assert abs(row(WARM).amps(fault, *POLES, step=step)) == pytest.approx(by_hand, rel=0.03)
    for when in (DRY, WET):
        assert abs(row(when).amps(fault, *POLES, step=step)) < 0.05 * by_hand


def test_only_what_says_when_comes_and_goes_with_the_weather() -> None:
    """Opens and ordinary leaks are felt in all conditions; wet and warm ones in their own."""
    for when in (DRY, WET, WARM):
        assert felt(Added("x", 1.0), when)
        assert felt(Bridged("a", "b", 1.0), when)
    assert [felt(Bridged("a", "b", 1.0, 0.0, "wet"), w) for w in (DRY, WET, WARM)] == [0, 1, 0]
    assert [felt(Bridged("a", "b", 1.0, 0.0, "warm"), w) for w in (DRY, WET, WARM)] == [0, 0, 1]


def test_rain_and_warmth_are_two_conditions_in_the_form() -> None:
    """`rain` is wet and no warmer, `warm` is no wetter; both survive being written."""
    job = read_job(
        "circuits: {hall: {run: [8 m, Hall]}}\nreadings:\n"
        "  - {at: Hall, L-N: 230, with: {rain: yes}}\n"
        "  - {at: Hall, L-N: 230, with: {wet: yes, warm: yes}}\n"
        "  - {at: Hall, L-N: 230, with: {warm: yes}}\n"
    )
    assert [(r.conditions.wet, r.conditions.warm) for r in job.readings] == [
        (True, False), (True, True), (False, True),
    ]  # fmt: skip
    assert read_job(write_job(job), "written").bare() == job.bare()
    assert len({r.conditions.key() for r in job.readings}) == 3
