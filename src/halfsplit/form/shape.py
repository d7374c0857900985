# ruff: noqa: E501 (a table reads best with one row on one line)
"""The table of keys: one table feeds the reading, the JSON Schema and the guide.

``takes`` says what a key holds: ``text``, ``yes`` (yes or no), ``number`` (a number with its
unit), ``words`` (a text or a list of texts), ``chain`` (lengths and points in turn), ``ends`` or
``tests`` (a mapping of free keys to numbers), ``map of X`` (names, each with section X), ``list of
X``, or a section ``X`` itself; a section may always be given as a short text where it has one.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Key:
    """One key of one section: what it takes, an example, and what it says."""

    section: str
    name: str
    takes: str
    example: str
    says: str
    also: tuple[str, ...] = ()
    required: bool = False
    long: bool = False  # longhand: seldom typed by a person


SECTIONS = MappingProxyType(
    {
        "job": "The whole form",
        "supply": "The supply (a short text will do)",
        "board": "A board",
        "group": "Ways behind one shared device",
        "device": "A protective device (a short text will do)",
        "circuit": "A circuit",
        "leg": "A length in a run, when more than its length is known",
        "light": "A light in a lighting circuit",
        "run": "A run of cable in longhand",
        "point": "A point (its kind alone will do)",
        "switch": "A switch in longhand",
        "load": "A load (a short text will do)",
        "path": "A conducting path that is not a circuit",
        "source": "Another source than the supply (on, off or its kind will do)",
        "reading": "A reading, or several taken at one place",
        "with": "Conditions while a reading was taken",
        "mend": "Something put right (give did, and the part it disturbed)",
        "after": "Tests after the mend, one entry or several taken at one place",
        "left": "How what could not be mended was left",
        "found": "Something seen and not mended",
    }
)


def _keys(section: str, *rows: tuple[str, ...]) -> tuple[Key, ...]:
    made: list[Key] = []
    for name, takes, example, says, *rest in rows:
        marks = rest[0].split(",") if rest else []
        also = tuple(m.strip() for m in marks if m.strip() and m.strip() not in ("!", "long"))
        stripped = [m.strip() for m in marks]
        made.append(Key(section, name, takes, example, says, also, "!" in stripped,
                        "long" in stripped))  # fmt: skip
    return tuple(made)


KEYS: tuple[Key, ...] = (
    _keys(
        "job",
        ("title", "text", "Boat shed, east wall", "what the job is called"),
        ("region", "text", "uk", "uk, eu, na or au: words, colours and usual values"),
        ("edition", "text", "2022", "edition of the rules to apply; the newest when left out"),
        ("supply", "supply", "TN-S 230 V", "earthing and live conductors; unknown is allowed"),
        ("board", "board", "RCD 30 mA 63 A", "the only board's main device or its details"),
        ("boards", "map of board", "{Shed board: {}}", "several boards by name"),
        ("circuits", "map of circuit", "{east wall: {run: [8 m, Bench]}}", "circuits by name", "circuit"),
        ("other paths", "map or list of path", "{gas pipe: Board E to earth}",
         "bonding, pipes, rods, screens, metal by itself", "paths"),
        ("other sources", "map of source", "[solar, battery]", "other sources than the supply, in words or by name with details", "sources"),
        ("history", "words", "[works last week, storm]", "what happened to the installation"),
        ("tools", "words", "[multimeter, clamp]", "instruments at hand"),
        ("readings", "list of reading", "[{at: Bench, L-N: 230}]", "what was measured and seen", "reading"),
        ("mend", "list of mend", "[{did: remade the joint, at: Bench, joint: N}]", "what was put right", "mended"),
        ("tests after", "list of after", "[{at: Bench, R1+R2: 0.34 ohm}]", "tests after the mend", "tests"),
        ("open items", "words", "[L-E link at Board]", "links still in and cores still lifted: they block energising", "links in"),
        ("left safe", "left", "{isolated: hall, told: [the tenant]}", "how what could not be mended was left"),
        ("seen", "list of found", "[{what: cracked plate, at: Hall, class: C3}]", "what was seen and not mended", "observations"),
        ("notes", "text", "Tenant smelt burning on Sunday.", "free words, kept as they are", "note"),
    )
    + _keys(
        "supply",
        ("earthing", "text", "TN-C-S", "TN-S, TN-C-S, TT, TN-C, IT or unknown"),
        ("live", "text", "split phase", "single phase, split phase, three phase, centre tapped, high leg", "system, phases"),
        ("volts", "number", "230 V", "line to neutral (to the centre tap)", "voltage"),
        ("hertz", "number", "50 Hz", "frequency", "frequency"),
        ("line", "number", "0.12 ohm", "external impedance of one line"),
        ("neutral", "number", "0.08 ohm", "external impedance of the neutral, or the combined conductor"),
        ("earth", "number", "0.25 ohm", "external impedance of the supply's protective conductor"),
        ("electrode", "number", "about 60 ohm", "the installation's earth electrode", "rod"),
        ("source electrode", "number", "5 ohm", "the supply's own electrode"),
    )
    + _keys(
        "board",
        ("main", "device", "RCD 30 mA 63 A", "main switch, or a main device that can trip", "main switch, device"),
        ("fed by", "text", "shed feed", "the circuit that feeds this board"),
        ("groups", "map of group", "{RCD 1: [lights, sockets]}", "circuits behind a shared device", "behind"),
    )
    + _keys(
        "group",
        ("device", "device", "RCD 30 mA 63 A", "the shared device"),
        ("circuits", "words", "[lights, sockets]", "the circuits behind it", "!"),
    )
    + _keys(
        "device",
        ("kind", "text", "rcbo", "breaker, fuse, rcd, rcbo, gfci, switch or none"),
        ("rating", "number", "32 A", "rated current", "amps"),
        ("curve", "text", "B", "B, C or D, or the fuse type"),
        ("residual", "number", "30 mA", "rated residual operating current"),
        ("type", "text", "AC", "residual type: AC, A, F, B or class A"),
        ("poles", "words", "[L, N]", "conductors it opens"),
        ("name", "text", "RCD 1", "its own name, where it has one"),
        ("closed", "yes", "no", "no when it stands off or tripped"),
    )
    + _keys(
        "circuit",
        ("board", "text", "Shed board", "the board it starts from"),
        ("device", "device", "B16", "the device that protects it", "breaker"),
        ("cable", "text", "2.5/1.5 twin and earth", "cable where no other is stated"),
        ("run", "chain", "[8 m, Bench, about 6 m, Winch]", "lengths and points in turn, from the board"),
        ("ring", "chain", "[8 m, Hall, 5 m, Study, 9 m]", "the same, the last length back to the board"),
        ("branches", "map of chain", "{Hall: [3 m, Porch]}", "what leaves from a point", "spurs, branch, spur"),
        ("feeds", "text", "Shower", "one fixed appliance, or a board"),
        ("length", "number", "12 m", "length of cable to what it feeds"),
        ("lighting", "chain", "[6 m, Landing: {switched by: Landing switch}]", "lengths and lights in turn", "lights"),
        ("looped at", "text", "ceiling", "ceiling or switch: where the line goes on", "loop at"),
        ("legs", "words", "[L1, L2]", "the board's lines it uses, or unknown", "leg, phase, phases"),
        ("neutral", "yes", "no", "no for a circuit without neutral"),
        ("earth", "yes", "no", "no for a circuit without protective conductor"),
        ("points", "map of point", "{Hall: light}", "details of points; or a number of points", "point"),
        ("order", "text", "unknown", "unknown, or unknown after first, when nobody knows which point feeds which"),
        ("plugged in", "map of load", "{Bench: [60 W, electronics]}", "loads by point", "loads"),
        ("history", "words", "[water]", "what happened to this circuit"),
        ("shape", "text", "ring", "the pattern in longhand", "long"),
        ("runs", "list of run", "[{from: Board, to: Hall, cores: [L 2.5]}]", "every run in longhand", "long"),
    )
    + _keys(
        "leg",
        ("length", "number", "5 m", "its length", "!"),
        ("cable", "text", "4/1.5 twin and earth", "its cable"),
        ("name", "text", "loft run", "its name, if it has one"),
        ("history", "words", "[rodents]", "damp, outdoor, old, worked on, rodents", "exposed"),
        ("temperature", "number", "30", "degrees Celsius of the conductor"),
    )
    + _keys(
        "light",
        ("switched by", "words", "[Hall switch, Landing switch]", "one switch, or two and more for two-way; nothing for none", "switch"),
        ("drops", "words", "[3 m, 5 m]", "lengths of cable: light to switch (or switch to switch, to light)", "drop"),
        ("lamp", "load", "LED 9 W", "what is fitted", "lamps, load, loads"),
        ("more lights", "chain", "[3 m, Wardrobe light]", "lights on the same switch", "also lights"),
        ("positions", "words", "[down, up]", "how the switches stand", "position"),
        ("access", "text", "cover", "plug, cover, floor, loft or sealed"),
        ("carries", "text", "pigtail", "accessory or pigtail"),
        ("history", "words", "[water]", "what happened here"),
        ("kind", "text", "light", "light, or a fan and the like as appliance"),
    )
    + _keys(
        "run",
        ("name", "text", "Board–Hall", "name of the run"),
        ("from", "text", "Board", "where it starts", "!"),
        ("to", "text", "Hall", "where it ends", "!"),
        ("length", "number", "8 m", "its length", "!"),
        ("cores", "words", "[L 2.5, N 2.5, E 1.5]", "conductor at start (and > at end), size, metal, colour", "!"),
        ("cable", "text", "2.5/1.5 twin and earth", "its trade name"),
        ("temperature", "number", "20", "degrees Celsius"),
        ("capacitance", "number", "100 pF", "core to core, for each metre"),
        ("insulation", "number", "50000 MΩ", "core to core, for one metre"),
        ("history", "words", "[damp]", "what happened to it", "exposed"),
    )
    + _keys(
        "point",
        ("kind", "text", "socket", "socket, light, switch, fused unit, joint box, appliance, gfci outlet, isolator"),
        ("leg", "text", "L2", "which line of the circuit it uses", "legs, across"),
        ("half switched by", "text", "Lamp switch", "a switch point for one half of the outlet"),
        ("carries", "text", "pigtail", "what takes the circuit on: accessory or pigtail"),
        ("access", "text", "loft", "plug, cover, floor, loft or sealed"),
        ("worn", "yes", "yes", "worn contacts"),
        ("history", "words", "[water, old]", "water, rodents, worked on, old, outdoor or other words"),
        ("loads", "load", "kettle 3 kW", "what is plugged in or fixed here", "load, plugged in, lamp"),
        ("device", "device", "fuse 13 A", "a device at the point itself"),
        ("position", "text", "off", "how its switch stands"),
        ("conductors", "words", "[L, N, E]", "conductors present", "long"),
        ("front", "yes", "yes", "whether a plug goes in", "long"),
        ("switches", "list of switch", "[{name: S, contacts: [L-SL on]}]", "switches in longhand", "long"),
    )
    + _keys(
        "switch",
        ("name", "text", "Hall switch", "its name", "!"),
        ("contacts", "words", "[L-SL on]", "what each contact joins, and in which positions", "!"),
        ("positions", "words", "[on, off]", "its positions"),
        ("position", "text", "on", "how it stands"),
    )
    + _keys(
        "load",
        ("name", "text", "kettle", "its name"),
        ("kind", "text", "heater", "heater, filament, led, electronics, motor, fluorescent, surge protector, neon, or an appliance such as kettle"),
        ("power", "number", "3 kW", "rated power", "watts"),
        ("across", "text", "L1-L2", "conductors it lies between"),
        ("plugged", "yes", "yes", "yes by a plug, no when fixed"),
        ("connected", "yes", "yes", "no when unplugged"),
        ("on", "yes", "no", "no when switched off at the appliance"),
        ("frame", "yes", "yes", "whether it has an earthed frame"),
        ("filter", "number", "4.7 nF", "each capacitor from line and neutral to the frame"),
        ("warm leak", "number", "20 kΩ", "leakage from element to frame when warm"),
        ("mentioned", "yes", "no", "no when nobody mentioned it", "long"),
    )
    + _keys(
        "path",
        ("from", "text", "Board E", "one end: a terminal, or earth"),
        ("metal", "text", "Shower tray", "the end when it is metal by itself: a name of its own, for readings too"),
        ("to", "text", "earth", "the other end", "!"),
        ("ohms", "number", "about 30 ohm", "its resistance", "resistance"),
        ("certain", "yes", "no", "no when it may not be there at all"),
        ("kind", "text", "pipe", "bond, pipe, rod, screen, body or other"),
    )
    + _keys(
        "source",
        ("kind", "text", "generator", "solar, wind, generator, battery, vehicle, ups, lead or next door"),
        ("board", "text", "Shed board", "the board it feeds; the first when left out", "at"),
        ("from", "text", "Board", "the board a lead comes from"),
        ("on", "yes", "no", "whether its isolation point is closed"),
        ("own link", "yes", "yes", "whether its own neutral is linked to earth when it feeds alone", "link"),
        ("ohms", "number", "0.3 ohm", "impedance of each of its conductors", "resistance"),
    )
    + _keys(
        "reading",
        ("at", "text", "Bench", "the place; for what is noticed also a run, or unknown", "point"),
        ("circuit", "text", "east wall", "the circuit meant, where it is not plain"),
        ("device", "text", "RCD 1", "the device meant"),
        ("of", "text", "kettle", "the load meant"),
        ("contacts", "text", "terminals", "front, terminals, in or out", "side"),
        ("from", "text", "Bench N", "one end of a reading across places"),
        ("to", "text", "Sail loft N", "the other end"),
        ("reads", "number", "3.2 V", "what was shown between from and to", "shows"),
        ("volts", "number", "3.2", "the same, in volts"),
        ("ohms", "number", "0.4", "the same, dead, in ohms"),
        ("dead", "tests", "{L-E: 0.34 ohm}", "dead tests; or the points that do not work"),
        ("insulation", "tests", "{L-E: 0.3 MΩ at 250 V}", "insulation tests"),
        ("loop", "tests", "{L-E: 0.45 ohm}", "live loop tests"),
        ("clamp", "tests", "{L+N: 12 mA}", "clamp readings"),
        ("ring ends", "tests", "{r1: 0.6, rn: 0.6, r2: 1.0}", "end to end at the board"),
        ("ramp", "number", "22 mA", "residual current at which the device tripped"),
        ("works", "words", "[Hall, Study]", "points that work; or yes, no, weakly"),
        ("weak", "words", "[Study]", "points where things run weakly"),
        ("lit", "words", "[Hall]", "lamps normally bright"),
        ("unlit", "words", "[Hall]", "lamps that stay off"),
        ("destroyed", "words", "[TV, Study]", "loads or points that too much voltage destroyed; or yes, all"),
        ("dim", "words", "[Hall]", "lamps dim"),
        ("bright", "words", "[Hall]", "lamps too bright"),
        ("flickers", "words", "[Hall]", "lamps that flicker", "flicker, flickering"),
        ("glows", "words", "[Hall]", "lamps that glimmer when off", "glow, glimmers"),
        ("trips", "text", "at once", "at once, after 4 min, yes; or holds"),
        ("tingle", "text", "case", "where it tingles: case, tap, or a terminal"),
        ("shock", "text", "tap", "where somebody had a shock"),
        ("no shock", "text", "case", "where it was felt for and nothing was", "no tingle"),
        ("to touch", "text", "tap", "what else was touched; earth when left out", "and"),
        ("notice", "words", "[buzz, smell]", "buzz, heat, smell, scorch, spark, flicker, wet; also heat along Board–Shed", "senses, sense"),
        ("tester", "text", "open earth", "plug tester: its words, or 110 for L-N, L-E, N-E lamps", "plug tester"),
        ("by", "text", "multimeter", "the instrument", "instrument, with instrument"),
        ("showing", "yes", "no", "whether the fault was showing then"),
        ("settles", "yes", "no", "no when the reading would not settle", "settled"),
        ("with", "with", "{off: main switch}", "conditions that differ from those described", "when"),
        ("note", "text", "meter on its last battery", "free words, not used"),
        ("id", "text", "r7", "its number in a record", "long"),
        ("kind", "text", "volts", "kind of reading in longhand", "long"),
        ("a", "text", "Bench.L:front", "terminal in longhand", "long"),
        ("b", "text", "Bench.N:front", "terminal in longhand", "long"),
        ("through", "words", "[pole sockets L]", "parts a clamp is put round, in longhand", "long"),
        ("value", "number", "230", "value in longhand", "long"),
        ("seen", "text", "dim", "what was seen in longhand", "long"),
        ("place", "text", "Bench", "place in longhand", "long"),
    )
    + _keys(
        "with",
        ("off", "words", "[main switch, shower]", "devices, switches or loads off"),
        ("on", "words", "[east wall]", "devices, switches or loads on"),
        ("set", "map of text", "{Hall switch: up}", "positions of switches", "positions, switch"),
        ("unplugged", "words", "all", "loads unplugged: all, points or loads"),
        ("plugged", "words", "[kettle]", "loads plugged in or switched on", "plugged in"),
        ("linked", "words", "L-E at Board", "temporary links", "links, link"),
        ("lifted", "words", "[L at Bench in]", "cores taken out of terminals"),
        ("parted", "words", "[water meter jumper]", "other paths parted"),
        ("left in", "words", "[kettle]", "loads switched off but left plugged in", "switched off"),
        ("lamp in", "words", "Bench", "a test lamp put in at a point", "lamp in at, added"),
        ("dead", "yes", "yes", "isolated and proved dead"),
        ("energised", "yes", "no", "no when the supply is off"),
        ("warm", "yes", "yes", "after warming up"),
        ("rain", "yes", "yes", "in or after rain", "wet"),
    )
    + _keys(
        "mend",
        ("did", "text", "remade the neutral joint", "what was done, in your words", "!"),
        ("at", "text", "Bench", "the place; for what is noticed also a run, or unknown", "point"),
        ("joint", "words", "[N]", "conductors whose joint was remade there", "joints"),
        ("accessory", "yes", "yes", "the point itself was opened or changed"),
        ("cable", "text", "Bench–Shelf", "the run mended or replaced (or from: and to:)", "run"),
        ("from", "text", "Bench", "one end of that run"),
        ("to", "text", "Shelf", "its other end"),
        ("device", "text", "east wall", "the device changed"),
        ("load", "text", "kettle", "the appliance mended", "appliance"),
        ("bond", "text", "gas pipe", "the bonding or other path remade", "path"),
        ("supply", "text", "electrode", "electrode, link, or operator for what the network operator mended"),
        ("nothing", "yes", "yes", "nothing was opened: switched on, plugged in, taken away"),
        ("fault", "text", '"open joint: joint Bench N Board–Bench"', "the fault put right, by its id", "long"),
        ("who", "text", "A. Fitter", "who did it"),
        ("when", "text", "1 March 14:05", "when"),
        ("id", "text", "m1", "its number in a record", "long"),
    )
    + _keys(
        "after",
        ("at", "text", "Bench", "the place; for what is noticed also a run, or unknown", "point"),
        ("circuit", "text", "east wall", "the circuit meant, where it is not plain"),
        ("device", "text", "RCD 1", "the device under test"),
        ("load", "text", "kettle", "the appliance under test", "appliance"),
        ("proved dead", "yes", "yes", "every pair proved dead, detector proved before and after", "dead"),
        ("r1+r2", "number", "0.34 ohm", "line and protective conductor, linked at the board", "R1+R2"),
        ("r1+rn", "number", "0.30 ohm", "line and neutral, linked at the board", "R1+Rn"),
        ("continuity", "tests", "{E: 0.21 ohm}", "one conductor end to end, long lead from the board"),
        ("ring ends", "tests", "{r1: 0.44, rn: 0.44, r2: 0.73}", "end to end at the board"),
        ("ring cross", "tests", "{L-N: 0.22, L-E: 0.29}", "at the point, opposite ends joined at the board"),
        ("insulation", "tests", '{L+N-E: "over 299 MΩ at 500 V"}', "insulation; live conductors may be joined"),
        ("equipment", "yes", "yes", "equipment was still connected during it"),
        ("polarity", "text", "right", "right or wrong"),
        ("electrode", "number", "68 ohm", "resistance of the electrode"),
        ("loop", "tests", "{L-E: 0.72 ohm}", "live loop tests"),
        ("fault current", "number", "0.9 kA", "prospective fault current"),
        ("trip time", "tests", "{1x: 24 ms}", "time to trip, at so many times the rating"),
        ("trip current", "number", "22 mA", "ramped current at which it tripped", "ramp"),
        ("button", "text", "trips", "test button: trips or holds", "test button"),
        ("volts", "tests", "{L-N: 231, L-E: 231, N-E: 0.4}", "live voltages"),
        ("pull", "text", "sound", "each core pulled by hand: sound or loose"),
        ("switching", "yes", "yes", "every switch position does what it should"),
        ("works", "yes", "yes", "what is fed there works"),
        ("symptom", "text", "gone", "the first complaint: gone or still there"),
        ("by", "text", "continuity tester", "the instrument", "instrument"),
        ("nulled", "yes", "yes", "leads nulled before"),
        ("temperature", "number", "12", "degrees Celsius of the conductors"),
        ("again", "text", "terminal tightened", "why the earlier result of this test no longer counts"),
        ("who", "text", "A. Fitter", "who tested"),
        ("when", "text", "1 March 14:20", "when"),
        ("id", "text", "t1", "its number in a record", "long"),
    )
    + _keys(
        "left",
        ("why", "text", "waiting for cable", "why it could not be mended today"),
        ("isolated", "words", "[hall sockets]", "what was isolated"),
        ("locked", "text", "padlock on the breaker", "how it was locked"),
        ("labelled", "text", "do not switch on, on the board", "what the label says and where"),
        ("told", "words", "[the tenant]", "who was told"),
        ("do not use", "words", "[garage outlet]", "what must not be used"),
        ("who", "text", "A. Fitter", "who left it so"),
        ("when", "text", "1 March 15:00", "when"),
    )
    + _keys(
        "found",
        ("what", "text", "cracked plate", "what was seen, in your words", "!"),
        ("at", "text", "Hall", "where"),
        ("class", "text", "C3", "C1 danger present, C2 could be dangerous, C3 improve, FI look further", "code"),
        ("who", "text", "A. Fitter", "who saw it"),
        ("when", "text", "1 March 15:10", "when"),
        ("id", "text", "o1", "its number in a record", "long"),
    )
)  # fmt: skip

_BY_SECTION = MappingProxyType(
    {section: tuple(key for key in KEYS if key.section == section) for section in SECTIONS}
)


def table_of(section: str) -> tuple[Key, ...]:
    """The rows of one section, in order."""
    return _BY_SECTION[section]


def keys_of(section: str) -> tuple[str, ...]:
    """The proper names of a section's keys."""
    return tuple(key.name for key in _BY_SECTION[section])


def required_of(section: str) -> tuple[str, ...]:
    """The keys a section cannot do without."""
    return tuple(key.name for key in _BY_SECTION[section] if key.required)


def aliases(section: str) -> dict[str, str]:
    """Other spellings of a section's keys, each with the proper name."""
    return {other: key.name for key in _BY_SECTION[section] for other in key.also}
