"""Other sources than the supply: what they feed, what holds their neutral, what stops them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.model import (
    About,
    Board,
    Circuit,
    Device,
    Installation,
    Point,
    Source,
    Supply,
)
from tests.faults.houses import american, chain, kettle, run
from tests.faults.solving import Bench, bench

U = 230.0
BARS = (("Board.L", "Board.N"), ("Board.L", "Board.E"), ("Board.N", "Board.E"))


def house(*sources: Source, loaded: bool = True) -> Installation:
    """One kettle on one circuit, a double-pole main switch, and other sources."""
    loads = (kettle(),) if loaded else ()
    return Installation(
        supply=Supply("TN-S", volts=About(U)),
        circuits=(
            Circuit(
                "wall",
                Device("wall breaker"),
                chain("Board", "P1"),
                (Point("P1", loads=loads),),
            ),
        ),
        sources=sources,
    )


def generator(linked: bool = True, on: bool = True) -> Source:
    """A generator of 1 Ω a conductor."""
    return Source("generator", "island", "Board", on, linked, About(1.0))


def away(home: Installation, *off: str, **more: object) -> Bench:
    """With the main switch and these off."""
    return bench(home, Conditions(off=("main switch", *off), **more))  # type: ignore[arg-type]


def test_an_islanded_generator_feeds_behind_its_own_ohms() -> None:
    """Main switch off, 2 kW (26.45 Ω) on a source of 1 Ω each way: U·26.45/(26.45 + 2 + wiring),
    by the voltage divider; its own link holds neutral to earth at 0."""
    home = away(house(generator()))
    line_neutral, line_earth, neutral_earth = home.volts("", *BARS)
    load = U**2 / 2000.0
    wiring = 2 * (5 * 7.41e-3 + 0.003 * 2 + 0.01 + 0.03) + 0.004 * 3
    assert line_neutral == pytest.approx(U * (load + wiring) / (load + 2.0 + wiring), rel=0.005)
    # The neutral's own ohm stands between the bar and the generator's linked neutral.
    assert neutral_earth == pytest.approx(U / (load + 2.0 + wiring), rel=0.02)
    assert line_earth == pytest.approx(line_neutral + neutral_earth, rel=0.005)


@pytest.mark.parametrize("linked", [True, False])
def test_without_its_own_link_a_generator_lets_no_earth_fault_clear(linked: bool) -> None:
    """Line solidly on the kettle's frame, islanded: with the link some 100 A flow, U over 2 Ω and
    the wiring; without it next to nothing, and no device trips."""
    home = away(house(generator(linked)))
    fault = "line to frame: P1/kettle"
    amps = abs(home.amps(fault, "core Board–P1 E"))
    wiring = 5 * (7.41e-3 + 12.1e-3) + 0.1
    if linked:
        assert amps == pytest.approx(U / (1.0 + wiring), rel=0.1)
    else:
        assert amps < 0.01
        kettle_works = home.volts(fault, ("P1/kettle:a", "P1/kettle:b"))[0]
        assert kettle_works > 0.9 * U


def test_a_generator_said_to_be_off_may_feed_the_bars() -> None:
    """The fault of feeding in: bars live with the main switch off; its isolator off, dead."""
    home = away(house(generator(on=False)))
    assert home.volts("", *BARS[:1])[0] < 1.0
    assert home.volts("backfeed: generator", *BARS[:1])[0] > 0.9 * U
    on = house(generator())
    assert away(on).volts("", *BARS[:1])[0] > 0.9 * U
    assert away(on, "generator isolator").volts("", *BARS[:1])[0] < 1.0


def test_solar_stops_with_the_main_switch_and_with_the_supply() -> None:
    """What follows the supply leaves the bars dead once the supply is off; a generator does not."""
    solar = house(Source("solar", "follows", "Board", on=True))
    assert bench(solar).volts("", *BARS) == pytest.approx([U, U, 0.0], abs=8)
    assert away(solar).volts("", *BARS[:1])[0] < 1.0
    dark = Conditions(energised=False)
    assert bench(solar, dark).volts("", *BARS[:1])[0] < 1.0
    assert bench(house(generator()), dark).volts("", *BARS[:1])[0] > 0.0
    alone = away(house(generator()), energised=False)
    assert alone.volts("", *BARS[:1])[0] > 0.9 * U


def test_beside_the_supply_solar_carries_nothing_at_rest() -> None:
    """In step with the supply and unloaded, no current runs in its conductors."""
    home = bench(house(Source("solar", "follows", "Board", on=True), loaded=False))
    assert abs(home.amps("", "lead solar L")) < 1e-3


@pytest.mark.parametrize("kind", ["island", "follows", "foreign"])
def test_a_dead_test_has_every_source_isolated(kind: str) -> None:
    """Isolated for a dead test, no source drives anything, and none bridges line to neutral."""
    source = Source("other", kind, "Board", on=True)  # type: ignore[arg-type]
    dead = bench(house(source, loaded=False), Conditions(dead=True))
    assert dead.ohms("", "Board.L", "Board.N") > 1e6
    assert max(dead.volts("", *BARS)) < 1e-9


def two_boards(on: bool) -> Installation:
    """A shed's board on a feeder, and a lead between the boards."""
    boards = (
        Board(),
        Board("Shed", Device("shed switch", "switch", poles=("L", "N")), fed_by="feed"),
    )
    feed = Circuit("feed", Device("feed breaker", amps=32.0),
                   (run("Board", "Shed", metres=20.0),), (), shape="feeder")  # fmt: skip
    bench_circuit = Circuit("shed sockets", Device("shed breaker"), chain("Shed", "Vice"),
                            (Point("Vice"),), "Shed")  # fmt: skip
    lead = Source("cord", "lead", "Shed", on, from_board="Board")
    return Installation(supply=Supply("TN-S", volts=About(U)), boards=boards,
                        circuits=(feed, bench_circuit), sources=(lead,))  # fmt: skip


def test_a_lead_between_boards_feeds_past_the_feeders_breaker() -> None:
    """Feeder off: the shed is dead, unless the lead is in; with the lead out it is dead again."""
    off = Conditions(off=("feed breaker",))
    vice = ("Vice.L", "Vice.N")
    apart = bench(two_boards(on=False), off)
    # A single-pole breaker leaves neutral through: the dead line floats beside it.
    assert apart.volts("", vice)[0] < 20.0
    assert apart.volts("backfeed: cord", vice)[0] == pytest.approx(U, abs=8)
    joined = two_boards(on=True)
    assert bench(joined, off).volts("", vice)[0] == pytest.approx(U, abs=8)
    both = Conditions(off=("feed breaker", "cord isolator"))
    assert bench(joined, both).volts("", vice)[0] < 20.0


def test_a_lead_shares_the_feeders_neutral_current() -> None:
    """Both ways in parallel share a load's current in inverse proportion to their ohms."""
    joined = two_boards(on=True)
    circuits = tuple(
        replace(c, points=(Point("Vice", loads=(kettle(),)),)) if c.points else c
        for c in joined.circuits
    )
    shed = bench(replace(joined, circuits=circuits))
    lead, feeder = (abs(shed.amps("", x)) for x in ("lead cord N", "core Board–Shed N"))
    feeder_ohms = 20 * 7.41e-3 + 2 * 0.003 + 0.004  # joints and the sub-board's switch
    assert lead / feeder == pytest.approx(feeder_ohms / (0.3 + 0.004), rel=0.1)


def test_a_foreign_supply_is_earthed_where_it_comes_from() -> None:
    """Next door's lead with our main switch off: line to neutral is right, and neutral to our
    earth is held through the ground only, not by a link."""
    home = away(house(Source("next door", "foreign", "Board", on=True), loaded=False))
    assert home.volts("", *BARS) == pytest.approx([U, U, 0.0], abs=8)
    fault = "line to frame: P1/kettle"
    loaded = away(house(Source("next door", "foreign", "Board", on=True)))
    own = loaded.plan.element("source electrode").ohms
    # Through both supplies' electrodes and no metal between: U over some 10 Ω.
    assert abs(loaded.amps(fault, "core Board–P1 E")) == pytest.approx(U / (own + 5.0), rel=0.1)


def test_two_legs_stay_two_legs_on_a_generator() -> None:
    """On split phase the generator gives 120 V a leg and 240 V between them."""
    panel = american()
    on = replace(panel, sources=(replace(panel.sources[0], on=True),))
    home = bench(on, Conditions(off=("main",), unplugged=("all",)))
    pairs = (("Panel.L1", "Panel.N"), ("Panel.L2", "Panel.N"), ("Panel.L1", "Panel.L2"))
    assert home.volts("", *pairs) == pytest.approx([120.0, 120.0, 240.0], abs=3)


def test_a_circuit_fed_twice_stays_live_with_everything_off() -> None:
    """Joined to a line from before the main switch, it is live with its own device, and the main
    switch, off; a sound one is dead."""
    home = away(house(), "wall breaker")
    pair = ("P1.L", "P1.N")
    names = [s.name for s in home.faults["second feed: wall"].severities]
    assert home.volts("", pair)[0] < 1.0
    both = names.index("line and neutral at P1")
    assert home.volts("second feed: wall", pair, step=both)[0] == pytest.approx(U, abs=8)
    line_only = home.volts("second feed: wall", ("P1.L", "P1.E"), step=0)[0]
    assert line_only == pytest.approx(U, abs=8)
