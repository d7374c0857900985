"""Which readings, and which unknowns, a row can move: the last pass solves for those alone.

A reading in another circuit that a row hardly moves leans on lengths, capacitances and loads as in
the sound circuit; and what lies in circuits that a fault neither touches nor moves weighs on the
readings as it does without the fault.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfsplit.diagnosis.bench import Bench
from halfsplit.diagnosis.coarse import Coarse
from halfsplit.network import Functional, I
from halfsplit.wiring.plan import Plan

Rows = NDArray[np.intp]
Flags = NDArray[np.bool_]
MOVES = 0.2  # of a figure's noise: what moves it less leaves what it leans on
SEEN_MOVES = 1e-3  # of a chance
FEW = 16  # rows: fewer are solved together with others, for all that any of them moves


@dataclass(frozen=True, slots=True)
class Felt:
    """Rows (K,) of the last pass that move some of the ``questions`` (places on the bench).

    ``circuits`` are those whose unknowns lean differently than in the sound circuit; None for all.
    """

    rows: Rows
    questions: frozenset[int]
    circuits: frozenset[str] | None


def moved(seen: Coarse) -> Flags:
    """(K, n + m): figures, then sights, that are not about where row 0, the sound one, has them."""
    figures = seen.figures
    mean, noise, sure = figures.mean, figures.noise, figures.sure
    least = MOVES * np.minimum(noise, noise[:, :1])
    moves = (np.abs(mean - mean[:, :1]) > least) | (np.abs(noise - noise[:, :1]) > least)
    moves |= np.abs(sure - sure[:, :1]) > SEEN_MOVES
    chances = np.abs(seen.chances - seen.chances[:1]) > SEEN_MOVES
    return np.concatenate([moves.any(axis=0), chances], axis=1)


class Whose:
    """The circuits of everything in a plan."""

    def __init__(self, plan: Plan) -> None:
        self.place = {spot.name: spot.circuit for spot in plan.spots}
        self.element = {element.id: element.circuit for element in plan.elements}

    def of(self, functional: Functional) -> frozenset[str]:
        """The circuits a functional lies in; none for the supply, a board, true earth."""
        if isinstance(functional, I):
            found = {self.element.get(functional.branch, "")}
        else:
            ends = (functional.a, functional.b)
            found = {self.place.get(node.rpartition(".")[0], "") for node in ends}
        return frozenset(found - {""})


class Parting:
    """The rows of a bench told apart by what they move."""

    def __init__(self, bench: Bench, columns: Sequence[int]) -> None:
        self.bench, self.columns = bench, np.array(columns, dtype=np.intp)
        self.whose = Whose(bench.plan)
        self.circuits = tuple(circuit.name for circuit in bench.installation.circuits)
        self.asked = self._laid([self._asked(k) for k in columns])

    def _asked(self, k: int) -> frozenset[str]:
        return frozenset().union(*(self.whose.of(p) for p in self.bench.questions[k].ports))

    def _laid(self, whose: Sequence[frozenset[str]]) -> Flags:
        """(len, circuits)."""
        found = [[c in one for c in self.circuits] for one in whose]
        return np.array(found, dtype=np.bool_).reshape(len(whose), len(self.circuits))

    def _touched(self, rows: Rows) -> tuple[Flags, Flags]:
        """(K, circuits): where each row acts; (K,) whether on what all circuits share."""
        found = np.zeros((rows.size, len(self.circuits)), dtype=np.bool_)
        shared = np.zeros(rows.size, dtype=np.bool_)
        for k, scene in enumerate(self.bench.scenes):
            encoded = self.bench.encoded(k).part(rows)
            used, inverse = np.unique(encoded.batch.touch, return_inverse=True)
            at = self._laid([self.whose.of(scene.view.functionals[t]) for t in used])
            inside = np.arange(encoded.batch.touch.shape[1]) < encoded.count[:, None]
            inverse = inverse.reshape(inside.shape)
            found |= (at[inverse] & inside[:, :, None]).any(axis=1)
            none: Flags = np.asarray(~at.any(axis=1))
            shared |= (none[inverse] & inside).any(axis=1)
        return found, shared

    def groups(self, rows: Rows, moves: Flags) -> list[Felt]:
        """The rows (hypotheses') in groups; ``moves`` (K, columns) as ``moved`` tells them.

        ``Felt.rows`` are places in ``rows``.
        """
        felt, shared = self._touched(rows)
        felt |= (moves.astype(np.int64) @ self.asked) > 0
        kinds = np.concatenate([felt, (shared & moves.any(axis=1))[:, None]], axis=1)
        kinds, which = np.unique(kinds, axis=0, return_inverse=True)
        rare = np.bincount(which.ravel(), minlength=len(kinds)) < FEW
        kinds[rare] = kinds[rare].any(axis=0)
        kinds, again = np.unique(kinds, axis=0, return_inverse=True)
        which = again.ravel()[which.ravel()]
        each = [np.flatnonzero(which == k) for k in range(len(kinds))]
        return [
            self._group(some, kind[:-1], bool(kind[-1]), moves)
            for some, kind in zip(each, kinds, strict=True)
        ]

    def _group(self, some: Rows, felt: Flags, shared: bool, moves: Flags) -> Felt:
        """What all circuits share is held, or not, by all of them together."""
        near = moves[some].any(axis=0) | (self.asked & felt).any(axis=1)
        circuits = frozenset(c for c, yes in zip(self.circuits, felt, strict=True) if yes)
        every = shared or len(circuits) == len(self.circuits)
        return Felt(some, frozenset(self.columns[near].tolist()), None if every else circuits)
