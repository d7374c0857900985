"""Invented installations with one line at each point: radials, rings, lights, returns."""

from __future__ import annotations

from dataclasses import replace

from halfsplit.wiring.model import (
    About,
    Board,
    Circuit,
    Contact,
    Core,
    Device,
    Group,
    Installation,
    Path,
    Point,
    Supply,
    Switch,
)
from tests.oracles.parts import (
    AWG12,
    AWG14,
    PARTS_BOTH,
    american,
    chain,
    cores,
    heat,
    inner,
    one_way,
    run,
    single,
    sockets,
)


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


def ceiling_loop() -> Installation:
    """Line and neutral looped through three ceilings, a drop to a switch from each."""
    points: list[Point] = []
    runs = list(chain("Board, Porch lamp, Hall lamp, Pantry lamp", 7.0, cores("L N E")))
    for room, state in (("Porch", "on"), ("Hall", "off"), ("Pantry", "on")):
        points.append(inner(f"{room} lamp", "light", "L N E SL", heat("lamp", 60.0, ("SL", "N"))))
        points.append(
            inner(
                f"{room} switch",
                "switch",
                "L SL E",
                switch=one_way(f"{room} rocker", position=state),
            )
        )
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


def filters() -> Installation:
    """Appliances with filter capacitors to an earthed frame, one of them switched off."""
    names = "Screen, Amplifier, Printer, Spare"
    loads = {
        "Screen": heat("screen", 80.0, frame=True, filter_farads=4.7e-9),
        "Amplifier": heat("amplifier", 150.0, frame=True, filter_farads=2.2e-9),
        "Printer": heat("printer", 40.0, frame=True, filter_farads=10e-9, on=False),
    }
    circuit = Circuit(
        "media", Device("media breaker"), chain(f"Board, {names}", 3.0), sockets(names, loads)
    )
    return single("media room", Supply("TN-C-S"), circuit)


def long_damp_cable() -> Installation:
    """An outdoor cable of stated capacitance and poor insulation, warm, to two outlets."""
    out = run("Board", "Jetty", 140.0, cores("L N E", 6.0))
    out = replace(out, capacitance=About(140e-12), insulation=About(2e9), temperature_c=55.0)
    on = replace(run("Jetty", "Pontoon", 60.0), insulation=About(3e8))
    circuit = Circuit(
        "jetty",
        Device("jetty breaker", amps=20.0, poles=PARTS_BOTH),
        (out, on),
        sockets("Jetty, Pontoon", {"Pontoon": heat("battery warmer", 350.0)}),
    )
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
    left = Circuit(
        "left",
        Device("left breaker"),
        chain("Board, Amp, Deck", 7.0),
        sockets("Amp, Deck", {"Deck": heat("oven", 2000.0, frame=True)}),
    )
    right = Circuit(
        "right",
        Device("right breaker"),
        chain("Board, Tuner, Aerial", 9.0),
        sockets("Tuner, Aerial", {"Aerial": heat("booster", 30.0, frame=True)}),
    )
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
    circuit = Circuit(
        "bath",
        Device("bath breaker", amps=20.0),
        chain("Panel, Vanity, Tub, Terrace", 6.0, cores("L N E", AWG12)),
        points,
        "Panel",
        (("L", "L1"),),
    )
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


def combined() -> Installation:
    """TN-C: the combined conductor of the supply serves both, one radial behind."""
    return replace(short_radial(), title="old mill", supply=Supply("TN-C"))


def unearthed() -> Installation:
    """IT: nothing but leakage, capacitance and one rod holds the supply."""
    supply = Supply("IT", electrode_ohms=About(20.0))
    return replace(short_radial(), title="ward", supply=supply)
