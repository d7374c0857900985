"""What the catalogue asks of an installation and its plan: what joins what, and its past."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import TypeVar

from halfsplit.faults.fault import Fault, Severity
from halfsplit.faults.rates import (
    ACCESS,
    HANDS,
    JOINT_KINDS,
    Group,
    conductor_factor,
    multiplier,
    rate,
)
from halfsplit.wiring.effects import Added, Bridged, Effect
from halfsplit.wiring.history import about, all_words
from halfsplit.wiring.model import Circuit, Installation, Point, Run
from halfsplit.wiring.plan import Element, Plan, Spot, node

LIVE_KEYS = ("L", "L1", "L2", "L3")

Elements = tuple[Element, ...]
_Key = TypeVar("_Key")


@dataclass(frozen=True)
class Scene:
    """Look-ups over one installation and plan; built by :func:`survey`."""

    installation: Installation
    plan: Plan
    points: dict[str, Point]
    circuits: dict[str, Circuit]  # by point name
    runs: dict[str, Run]
    spots: dict[str, Spot]
    elements: dict[str, Element]
    core_ends: frozenset[str]
    landings: dict[tuple[str, str], Elements]  # (place, run) -> its joints there
    lands: dict[tuple[str, str], Elements]  # (place, conductor) -> joints of its cores
    cored: dict[str, Elements]  # by run
    flexed: dict[str, Element]  # the flex that ends at a load's node

    @property
    def american(self) -> bool:
        """Whether the region is North American."""
        return self.installation.region == "na"

    def kind(self, *kinds: str) -> Iterator[Element]:
        """Plan elements of these kinds, in plan order."""
        return (e for e in self.plan.elements if e.kind in kinds)

    def joints_at(self, place: str, key: str) -> Elements:
        """The joints of every run's core of conductor ``key`` at a place."""
        return self.lands.get((place, key), ())

    def fed_by(self, end: str) -> str:
        """The conductor a load's end hangs on by its flex, "" where it has none."""
        return self.flexed[end].conductor if end in self.flexed else ""

    def sides(self, joint: Element) -> tuple[str, str]:
        """(core end, terminal) of a run's joint."""
        return (joint.a, joint.b) if joint.a in self.core_ends else (joint.b, joint.a)

    def cores(self, run: str) -> Elements:
        """The core elements of a run."""
        return self.cored.get(run, ())

    def history(self, *places: str, run: str = "") -> tuple[str, ...]:
        """What was said of these places, a run and their circuits; of a board or the origin also
        what the house's history says of it by name."""
        words: list[str] = []
        for place in places:
            if place in self.points:
                words += self.points[place].history
                words += self.circuits[place].history
            for board in self.installation.boards:
                if board.name == place:
                    words += (*board.history, *self.said["board"])
            if place == "origin":
                words += (*self.installation.supply.history, *self.said["origin"])
        if run in self.runs:
            words += self.runs[run].exposed
        return tuple(dict.fromkeys(words))

    @cached_property
    def said(self) -> dict[str, tuple[str, ...]]:
        """The house's history by what it is about; what names the main board may have been done
        to the service beside it."""
        said = self.installation.history
        board, origin, rest = (
            tuple(t for t in said if about(t) == what) for what in ("board", "origin", "")
        )
        return {"board": board, "origin": (*origin, *board), "": rest}

    def lift(self, group: Group, *places: str, run: str = "") -> float:
        """The factor history gives a rate of this group at these places."""
        places += ("origin",) if group == "supply" else ()
        return multiplier(group, self.history(*places, run=run), self.said[""])

    def untouched(self, board: str, circuit: str = "") -> float:
        """1 where nobody is said to have worked on a board or a circuit lately, 0 where somebody
        has, a half where it was said of the house."""
        here = [*self.history(board)]
        here += [t for c in self.installation.circuits if c.name == circuit for t in c.history]
        if HANDS & all_words(here):
            return 0.0
        return 0.5 if HANDS & all_words(self.said[""]) else 1.0

    def weigh(self, row: str, *places: str, run: str = "", times: float = 1.0) -> float:
        """The prior weight of a rate row here, history included."""
        entry = rate(row)
        return entry.weight * times * self.lift(entry.group, *places, run=run)

    def joint_factor(self, joint: Element) -> float:
        """What a joint's conductor, kind and access make of its rate."""
        factor = conductor_factor(joint.conductor)
        place = joint.at[0] if joint.at else ""
        if place in self.points:
            point = self.points[place]
            factor *= ACCESS.get(point.access, 1.0)
            if point.carries == "pigtail":
                factor *= JOINT_KINDS["splice"]
            if any("push" in word for word in point.history):
                factor *= JOINT_KINDS["push-in"]
        run = self.runs.get(joint.run)
        if run and any(core.metal == "aluminium" for core in run.cores):
            factor *= JOINT_KINDS["aluminium"]
        return factor

    def ring(self, run: str) -> bool:
        """Whether a run is part of a ring circuit."""
        ends = (self.runs[run].start, self.runs[run].end)
        return any(self.circuits[p].shape == "ring" for p in ends if p in self.circuits)

    def metres(self, run: str) -> float:
        """A run's length in metres, at least a half so that a stub still can fail."""
        return max(self.runs[run].length.value, 0.5) if run in self.runs else 1.0


_LATEST: list[Scene] = []  # every family surveys the same plan, one after another


def survey(installation: Installation, plan: Plan) -> Scene:
    """The look-ups of an installation and its plan, made once for the families in a row."""
    for scene in _LATEST:
        if scene.installation is installation and scene.plan is plan:
            return scene
    scene = _indexed(installation, plan)
    _LATEST[:] = [scene]
    return scene


def _indexed(installation: Installation, plan: Plan) -> Scene:
    joints = [e for e in plan.elements if e.kind == "joint" and e.run]
    cores = [e for e in plan.elements if e.kind == "core"]
    return Scene(
        installation,
        plan,
        {p.name: p for c in installation.circuits for p in c.points},
        {p.name: c for c in installation.circuits for p in c.points},
        {r.name: r for c in installation.circuits for r in c.runs},
        {s.name: s for s in plan.spots},
        {e.id: e for e in plan.elements},
        frozenset(n for e in cores for n in (e.a, e.b)),
        _by(joints, lambda e: (e.at[0], e.run)),
        _by(joints, lambda e: (e.at[0], e.conductor)),
        _by(cores, lambda e: e.run),
        {e.b: e for e in plan.elements if e.kind == "flex"},
    )


def _by(elements: Iterable[Element], key: Callable[[Element], _Key]) -> dict[_Key, Elements]:
    found: dict[_Key, list[Element]] = {}
    for element in elements:
        found.setdefault(key(element), []).append(element)
    return {at: tuple(there) for at, there in found.items()}


def isolate(
    scene: Scene, place: str, key: str, keep: tuple[str, ...] = ()
) -> tuple[tuple[Effect, ...], str, tuple[str, ...]]:
    """Take an accessory's terminal off its conductor and join that conductor through past it.

    Returns (effects, a node of the conductor, ids of the joints parted); no effects where no core
    lands there. Runs in ``keep`` stay on the terminal.
    """
    pigtail = scene.elements.get(f"pigtail {place} {key}")
    if pigtail is not None:
        return (Added(pigtail.id, math.inf),), node(place, key, "splice"), (pigtail.id,)
    joints = tuple(j for j in scene.joints_at(place, key) if j.run not in keep)
    ends = [scene.sides(joint)[0] for joint in joints]
    effects: list[Effect] = [Added(joint.id, math.inf) for joint in joints]
    effects += [Bridged(a, b, math.inf) for a, b in pairwise(ends)]
    return tuple(effects), ends[0] if ends else "", tuple(j.id for j in joints)


def far_end(scene: Scene, place: str, key: str) -> tuple[Element, str] | None:
    """The joint, and the core's end, at the place that the core of ``key`` here comes from."""
    for joint in scene.joints_at(place, key):
        here = scene.sides(joint)[0]
        core = next(c for c in scene.cores(joint.run) if here in (c.a, c.b))
        there = core.a if core.b == here else core.b
        run = scene.runs[joint.run]
        origin = run.start if run.end == place else run.end
        for far in scene.landings.get((origin, joint.run), ()):
            if there in (far.a, far.b):
                return far, there
    return None


def make(
    family: str,
    key: str,
    conductors: tuple[str, ...],
    places: tuple[str, ...],
    severities: tuple[Severity, ...],
    rate: float,
    parts: tuple[str, ...] = (),
    circuit: str = "",
    **detail: str,
) -> Fault:
    """A fault with its id made of family and key; ``detail`` fills the family's sentence."""
    return Fault(
        f"{family}: {key}", family, conductors, tuple(dict.fromkeys(places)), severities, rate,
        tuple(dict.fromkeys(parts)), circuit, tuple(detail.items()),
    )  # fmt: skip
