"""Every terminal of the installation, live as described, under the causes still believed.

From it come the dangers, the potentials on the ladder and which causes can be told apart.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from halfsplit.behaviour.body import worst_touch
from halfsplit.diagnosis.encoded import Encoded
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.diagnosis.result import Hold
from halfsplit.diagnosis.scene import Scene
from halfsplit.diagnosis.solve import Answers, solve_rows
from halfsplit.diagnosis.standing import load_admittance
from halfsplit.network import V
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Effect
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import EARTH, Plan

Real = NDArray[np.float64]
Array = NDArray[np.complex128]
CHUNK_BYTES = 24e6  # of the transfers held at a time
LAMP_OHMS = 900.0  # a 60 W lamp at 230 V: what a loaded check puts on a port
FLOATS_FROM = 3e3  # ohm: behind more than this a conductor is held by insulation, not by copper


@dataclass(frozen=True, slots=True)
class Terminal:
    """A terminal that can be reached: place, conductor key, node; ``frame`` for metalwork."""

    place: str
    conductor: str
    node: str
    frame: bool = False


@dataclass(frozen=True, slots=True)
class Survey:
    """Open-circuit volts ``v`` (K, t) of terminals to true earth, source impedances ``z`` (K, t).

    ``woken`` and ``woken_z`` (K, t) are the same with every load drawing as at its rated volts.
    ``pairs`` (q, 2) are the pairs of terminals at one place, ``between`` (K, q) the transfers from
    one to the other; ``rows`` are the K rows as touches and ``parted`` (K, W) the devices that
    opened. Of the first row there is more: ``Z`` (t, t) and its ``answers``.
    """

    terminals: tuple[Terminal, ...]
    v: Array
    z: Array
    woken: Array
    woken_z: Array
    pairs: NDArray[np.intp]
    between: Array
    rows: Encoded
    parted: NDArray[np.bool_]
    Z: Array
    answers: Answers
    scene: Scene

    def volts(self) -> Real:
        """(K, t) magnitudes to true earth."""
        return np.abs(self.v)

    def ohms(self) -> Real:
        """(K, t) source impedance to true earth."""
        return np.abs(self.z)

    def touched(self) -> Real:
        """(K, t) amperes through the person safety is judged by, from each terminal to earth.

        The worse of two: with the loads drawing as they stand, and as at their rated volts. What
        sits at no voltage beyond a broken neutral lets nearly nothing through until a hand is on
        that neutral.
        """
        return np.maximum(_through(self.v, self.z), _through(self.woken, self.woken_z))


def _through(v: Array, z: Array) -> Real:
    """Amperes through a person between what stands at ``v`` volts behind ``z`` ohm and earth."""
    volts: Real = np.abs(v)
    person, size = worst_touch(), volts.copy()
    for _ in range(4):
        y = np.real(person.admittance(size.ravel())[0]).reshape(size.shape)
        size = volts / np.abs(1 + z * y)
    y = np.real(person.admittance(size.ravel())[0]).reshape(size.shape)
    return np.asarray(size * y, dtype=np.float64)


def _woken(scene: Scene, answers: Answers, at: NDArray[np.intp]) -> tuple[Array, Array]:
    """(v, z) (k, t) at the places ``at`` with every load drawing as at its rated volts."""
    P = scene.ports.size
    if answers.raw is None or answers.raw_f is None or not P:
        return answers.f[:, at], answers.T[:, at, at]
    rated = np.array([[load.rated_volts for load in scene.lowered.loads]])
    y = load_admittance(scene.law, rated)[0]
    loads, here = np.arange(P), P + at
    Z = answers.raw[:, :P, :P]
    load = np.linalg.solve(np.eye(P) + y[:, None] * Z, np.diag(y)[None])
    to = answers.raw[:, here[:, None], loads] @ load
    v = answers.raw_f[:, here] - np.einsum("htp,hp->ht", to, answers.raw_f[:, :P])
    across = (to * answers.raw[:, loads[:, None], here].transpose(0, 2, 1)).sum(axis=2)
    return v, answers.raw[:, here, here] - across


def terminals_of(plan: Plan, installation: Installation) -> tuple[Terminal, ...]:
    """Every terminal of every place, the front where there is one, frames, and metal by itself."""
    found = []
    for spot in plan.spots:
        part = ":front" if spot.front else ""
        for key in spot.conductors:
            found.append(Terminal(spot.name, key, f"{spot.name}.{key}{part}"))
    for load in plan.loads:
        if load.frame and load.connected:
            found.append(Terminal(load.place, "frame", load.frame, frame=True))
    places = {spot.name for spot in plan.spots} | {EARTH, "source"}
    for end in dict.fromkeys(end for path in installation.paths for end in (path.a, path.b)):
        name = end.rpartition(".")[0] or end
        if name not in places and end.endswith(".E"):
            found.append(Terminal(name, "frame", end, frame=True))
    return tuple(found)


def survey(
    prepared: Prepared, effects: Sequence[tuple[Effect, ...]], conditions: Conditions
) -> Survey:
    """Solve every terminal under each row of effects (of the catalogue's hypotheses)."""
    terminals = terminals_of(prepared.plan, prepared.installation)
    base = prepared.base(conditions)
    ports = [V(t.node, EARTH) for t in terminals]
    scene, rows = base.rows(effects, ports)
    here = tuple(t for t, p in zip(terminals, ports, strict=True) if p in scene.index)
    pairs = [
        (i, j)
        for i, a in enumerate(here)
        for j, b in enumerate(here[:i])
        if a.place == b.place and not (a.frame or b.frame) and a.place != "origin"
    ]
    one, other = np.array(pairs, dtype=np.intp).reshape(-1, 2).T
    volts, own, across, parted, woken = [], [], [], [], []
    first: Answers | None = None
    for answers, at in _in_parts(scene, rows, [V(t.node, EARTH) for t in here]):
        first = answers if first is None else first
        volts.append(answers.f[:, at])
        own.append(answers.T[:, at, at])
        across.append(answers.T[:, at[one], at[other]])
        parted.append(answers.parted)
        woken.append(_woken(scene, answers, at))
    assert first is not None  # there is a row
    return Survey(
        here,
        np.concatenate(volts),
        np.concatenate(own),
        np.concatenate([v for v, _ in woken]),
        np.concatenate([z for _, z in woken]),
        np.stack([one, other], axis=1),
        np.concatenate(across),
        rows,
        np.concatenate(parted),
        first.T[0][np.ix_(at, at)],
        first,
        scene,
    )


def _in_parts(
    scene: Scene, rows: Encoded, ports: Sequence[V]
) -> Iterator[tuple[Answers, NDArray[np.intp]]]:
    """The answers at ``ports`` and their places in them, some rows at a time."""
    step = max(20, int(CHUNK_BYTES / (16 * (len(ports) + scene.ports.size) ** 2)))
    for start in range(0, len(rows), step):
        part = rows.part(np.arange(start, min(start + step, len(rows))))
        answers = solve_rows(scene, part, ports)
        yield answers, np.array([answers.at[p] for p in ports], dtype=np.intp)


def wander(
    prepared: Prepared, effects: Sequence[tuple[Effect, ...]], conditions: Conditions
) -> tuple[Real, Real]:
    """Ohms of a dead test: (K, s) by a lead from the board's bars to each terminal, and (K, q)
    between the conductors of each circuit at its first place, and from each load to its frame.

    Each pair is asked as a port of its own: a difference of what both are to earth would be lost
    where only insulation holds them.
    """
    home: dict[str, str] = {}
    first: dict[str, dict[str, str]] = {}
    circuit = {spot.name: spot.circuit for spot in prepared.plan.spots if spot.circuit}
    along: list[V] = []
    for terminal in terminals_of(prepared.plan, prepared.installation):
        if terminal.place == "origin" or terminal.frame:
            continue  # the main switch parts the origin from the rest in a dead test
        start = home.setdefault(terminal.conductor, terminal.node)
        if start != terminal.node:
            along.append(V(start, terminal.node))
        if terminal.place in circuit:
            mine = first.setdefault(circuit[terminal.place], {})
            mine.setdefault(terminal.conductor, terminal.node)
    across = [V(a, b) for mine in first.values() for a, b in combinations(mine.values(), 2)]
    for load in prepared.plan.loads:  # unplugged, between its pins and to its frame
        across += [V(load.a, load.frame), V(load.b, load.frame)] if load.frame else []
    scene, rows = prepared.base(conditions).rows(effects, [*along, *across])
    kept = [p for p in dict.fromkeys((*along, *across)) if p in scene.index]
    ohms = np.concatenate(
        [np.abs(np.real(answers.T[:, at, at])) for answers, at in _in_parts(scene, rows, kept)]
    )
    one, other = ([k for k, p in enumerate(kept) if p in {*some}] for some in (along, across))
    return ohms[:, one], ohms[:, other]


def holds(found: Survey, row: int) -> tuple[Hold, ...]:
    """What holds each terminal under one row: read off its source impedance and its volts."""
    z, v = found.ohms()[row], found.v[row]
    lines = {
        element.id: complex(element.emf)
        for element in found.scene.plan.elements
        if element.kind == "source" and element.emf
    }
    result = []
    for k, terminal in enumerate(found.terminals):
        result.append(
            Hold(
                terminal.place,
                terminal.conductor,
                float(abs(v[k])),
                float(z[k]),
                _held(v[k], float(z[k]), lines),
            )
        )
    return tuple(result)


def _held(v: complex, ohms: float, lines: dict[str, complex]) -> str:
    """ "line", "earthed" or "between" when copper or a load holds it; "floats" otherwise."""
    if ohms > FLOATS_FROM:
        return "floats"
    for volts in lines.values():
        if abs(v - volts) < 0.2 * abs(volts):
            return "line"
    if abs(v) < 0.1 * max(abs(x) for x in lines.values()):
        return "earthed"
    return "between"
