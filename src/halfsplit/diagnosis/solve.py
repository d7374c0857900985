"""What each port sees under every hypothesis, once the scene stands.

Any instrument sees a Thevenin source: an open voltage and an impedance, with the loads drawing
what they draw.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfsplit.diagnosis.encoded import Encoded
from halfsplit.diagnosis.scene import Scene
from halfsplit.diagnosis.standing import Standing, changed, loading, stand
from halfsplit.network import TOLERATED_VOLTS, Functional

Array = NDArray[np.complex128]


@dataclass(frozen=True, slots=True)
class Answers:
    """Rows of one scene after change, trips and loads.

    ``f`` (H, R) are values at the functionals in the order of ``at``, ``T`` (H, R, C) transfers to
    them from the first C, the asked ports, both with the loads drawing; ``volts`` and ``amps``
    (H, P) stand at the load ports; ``parted`` (H, W) says which devices opened; ``chance``
    (H, W, 4) is that of each class in ``CLASSES``, residual trips counted at once; ``residual``
    (H, W) amperes. A functional that does not exist in this scene is absent from ``at``; ``also``
    are the places of those that were to be read beside the ports. ``held``
    (H, R, P) is what one more ampere into each load's law would move. ``raw`` (H, P + C, P + C)
    are the transfers among loads and asked ports without the loads, ``raw_f`` (H, P + C) the
    values there: an instrument that drives or drags them far from where they rest is solved
    jointly with them from these.
    """

    f: Array
    T: Array
    volts: Array
    amps: Array
    parted: NDArray[np.bool_]
    chance: NDArray[np.float64]
    residual: NDArray[np.float64]
    held: Array
    at: dict[Functional, int]
    also: NDArray[np.intp]
    raw: Array | None = None
    raw_f: Array | None = None


def solve_rows(
    scene: Scene,
    rows: Encoded,
    asked: Sequence[Functional],
    also: Sequence[Functional] = (),
    stuck: frozenset[tuple[int, str]] = frozenset(),
    tolerated: float = TOLERATED_VOLTS,
) -> Answers:
    """Solve ``rows`` (the touches of each hypothesis): ports ``asked``, and values of ``also``.

    ``stuck`` holds (row, device) pairs that cannot part ("will not trip").
    """
    return answer(scene, stand(scene, rows, stuck, tolerated), asked, also, tolerated)


def answer(
    scene: Scene,
    standing: Standing,
    asked: Sequence[Functional],
    also: Sequence[Functional] = (),
    tolerated: float = TOLERATED_VOLTS,
) -> Answers:
    """What ``asked`` and ``also`` are once the loads draw; those that do not exist are left out."""
    ports = dict.fromkeys(g for g in asked if g in scene.index)
    order = ports | dict.fromkeys(g for g in also if g in scene.index)
    at = {functional: k for k, functional in enumerate(order)}
    places = np.array([scene.index[g] for g in at], dtype=np.intp)
    besides = np.array([at[g] for g in also if g in at], dtype=np.intp)
    P, C = scene.ports.size, len(ports)
    wide = np.concatenate([scene.ports, places])
    f, T = changed(scene, standing.rows, wide, wide[: P + C], tolerated)
    trips = (standing.parted, standing.chance, standing.residual)
    volts, drawn = standing.volts, standing.drawn
    if not P:
        held = np.zeros((len(f), C, 0), dtype=np.complex128)
        return Answers(f, T, volts, drawn, *trips, held, at, besides)
    to, back = T[:, P:, :P], T[:, :P, P:]
    load = loading(scene.law, T[:, :P, :P], volts, drawn)
    return Answers(
        f[:, P:] - np.einsum("hrp,hp->hr", to, drawn),
        T[:, P:, P:] - to @ (load @ back),
        volts,
        drawn + scene.resting * volts,
        *trips,
        to[:, :C] - to[:, :C] @ (load @ T[:, :P, :P]),
        at,
        besides,
        T[:, : P + C],
        f[:, : P + C],
    )
