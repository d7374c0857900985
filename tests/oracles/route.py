"""The program's own route, the one diagnosis takes: build_scene, touches, solve_rows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from halfsplit.diagnosis.encoded import encode
from halfsplit.diagnosis.scene import Scene, build_scene
from halfsplit.diagnosis.solve import Answers, solve_rows
from halfsplit.network import Functional, I, V
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.plan import Plan
from tests.oracles.circuit import GROUND, make
from tests.oracles.troubles import Trouble

Pair = tuple[str, str]


@dataclass(frozen=True)
class Told:
    """What the program says of each trouble: volts at pairs, amperes in elements, ohms at ports."""

    scene: Scene
    answers: Answers

    def volts(self, h: int, pair: Pair) -> complex:
        """v_a - v_b in row ``h``."""
        return complex(self.answers.f[h, self.answers.at[V(*pair)]])

    def amps(self, h: int, element: str) -> complex:
        """The current of an element in row ``h``, from its a to its b."""
        return complex(self.answers.f[h, self.answers.at[I(element)]])

    def ohms(self, h: int, port: Pair) -> complex:
        """What a tester on ``port`` finds in row ``h``."""
        row = self.answers.at[V(*port)]
        asked = [functional for functional in self.answers.at if isinstance(functional, V)]
        return complex(self.answers.T[h, row, asked.index(V(*port))])

    def opened(self, h: int) -> list[str]:
        """The pole elements of the devices that parted in row ``h``."""
        ways = zip(self.scene.ways, self.answers.parted[h], strict=True)
        return [pole for way, parted in ways if parted for pole in way.poles]


def tell(
    plan: Plan,
    conditions: Conditions,
    faults: Sequence[Trouble],
    pairs: Sequence[Pair] = (),
    ports: Sequence[Pair] = (),
    elements: Sequence[str] = (),
    trips: bool = False,
) -> Told:
    """Solve every trouble in ``conditions``; without ``trips`` every device is held in."""
    beside: list[Functional] = [
        *(V(*pair) for pair in pairs),
        *(I(element) for element in elements),
    ]
    asked: list[Functional] = [V(*port) for port in ports]
    effects = [fault.effects for fault in faults]
    scene, touches = build_scene(plan, conditions, [*asked, *beside], effects)
    rows = encode(scene, [touches.all(one) for one in effects])
    held = frozenset((h, way.name) for h in range(len(rows)) for way in scene.ways)
    stuck: frozenset[tuple[int, str]] = frozenset() if trips else held
    return Told(scene, solve_rows(scene, rows, asked, beside, stuck))


def present_nodes(plan: Plan, conditions: Conditions) -> list[str]:
    """Nodes that exist in these conditions before any fault."""
    return make(plan, conditions).nodes()


def all_pairs(plan: Plan, conditions: Conditions) -> list[Pair]:
    """Every node against true earth, and what every conductor that is there drops."""
    nodes = [(node, GROUND) for node in present_nodes(plan, conditions)]
    return [*nodes, *((wire.a, wire.b) for wire in make(plan, conditions).wires)]


def ports_to_try(plan: Plan, conditions: Conditions) -> list[Pair]:
    """Where a tester goes: all conductors at the first and last points, and end to end."""
    there = set(present_nodes(plan, conditions))
    spots = [s for s in plan.spots if s.kind not in ("origin", "board")]
    found = [
        (f"{spot.name}.{a}", f"{spot.name}.{b}")
        for spot in (spots[0], spots[-1])
        for k, a in enumerate(spot.conductors[:4])
        for b in spot.conductors[:k]
    ]
    found += [(f"{spots[-1].name}.{key}", f"{spots[0].name}.{key}") for key in ("L", "N", "E")]
    return [(a, b) for a, b in dict.fromkeys(found) if a != b and {a, b} <= there]
