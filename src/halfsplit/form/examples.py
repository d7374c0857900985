# ruff: noqa: E501 (examples and sentences stand as they are printed)
"""Every pattern of the written form by an invented example: title, what to know, the form."""

from __future__ import annotations

EXAMPLES: tuple[tuple[str, str, str], ...] = (
    (
        "The smallest form",
        "Only circuits are needed. Points stand in the order they are fed, lengths between them; "
        "a length left out is unknown, and is treated as such.",
        """\
circuits:
  hall sockets:
    run: [Porch, Hall, Stairs]
readings:
  - {works: [Porch], dead: [Hall, Stairs]}
""",
    ),
    (
        "A radial circuit with a branch",
        "What is plugged in matters: a forgotten lamp drags a broken neutral up to line voltage. "
        "Say about when you guess.",
        """\
title: Bakery, flour store
region: uk
supply: TN-C-S 230 V
history: [works last week, damp]
circuits:
  store:
    device: B20 RCBO 30 mA
    cable: 2.5/1.5 twin and earth
    run: [12 m, Mixer, 4 m, Scales, {length: about 9 m, history: rodents}, Door]
    branches: {Scales: [3 m, Junction, 2 m, Fan]}
    points:
      Junction: joint box, loft
      Fan: {kind: appliance, loads: motor 150 W, access: cover}
      Door: {worn: yes, carries: pigtail}
    plugged in: {Mixer: [motor 750 W], Scales: [electronics, LED 5 W]}
readings:
  - {at: Mixer, L-N: 231, L-E: 231, N-E: 0.4, by: multimeter}
  - {at: Door, L-N: about 48, settles: no, showing: yes}
  - {at: Door, L-N: falls to 0, by: low impedance, with: {off: Fan}}
""",
    ),
    (
        "A ring with a spur",
        "The last length returns to the board. `ring ends` are the end-to-end tests, both ends out "
        "of their terminals.",
        """\
region: uk
supply: TN-S 230 V
circuits:
  downstairs ring:
    device: B32
    ring: [9 m, Kitchen, 5 m, Dining, 7 m, Lounge, 8 m]
    spurs: {Dining: [4 m, Serving hatch]}
readings:
  - {circuit: downstairs ring, ring ends: {r1: 0.42, rn: over range, r2: 0.70}}
  - {at: Lounge, dead: {L-E: 0.34 ohm}, with: {linked: L-E at Board}}
  - {at: Board, circuit: downstairs ring, insulation: {L+N-E: over 200 MΩ}, with: {unplugged: all}}
""",
    ),
    (
        "Lighting, looped at the ceiling",
        "Each light names its switches; two for two-way, three with an intermediate one. `drops` are "
        "the lengths from light to switch and from switch to switch.",
        """\
region: uk
circuits:
  upstairs lights:
    device: B6
    cable: 1.5/1 twin and earth
    lighting:
      - 7 m
      - Landing: {switched by: [Hall switch, Landing switch], drops: [4 m, 6 m], lamp: LED 7 W}
      - 3 m
      - Bathroom: {switched by: Bath cord, lamp: filament 40 W, history: water}
      - 5 m
      - Bedroom: {switched by: Bed switch, more lights: [3 m, Wardrobe], positions: off}
readings:
  - {at: Landing, glows: yes, with: {set: {Hall switch: up, Landing switch: down}}}
  - {lit: [Bathroom], unlit: Wardrobe, with: {Bed switch: on}}
""",
    ),
    (
        "Lighting, looped at the switch; North America",
        "The feed goes from switch to switch; `drops` are the lengths from switch to light (and "
        "between switches).",
        """\
region: na
supply: split phase 120/240 V
circuits:
  bedroom lights:
    device: 15 A breaker
    cable: 14/2 NM-B
    lighting:
      - 30 ft
      - Bedroom light: {switched by: Bedroom switch, drops: 12 ft}
      - 15 ft
      - Closet light: {switched by: [Closet switch, Far switch], lamp: unknown}
readings:
  - {at: Closet light, hot-neutral: 46, by: multimeter, with: {Closet switch: down}}
""",
    ),
    (
        "A shared neutral, a half-switched outlet and a residual-current outlet",
        "`legs` are the board's lines; a point with a `leg` has that one on its own terminals, and "
        "the other only passes through its box.",
        """\
region: na
supply: split phase 120/240 V TN-C-S
circuits:
  kitchen counter:
    device: 20 A breaker
    legs: [L1, L2]
    run: [35 ft, Left counter, 6 ft, Right counter, 8 ft, Range hood]
    points:
      Left counter: {leg: L1, loads: toaster 850 W}
      Right counter: {leg: L2, loads: electronics}
      Range hood: {leg: L1, kind: appliance, loads: fan 90 W}
  den:
    device: 15 A breaker
    legs: L2
    run: [40 ft, Den switch, 10 ft, Den outlet, 12 ft, Patio]
    points:
      Den switch: switch
      Den outlet: {half switched by: Den switch}
      Patio: {kind: gfci outlet, history: outdoor}
readings:
  - {at: Left counter, hot-neutral: 151}
  - {at: Right counter, hot-neutral: 91, bright: no}
  - {at: Patio, tester: open ground}
  - {at: Patio, tester: "1?0"}
""",
    ),
    (
        "Fixed appliances and 240 V loads",
        "`feeds` names one fixed appliance; its name often says what it is. Between two lines "
        "without a neutral, say so.",
        """\
region: na
supply: split phase 120/240 V
circuits:
  water heater: {device: 30 A breaker, legs: [L1, L2], neutral: no, feeds: Water heater, length: 20 ft}
  shop:
    device: 20 A breaker
    legs: [L1, L2]
    run: [25 ft, Saw outlet]
    points: {Saw outlet: {leg: L1-L2, loads: saw 2 hp}}
readings:
  - {at: Water heater, L1-L2: 140, works: weakly}
  - {at: Board, L1-N: 121, L2-N: 20}
""",
    ),
    (
        "Several boards and ways behind a shared device",
        "A run that ends at a board feeds it. Groups are circuits behind one residual-current device.",
        """\
region: eu
supply: TT three phase 400/230 V
boards:
  House board:
    main: switch 63 A
    groups:
      RCD 1: {device: RCD 30 mA 40 A type AC, circuits: [cellar, pump]}
  Barn board: {main: RCD 300 mA 40 A}
circuits:
  cellar: {device: C16, legs: L1, cable: 3G2.5, run: [14 m, Freezer, 3 m, Bench]}
  pump: {device: C16, legs: [L1, L2, L3], feeds: Well pump, length: 40 m}
  barn feed: {device: C32, legs: [L1, L2, L3], cable: 5G6, run: [60 m, Barn board]}
  barn sockets: {board: Barn board, device: C16, legs: L2, run: [6 m, Milk cooler]}
other paths:
  water pipe: Barn board E to earth, about 20 ohm, maybe
  main bonding: {from: House board E, to: earth, ohms: 40, kind: bond, certain: yes}
other sources: [solar, generator]
readings:
  - {device: RCD 1, trips: after 4 min, with: {warm: yes}}
  - {device: RCD 1, ramp: 22 mA}
  - {device: RCD 1, clamp: {L1+N: 11 mA}}
  - {at: Milk cooler, shock: case, notice: [buzz, wet]}
  - {clamp: {water pipe: 2.1 A}, at: Barn board}
""",
    ),
    (
        "Dimmers, timers and other switches that work by themselves; arc-fault devices",
        "A dimmer, photocell, contactor, timer or thermostat is a switch with a name; how it stood is a "
        "condition. What is off by electronics still passes a little. `carries` at a circuit says how "
        "its points are joined: spliced with pigtails, or through the accessories.",
        """\
region: na
supply: split phase 120/240 V
circuits:
  yard:
    device: 20 A AFCI breaker
    carries: pigtail
    run: [30 ft, Dusk sensor, 20 ft, Post lamp, 15 ft, Arbour]
    points:
      Dusk sensor: photocell
      Post lamp: {kind: light, loads: LED 15 W}
      Arbour: {kind: light, loads: LED 15 W}
  den lights:
    device: {kind: breaker, rating: 15 A, arc: yes}
    lighting: [25 ft, Den light: {switched by: Den dimmer, drops: 12 ft, lamp: LED 9 W}]
    points: {Den dimmer: dimmer}
readings:
  - {at: Post lamp, glows: yes, with: {Dusk sensor: off}}
  - {at: Den light, flickers: yes, with: {Den dimmer: on}}
""",
    ),
    (
        "Dead tests by their names",
        "With line and another conductor linked at the board, `R1+R2` and `R1+Rn` at a point; with the "
        "opposite ends of a ring's conductors joined, `ring cross`. Say whether the leads were nulled. "
        "All of them isolated and proved dead.",
        """\
region: uk
supply: TN-S 230 V
circuits:
  attic ring: {device: B32, ring: [11 m, Desk, 6 m, Couch, 9 m]}
  store: {device: B16, run: [14 m, Rack, 5 m, Door]}
readings:
  - {at: Door, R1+R2: 0.37 ohm, R1+Rn: 0.28 ohm, nulled: yes}
  - {at: Couch, ring cross: {L-N: 0.19, L-E: 0.27}, nulled: no}
  - {at: Board, circuit: attic ring, ring cross: {L-N: 0.10}}
""",
    ),
    (
        "Other sources, and a lead between two boards",
        "Solar stops with the supply; a generator, battery or vehicle can feed alone, and then has its "
        "own link from neutral to earth. Each has an isolation point of its own, switched by its name.",
        """\
region: na
supply: split phase 120/240 V
boards: {Panel: {}, Workshop panel: {}}
circuits:
  workshop feed: {device: 40 A breaker, legs: [L1, L2], run: [60 ft, Workshop panel]}
  bench: {board: Workshop panel, device: 20 A breaker, run: [12 ft, Vice, 8 ft, Window]}
  kitchen: {device: 20 A breaker, run: [30 ft, Counter]}
other sources:
  Generator: {kind: generator, on: no, own link: yes}
  Roof panels: solar
  Extension cord: {kind: lead, from: Panel, board: Workshop panel, on: yes, ohms: 0.2 ohm}
readings:
  - {at: Counter, L-N: 118, with: {off: [main], on: [Generator]}}
  - {at: Vice, L-N: 121, with: {off: [workshop feed]}}
""",
    ),
    (
        "Only symptoms, and an unknown order",
        "Most calls begin so. A number of points will do, or their names. A circuit's name stands for "
        "all its points.",
        """\
region: au
supply: TN-C-S 230 V
history: [storm, old]
circuits:
  front rooms: {device: 16 A breaker, points: [Study, Lounge, Verandah], order: unknown}
  back rooms: {device: 20 A breaker RCD 30 mA, points: "5, order unknown"}
  cooker: {device: 30 A fuse BS 3036, feeds: Cooker}
readings:
  - {dead: front rooms, works: [back rooms, Cooker]}
  - {circuit: cooker, trips: holds}
  - {at: Study, flickers: yes, showing: no}
""",
    ),
    (
        "Readings across places, links, lifted cores and temporary lamps",
        "Dead tests are recorded as taken with the supply off, isolated and proved dead; the form "
        "marks them so by their unit. Never put a lamp or a loop test on a protective conductor "
        "that may be open.",
        """\
region: uk
supply: TN-S 230 V
edition: "2022"
tools: [multimeter, two-pole tester, continuity tester, insulation tester, clamp]
circuits:
  workshop:
    device: B16
    run: [8 m, Tool bench, 4 m, Sail loft, 6 m, Slip winch]
    plugged in: {Slip winch: winch 1.5 kW off}
readings:
  - {from: Tool bench N, to: Sail loft N, reads: 3.2 V, with: {plugged: winch}}
  - {from: Slip winch case, to: rod, reads: 110 V, by: multimeter}
  - {at: Sail loft, contacts: in, N-E: 0.2, with: {lifted: N at Sail loft out}}
  - {at: Sail loft, contacts: terminals, L-E: 0.54 ohm, with: {linked: L-E at Board}}
  - {at: Slip winch, L-E: 0.3 MΩ at 250 V, with: {off: [main switch], unplugged: all}}
  - {at: Slip winch, loop L-E: 0.45 ohm, by: no-trip loop tester}
  - {at: Slip winch, lamp L-N: dim}
  - {at: Sail loft, L-N: dead, L-E: dead, N-E: dead, by: two-pole tester, with: {off: workshop}}
  - {at: Tool bench, L-N: 228, with: {lamp in: Sail loft, rain: yes}}
notes: Owner says the winch was last used in spring.
""",
    ),
    (
        "The mend, the tests after it, and what was left",
        "Say what was done and which part it disturbed; the tests that this calls for are worked out "
        "from the circuit. A result that is taken again says why: without `again` the worse of the two "
        "counts. A link still in, or a core still lifted, is an open item and forbids energising.",
        """\
title: Print room
region: uk
supply: TN-S 230 V
circuits:
  east sockets:
    device: B20 RCBO 30 mA
    run: [12 m, Press, 5 m, Folder, 6 m, Guillotine]
readings:
  - {at: Folder, N-E: 118, works: no}
mend:
  - {did: remade the neutral joint and cut back scorched copper, at: Folder, joint: N}
  - {did: new cable, from: Folder, to: Guillotine, who: A. Fitter, when: 1 March 14:05}
tests after:
  - {proved dead: yes, circuit: east sockets, by: two-pole}
  - {at: Guillotine, R1+R2: 0.47 ohm, R1+Rn: 0.36 ohm, by: continuity, nulled: yes}
  - {circuit: east sockets, insulation: {L+N-E: over 299 MΩ at 500 V}}
  - {at: Guillotine, polarity: right, pull: sound}
  - {at: Guillotine, loop: {L-E: 0.79 ohm}, again: first one taken with a heater on}
  - {device: east sockets, trip time: {1x: 24 ms}, button: trips}
  - {at: Guillotine, works: yes, symptom: gone}
open items: [L-E link at Board]
left safe: {why: waiting for a new flex, isolated: [Press], locked: plug removed, told: [the owner], do not use: [Press]}
seen:
  - {what: cover of the board cracked, at: Board, class: C3}
""",
    ),
    (
        "What is not known, and what was noticed",
        "Say unknown where nobody knows: the leg, the rating, the order beyond the first point, the "
        "place of a smell. Two figures near each other are one voltage. What too much voltage "
        "destroyed is told by load or by point; heat may be along a run.",
        """\
region: na
supply: split phase 120/240 V 60 Hz, earthing not stated
history: [neighbouring tree hit the line, panel 8 years old]
circuits:
  den: {legs: unknown, device: "breaker, rating unknown", order: unknown after first, run: [Desk, Window, Door], plugged in: {Desk: [TV, computer, surge protector], Door: fan}}
  hot water: {feeds: Water heater}
  garage: {legs: L2, run: [{length: about 30 ft, history: [underground, dug up last year]}, Garage], plugged in: {Garage: garage opener}}
readings:
  - {destroyed: [TV, computer, Garage]}
  - {at: Door, of: fan, destroyed: no}
  - {at: Desk, L-N: over 200 V, settles: no}
  - {at: Window, glows: no}
  - {notice: heat along Board to Garage}
  - {at: somewhere, notice: [smell, sparks]}
""",
    ),
    (
        "Metal by itself, a parted path, an appliance switched off but left in",
        "Metal that nobody earthed on purpose has a name of its own, which readings use like a place. "
        "A main device that can trip is given with the board; a plain main switch cannot. Keep off "
        "metal that tingles: isolate first, and prove it dead against an independent earth.",
        """\
region: uk
supply: TT 230/240 V
board: {main: RCD 30 mA 63 A}
circuits:
  bathroom: {device: B16, run: [9 m, Cabinet], plugged in: {Cabinet: washing machine}}
  landing:
    device: B6
    lighting: [6 m, Landing: {switched by: [Hall switch, Top switch], more lights: [3 m, Attic]}]
    points: {Attic: {loads: LED 5 W, history: damp}, Top switch: {access: loft}}
other paths:
  Shower tray: metal to earth, about 2 kΩ
  water meter jumper: Board E to earth, about 4 ohm
readings:
  - {from: Shower tray, to: earth, reads: 60 V, by: multimeter}
  - {at: Shower tray, tingle: yes, to touch: Board E}
  - {at: Cabinet, N-E: under 5 V, with: {left in: washing machine}}
  - {at: Cabinet, L-E: 118, with: {parted: water meter jumper}}
  - {at: Board, trips: when washing machine on}
""",
    ),
    (
        "Other supplies",
        "110 V centre-tapped, high leg, 208Y/120, TN-C and IT are written the same way; what is not "
        "known is left out.",
        """\
supply: centre tapped 110 V
circuits:
  site: {device: C16, run: [25 m, Hoist socket], plugged in: {Hoist socket: drill 900 W}}
readings:
  - {at: Hoist socket, L1-L2: 110, L1-E: 55, L2-E: 54}
""",
    ),
    (
        "Longhand",
        "Any wiring can be written run by run and core by core, and the program writes it so where a "
        "pattern will not do. `T3>T1` is a core that serves T3 where it starts and T1 where it ends.",
        """\
circuits:
  stair light:
    device: {kind: breaker, rating: 6 A, curve: B, poles: [L]}
    shape: lighting
    runs:
      - {from: Board, to: Switch one, length: 9 m, cores: [L 1.5, N 1.5, E 1]}
      - {from: Switch one, to: Lamp, length: 4 m, cores: [SL 1.5, N 1.5, E 1 copper bare]}
    points:
      Switch one: {kind: switch, switches: [{name: Switch one, contacts: [L-SL on]}]}
      Lamp: {kind: light, loads: {kind: filament, power: 60 W, across: SL-N}}
readings:
  - {kind: glow, of: Lamp/filament, seen: dim, place: Lamp}
""",
    ),
)
