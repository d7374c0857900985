"""Twenty-eight invented installations of every pattern, with loads that keep to Ohm's law.

Every load is a heater, so that a simulator that knows no lamps can be asked the same question.
"""

from __future__ import annotations

from dataclasses import replace

from halfsplit.wiring.model import (
    About,
    Board,
    Circuit,
    Device,
    Installation,
    Path,
    Point,
    Source,
    Supply,
)
from tests.oracles.one_line import (
    accidental_returns,
    borrowed_groups,
    branches,
    ceiling_loop,
    combined,
    earth_rod,
    filters,
    long_damp_cable,
    old_aluminium,
    outlet_device,
    pigtails,
    ring,
    row,
    short_radial,
    stairs,
    switch_loop,
    unearthed,
)
from tests.oracles.parts import (
    AWG6,
    AWG10,
    AWG12,
    LEGS2,
    LEGS3,
    PARTS_BOTH,
    american,
    chain,
    cores,
    heat,
    inner,
    run,
    single,
    sockets,
)


def fixed() -> Installation:
    """A fixed water heater between two legs, and a range between legs and neutral."""
    tank = Circuit(
        "tank",
        Device("tank breaker", amps=30.0, poles=("L1", "L2")),
        (run("Panel", "Tank", 9.0, cores("L1 L2 E", AWG10)),),
        (inner("Tank", "appliance", "L1 L2 E", heat("element", 4500.0, ("L1", "L2"), frame=True)),),
        "Panel",
        LEGS2,
        "fixed",
    )
    oven = heat("oven", 3600.0, ("L1", "L2"), frame=True)
    clock = heat("clock lamp", 40.0, ("L1", "N"))
    stove = Circuit(
        "range",
        Device("range breaker", amps=50.0, poles=("L1", "L2")),
        (run("Panel", "Range", 13.0, cores("L1 L2 N E", AWG6)),),
        (inner("Range", "appliance", "L1 L2 N E", oven, clock),),
        "Panel",
        LEGS2,
        "fixed",
    )
    return american("kitchen annexe", tank, stove)


def shared_neutral() -> Installation:
    """Two legs with one neutral through three outlets, 12 gauge, loads of unlike size."""
    names = "Counter, Island, Nook"
    keys = ("L1", "L2", "N", "E")
    points = tuple(
        Point(name, conductors=keys, carries="pigtail", loads=loads)
        for name, loads in (
            ("Counter", ()),
            ("Island", (heat("griddle", 1440.0, ("L1", "N")),)),
            ("Nook", (heat("lamp", 100.0, ("L2", "N")), heat("mixer", 400.0, ("L1", "N")))),
        )
    )
    circuit = Circuit(
        "counter",
        Device("counter breaker", amps=20.0, poles=("L1", "L2")),
        chain(f"Panel, {names}", 6.0, cores("L1 L2 N E", AWG12), "NM-B"),
        points,
        "Panel",
        LEGS2,
        "shared neutral",
    )
    return american("counter", circuit)


def two_legs() -> Installation:
    """Separate circuits on the two legs of a split phase, and a two-leg load."""
    made_of = cores("L N E", AWG12)
    bed = Circuit(
        "bed",
        Device("bed breaker", amps=15.0),
        chain("Panel, Bed, Closet", 9.0, made_of),
        sockets("Bed, Closet", {"Closet": heat("lamp", 75.0)}),
        "Panel",
        (("L", "L1"),),
    )
    shop = Circuit(
        "shop",
        Device("shop breaker", amps=20.0),
        chain("Panel, Saw, Drill", 12.0, made_of),
        sockets("Saw, Drill", {"Saw": heat("glue pot", 600.0, frame=True)}),
        "Panel",
        (("L", "L2"),),
    )
    return american("carport", bed, shop, *fixed().circuits[:1])


def three_phase(volts: float = 230.0, hertz: float = 50.0) -> Installation:
    """Three phases: unlike star heaters, a delta heater, single-phase outlets on L2."""
    keys = "L1 L2 L3 N E"
    star = tuple(
        heat(f"bank {k}", watts, (f"L{k}", "N"), frame=True)
        for k, watts in ((1, 2000.0), (2, 1300.0), (3, 700.0))
    )
    kiln = Circuit(
        "kiln",
        Device("kiln breaker", amps=32.0, poles=("L1", "L2", "L3")),
        chain("Board, Kiln switch, Kiln", 10.0, cores(keys, 4.0)),
        (inner("Kiln switch", "connection unit", keys), inner("Kiln", "appliance", keys, *star)),
        legs=LEGS3,
        shape="fixed",
    )
    press = Circuit(
        "press",
        Device("press breaker", poles=("L1", "L2", "L3")),
        (run("Board", "Press", 17.0, cores(keys)),),
        (inner("Press", "appliance", keys, heat("platen", 3000.0, ("L1", "L3"))),),
        legs=LEGS3,
        shape="fixed",
    )
    office = Circuit(
        "office",
        Device("office breaker"),
        chain("Board, Till, Rack", 8.0),
        sockets("Till, Rack", {"Rack": heat("heater", 800.0)}),
        legs=(("L", "L2"),),
    )
    main = Device("main switch", "switch", 100.0, "", poles=("L1", "L2", "L3", "N"))
    supply = Supply("TN-S", "three", About(volts), hertz)
    return single("pottery", supply, kiln, press, office, boards=(Board(main=main),))


def sub_board(earthing: str = "TN-S") -> Installation:
    """A feeder to a second board with two circuits; TT has its rod, and a rod of the annexe."""
    electrode = About(120.0) if earthing == "TT" else None
    boards = (
        Board(),
        Board("Annexe", Device("annexe switch", "switch", poles=PARTS_BOTH), fed_by="feeder"),
    )
    feeder = Circuit(
        "feeder",
        Device("feeder breaker", amps=40.0),
        (run("Board", "Annexe", 35.0, cores("L N E", 10.0)),),
        (),
        shape="feeder",
    )
    sewing = Circuit(
        "sewing",
        Device("sewing breaker"),
        chain("Annexe, Iron, Steamer", 5.0),
        sockets("Iron, Steamer", {"Iron": heat("iron", 1800.0, frame=True)}),
        "Annexe",
    )
    dye = Circuit(
        "dye",
        Device("dye rcbo", "rcbo", 20.0, "C", 0.03, poles=PARTS_BOTH),
        (run("Annexe", "Vat", 8.0, cores("L N E", 4.0)),),
        (inner("Vat", "appliance", "L N E", heat("vat", 2600.0, frame=True)),),
        "Annexe",
        shape="fixed",
    )
    office = Circuit(
        "front",
        Device("front breaker"),
        chain("Board, Counter", 6.0),
        sockets("Counter", {"Counter": heat("heater", 1000.0)}),
    )
    rod = Path("annexe rod", "Annexe.E", "earth", About(90.0), kind="electrode")
    supply = Supply(earthing, electrode_ohms=electrode)  # type: ignore[arg-type]
    paths = (rod,) if earthing == "TT" else ()
    return Installation("dye works", "eu", supply, boards, (feeder, sewing, dye, office), paths)


def high_leg() -> Installation:
    """A 240 V delta with one winding's middle earthed, 60 Hz."""
    keys = "L1 L2 L3 N E"
    banks = (heat("bank 1", 900.0, ("L1", "N")), heat("bank 2", 2400.0, ("L2", "L3"), frame=True))
    dryer = Circuit(
        "dryer",
        Device("dryer breaker", poles=("L1", "L2", "L3")),
        (run("Board", "Dryer", 21.0, cores(keys, AWG10)),),
        (inner("Dryer", "appliance", keys, *banks),),
        legs=LEGS3,
        shape="fixed",
    )
    main = Device("main switch", "switch", 100.0, "", poles=("L1", "L2", "L3"))
    supply = Supply("TN-C-S", "high leg", About(120.0), 60.0)
    return single("laundry", supply, dryer, boards=(Board(main=main),), region="na")


def site_tools() -> Installation:
    """110 V from a centre-tapped transformer: two poles, no neutral used beyond the board."""
    names = "Mixer post, Stair post, Roof post"
    points = tuple(
        Point(name, conductors=("L1", "L2", "E"), loads=loads)
        for name, loads in zip(
            names.split(", "),
            ((), (heat("lamp string", 300.0, ("L1", "L2"), frame=True),), ()),
            strict=True,
        )
    )
    posts = Circuit(
        "posts",
        Device("posts breaker", poles=("L1", "L2")),
        chain(f"Board, {names}", 15.0, cores("L1 L2 E", 2.5)),
        points,
        legs=LEGS2,
    )
    main = Device("main switch", "switch", 63.0, "", poles=("L1", "L2"))
    supply = Supply("TN-S", "centre tap", About(55.0))
    return single("building site", supply, posts, boards=(Board(main=main),))


def other_sources() -> Installation:
    """A generator running beside the supply, solar, and a lead from board to board."""
    home = sub_board("TN-C-S")
    mine = (
        Source("set", "island", "Annexe", on=True, ohms=About(0.8)),
        Source("roof", "follows", "Board", on=True, ohms=About(0.5)),
        Source("cord", "lead", "Annexe", on=True, from_board="Board"),
        Source("next door", "foreign", "Board"),
    )
    return replace(home, sources=mine)


EVERY: dict[str, Installation] = {
    "row of twelve, TN-C-S": row(),
    "short radial, TN-S": short_radial(),
    "earth rod, TT": earth_rod(),
    "branches from a joint box": branches(),
    "pigtails, 14 gauge": pigtails(),
    "fixed appliances on two legs": fixed(),
    "ceiling loop": ceiling_loop(),
    "lamps chained after a switch": switch_loop(),
    "two-way and intermediate": stairs(),
    "ring with a spur": ring(),
    "ring with three spurs, TT": ring(3, Supply("TT", electrode_ohms=About(30.0))),
    "shared neutral": shared_neutral(),
    "two legs": two_legs(),
    "three phase": three_phase(),
    "208Y/120": three_phase(120.0, 60.0),
    "sub-board, TN-S": sub_board(),
    "sub-board, TT": sub_board("TT"),
    "combined conductor, TN-C": combined(),
    "unearthed supply, IT": unearthed(),
    "high leg": high_leg(),
    "110 V centre tap": site_tools(),
    "filters to frames": filters(),
    "long damp cable": long_damp_cable(),
    "old aluminium": old_aluminium(),
    "accidental returns": accidental_returns(),
    "device at an outlet": outlet_device(),
    "two neutral bars": borrowed_groups(),
    "generator, roof and lead": other_sources(),
}
