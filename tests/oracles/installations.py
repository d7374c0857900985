"""Twenty-seven invented installations of every pattern, with loads that keep to Ohm's law.

Every load is a heater, so that a simulator that knows no lamps can be asked the same question.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from halfsplit.wiring.model import (
    About,
    Board,
    Circuit,
    Contact,
    Core,
    Device,
    Group,
    Installation,
    Load,
    Path,
    Point,
    Run,
    Supply,
    Switch,
)

TWIN = (Core("L", "L", 2.5), Core("N", "N", 2.5), Core("E", "E", 1.5))
LEGS2 = (("L1", "L1"), ("L2", "L2"))
LEGS3 = (*LEGS2, ("L3", "L3"))
PARTS_BOTH = ("L", "N")
AWG14, AWG12, AWG10, AWG6 = 2.08, 3.31, 5.26, 13.3


def cores(words: str, mm2: float = 1.5, metal: str = "copper") -> tuple[Core, ...]:
    """Cores from a list of keys; "L>SL" is one that changes its key on the way."""
    ends = [word.split(">") for word in words.split()]
    return tuple(Core(end[0], end[-1], mm2, metal) for end in ends)


def run(
    start: str, end: str, metres: float, made_of: tuple[Core, ...] = TWIN, cable: str = ""
) -> Run:
    """A run named after its ends."""
    return Run(f"{start} to {end}", start, end, About(metres), made_of, cable)


def chain(
    names: str, metres: float, made_of: tuple[Core, ...] = TWIN, cable: str = ""
) -> tuple[Run, ...]:
    """Runs from place to place, each a little longer than the one before."""
    places = names.split(", ")
    return tuple(
        run(a, b, metres + 0.7 * k, made_of, cable) for k, (a, b) in enumerate(pairwise(places))
    )


def heat(
    name: str = "heater",
    watts: float = 1200.0,
    across: tuple[str, str] = ("L", "N"),
    **more: object,
) -> Load:
    """A load that keeps to Ohm's law."""
    return replace(Load(name, "heater", About(watts), across), **more)


def sockets(names: str, loaded: dict[str, Load] | None = None, **more: object) -> tuple[Point, ...]:
    """Outlets, some with a load in them."""
    loads = loaded or {}
    return tuple(
        replace(Point(name, loads=(loads[name],) if name in loads else ()), **more)
        for name in names.split(", ")
    )


def inner(name: str, kind: str, keys: str, *loads: Load, switch: Switch | None = None) -> Point:
    """A point nobody plugs into."""
    switches = (switch,) if switch else ()
    return Point(name, kind, tuple(keys.split()), front=False, switches=switches, loads=loads)


def one_way(name: str, a: str = "L", b: str = "SL", position: str = "on") -> Switch:
    """A plain switch."""
    return Switch(name, (Contact(a, b, ("on",)),), position=position)


def single(title: str, supply: Supply, *circuits: Circuit, **more: object) -> Installation:
    """One board, these circuits."""
    return replace(Installation(title, supply=supply, circuits=circuits), **more)


def row(count: int = 12, kind: str = "heater") -> Installation:
    """A radial of ``count`` outlets, something in every third."""
    names = [f"Stall {k}" for k in range(1, count + 1)]
    load = replace(heat("kettle", 900.0, frame=True), kind=kind)
    points = tuple(Point(name, loads=(load,) if k % 3 == 1 else ()) for k, name in enumerate(names))
    stalls = Circuit(
        "stalls", Device("stalls breaker"), chain(", ".join(("Board", *names)), 4.0), points
    )
    return single("market row", Supply("TN-C-S"), stalls)


def short_radial() -> Installation:
    """TN-S, four outlets, a separate protective conductor of the supply."""
    names = "Desk, Copier, Window, Door"
    circuit = Circuit(
        "study",
        Device("study breaker"),
        chain(f"Board, {names}", 6.0),
        sockets(names, {"Copier": heat(frame=True), "Door": heat("fan heater", 2000.0)}),
    )
    return single("study", Supply("TN-S"), circuit)


def earth_rod() -> Installation:
    """TT with an electrode of 68 ohm and a residual device over both circuits."""
    pump = Circuit(
        "pump",
        Device("pump breaker", amps=10.0),
        (run("Board", "Pump house", 42.0),),
        (inner("Pump house", "appliance", "L N E", heat("pump", 750.0, frame=True)),),
        shape="fixed",
    )
    yard = Circuit(
        "yard",
        Device("yard breaker"),
        chain("Board, Gate, Trough, Lean-to", 14.0, cable="6242Y"),
        sockets("Gate, Trough, Lean-to", {"Trough": heat("defroster", 300.0, frame=True)}),
    )
    group = Group(Device("yard rcd", "rcd", 63.0, "", 0.03, poles=PARTS_BOTH), ("pump", "yard"))
    supply = Supply("TT", electrode_ohms=About(68.0))
    return single("smallholding", supply, pump, yard, boards=(Board(groups=(group,)),))


def branches() -> Installation:
    """A joint box with three branches, one of them branching again at an outlet."""
    runs = (
        run("Board", "Loft box", 11.0),
        run("Loft box", "East", 5.0),
        run("Loft box", "West", 7.0),
        run("Loft box", "North", 3.0),
        run("West", "West end", 6.0),
        run("West", "West nook", 2.5),
    )
    outlets = sockets(
        "East, West, North, West end, West nook",
        {"East": heat(), "West end": heat("iron", 1500.0, frame=True)},
    )
    points = (inner("Loft box", "joint box", "L N E"), *outlets)
    return single("loft", Supply("TN-S"), Circuit("loft", Device("loft breaker"), runs, points))


def pigtails() -> Installation:
    """North American outlets on pigtails, 14 gauge, one leg of a split phase."""
    names = "Sofa, Bay, Hearth, Hallway"
    made_of = (*cores("L N", AWG14), Core("E", "E", AWG14))
    circuit = Circuit(
        "den",
        Device("den breaker", amps=15.0),
        chain(f"Panel, {names}", 5.5, made_of, "NM-B"),
        sockets(names, {"Bay": heat("heater", 900.0)}, carries="pigtail"),
        "Panel",
        (("L", "L2"),),
    )
    return american("den", circuit)


def american(title: str, *circuits: Circuit, volts: float = 120.0) -> Installation:
    """Split phase with a rod at the service."""
    supply = Supply("TN-C-S", "split", About(volts), 60.0, electrode_ohms=About(25.0))
    panel = Board("Panel", Device("main", "switch", 100.0, "", poles=("L1", "L2")))
    return Installation(title, "na", supply, (panel,), circuits)


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


def ceiling_loop() -> Installation:
    """Line and neutral looped through three ceilings, a drop to a switch from each."""
    points: list[Point] = []
    runs = list(chain("Board, Porch lamp, Hall lamp, Pantry lamp", 7.0, cores("L N E")))
    for room, state in (("Porch", "on"), ("Hall", "off"), ("Pantry", "on")):
        points.append(inner(f"{room} lamp", "light", "L N E SL", heat("lamp", 60.0, ("SL", "N"))))
        points.append(
            inner(f"{room} switch", "switch", "L SL E",
                  switch=one_way(f"{room} rocker", position=state))
        )  # fmt: skip
        runs.append(run(f"{room} lamp", f"{room} switch", 4.0, cores("L SL E")))
    lights = Circuit(
        "lights", Device("lights breaker", amps=6.0), tuple(runs), tuple(points), shape="lighting"
    )
    return single("bungalow lights", Supply("TN-C-S"), lights)


def switch_loop() -> Installation:
    """Line and neutral at the switch, a chain of lamps switched together, an outlet beyond."""
    lamps = "Bench lamp, Vice lamp, Rack lamp"
    runs = (
        run("Board", "Shed switch", 16.0),
        run("Shed switch", "Shed outlet", 3.0),
        *chain(f"Shed switch, {lamps}", 4.0, cores("SL N E")),
    )
    points = (
        inner("Shed switch", "switch", "L N E SL", switch=one_way("shed rocker")),
        *sockets("Shed outlet"),
        *(
            inner(name, "light", "SL N E", heat("lamp", 100.0, ("SL", "N")))
            for name in lamps.split(", ")
        ),
    )
    lights = Circuit("shed", Device("shed breaker", amps=6.0), runs, points, shape="lighting")
    return single("shed", Supply("TN-S"), lights)


def strapped(name: str, into: bool, keys: tuple[str, str], position: str) -> Switch:
    """A two-way switch between a common and two strappers."""
    common, (t1, t2) = keys[0], ("T1", "T2")
    pairs = ((t1, common), (t2, common)) if into else ((common, t1), (common, t2))
    contacts = (Contact(*pairs[0], ("up",)), Contact(*pairs[1], ("down",)))
    return Switch(name, contacts, ("up", "down"), position)


def stairs() -> Installation:
    """Two two-way switches with an intermediate one between them."""
    middle = Switch(
        "middle",
        (
            Contact("T1", "T3", ("straight",)),
            Contact("T2", "T4", ("straight",)),
            Contact("T1", "T4", ("crossed",)),
            Contact("T2", "T3", ("crossed",)),
        ),
        ("straight", "crossed"),
        "crossed",
    )
    runs = (
        run("Board", "Foot", 8.0, cores("L N E")),
        run("Foot", "Turn", 5.0, cores("T1 T2 N E")),
        run("Turn", "Head", 5.0, cores("T3>T1 T4>T2 N E")),
        run("Head", "Stair lamp", 3.0, cores("SL N E")),
    )
    points = (
        inner("Foot", "switch", "L N E T1 T2", switch=strapped("foot", False, ("L", ""), "up")),
        inner("Turn", "switch", "T1 T2 T3 T4 N E", switch=middle),
        inner("Head", "switch", "T1 T2 SL N E", switch=strapped("head", True, ("SL", ""), "down")),
        inner("Stair lamp", "light", "SL N E", heat("lamp", 60.0, ("SL", "N"))),
    )
    lights = Circuit("stair", Device("stair breaker", amps=6.0), runs, points, shape="lighting")
    return single("stairwell", Supply("TN-C-S"), lights)


def ring(spurs: int = 1, supply: Supply | None = None) -> Installation:
    """A ring of six outlets with spurs, on a residual breaker that parts both poles."""
    names = "Sink, Oven side, Corner, Table, Fridge, Back door"
    around = chain(f"Board, {names}, Board", 5.0)
    off = tuple(run(names.split(", ")[2 * k + 1], f"Spur {k}", 3.5) for k in range(spurs))
    loads = {"Sink": heat("kettle", 2200.0, frame=True), "Table": heat("toaster", 850.0)}
    points = sockets(names, loads) + sockets(
        ", ".join(f"Spur {k}" for k in range(spurs)), {"Spur 0": heat("warmer", 500.0)}
    )
    device = Device("ring rcbo", "rcbo", 32.0, "B", 0.03, poles=PARTS_BOTH)
    circuit = Circuit("ring", device, (*around, *off), points, shape="ring")
    return single("kitchen ring", supply or Supply("TN-S"), circuit)


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
    bed = Circuit("bed", Device("bed breaker", amps=15.0), chain("Panel, Bed, Closet", 9.0, made_of),
                  sockets("Bed, Closet", {"Closet": heat("lamp", 75.0)}), "Panel",
                  (("L", "L1"),))  # fmt: skip
    shop = Circuit("shop", Device("shop breaker", amps=20.0), chain("Panel, Saw, Drill", 12.0, made_of),
                   sockets("Saw, Drill", {"Saw": heat("glue pot", 600.0, frame=True)}), "Panel",
                   (("L", "L2"),))  # fmt: skip
    return american("carport", bed, shop, *fixed().circuits[:1])


def three_phase(volts: float = 230.0, hertz: float = 50.0) -> Installation:
    """Three phases: unlike star heaters, a delta heater, single-phase outlets on L2."""
    keys = "L1 L2 L3 N E"
    star = tuple(
        heat(f"bank {k}", watts, (f"L{k}", "N"), frame=True)
        for k, watts in ((1, 2000.0), (2, 1300.0), (3, 700.0))
    )
    kiln = Circuit("kiln", Device("kiln breaker", amps=32.0, poles=("L1", "L2", "L3")),
                   chain("Board, Kiln switch, Kiln", 10.0, cores(keys, 4.0)),
                   (inner("Kiln switch", "connection unit", keys),
                    inner("Kiln", "appliance", keys, *star)), legs=LEGS3, shape="fixed")  # fmt: skip
    press = Circuit("press", Device("press breaker", poles=("L1", "L2", "L3")),
                    (run("Board", "Press", 17.0, cores(keys)),),
                    (inner("Press", "appliance", keys, heat("platen", 3000.0, ("L1", "L3"))),),
                    legs=LEGS3, shape="fixed")  # fmt: skip
    office = Circuit("office", Device("office breaker"), chain("Board, Till, Rack", 8.0),
                     sockets("Till, Rack", {"Rack": heat("heater", 800.0)}),
                     legs=(("L", "L2"),))  # fmt: skip
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
    feeder = Circuit("feeder", Device("feeder breaker", amps=40.0),
                     (run("Board", "Annexe", 35.0, cores("L N E", 10.0)),), (), shape="feeder")  # fmt: skip
    sewing = Circuit("sewing", Device("sewing breaker"), chain("Annexe, Iron, Steamer", 5.0),
                     sockets("Iron, Steamer", {"Iron": heat("iron", 1800.0, frame=True)}),
                     "Annexe")  # fmt: skip
    dye = Circuit("dye", Device("dye rcbo", "rcbo", 20.0, "C", 0.03, poles=PARTS_BOTH),
                  (run("Annexe", "Vat", 8.0, cores("L N E", 4.0)),),
                  (inner("Vat", "appliance", "L N E", heat("vat", 2600.0, frame=True)),),
                  "Annexe", shape="fixed")  # fmt: skip
    office = Circuit("front", Device("front breaker"), chain("Board, Counter", 6.0),
                     sockets("Counter", {"Counter": heat("heater", 1000.0)}))  # fmt: skip
    rod = Path("annexe rod", "Annexe.E", "earth", About(90.0), kind="electrode")
    supply = Supply(earthing, electrode_ohms=electrode)  # type: ignore[arg-type]
    paths = (rod,) if earthing == "TT" else ()
    return Installation("dye works", "eu", supply, boards, (feeder, sewing, dye, office), paths)


def combined() -> Installation:
    """TN-C: the combined conductor of the supply serves both, one radial behind."""
    return replace(short_radial(), title="old mill", supply=Supply("TN-C"))


def unearthed() -> Installation:
    """IT: nothing but leakage, capacitance and one rod holds the supply."""
    supply = Supply("IT", electrode_ohms=About(20.0))
    return replace(short_radial(), title="ward", supply=supply)


def high_leg() -> Installation:
    """A 240 V delta with one winding's middle earthed, 60 Hz."""
    keys = "L1 L2 L3 N E"
    banks = (heat("bank 1", 900.0, ("L1", "N")), heat("bank 2", 2400.0, ("L2", "L3"), frame=True))
    dryer = Circuit("dryer", Device("dryer breaker", poles=("L1", "L2", "L3")),
                    (run("Board", "Dryer", 21.0, cores(keys, AWG10)),),
                    (inner("Dryer", "appliance", keys, *banks),), legs=LEGS3, shape="fixed")  # fmt: skip
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
    posts = Circuit("posts", Device("posts breaker", poles=("L1", "L2")),
                    chain(f"Board, {names}", 15.0, cores("L1 L2 E", 2.5)), points,
                    legs=LEGS2)  # fmt: skip
    main = Device("main switch", "switch", 63.0, "", poles=("L1", "L2"))
    supply = Supply("TN-S", "centre tap", About(55.0))
    return single("building site", supply, posts, boards=(Board(main=main),))


def filters() -> Installation:
    """Appliances with filter capacitors to an earthed frame, one of them switched off."""
    names = "Screen, Amplifier, Printer, Spare"
    loads = {
        "Screen": heat("screen", 80.0, frame=True, filter_farads=4.7e-9),
        "Amplifier": heat("amplifier", 150.0, frame=True, filter_farads=2.2e-9),
        "Printer": heat("printer", 40.0, frame=True, filter_farads=10e-9, on=False),
    }
    circuit = Circuit("media", Device("media breaker"), chain(f"Board, {names}", 3.0),
                      sockets(names, loads))  # fmt: skip
    return single("media room", Supply("TN-C-S"), circuit)


def long_damp_cable() -> Installation:
    """An outdoor cable of stated capacitance and poor insulation, warm, to two outlets."""
    out = run("Board", "Jetty", 140.0, cores("L N E", 6.0))
    out = replace(out, capacitance=About(140e-12), insulation=About(2e9), temperature_c=55.0)
    on = replace(run("Jetty", "Pontoon", 60.0), insulation=About(3e8))
    circuit = Circuit("jetty", Device("jetty breaker", amps=20.0, poles=PARTS_BOTH), (out, on),
                      sockets("Jetty, Pontoon", {"Pontoon": heat("battery warmer", 350.0)}))  # fmt: skip
    return single("marina", Supply("TT", electrode_ohms=About(40.0)), circuit)


def old_aluminium() -> Installation:
    """Aluminium cores, thirty metres of them, no protective conductor after the first point."""
    runs = (
        run("Panel", "Parlor", 14.0, cores("L N E", AWG12, "aluminium")),
        run("Parlor", "Attic", 18.0, cores("L N", AWG12, "aluminium")),
    )
    points = (
        Point("Parlor", loads=(heat("lamp", 200.0),)),
        Point("Attic", conductors=("L", "N"), loads=(heat("heater", 1300.0),)),
    )
    circuit = Circuit("parlor", Device("parlor breaker"), runs, points, "Panel", (("L", "L1"),))
    return american("farmhouse", circuit)


def accidental_returns() -> Installation:
    """A water pipe, a screen between two circuits' earths and a path that is not certain."""
    left = Circuit("left", Device("left breaker"), chain("Board, Amp, Deck", 7.0),
                   sockets("Amp, Deck", {"Deck": heat("oven", 2000.0, frame=True)}))  # fmt: skip
    right = Circuit("right", Device("right breaker"), chain("Board, Tuner, Aerial", 9.0),
                    sockets("Tuner, Aerial", {"Aerial": heat("booster", 30.0, frame=True)}))  # fmt: skip
    paths = (
        Path("water pipe", "Board.E", "earth", About(8.0)),
        Path("screen", "Deck.E", "Aerial.E", About(1.4), kind="screen"),
        Path("radiator", "Amp.E", "earth", About(300.0), certain=False),
    )
    return single("listening room", Supply("TN-C-S"), left, right, paths=paths)


def outlet_device() -> Installation:
    """An outlet with its own residual device that carries the circuit on to two more."""
    gate = Device("vanity gfci", "gfci", 20.0, "", 0.005, "class A", PARTS_BOTH)
    points = (
        Point("Vanity", device=gate),
        *sockets("Tub, Terrace", {"Terrace": heat("lamp", 100.0, frame=True)}),
    )
    circuit = Circuit("bath", Device("bath breaker", amps=20.0),
                      chain("Panel, Vanity, Tub, Terrace", 6.0, cores("L N E", AWG12)), points,
                      "Panel", (("L", "L1"),))  # fmt: skip
    return american("bath", circuit)


def borrowed_groups() -> Installation:
    """Two circuits behind two residual devices with a neutral bar each."""
    first, second = accidental_returns().circuits
    groups = (
        Group(Device("left rcd", "rcd", 63.0, "", 0.03, poles=PARTS_BOTH), ("left",)),
        Group(Device("right rcd", "rcd", 63.0, "", 0.03, poles=PARTS_BOTH), ("right",)),
    )
    board = Board(groups=groups)
    return single("two bars", Supply("TN-S"), first, second, boards=(board,))


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
}
