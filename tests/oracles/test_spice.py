"""The route diagnosis takes, against ngspice (Berkeley SPICE, version 39 and later).

How the oracle was made: see ``spice`` and ``circuit``. A voltage agrees when it is within one part
in a million and a microvolt, a current within one part in a million and a microampere.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Added
from halfsplit.wiring.layout import lay_out
from halfsplit.wiring.model import About, Installation
from halfsplit.wiring.plan import Plan
from tests.oracles import spice
from tests.oracles.circuit import make
from tests.oracles.installations import EVERY, shared_neutral
from tests.oracles.parts import american
from tests.oracles.route import Pair, Told, all_pairs, ports_to_try, present_nodes, tell
from tests.oracles.troubles import DEAD, LIVE, SOUND, Trouble, other_conditions, troubles

pytestmark = pytest.mark.outside
RELATIVE = 1e-6
ABSOLUTE = 1e-6
ALL_OUT = Conditions(dead=True, unplugged=("all",))
each = pytest.mark.parametrize("name", EVERY)


def apart(got: complex, expected: complex) -> float:
    """How far apart, as a share of what is allowed; NaN counts as infinitely far."""
    share = abs(got - expected) / (RELATIVE * abs(expected) + ABSOLUTE)
    return share if share == share else float("inf")


def worst(found: Sequence[tuple[float, str]]) -> str:
    """The furthest apart of those not allowed, in words; empty when all agree."""
    share, words = max(found)
    return words if share > 1 else ""


def compare(
    told: Told, faults: Sequence[Trouble], pairs: Sequence[Pair], solved: list[list[spice.Solution]]
) -> str:
    """Every voltage of every trouble against the simulator's."""
    found = []
    for h, fault in enumerate(faults):
        for pair in pairs:
            got, expected = told.volts(h, pair), solved[h][0].volts(*pair)
            found.append((apart(got, expected), f"{fault.name}: {pair} {got} V, not {expected} V"))
    return worst(found)


def carriers(plan: Plan) -> list[str]:
    """Poles, cores and service conductors that are there when live."""
    wires = {wire.name for wire in make(plan, LIVE).wires}
    kinds = ("pole", "core", "service")
    return [e.id for e in plan.elements if e.kind in kinds and e.id in wires]


@each
def test_live(name: str, ngspice: str, tmp_path: Path) -> None:
    """Live, every voltage, drop and current is ngspice's, sound and with every kind of fault."""
    plan = lay_out(EVERY[name])
    faults, pairs, elements = troubles(plan, name), all_pairs(plan, LIVE), carriers(plan)
    told = tell(plan, LIVE, faults, pairs, elements=elements)
    questions = [spice.Question(make(plan, LIVE, fault.effects)) for fault in faults]
    solved = spice.solve(ngspice, questions, tmp_path)
    assert not compare(told, faults, pairs, solved)
    found = [
        (apart(told.amps(h, one), solved[h][0].amps(one)), f"{fault.name}: {one}")
        for h, fault in enumerate(faults)
        for one in elements
    ]
    assert not worst(found)


def test_after_devices_have_parted(ngspice: str, tmp_path: Path) -> None:
    """Once a short has tripped its device, what is left is the circuit without its poles."""
    parted = 0
    for number, (name, installation) in enumerate(EVERY.items()):
        plan = lay_out(installation)
        faults, pairs = troubles(plan, name), all_pairs(plan, LIVE)
        told = tell(plan, LIVE, faults, pairs, trips=True)
        rows = [h for h in range(len(faults)) if told.opened(h)]
        parted += len(rows)
        folder = tmp_path / str(number)
        folder.mkdir()
        circuits = [make(plan, LIVE, faults[h].effects, told.opened(h)) for h in rows]
        solved = spice.solve(ngspice, [spice.Question(one) for one in circuits], folder)
        found = [
            (apart(told.volts(h, pair), solved[k][0].volts(*pair)), f"{name}, row {h}: {pair}")
            for k, h in enumerate(rows)
            for pair in pairs
        ]
        assert not found or not worst(found)
    assert parted > 30


@each
def test_other_conditions(name: str, ngspice: str, tmp_path: Path) -> None:
    """Switched, unplugged, lifted, linked or not energised, all voltages and ohms are ngspice's.

    Each installation has every other of the conditions that it can be put in.
    """
    plan = lay_out(EVERY[name])
    draw = troubles(plan, name)
    faults = [SOUND, *draw[1:9:3], *draw[11:17:2]]
    moved = dict(list(other_conditions(plan, name).items())[list(EVERY).index(name) % 2 :: 2])
    for number, (words, conditions) in enumerate(moved.items()):
        folder = tmp_path / str(number)
        folder.mkdir()
        if conditions.dead:
            assert not tried_with_tester(plan, conditions, faults, ngspice, folder), words
            continue
        pairs = all_pairs(plan, conditions)
        told = tell(plan, conditions, faults, pairs)
        questions = [spice.Question(make(plan, conditions, fault.effects)) for fault in faults]
        assert not compare(told, faults, pairs, spice.solve(ngspice, questions, folder)), words


def tried_with_tester(
    plan: Plan, conditions: Conditions, faults: Sequence[Trouble], ngspice: str, folder: Path
) -> str:
    """A tester on every port in turn, against ngspice with a current source there."""
    ports = ports_to_try(plan, conditions)
    told = tell(plan, conditions, faults, ports=ports)
    questions = [
        spice.Question(make(plan, conditions, fault.effects), tuple(ports)) for fault in faults
    ]
    solved = spice.solve(ngspice, questions, folder)
    found = []
    for h, fault in enumerate(faults):
        for k, port in enumerate(ports):
            got, expected = told.ohms(h, port), -solved[h][k].volts(*port) / spice.TESTER_AMPS
            words = f"{fault.name}: {port} {got.real} ohm, not {expected.real} ohm"
            found.append((apart(got, expected), words))
    return worst(found)


@each
def test_dead_resistances(name: str, ngspice: str, tmp_path: Path) -> None:
    """Dead with all unplugged, a tester finds ngspice's resistance, from milliohms to gigohms."""
    plan = lay_out(EVERY[name])
    assert not tried_with_tester(plan, ALL_OUT, troubles(plan, name), ngspice, tmp_path)


def test_dead_resistances_with_loads_in(ngspice: str, tmp_path: Path) -> None:
    """Dead with the loads left in, a tester finds ngspice's resistance through them."""
    found = []
    for number, (name, installation) in enumerate(EVERY.items()):
        folder = tmp_path / str(number)
        folder.mkdir()
        plan = lay_out(installation)
        found.append(tried_with_tester(plan, DEAD, troubles(plan, name)[::3], ngspice, folder))
    assert not [words for words in found if words]


def bulbs(watts: tuple[float, float], volts: float = 120.0) -> Installation:
    """Two filament lamps, one on each leg of a shared neutral."""
    first, second = (
        replace(load, name=name, kind="filament", watts=About(size), across=(leg, "N"))
        for load, name, size, leg in zip(
            shared_neutral().circuits[0].points[2].loads,
            ("one", "two"),
            watts,
            ("L1", "L2"),
            strict=True,
        )
    )
    circuit = shared_neutral().circuits[0]
    points = tuple(
        replace(point, loads=(first, second) if point.name == "Nook" else ())
        for point in circuit.points
    )
    return american("hall", replace(circuit, points=points), volts=volts)


def settled(
    installation: Installation, faults: list[Trouble], ngspice: str, folder: Path
) -> tuple[Told, list[list[spice.Solution]], list[Pair]]:
    """Both answers, with the lamps' own law; real phasors, so that direct voltages serve."""
    plan = lay_out(installation)
    lamps = [(load.a, load.b) for load in plan.loads]
    told = tell(plan, LIVE, faults, lamps)
    questions = [spice.Question(make(plan, LIVE, fault.effects)) for fault in faults]
    return told, spice.solve(ngspice, questions, folder, direct=True), lamps


@pytest.mark.parametrize("watts", [(60.0, 100.0), (40.0, 100.0), (15.0, 150.0), (100.0, 100.0)])
def test_filaments_on_a_lost_neutral(
    watts: tuple[float, float], ngspice: str, tmp_path: Path
) -> None:
    """Two filament lamps left in series share the volts as ngspice's behavioural sources do."""
    lost = Trouble("lost neutral", (Added("joint Nook N Island to Nook", float("inf")),))
    told, solved, lamps = settled(bulbs(watts), [lost], ngspice, tmp_path)
    for lamp in lamps:
        got, expected = told.volts(0, lamp), solved[0][0].volts(*lamp)
        # What the cables' capacitance and inductance turn is under a part in ten thousand million.
        assert abs(got) == pytest.approx(abs(expected), rel=RELATIVE)


def test_lost_neutral_of_a_60_and_a_100_w_lamp(ngspice: str, tmp_path: Path) -> None:
    """A 60 and a 100 W lamp on 240 V stand at 172 and 68 V, not the 150 and 90 of fixed ohms."""
    lost = Trouble("lost neutral", (Added("joint Nook N Island to Nook", float("inf")),))
    told, solved, lamps = settled(bulbs((60.0, 100.0)), [lost], ngspice, tmp_path)
    for answer in (told.volts, lambda _, pair: solved[0][0].volts(*pair)):
        volts = [abs(answer(0, lamp)) for lamp in lamps]
        assert volts == pytest.approx([172.0, 68.0], abs=1.0)


def test_filaments_on_a_tired_neutral(ngspice: str, tmp_path: Path) -> None:
    """Through a neutral joint of 20 to 1000 ohm, lamps stand within 0.1 % of ngspice's volts.

    A lamp within a tenth of its voltage in the sound circuit is taken by two steps of its law and
    not settled, which is what the thousandth allows for.
    """
    joint = "joint Nook N Island to Nook"
    faults = [Trouble(f"{ohms}", (Added(joint, ohms),)) for ohms in (0.0, 20.0, 90.0, 300.0, 1e3)]
    told, solved, lamps = settled(bulbs((60.0, 100.0)), faults, ngspice, tmp_path)
    for h in range(len(faults)):
        for lamp in lamps:
            expected = abs(solved[h][0].volts(*lamp))
            assert abs(told.volts(h, lamp)) == pytest.approx(expected, rel=1e-3)


def test_the_comparison_has_teeth(ngspice: str, tmp_path: Path) -> None:
    """One core a thousandth longer, or one picofarad of a leak less, and the voltages part."""
    plan = lay_out(EVERY["short radial, TN-S"])
    pairs = all_pairs(plan, LIVE)
    core = next(e for e in plan.elements if e.id == "core Desk to Copier L")
    longer = replace(
        plan,
        elements=tuple(replace(e, ohms=e.ohms * 1.001) if e is core else e for e in plan.elements),
    )
    lighter = replace(
        plan,
        couplings=tuple(
            replace(c, farads=max(c.farads - 1e-12, 0.0)) if "L-E 1" in c.id else c
            for c in plan.couplings
        ),
    )
    cut = [Trouble("open earth", (Added("joint Desk E Board to Desk", float("inf")),))]
    told = tell(plan, LIVE, cut, pairs)
    for k, other in enumerate((longer, lighter)):
        folder = tmp_path / str(k)
        folder.mkdir()
        questions = [spice.Question(make(other, LIVE, fault.effects)) for fault in cut]
        assert compare(told, cut, pairs, spice.solve(ngspice, questions, folder))


def test_every_pattern_is_there() -> None:
    """At least twenty installations, over 300 faults, every earthing system and kind of supply."""
    supplies = [one.supply for one in EVERY.values()]
    assert len(EVERY) >= 20
    assert {s.earthing for s in supplies} == {"TN-S", "TN-C-S", "TT", "TN-C", "IT"}
    assert {s.live for s in supplies} == {"single", "split", "three", "centre tap", "high leg"}
    assert {s.hertz for s in supplies} == {50.0, 60.0}
    assert sum(len(troubles(lay_out(one), name)) for name, one in EVERY.items()) > 300
    assert all(present_nodes(lay_out(one), LIVE) for one in EVERY.values())
