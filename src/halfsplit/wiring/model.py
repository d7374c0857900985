"""What is installed: supply, boards, devices, runs of cable, points and loads, as immutable values.

The words are the trade's. Lengths are metres, sizes mm², resistances ohm, capacitances farad,
currents ampere, powers watt, voltages volt r.m.s.; a *spread* is the standard deviation of the
natural logarithm of a value that is only known "about" (0 = as stated).

A conductor is named by a short key at each place: ``L`` line, ``N`` neutral, ``E`` protective
conductor, ``L1 L2 L3`` where a place has several lines, ``SL`` switched line, ``T1 T2`` strappers.
Regions change the words on the screen, never these keys.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

Earthing = Literal["TN-S", "TN-C-S", "TT", "TN-C", "IT"]
Live = Literal["single", "split", "three", "centre tap", "high leg"]
Region = Literal["uk", "eu", "na", "au"]
# What was said not to be known of a circuit, kept with its history.
UNKNOWN_LEG, UNKNOWN_RATING, FIRST_KNOWN = "leg unknown", "rating unknown", "first point known"
NOT_KNOWN = (UNKNOWN_LEG, UNKNOWN_RATING, FIRST_KNOWN)
SourceKind = Literal["follows", "island", "foreign", "lead"]


@dataclass(frozen=True, slots=True)
class About:
    """A value with how well it is known: ``spread`` is a log standard deviation (0 = exact)."""

    value: float
    spread: float = 0.0


@dataclass(frozen=True, slots=True)
class Supply:
    """The supply at the origin; earthing and live conductors are apart.

    ``volts`` is line to neutral (to the centre tap for split phase). ``line_ohms``,
    ``neutral_ohms`` and ``earth_ohms`` are the external impedances of one line, of the neutral
    and of the protective path; for TN-C-S and TN-C the neutral's serves as the combined
    conductor. ``electrode_ohms`` is the installation's electrode (TT, or a rod at the service).
    """

    earthing: Earthing = "TN-S"
    live: Live = "single"
    volts: About = About(230.0, 0.03)
    hertz: float = 50.0
    line_ohms: About = About(0.12, 0.5)
    neutral_ohms: About = About(0.08, 0.5)
    earth_ohms: About = About(0.25, 0.5)
    source_electrode_ohms: About = About(5.0, 0.7)
    electrode_ohms: About | None = None
    earthing_known: bool = True
    history: tuple[str, ...] = ()  # what happened at the service


@dataclass(frozen=True, slots=True)
class Device:
    """A protective or switching device in a way of a board.

    ``kind`` is breaker, fuse, rcd, rcbo, switch, gfci or none. ``curve`` B, C or D for breakers,
    the fuse type otherwise. ``residual_amps`` is the rated residual operating current (0 = none);
    ``residual_type`` AC, A, F, B or class A. ``poles`` lists the conductors it parts; ``arc``
    says whether it also trips on what it takes for arcing.
    """

    name: str
    kind: str = "breaker"
    amps: float = 16.0
    curve: str = "B"
    residual_amps: float = 0.0
    residual_type: str = "A"
    poles: tuple[str, ...] = ("L",)
    closed: bool = True
    arc: bool = False


@dataclass(frozen=True, slots=True)
class Group:
    """Ways of a board behind one shared device (an RCD with its own neutral bar)."""

    device: Device
    circuits: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Board:
    """A board: main switch, ways, bars. ``fed_by`` is "" at the origin, else a circuit's name."""

    name: str = "Board"
    main: Device = Device("main switch", "switch", 100.0, "", poles=("L", "N"))
    groups: tuple[Group, ...] = ()
    fed_by: str = ""
    history: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Core:
    """One core of a run: the conductor it serves at its start and at its end, size and metal."""

    start: str
    end: str
    mm2: float
    metal: str = "copper"
    colour: str = ""


@dataclass(frozen=True, slots=True)
class Run:
    """A length of cable between two places, with its cores.

    ``capacitance`` (F/m, core to core) and ``insulation`` (ohm·m, core to core: the leakage
    resistance of one metre) come from ``tables.cables`` unless stated.
    """

    name: str
    start: str
    end: str
    length: About
    cores: tuple[Core, ...]
    cable: str = ""
    temperature_c: float = 20.0
    capacitance: About | None = None
    insulation: About | None = None
    exposed: tuple[str, ...] = ()  # history words: damp, outdoor, old, worked on


@dataclass(frozen=True, slots=True)
class Contact:
    """A switching contact inside a point: joins two of its conductors in the named positions."""

    a: str
    b: str
    closed_in: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Switch:
    """A switch at a point. ``positions`` are its states; contacts say what each joins."""

    name: str
    contacts: tuple[Contact, ...]
    positions: tuple[str, ...] = ("on", "off")
    position: str = "on"


@dataclass(frozen=True, slots=True)
class Load:
    """Anything that draws current, between two conductors of a point (or through its socket front).

    ``kind`` is one of behaviour's laws: heater, filament, led, electronics, motor, fluorescent,
    or "" when unknown. ``frame`` says whether it has an earthed frame; ``filter_farads`` is each
    of the two capacitors from line and neutral to that frame; ``leak_ohms`` a standing leakage.
    ``connected`` is plugged in; ``on`` is switched on at the appliance.
    """

    name: str
    kind: str = "electronics"
    watts: About = About(60.0, 0.4)
    across: tuple[str, str] = ("L", "N")
    plugged: bool = True
    connected: bool = True
    on: bool = True
    frame: bool = False
    filter_farads: float = 0.0
    warm_leak_ohms: float = 0.0
    mentioned: bool = True


@dataclass(frozen=True, slots=True)
class Point:
    """A place on a circuit: socket-outlet, luminaire, switch, joint box, fixed appliance.

    ``conductors`` are the keys present. ``carries`` says what takes the circuit on: the
    accessory's own terminals, or a pigtail/splice beside it. ``front`` is True where a plug goes.
    """

    name: str
    kind: str = "socket"
    conductors: tuple[str, ...] = ("L", "N", "E")
    carries: Literal["accessory", "pigtail"] = "accessory"
    front: bool = True
    switches: tuple[Switch, ...] = ()
    loads: tuple[Load, ...] = ()
    history: tuple[str, ...] = ()
    access: str = "plug"  # plug | cover | floor | loft | sealed
    device: Device | None = None  # a residual-current outlet or fused unit at the point itself
    may_be_on: tuple[str, ...] = ()  # other circuits that may feed it, where nobody knows


@dataclass(frozen=True, slots=True)
class Circuit:
    """A circuit: a way of a board with its device, its runs and points.

    ``legs`` maps the circuit's line keys to the board's (("L", "L1") on the second leg, say).
    ``order_known`` is False when the points are known but not the order in which they are fed.
    """

    name: str
    device: Device
    runs: tuple[Run, ...]
    points: tuple[Point, ...]
    board: str = "Board"
    legs: tuple[tuple[str, str], ...] = (("L", "L"),)
    shape: str = "radial"  # radial | ring | lighting | fixed | shared neutral | feeder
    order_known: bool = True
    history: tuple[str, ...] = ()

    @property
    def first_known(self) -> bool:
        """Whether, of an unknown order, the point fed first is known."""
        return FIRST_KNOWN in self.history

    @property
    def leg_known(self) -> bool:
        """Whether the supply's line it stands on is more than a guess."""
        return UNKNOWN_LEG not in self.history

    @property
    def rating_known(self) -> bool:
        """Whether its device's rating is more than the usual one."""
        return UNKNOWN_RATING not in self.history


@dataclass(frozen=True, slots=True)
class Path:
    """A conducting path that is not a circuit: bonding, a pipe, a screen, a body, a rod.

    ``a`` and ``b`` are node names ("Board.E", "earth", "Kitchen.E"); ``certain`` is False for an
    accidental return whose presence is itself unknown.
    """

    name: str
    a: str
    b: str
    ohms: About
    certain: bool = True
    kind: str = "bond"


@dataclass(frozen=True, slots=True)
class Source:
    """Another source than the supply, on the bars of ``board`` through its own isolation point.

    ``kind``: "follows" for one that feeds only beside the supply and stops with it (solar);
    "island" for one that can feed alone (generator, battery, vehicle, UPS), whose own neutral is
    linked to earth where ``links_neutral``; "foreign" for a supply earthed elsewhere (a lead from
    next door); "lead" for a lead from the bars of ``from_board``. ``on`` says whether its isolation
    point is closed. ``ohms`` is each conductor's impedance; the voltage is the supply's.
    """

    name: str
    kind: SourceKind
    board: str
    on: bool = False
    links_neutral: bool = True
    ohms: About = About(0.3, 0.7)
    from_board: str = ""

    @property
    def isolator(self) -> str:
        """The name of its isolation point, as conditions and faults call it."""
        return f"{self.name} isolator"


@dataclass(frozen=True, slots=True)
class Installation:
    """Supply, boards, circuits, other paths and other sources: all the readings depend on."""

    title: str = ""
    region: Region = "uk"
    supply: Supply = field(default_factory=Supply)
    boards: tuple[Board, ...] = (Board(),)
    circuits: tuple[Circuit, ...] = ()
    paths: tuple[Path, ...] = ()
    history: tuple[str, ...] = ()
    sources: tuple[Source, ...] = ()

    def circuit(self, name: str) -> Circuit:
        """The circuit of that name; KeyError where there is none."""
        for circuit in self.circuits:
            if circuit.name == name:
                return circuit
        raise KeyError(name)

    def points(self) -> tuple[Point, ...]:
        """All points, circuit by circuit, in order."""
        return tuple(point for circuit in self.circuits for point in circuit.points)

    def with_circuit(self, circuit: Circuit) -> Installation:
        """The same installation with the circuit of that name replaced."""
        kept = tuple(circuit if c.name == circuit.name else c for c in self.circuits)
        return replace(self, circuits=kept)
