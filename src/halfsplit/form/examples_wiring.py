# ruff: noqa: E501 (examples and sentences stand as they are printed)
"""What is installed, each pattern by an invented example: title, what to know, the form."""

from __future__ import annotations

WIRING: tuple[tuple[str, str, str], ...] = (
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
        "the lengths from light to switch and from switch to switch. What was counted in a box, opened "
        "once isolated and proved dead, may be said: cables, cores, and a core that ends in nothing.",
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
  - {at: Bedroom, cables: 3, cores: {N: 2}, loose: SL}
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
)
