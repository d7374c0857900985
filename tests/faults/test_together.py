"""Several conductors off, cut or moved together, worked out by hand from the resistances alone."""

from __future__ import annotations

from dataclasses import replace

import pytest

from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.model import (
    About,
    Board,
    Circuit,
    Device,
    Group,
    Installation,
    Point,
    Supply,
)
from tests.faults.houses import (
    american,
    chain,
    cores,
    house,
    kettle,
    lamp,
    one_way,
    radial,
    ring,
    run,
    two_way,
)
from tests.faults.solving import Bench, bench

U = 230.0


@pytest.fixture(scope="module")
def row() -> Bench:
    """Three outlets, a kettle at the first, electronics at the second."""
    return bench(radial(3))


def at(place: str, part: str = ":front") -> tuple[tuple[str, str], ...]:
    """Line-neutral, line-earth, neutral-earth at a place."""
    line, neutral, earth = (f"{place}.{key}{part}" for key in "LNE")
    return (line, neutral), (line, earth), (neutral, earth)


def near(*values: float, tolerance: float = 8.0) -> object:
    """About these volts."""
    return pytest.approx(list(values), abs=tolerance)


def only(*circuits: Circuit, board: Board | None = None) -> Installation:
    """An installation of just these circuits."""
    supply = Supply("TN-C-S", volts=About(U))
    return Installation(supply=supply, boards=(board or Board(),), circuits=circuits)


@pytest.mark.parametrize(
    "fault", ["cable off: P2 P1–P2", "cable off: P1 P1–P2", "cable cut: P1–P2"]
)
def test_a_whole_cable_out_leaves_nothing_beyond(row: Bench, fault: str) -> None:
    """With every core parted at once there is nothing to float against: all pairs read near 0,
    where one open conductor leaves another pair at U or a ghost."""
    assert row.volts(fault, *at("P1")) == near(U, U, 0.0)
    assert row.volts(fault, *at("P3")) == near(0.0, 0.0, 0.0, tolerance=1.0)
    assert max(row.volts("open joint: joint P2 N P1–P2", *at("P3"))) > 0.8 * U


def test_a_cut_cable_whose_ends_touch_draws_what_the_loop_allows(row: Bench) -> None:
    """U over the loop's own resistance: 0.20 Ω of supply and 10 m of 2.5 mm² (7.41 mΩ/m at 20 °C,
    IEC 60228) with joints is some 800 A, which no breaker holds."""
    fault = "cable cut: P1–P2"
    steps = [s.name for s in row.faults[fault].severities]
    amps = abs(row.amps(fault, "core Board–P1 L", step=steps.index("ends touching")))
    joints = 2 * 0.003 * 5 + 0.004 + 2 * 0.004  # tails, four joints each way, three poles
    by_hand = U / (0.12 + 0.08 + 10 * 7.41e-3 + joints)
    assert amps == pytest.approx(by_hand, rel=0.03)
    assert abs(row.amps(fault, "core Board–P1 L", step=steps.index("ends apart"))) < 10.0


def test_a_hanging_accessory_takes_all_beyond_unless_a_splice_carries_on(row: Bench) -> None:
    """Looped through the accessory the rest is dead; past a splice only that outlet is."""
    assert row.volts("accessory off: P2", *at("P3")) == near(0.0, 0.0, 0.0, tolerance=1.0)
    names = ("Porch", "Yard")
    spliced = Circuit(
        "bath",
        Device("bath breaker"),
        chain("Panel", *names),
        tuple(Point(name, carries="pigtail") for name in names),
        "Panel",
        (("L", "L1"),),
    )
    outside = bench(replace(american(), circuits=(spliced,)))
    dead, alive = (outside.volts("accessory off: Porch", *at(name)) for name in names)
    assert dead == near(0.0, 0.0, 0.0, tolerance=1.0)
    assert alive == near(120.0, 120.0, 0.0)


def test_both_ends_of_a_ring_neutral_off_the_bar_kill_what_one_would_not() -> None:
    """One end off and the kettle works; both off and it has 0 V, its neutral at U. End to end,
    the conductor still reads as five lengths of a sound ring."""
    circuit = ring("upstairs", "U1", "U2", "U3", "U4")
    live = bench(only(circuit))
    both = "ring conductor off: upstairs Board N"
    one = "open joint: joint Board N Board–U1"
    assert live.volts(one, *at("U2")) == near(U, U, 0.0, tolerance=12.0)
    assert live.volts(both, *at("U2")) == near(0.0, U, U, tolerance=12.0)
    dead = bench(only(circuit), Conditions(dead=True, unplugged=("all",)))
    ends = ("Board.N:Board–U1", "Board.N:U4–Board")
    assert dead.ohms(both, *ends) == pytest.approx(5 * 5 * 7.41e-3, rel=0.25)
    assert dead.ohms("", *ends) < 0.02


def test_both_cores_of_a_ring_point_off_split_that_conductor() -> None:
    """A ring point's two neutrals off its terminal: that outlet has no neutral, the others do."""
    circuit = ring("upstairs", "U1", "U2", "U3", "U4")
    lit = tuple(replace(p, loads=(lamp(),)) if p.name == "U3" else p for p in circuit.points)
    live = bench(only(replace(circuit, points=lit)))
    fault = "ring conductor off: upstairs U3 N"
    assert live.volts(fault, *at("U3")) == near(0.0, U, U, tolerance=12.0)
    for name in ("U1", "U2", "U4"):
        assert live.volts(fault, *at(name)) == near(U, U, 0.0, tolerance=12.0)


def two_rcbos() -> Installation:
    """Two circuits, each behind a residual breaker with its own neutral terminal."""
    circuits = tuple(
        Circuit(
            name,
            Device(f"{name} rcbo", "rcbo", 16.0, "B", 0.03, poles=("L", "N")),
            chain("Board", place),
            (Point(place, loads=(kettle(),) if name == "one" else (lamp(),)),),
        )
        for name, place in (("one", "A"), ("two", "B"))
    )
    return only(*circuits)


def test_exchanged_neutrals_unbalance_both_devices_by_the_difference_of_loads() -> None:
    """Each device sees its own line's load and the other's neutral: 2000 W less 60 W over U."""
    board = bench(two_rcbos())
    fault = "neutrals exchanged: one with two"
    sound = abs(board.amps("", "pole one rcbo L", "pole one rcbo N"))
    for device in ("one rcbo", "two rcbo"):
        seen = abs(board.amps(fault, f"pole {device} L", f"pole {device} N"))
        assert seen == pytest.approx((2000 - 60) / U, rel=0.03)
        assert sound < 0.01 * seen


def test_whole_circuits_exchanged_balance_again_but_answer_to_the_other_device() -> None:
    """Line and neutral both exchanged: no residual current, and one's device kills the other."""
    fault = "lines exchanged: one with two"
    board = bench(two_rcbos())
    step = [s.name for s in board.faults[fault].severities].index("line and neutral")
    assert abs(board.amps(fault, "pole one rcbo L", "pole one rcbo N", step=step)) < 1e-3
    off = bench(two_rcbos(), Conditions(off=("one rcbo",)))
    a, b = ("A.L", "A.N"), ("B.L", "B.N")
    assert off.volts(fault, a, b, step=step) == near(U, 0.0, tolerance=15.0)


def test_neutrals_on_one_bar_cannot_be_exchanged() -> None:
    """Where two neutrals land on one bar there is nothing to exchange."""
    groups = (Group(Device("rcd", "rcd", 63.0, "", 0.03, poles=("L", "N")), ("one", "two")),)
    plain = tuple(
        replace(c, device=Device(f"{c.name} breaker")) for c in two_rcbos().circuits
    )  # fmt: skip
    shared = bench(only(*plain, board=Board(groups=groups)))
    assert not [f for f in shared.faults.values() if f.family == "neutrals exchanged"]


# Lit (1) or dark (0) with the bottom switch up, down and the top up, down, worked out on paper:
# the first switch joins its common to T1 (up) or T2 (down), the second T1 or T2 to the lamp.
SOUND = (1, 0, 0, 1)
TABLES = {
    # L on T1's terminal, T1's core on T2's, T2's core on the common: the line always reaches the
    # T1 terminal, which is joined to the T2 core when up.
    "switch terminals mixed: Bottom switch L T1 T2": (0, 1, 0, 0),
    "switch terminals mixed: Bottom switch L T2 T1": (0, 0, 1, 0),
    # Common and T1 exchanged at both: line to T1's core when up, and from there to the lamp when
    # up. With T2 at the other end no position joins T1's core to the lamp.
    "switch terminals mixed: Bottom switch and Top switch L T1 SL T1": (1, 0, 0, 0),
    "switch terminals mixed: Bottom switch and Top switch L T1 SL T2": (0, 0, 0, 0),
}


@pytest.mark.parametrize(("fault", "table"), [("", SOUND), *TABLES.items()])
def test_mixed_switch_terminals_give_their_truth_table(fault: str, table: tuple[int, ...]) -> None:
    """Each mistake lights the lamp in just those positions in which paper says a path exists."""
    found = []
    for bottom in ("up", "down"):
        for top in ("up", "down"):
            when = Conditions(positions=(("bottom", bottom), ("top", top)))
            stairs = bench(only(two_way()), when)
            found.append(int(stairs.volts(fault, ("Stair lamp/lamp:a", "Stair lamp/lamp:b"))[0]
                             > 0.9 * U))  # fmt: skip
    assert tuple(found) == table


def shed(switch_kind: str = "switch") -> Circuit:
    """A switch at the door that feeds two outlets; or a fused unit in its place."""
    if switch_kind == "switch":
        door = Point("Door", "isolator", ("L", "SL", "N", "E"), front=False,
                     switches=(one_way(name="door switch"),))  # fmt: skip
        out = cores("SL>L", "N", "E")
    else:
        fuse = Device("Door fuse", "fuse", 13.0, "BS 1362")
        door, out = Point("Door", "fused unit", front=False, device=fuse), cores("L", "N", "E")
    return Circuit(
        "shed",
        Device("shed breaker"),
        (run("Board", "Door"), run("Door", "Shelf", out), run("Shelf", "Window")),
        (door, Point("Shelf"), Point("Window", loads=(lamp(),))),
    )


@pytest.mark.parametrize(
    ("kind", "fault", "off"),
    [
        ("switch", "door switch", Conditions(positions=(("door switch", "off"),))),
        ("fused unit", "Door fuse", Conditions(off=("Door fuse",))),
    ],
)
def test_a_switch_or_fuse_in_the_neutral_of_outlets(kind: str, fault: str, off: Conditions) -> None:
    """On, the outlets read right; off, what is plugged in is dead, line stays at U to earth and
    the neutral rises to U through the lamp. A sound switch would leave both near 0."""
    on, away = bench(only(shed(kind))), bench(only(shed(kind)), off)
    fault = f"switched neutral: {fault} at Door"
    assert on.volts(fault, *at("Shelf")) == near(U, U, 0.0)
    assert away.volts(fault, *at("Shelf")) == near(0.0, U, U)
    assert away.volts("", *at("Shelf")) == near(0.0, 0.0, 0.0, tolerance=20.0)


def test_an_unframed_appliance_may_leak_to_the_earth_beside_it() -> None:
    """3 kΩ midway on a 1 kW element without a frame: half of U over it and a quarter element."""
    heater = replace(kettle(), frame=False, watts=About(1000.0))
    one = replace(radial(1).circuits[0], points=(Point("P1", loads=(heater,)),))
    row = bench(only(one))
    fault = "appliance leak: P1/kettle"
    step = [s.name for s in row.faults[fault].severities].index("3 kΩ")
    residual = row.amps(fault, "pole main switch L", "pole main switch N", step=step)
    by_hand = U / 2 / (3000.0 + U**2 / 1000.0 / 4)
    assert abs(residual) == pytest.approx(by_hand, rel=0.03)
    off = bench(only(one), Conditions(unplugged=("all",)))
    assert abs(off.amps("", "pole main switch L", "pole main switch N")) < 1e-3


def test_a_framed_appliance_leaks_to_its_frame_not_past_it() -> None:
    """An appliance with an earthed frame has the faults of a frame; the others have this one."""
    home = bench(house())
    framed = {x.id for x in home.plan.loads if x.frame}
    leaking = {f.parts[0] for f in home.faults.values() if f.family == "appliance leak"}
    assert leaking
    assert not leaking & framed


def test_a_hidden_device_takes_line_and_neutral_and_leaves_the_earth(row: Bench) -> None:
    """Beyond it nothing works and both live conductors hang free; the protective conductor is
    whole, so that an open line, whose neutral is still there, reads otherwise when dead."""
    fault = "hidden device tripped: P1–P2"
    assert row.volts(fault, *at("P1")) == near(U, U, 0.0)
    assert row.volts(fault, at("P3")[0])[0] < 1.0
    dead = bench(radial(3), Conditions(dead=True, unplugged=("all",)))
    assert dead.ohms(fault, "Board.E", "P3.E") < 0.5
    assert dead.ohms(fault, "Board.N", "P3.N") > 1e6
    assert dead.ohms("open joint: joint P1 L P1–P2", "Board.N", "P3.N") < 0.5


def test_a_ring_has_no_hidden_device_on_its_way() -> None:
    """A device in one leg of a ring would kill nothing."""
    home = bench(house())
    hidden = [f.circuit for f in home.faults.values() if f.family == "hidden device tripped"]
    assert hidden
    assert not {"upstairs", "downstairs"} & set(hidden)
