"""What is not known exactly and does not matter by itself: lengths, capacitances, contacts, supply.

Each nuisance is a log scale with a prior spread, acting on some elements. With the transfers of
the solved circuit its effect on any reading is a sum, ∂v_m/∂y_e = -Z_me·v_e, and the like for
series resistance, from the same factorisation.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfsplit.diagnosis.scene import Scene
from halfsplit.diagnosis.solve import Answers
from halfsplit.network import Functional, I, V
from halfsplit.wiring.model import Circuit, Installation
from halfsplit.wiring.plan import EARTH, Plan

CAPACITANCE_SPREAD = 0.35  # of a cable's capacitance per metre about its typical: tables' bands
INSULATION_SPREAD = 1.5  # of a sound cable's insulation: decades apart
CONTACT_SPREAD = 0.7  # of a sound joint's resistance
STATED_LENGTH_SPREAD = 0.05  # a length that was paced or read off: as good as that
RESISTANCE_SPREAD = 0.03  # of ohms per metre at an unmeasured temperature
UNKNOWN_FROM = 0.5  # a length's log spread from which it is not known at all
HOUSE_SPREAD = 0.4  # of all unknown lengths of a circuit together, by the size of house: judgement
# What flows that nobody sees: in the supply's neutral from everybody else (V between neutral and
# earth at the origin, separate or not), and in a circuit from what is not mentioned (A). Healthy
# outlets show a few millivolts to a volt or two between neutral and earth: common practice.
NEUTRAL_VOLTS = 0.7
UNSEEN_AMPS = 0.25
# What a metre of line core picks up from live cables beside it, as if it were coupled to the supply
# by this: an open line beside a sound neutral and earth has been read at up to 30 V (practice).
PICKUP_FARADS_PER_M = 8e-12
EVERY = slice(None)


@dataclass(frozen=True, slots=True)
class Nuisance:
    """One log scale of prior ``spread``.

    It scales ``series`` (element, ohm, henry) and ``shunts`` (a, b, siemens, farad), or the watts
    of the load ``load``, or every source when ``supply``. ``emf`` (an element) acts by itself and
    ``draw`` (a, b) draws: ``spread`` is then volts or amperes, about nothing. ``picks`` (node,
    ampere) are currents of unknown phase into nodes, about nothing too.
    """

    name: str
    spread: float
    series: tuple[tuple[str, float, float], ...] = ()
    shunts: tuple[tuple[str, str, float, float], ...] = ()
    load: str = ""
    supply: bool = False
    emf: str = ""
    draw: tuple[str, str] = ("", "")
    picks: tuple[tuple[str, float], ...] = ()
    circuit: str = ""  # it lies in; none for the supply and the boards


def nuisances(
    installation: Installation, plan: Plan, circuits: frozenset[str]
) -> tuple[Nuisance, ...]:
    """The nuisances of the circuits that readings touch, and of the supply."""
    found = [Nuisance("supply", max(installation.supply.volts.spread, 0.005), supply=True)]
    for circuit in installation.circuits:
        if circuit.name not in circuits:
            continue
        found += _together(circuit, plan)
        for run in circuit.runs:
            spread = max(run.length.spread, STATED_LENGTH_SPREAD)
            found.append(
                Nuisance(
                    f"length {run.name}",
                    float(np.hypot(spread, RESISTANCE_SPREAD)),
                    tuple((e.id, e.ohms, e.henry) for e in plan.elements if e.scale == run.name),
                    tuple(
                        (c.a, c.b, c.siemens, c.farads)
                        for c in plan.couplings
                        if c.scale == run.name
                    ),
                    circuit=circuit.name,
                )
            )
        mine = [c for c in plan.couplings if c.circuit == circuit.name and c.scale]
        found.append(
            Nuisance(
                f"capacitance {circuit.name}",
                CAPACITANCE_SPREAD,
                shunts=tuple((c.a, c.b, 0.0, c.farads) for c in mine),
                circuit=circuit.name,
            )
        )
        found.append(
            Nuisance(
                f"insulation {circuit.name}",
                INSULATION_SPREAD,
                shunts=tuple((c.a, c.b, c.siemens, 0.0) for c in mine),
                circuit=circuit.name,
            )
        )
        joints = [e for e in plan.elements if e.circuit == circuit.name and e.scale == "contact"]
        found.append(
            Nuisance(
                f"contacts {circuit.name}",
                CONTACT_SPREAD,
                tuple((e.id, e.ohms, 0.0) for e in joints),
                circuit=circuit.name,
            )
        )
        found += (*_unseen(plan, circuit.name), *_picked_up(plan, circuit))
    neutral = [e for e in plan.elements if e.kind == "service" and e.conductor in ("N", "PEN")]
    found += [Nuisance("neutral", NEUTRAL_VOLTS, emf=e.id) for e in neutral]
    for element in plan.elements:
        if element.spread and element.kind != "source":
            series = ((element.id, element.ohms, 0.0),)
            found.append(Nuisance(element.id, element.spread, series, circuit=element.circuit))
    for load in plan.loads:
        if load.circuit in circuits and load.spread:
            found.append(
                Nuisance(f"watts {load.id}", load.spread, load=load.id, circuit=load.circuit)
            )
    return tuple(found)


def _together(circuit: Circuit, plan: Plan) -> list[Nuisance]:
    """Lengths that nobody knows are long or short together: a large house has long runs."""
    unknown = {run.name for run in circuit.runs if run.length.spread >= UNKNOWN_FROM}
    if len(unknown) < 2:
        return []
    return [
        Nuisance(
            f"lengths {circuit.name}",
            HOUSE_SPREAD,
            tuple((e.id, e.ohms, e.henry) for e in plan.elements if e.scale in unknown),
            tuple((c.a, c.b, c.siemens, c.farads) for c in plan.couplings if c.scale in unknown),
            circuit=circuit.name,
        )
    ]


def _unseen(plan: Plan, circuit: str) -> list[Nuisance]:
    """A current that nobody mentioned, drawn at the last place of a circuit."""
    for spot in reversed([s for s in plan.spots if s.circuit == circuit and s.kind != "board"]):
        line = next((k for k in ("L", "L1", "SL") if k in spot.conductors), "")
        if line and "N" in spot.conductors:
            ends = (f"{spot.name}.{line}", f"{spot.name}.N")
            return [Nuisance(f"unseen {circuit}", UNSEEN_AMPS, draw=ends, circuit=circuit)]
    return []


def _picked_up(plan: Plan, circuit: Circuit) -> list[Nuisance]:
    """What the line cores of a circuit pick up from other cables where they hang free."""
    length = {run.name: run.length.value for run in circuit.runs}
    per_m = 2 * math.pi * plan.hertz * PICKUP_FARADS_PER_M * plan.volts
    picks = [
        (e.b, per_m * length[e.run])
        for e in plan.elements
        if e.kind == "core" and e.run in length and e.conductor.startswith("L")
    ]
    return [Nuisance(f"pick-up {circuit.name}", 1.0, picks=tuple(picks), circuit=circuit.name)]


@dataclass(frozen=True, slots=True)
class Sparse:
    """A matrix (F, E) of few entries: rows ``at`` (M,) and ``value`` (M,), sorted by column.

    Column ``of[k]`` begins at ``starts[k]``.
    """

    at: NDArray[np.intp]
    value: NDArray[np.complex128]
    of: NDArray[np.intp]
    starts: NDArray[np.intp]

    def added(self, left: NDArray[np.complex128], result: NDArray[np.complex128]) -> None:
        """Add ``left`` (K, F) times the matrix to ``result`` (K, E)."""
        if self.at.size:
            parts = left[:, self.at] * self.value
            result[:, self.of] += np.add.reduceat(parts, self.starts, axis=1)


@dataclass(frozen=True, slots=True)
class Pulls:
    """The nuisances as one matrix for a scene: F functionals, E nuisances.

    ``weight`` (F, E) is + ohm for series, - siemens for shunts; ``spread`` (E,); ``supply`` (E,)
    marks the source; ``loads`` (E,) the load port each scales, -1 none; ``direct`` (F, E) are the
    volts or amperes that act by themselves, ``turned`` (E,) marks those of unknown phase,
    ``draws`` the ports where something unseen may draw
    ``spread`` amperes at ``volts``, ``felt`` (E,) the nuisances that are looked at.
    """

    functionals: tuple[Functional, ...]
    weight: Sparse
    spread: NDArray[np.float64]
    supply: NDArray[np.bool_]
    loads: NDArray[np.intp]
    direct: Sparse
    turned: NDArray[np.bool_]
    draws: tuple[tuple[V, int], ...]
    volts: float
    felt: NDArray[np.bool_]


def pulls_of(
    items: Sequence[Nuisance], scene: Scene, circuits: frozenset[str] | None = None
) -> Pulls:
    """The matrix of ``items`` in ``scene``; elements that stand open there pull nothing.

    Nor do those in other circuits than ``circuits``, when given.
    """
    omega = scene.lowered.omega
    entries: list[tuple[Functional, int, complex]] = []
    felt = [circuits is None or x.circuit in circuits | {""} for x in items]
    items = [x if mine else Nuisance(x.name, x.spread) for x, mine in zip(items, felt, strict=True)]
    for n, item in enumerate(items):
        for element, ohms, henry in item.series:
            entries.append((I(element), n, ohms + 1j * omega * henry))
        for a, b, siemens, farads in item.shunts:
            admittance = siemens + 1j * omega * farads
            if admittance:
                entries.append((V(a, b), n, -admittance))
    present, nodes = scene.factored.branch_index, scene.factored.node_index
    live = not scene.dead and scene.conditions.energised
    lone: list[tuple[Functional, int, float]] = [
        (I(x.emf), n, 1.0) for n, x in enumerate(items) if x.emf in present and not scene.dead
    ]
    for n, item in enumerate(items):
        lone += [(V(at, EARTH), n, amps) for at, amps in item.picks if live and at in nodes]
    draws = [(V(*x.draw), n) for n, x in enumerate(items) if x.draw[0] and not scene.dead]
    entries += [(functional, n, 0j) for functional, n, _ in lone]
    entries = [x for x in entries if not isinstance(x[0], I) or x[0].branch in present]
    order = {g: k for k, g in enumerate(dict.fromkeys(x[0] for x in entries))}
    ids = [x.id for x in scene.lowered.loads]
    return Pulls(
        tuple(order),
        _spread_over([(order[g], n, value) for g, n, value in entries]),
        np.array([item.spread for item in items]),
        np.array([item.supply and not scene.dead for item in items], dtype=np.bool_),
        np.array([ids.index(x.load) if x.load in ids else -1 for x in items], dtype=np.intp),
        _spread_over([(order[g], n, complex(value)) for g, n, value in lone]),
        np.array([bool(item.picks) for item in items], dtype=np.bool_),
        tuple(draws),
        scene.plan.volts,
        np.array(felt, dtype=np.bool_),
    )


def _spread_over(entries: Sequence[tuple[int, int, complex]]) -> Sparse:
    ordered = sorted(entries, key=lambda x: x[1])
    columns = np.array([n for _, n, _ in ordered], dtype=np.intp)
    of, starts = np.unique(columns, return_index=True)
    return Sparse(
        np.array([k for k, _, _ in ordered], dtype=np.intp),
        np.array([value for _, _, value in ordered], dtype=np.complex128),
        of,
        starts.astype(np.intp),
    )


def sensitivities(
    pulls: Pulls,
    answers: Answers,
    port: Functional,
    y: complex = 0j,
    of_transfer: bool = False,
    rows: NDArray[np.intp] | slice = EVERY,
) -> NDArray[np.complex128]:
    """∂(value)/∂(log scale), (K, E), of a port's voltage or current with a meter ``y`` on it.

    ``answers`` must have been asked for ``pulls.functionals`` beside its ports. With
    ``of_transfer`` it is the port's own transfer (its impedance) that is differentiated. ``rows``
    are some of those of ``answers``.
    """
    at, ks = answers.at[port], answers.also
    T, f = answers.T[rows], answers.f[rows]
    loading = (1 + T[:, at, at] * y)[:, None]
    v = f[:, at, None] / loading
    to_port = T[:, ks, at]
    result = np.zeros((f.shape[0], pulls.spread.size), dtype=np.complex128)
    if of_transfer:
        pulls.weight.added(to_port * to_port, result)
        return result
    there = f[:, ks] - to_port * (y * v)
    pulls.weight.added(to_port / loading * there, result)
    pulls.direct.added(to_port / loading, result)
    for draw, n in pulls.draws:
        k = answers.at[draw]
        g = 1.0 / pulls.volts
        # Where the part hangs free this is no drift but a load: that is enumerated, not linear.
        free = (1 + UNSEEN_AMPS * g * np.abs(T[:, k, k])) ** 2
        result[:, n] -= T[:, k, at] / loading[:, 0] * g * f[:, k] / free
    result[:, pulls.supply] += v
    for n, p in enumerate(pulls.loads):
        if p < 0:
            continue
        result[:, n] -= answers.held[rows][:, at, p] / loading[:, 0] * answers.amps[rows][:, p]
    return result
