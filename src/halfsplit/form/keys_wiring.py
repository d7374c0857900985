# ruff: noqa: E501 (a table reads best with one row on one line)
"""Keys of what is installed: the job, supply, boards, circuits, points, loads, paths, sources."""

from __future__ import annotations

from halfsplit.form.key import Key, keys

WIRING: tuple[Key, ...] = (
    keys(
        "job",
        ("title", "text", "Boat shed, east wall", "what the job is called"),
        ("region", "text", "uk", "uk, eu, na or au: words, colours and usual values"),
        ("edition", "text", "2022", "edition of the rules to apply; the newest when left out"),
        ("supply", "supply", "TN-S 230 V", "earthing and live conductors; unknown is allowed"),
        ("board", "board", "RCD 30 mA 63 A", "the only board's main device or its details", "panel, consumer unit, distribution board, fuse box, db"),
        ("boards", "map of board", "{Shed board: {}}", "several boards by name", "panels, consumer units"),
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
    + keys(
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
        ("history", "words", "[line down in the storm]", "what happened at the service"),
    )
    + keys(
        "board",
        ("main", "device", "RCD 30 mA 63 A", "main switch, or a main device that can trip", "main switch, device"),
        ("fed by", "text", "shed feed", "the circuit that feeds this board"),
        ("groups", "map of group", "{RCD 1: [lights, sockets]}", "circuits behind a shared device", "behind"),
        ("history", "words", "[renewed last week]", "what happened at this board"),
    )
    + keys(
        "group",
        ("device", "device", "RCD 30 mA 63 A", "the shared device"),
        ("circuits", "words", "[lights, sockets]", "the circuits behind it", "!"),
    )
    + keys(
        "device",
        ("kind", "text", "rcbo", "breaker, fuse, rcd, rcbo, gfci, switch or none"),
        ("rating", "number", "32 A", "rated current", "amps"),
        ("curve", "text", "B", "B, C or D, or the fuse type"),
        ("residual", "number", "30 mA", "rated residual operating current"),
        ("type", "text", "AC", "residual type: AC, A, F, B or class A"),
        ("poles", "words", "[L, N]", "conductors it opens"),
        ("arc", "yes", "yes", "whether it also trips on arcing"),
        ("name", "text", "RCD 1", "its own name, where it has one"),
        ("closed", "yes", "no", "no when it stands off or tripped"),
    )
    + keys(
        "circuit",
        ("board", "text", "Shed board", "the board it starts from"),
        ("device", "device", "B16", "the device that protects it", "breaker, mcb, rcbo, fuse"),
        ("cable", "text", "2.5/1.5 twin and earth", "cable where no other is stated", "wire, wiring"),
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
        ("carries", "text", "pigtail", "what takes the circuit on at its points: accessory or pigtail"),
        ("plugged in", "map of load", "{Bench: [60 W, electronics]}", "loads by point", "loads"),
        ("history", "words", "[water]", "what happened to this circuit"),
        ("shape", "text", "ring", "the pattern in longhand", "long"),
        ("runs", "list of run", "[{from: Board, to: Hall, cores: [L 2.5]}]", "every run in longhand", "long"),
    )
    + keys(
        "leg",
        ("length", "number", "5 m", "its length", "!"),
        ("cable", "text", "4/1.5 twin and earth", "its cable"),
        ("name", "text", "loft run", "its name, if it has one"),
        ("history", "words", "[rodents]", "damp, outdoor, old, worked on, rodents", "exposed"),
        ("temperature", "number", "30", "degrees Celsius of the conductor"),
    )
    + keys(
        "light",
        ("switched by", "words", "[Hall switch, Landing switch]", "one switch, or two and more for two-way; nothing for none", "switch"),
        ("drops", "words", "[3 m, 5 m]", "lengths of cable: light to switch (or switch to switch, to light)", "drop"),
        ("lamp", "load", "LED 9 W", "what is fitted; a lamp of unknown kind when left out, or nothing", "lamps, load, loads"),
        ("more lights", "chain", "[3 m, Wardrobe light]", "lights on the same switch", "also lights"),
        ("positions", "words", "[down, up]", "how the switches stand", "position"),
        ("access", "text", "cover", "plug, cover, floor, loft or sealed"),
        ("carries", "text", "pigtail", "accessory or pigtail"),
        ("history", "words", "[water]", "what happened here"),
        ("kind", "text", "light", "light, or a fan and the like as appliance"),
    )
    + keys(
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
    + keys(
        "point",
        ("kind", "text", "socket", "socket, light, switch, dimmer, contactor, photocell, timer, thermostat, fused unit, joint box, appliance, gfci outlet, isolator"),
        ("leg", "text", "L2", "which line of the circuit it uses", "legs, across"),
        ("half switched by", "text", "Lamp switch", "a switch point for one half of the outlet"),
        ("carries", "text", "pigtail", "what takes the circuit on: accessory, or pigtail, which goes on ahead of its own device"),
        ("access", "text", "loft", "plug, cover, floor, loft or sealed"),
        ("worn", "yes", "yes", "worn contacts"),
        ("history", "words", "[water, old]", "water, rodents, worked on, old, outdoor or other words; what was remade or replaced without effect is all but cleared"),
        ("loads", "load", "kettle 3 kW", "what is plugged in or fixed here", "load, plugged in, lamp"),
        ("device", "device", "fuse 13 A", "a device at the point itself"),
        ("position", "text", "off", "how its switch stands"),
        ("fed by", "words", "unknown", "unknown, or the circuits that may feed it, where nobody knows which", "may be on"),
        ("conductors", "words", "[L, N, E]", "conductors present", "long"),
        ("front", "yes", "yes", "whether a plug goes in", "long"),
        ("switches", "list of switch", "[{name: S, contacts: [L-SL on]}]", "switches in longhand", "long"),
    )
    + keys(
        "switch",
        ("name", "text", "Hall switch", "its name", "!"),
        ("contacts", "words", "[L-SL on]", "what each contact joins, and in which positions", "!"),
        ("positions", "words", "[on, off]", "its positions"),
        ("position", "text", "on", "how it stands"),
    )
    + keys(
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
    + keys(
        "path",
        ("from", "text", "Board E", "one end: a terminal, or earth"),
        ("metal", "text", "Shower tray", "the end when it is metal by itself: a name of its own, for readings too"),
        ("to", "text", "earth", "the other end", "!"),
        ("ohms", "number", "about 30 ohm", "its resistance; left out, about 2 ohm for a metal water pipe to earth, 8 for a pipe of which nobody says what it carries, 30 for others", "resistance"),
        ("certain", "yes", "no", "no when it may not be there at all"),
        ("kind", "text", "pipe", "bond, pipe, rod, screen, body or other"),
    )
    + keys(
        "source",
        ("kind", "text", "generator", "solar, wind, generator, battery, vehicle, ups, lead or next door"),
        ("board", "text", "Shed board", "the board it feeds; the first when left out", "at"),
        ("from", "text", "Board", "the board a lead comes from"),
        ("on", "yes", "no", "whether its isolation point is closed"),
        ("own link", "yes", "yes", "whether its own neutral is linked to earth when it feeds alone", "link"),
        ("ohms", "number", "0.3 ohm", "impedance of each of its conductors", "resistance"),
    )
)  # fmt: skip
