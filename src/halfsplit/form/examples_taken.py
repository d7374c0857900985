# ruff: noqa: E501 (examples and sentences stand as they are printed)
"""Calls, readings, mends and rarer forms, by invented examples: title, what to know, the form."""

from __future__ import annotations

TAKEN: tuple[tuple[str, str, str], ...] = (
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
tools: [multimeter, two-pole tester, continuity tester, insulation tester, clamp, tone tracer]
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
        "Say unknown where nobody knows: the leg, the rating, the order beyond the first point, which "
        "circuit feeds a point, the place of a smell. Two figures near each other are one voltage. What too much voltage "
        "destroyed is told by load or by point; heat may be along a run.",
        """\
region: na
supply: split phase 120/240 V 60 Hz, earthing not stated
history: [neighbouring tree hit the line, panel 8 years old]
circuits:
  den: {legs: unknown, device: "breaker, rating unknown", order: unknown after first, run: [Desk, Window, Door], plugged in: {Desk: [TV, computer, surge protector], Door: fan}}
  hot water: {feeds: Water heater}
  hall: {run: [Hall, Stairs], points: {Stairs: {fed by: [den, hall]}, Hall: {fed by: unknown}}}
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
