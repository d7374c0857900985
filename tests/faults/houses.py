"""Invented installations that between them have every pattern the catalogue enumerates over."""

from __future__ import annotations

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
    Region,
    Run,
    Source,
    Supply,
    Switch,
)

LNE = (Core("L", "L", 2.5), Core("N", "N", 2.5), Core("E", "E", 1.5))
EXACT = About(230.0, 0.0)


def run(
    start: str, end: str, cores: tuple[Core, ...] = LNE, metres: float = 5.0, name: str = ""
) -> Run:
    """A run named after its ends."""
    return Run(name or f"{start}–{end}", start, end, About(metres), cores)


def chain(*places: str, cores: tuple[Core, ...] = LNE) -> tuple[Run, ...]:
    """Runs from place to place."""
    return tuple(run(a, b, cores) for a, b in pairwise(places))


def cores(*keys: str) -> tuple[Core, ...]:
    """1.5 mm² cores that keep their key; "L>SL" changes it on the way."""
    ends = [key.split(">") for key in keys]
    return tuple(Core(end[0], end[-1], 1.5) for end in ends)


def lamp(watts: float = 60.0, across: tuple[str, str] = ("L", "N"), name: str = "lamp") -> Load:
    """A filament lamp."""
    return Load(name, "filament", About(watts), across)


def kettle() -> Load:
    """A heating appliance with an earthed frame."""
    return Load("kettle", "heater", About(2000.0), frame=True)


def set_top() -> Load:
    """Earthed electronics with filters."""
    return Load("amplifier", "electronics", About(60.0), frame=True, filter_farads=4.7e-9)


def radial(points: int = 12, region: Region = "uk") -> Installation:
    """One radial of outlets, loads on every third."""
    names = [f"P{k}" for k in range(1, points + 1)]
    loads = ((kettle(),), (set_top(),), ())
    return Installation(
        "row of outlets",
        region,
        Supply("TN-C-S", volts=EXACT),
        circuits=(
            Circuit(
                "outlets",
                Device("outlets breaker"),
                chain("Board", *names),
                tuple(Point(name, loads=loads[k % 3]) for k, name in enumerate(names)),
            ),
        ),
    )


def one_way(contact: tuple[str, str] = ("L", "SL"), name: str = "switch") -> Switch:
    """A plain switch, on."""
    return Switch(name, (Contact(*contact, ("on",)),))


def looped_at_switch() -> Circuit:
    """Line and neutral at the switch; a switched cable to the lamp."""
    return Circuit(
        "store lights",
        Device("store lights breaker", amps=6.0),
        (
            run("Board", "Store switch"),
            run("Store switch", "Store lamp", cores("SL", "N", "E")),
            run("Store switch", "Spare socket"),
        ),
        (
            Point("Store switch", "switch", ("L", "N", "E", "SL"), front=False,
                  switches=(one_way(name="store switch"),)),
            Point("Store lamp", "light", ("SL", "N", "E"), front=False,
                  loads=(lamp(across=("SL", "N")),)),
            Point("Spare socket", loads=(lamp(25.0),)),
        ),
        shape="lighting",
    )  # fmt: skip


def looped_at_ceiling() -> Circuit:
    """Line and neutral loop through the ceilings; two cores down to each switch."""
    points: list[Point] = []
    for room in ("Hall", "Landing"):
        points += [
            Point(f"{room} lamp", "light", ("L", "N", "E", "SL"), front=False,
                  loads=(lamp(across=("SL", "N")),)),
            Point(f"{room} switch", "switch", ("L", "SL", "E"), front=False,
                  switches=(one_way(name=f"{room.lower()} switch"),)),
        ]  # fmt: skip
    return Circuit(
        "hall lights",
        Device("hall lights breaker", amps=6.0),
        (
            run("Board", "Hall lamp", cores("L", "N", "E")),
            run("Hall lamp", "Landing lamp", cores("L", "N", "E")),
            run("Hall lamp", "Hall switch", cores("L", "SL", "E")),
            run("Landing lamp", "Landing switch", cores("L", "SL", "E")),
        ),
        tuple(points),
        shape="lighting",
    )


def two_way() -> Circuit:
    """Two switches with strappers, the lamp fed from the second."""
    return Circuit(
        "stair lights",
        Device("stair lights breaker", amps=6.0),
        (
            run("Board", "Bottom switch", cores("L", "N", "E")),
            run("Bottom switch", "Top switch", cores("T1", "T2", "N", "E")),
            run("Top switch", "Stair lamp", cores("SL", "N", "E")),
        ),
        (
            Point("Bottom switch", "switch", ("L", "N", "E", "T1", "T2"), front=False,
                  switches=(Switch("bottom", (Contact("L", "T1", ("up",)),
                                              Contact("L", "T2", ("down",))),
                                   ("up", "down"), "up"),)),
            Point("Top switch", "switch", ("T1", "T2", "SL", "N", "E"), front=False,
                  switches=(Switch("top", (Contact("T1", "SL", ("up",)),
                                           Contact("T2", "SL", ("down",))),
                                   ("up", "down"), "up"),)),
            Point("Stair lamp", "light", ("SL", "N", "E"), front=False,
                  loads=(lamp(across=("SL", "N")),)),
        ),
        shape="lighting",
    )  # fmt: skip


def row_of_lights() -> Circuit:
    """Three lights looped along one cable."""
    names = ("Shed 1", "Shed 2", "Shed 3")
    return Circuit(
        "shed lights",
        Device("shed lights breaker", amps=6.0),
        chain("Board", *names, cores=cores("L", "N", "E")),
        tuple(Point(name, "light", front=False, loads=(lamp(),)) for name in names),
        shape="lighting",
    )


def ring(name: str, *places: str) -> Circuit:
    """A ring of outlets back to the board."""
    return Circuit(
        name,
        Device(f"{name} breaker", amps=32.0),
        (*chain("Board", *places), run(places[-1], "Board")),
        tuple(Point(place, loads=(kettle(),) if k == 1 else ()) for k, place in enumerate(places)),
        shape="ring",
    )


def house() -> Installation:
    """Two rings behind one residual device, lights behind another, TN-C-S."""
    groups = (
        Group(
            Device("socket rcd", "rcd", 63.0, "", 0.03, poles=("L", "N")),
            ("upstairs", "downstairs"),
        ),
        Group(
            Device("light rcd", "rcd", 63.0, "", 0.03, poles=("L", "N")),
            ("store lights", "hall lights", "stair lights", "shed lights"),
        ),
    )
    return Installation(
        "house",
        "uk",
        Supply("TN-C-S", "single", EXACT),
        (Board(groups=groups),),
        (
            ring("upstairs", "U1", "U2", "U3", "U4"),
            ring("downstairs", "D1", "D2", "D3", "D4"),
            looped_at_switch(),
            looped_at_ceiling(),
            two_way(),
            row_of_lights(),
        ),
        (
            Path("gas pipe", "Board.E", "earth", About(20.0), kind="bond"),
            Path("screen", "U2.E", "D2.E", About(1.0), certain=False, kind="bond"),
        ),
    )


def american() -> Installation:
    """Split phase: an outlet with its own residual device, and a shared neutral."""
    shared = (Core("L1", "L1", 3.31), Core("L2", "L2", 3.31), *LNE[1:])
    return Installation(
        "bungalow",
        "na",
        Supply("TN-C-S", "split", About(120.0, 0.0), 60.0, electrode_ohms=About(25.0)),
        (Board("Panel", Device("main", "switch", 100.0, "", poles=("L1", "L2"))),),
        (
            Circuit(
                "bath",
                Device("bath breaker", amps=20.0),
                chain("Panel", "Vanity", "Porch"),
                (
                    Point("Vanity", device=Device("vanity gfci", "gfci", 20.0, "", 0.005,
                                                  "class A", ("L", "N"))),
                    Point("Porch", carries="pigtail", loads=(lamp(),)),
                ),
                "Panel",
                (("L", "L1"),),
            ),
            Circuit(
                "kitchen",
                Device("kitchen breaker", amps=20.0, poles=("L1", "L2")),
                (run("Panel", "Counter", shared), run("Counter", "Toaster shelf", shared)),
                (
                    Point("Counter", conductors=("L1", "L2", "N", "E")),
                    Point("Toaster shelf", conductors=("L1", "L2", "N", "E"),
                          loads=(lamp(60.0, ("L1", "N")), lamp(100.0, ("L2", "N"), "grill"))),
                ),
                "Panel",
                (("L1", "L1"), ("L2", "L2")),
                "shared neutral",
            ),
        ),
        sources=(Source("generator", "island", "Panel"),),
    )  # fmt: skip


def barn() -> Installation:
    """TT, an electrode, a feeder to a sub-board and a radial on it, metal by itself, history."""
    return Installation(
        "barn",
        "eu",
        Supply("TT", "single", EXACT, electrode_ohms=About(80.0)),
        (Board(), Board("Barn board", Device("barn switch", "switch", poles=("L", "N")),
                        fed_by="feeder")),
        (
            Circuit("feeder", Device("feeder rcbo", "rcbo", 32.0, "C", 0.1, poles=("L", "N")),
                    (run("Board", "Barn board", metres=40.0),), (), shape="feeder"),
            Circuit("pens", Device("pens breaker"), chain("Barn board", "Pen 1", "Pen 2"),
                    (Point("Pen 1", loads=(lamp(),)),
                     Point("Pen 2", loads=(kettle(),), history=("water got in",))),
                    "Barn board"),
        ),
        (Path("trough to soil", "Trough.E", "earth", About(2e3), kind="other"),),
        sources=(Source("solar", "follows", "Board"),
                 Source("cord", "lead", "Barn board", from_board="Board"),
                 Source("next door", "foreign", "Barn board")),
    )  # fmt: skip


def workshop() -> Installation:
    """Three phases, a motor between two of them, earthing by a separate conductor."""
    return Installation(
        "workshop",
        "eu",
        Supply("TN-S", "three", EXACT),
        (Board("Board", Device("main switch", "switch", poles=("L1", "L2", "L3", "N"))),),
        (
            Circuit("saw", Device("saw breaker", curve="C", poles=("L1", "L2", "L3")),
                    (run("Board", "Saw", cores("L1", "L2", "L3", "N", "E")),),
                    (Point("Saw", "appliance", ("L1", "L2", "L3", "N", "E"), front=False,
                           loads=(Load("motor", "motor", About(1500.0), ("L1", "L2"),
                                       frame=True),)),),
                    legs=(("L1", "L1"), ("L2", "L2"), ("L3", "L3")), shape="fixed"),
            Circuit("bench", Device("bench breaker"), chain("Board", "Bench 1", "Bench 2"),
                    (Point("Bench 1"), Point("Bench 2", loads=(lamp(),))), legs=(("L", "L2"),)),
        ),
    )  # fmt: skip


def laundry() -> Installation:
    """A high-leg delta with a 120 V circuit and a three-line dryer."""
    keys = ("L1", "L2", "L3", "N", "E")
    return Installation(
        "laundry",
        "na",
        Supply("TN-C-S", "high leg", About(120.0, 0.0), 60.0, electrode_ohms=About(25.0)),
        (Board("Panel", Device("main", "switch", poles=("L1", "L2", "L3"))),),
        (
            Circuit("folding", Device("folding breaker", amps=20.0), chain("Panel", "Table"),
                    (Point("Table", loads=(lamp(),)),), "Panel", (("L", "L1"),)),
            Circuit("dryer", Device("dryer breaker", poles=("L1", "L2", "L3")),
                    (run("Panel", "Dryer", cores(*keys)),),
                    (Point("Dryer", "appliance", keys, front=False,
                           loads=(Load("drum", "motor", About(700.0), ("L1", "L3")),)),),
                    "Panel", (("L1", "L1"), ("L2", "L2"), ("L3", "L3")), "fixed"),
        ),
    )  # fmt: skip


EVERY = {
    "radial": radial(3), "house": house(), "american": american(), "barn": barn(),
    "workshop": workshop(), "laundry": laundry(),
}  # fmt: skip
