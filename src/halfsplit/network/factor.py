"""One factorisation per set of conditions.

It serves every fault, pairs of faults, every instrument, every residual current, and the
sensitivity of every reading to every parameter. The wiring is linear and nearly a tree, so a
sparse factorisation costs little more than reading the network; what is kept for a set of
questions is small and dense (a View).
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halfsplit.network.assemble import Assembled, assemble
from halfsplit.network.elements import Network
from halfsplit.network.eliminate import Eliminated, eliminate
from halfsplit.network.errors import NetworkError, SingularNetwork, UnknownName
from halfsplit.network.functionals import Functional, I, V
from halfsplit.network.order import Pivots


@dataclass(frozen=True, slots=True)
class View:
    """The sound circuit seen through s functionals.

    G (s, s) = F^T M F, symmetric: the drop of functional p per ampere drawn at port q, or per
    volt of emf put *into* branch q (both count as minus, f' = f - G w). Entries between two
    voltages are Thevenin impedances in ohm, between two currents admittances in siemens; `at` and
    `block` give those asked for. `f0` (s,) = F^T x: volts and amperes before any change. `drive`
    is the largest emf in volts.

    Kept are the columns `X` (N + 1, s) = A \\ F, each with the same digits whatever else is seen,
    and for each functional its rows `plus` and `minus` (s,).
    """

    functionals: tuple[Functional, ...]
    X: NDArray[Any]
    plus: NDArray[np.intp]
    minus: NDArray[np.intp]
    f0: NDArray[Any]
    drive: float
    _at: dict[Functional, int] = field(repr=False)

    def at(self, i: NDArray[np.intp], j: NDArray[np.intp]) -> NDArray[Any]:
        """G[i, j] for indices that broadcast together."""
        return np.asarray(self.X[self.plus[i], j] - self.X[self.minus[i], j])

    def block(self, rows: NDArray[np.intp], cols: NDArray[np.intp]) -> NDArray[Any]:
        """G[rows][:, cols]."""
        plus, minus = np.ix_(self.plus[rows], cols), np.ix_(self.minus[rows], cols)
        return np.asarray(self.X[plus] - self.X[minus])

    @property
    def G(self) -> NDArray[Any]:  # noqa: N802 - the textbook letter
        """All of it, (s, s)."""
        return np.asarray(self.X[self.plus] - self.X[self.minus])

    def index(self, functional: Functional) -> int:
        """Where a functional sits; a voltage asked the other way round is not the same one.

        Raises UnknownName when it is not in this view.
        """
        at = self._at.get(functional)
        if at is None:
            raise UnknownName("functional", repr(functional), map(repr, self.functionals))
        return at

    def touch_index(self, functional: Functional) -> int:
        """Where a change acts; the order of a bridge's two nodes does not matter."""
        if isinstance(functional, V) and functional not in self._at:
            turned = V(functional.b, functional.a)
            if turned in self._at:
                return self._at[turned]
        return self.index(functional)


@dataclass(frozen=True, slots=True)
class Factored:
    """A factorised network in given conditions: entries of A (N, N), solution x (N,), A x = b.

    x holds node voltages (volt), then branch currents (ampere). Index N is a zero padding that
    stands for the reference node and for open branches. `beside` remembers what else was factorised
    from it (see `guard`): asking twice gives the same object.
    """

    network: Network
    omega: float
    parts: Assembled
    lu: Eliminated
    pivots: Pivots
    x: NDArray[Any]
    node_index: dict[str, int]
    branch_index: dict[str, int]
    beside: dict[Any, "Factored | None"] = field(default_factory=dict, repr=False, compare=False)

    @property
    def size(self) -> int:
        """N, the number of unknowns."""
        return int(self.x.shape[0])

    def index_v(self, node: str) -> int:
        """Row of a node's voltage; N for the reference. Raises UnknownName."""
        at = self.node_index.get(node)
        if at is None:
            raise UnknownName("node", node, self.node_index)
        return at

    def index_i(self, branch: str) -> int:
        """Row of a branch's current; N when it is open. Raises UnknownName."""
        at = self.branch_index.get(branch)
        if at is None:
            raise UnknownName("branch", branch, self.branch_index)
        return at

    def solve(self, rhs: NDArray[Any]) -> NDArray[Any]:
        """A^-1 rhs, for `rhs` (N,) or (N, s) of the matrix's own dtype."""
        solution = np.empty_like(rhs)
        solution[self.pivots.cols] = self.lu.solve(rhs[self.pivots.rows])
        return solution

    def dense(self) -> NDArray[Any]:
        """The matrix A itself, dense (N, N): to look at, never to solve with."""
        A = np.zeros((self.size, self.size), dtype=self.parts.value.dtype)
        np.add.at(A, (self.parts.row, self.parts.col), self.parts.value)
        return A

    def inverse(self) -> NDArray[Any]:
        """The dense inverse M (N, N); a view is cheaper and keeps more digits."""
        return self.solve(np.eye(self.size, dtype=self.x.dtype))

    def encode(
        self, functionals: Sequence[Functional]
    ) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """(plus, minus), each (s,): a functional is x[plus] - x[minus] of the padded x."""
        plus = np.empty(len(functionals), dtype=np.intp)
        minus = np.full(len(functionals), self.size, dtype=np.intp)
        for k, functional in enumerate(functionals):
            if isinstance(functional, I):
                plus[k] = self.index_i(functional.branch)
            else:
                plus[k] = self.index_v(functional.a)
                minus[k] = self.index_v(functional.b)
        return plus, minus

    def view(self, functionals: Sequence[Functional]) -> View:
        """See the circuit through `functionals`: solved column by column, F^T (A \\ F).

        Differences are taken before the solve, never between entries of M: on a floating
        circuit those are 1e12 ohm and their difference would be lost.
        """
        plus, minus, padded = self._columns(functionals)
        x = np.append(self.x, 0.0)
        return View(
            tuple(functionals),
            padded,
            plus,
            minus,
            x[plus] - x[minus],
            self.network.drive,
            _places(functionals),
        )

    def extend(self, view: View, functionals: Sequence[Functional]) -> View:
        """The same view with further functionals at its end; only their columns are solved."""
        if not functionals:
            return view
        more = self.view(functionals)
        every = (*view.functionals, *functionals)
        return View(
            every,
            np.concatenate([view.X, more.X], axis=1),
            np.concatenate([view.plus, more.plus]),
            np.concatenate([view.minus, more.minus]),
            np.concatenate([view.f0, more.f0]),
            view.drive,
            _places(every),
        )

    def _columns(
        self, functionals: Sequence[Functional]
    ) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[Any]]:
        """(plus, minus, A \\ F padded by a zero row) of some functionals."""
        plus, minus = self.encode(functionals)
        s, n = len(functionals), self.size
        padded = np.zeros((n + 1, s), dtype=self.x.dtype)
        columns = np.arange(s)
        np.add.at(padded, (plus, columns), 1.0)
        np.add.at(padded, (minus, columns), -1.0)
        padded[:n] = self.solve(padded[:n])
        padded[n] = 0.0
        return plus, minus, padded


def _places(functionals: Sequence[Functional]) -> dict[Functional, int]:
    return {functional: k for k, functional in reversed(list(enumerate(functionals)))}


def factorise(network: Network, omega: float) -> Factored:
    """Factorise `network` at `omega` rad/s (0: dead, real; else complex) and solve it sound.

    Raises SingularNetwork naming the nodes nothing holds, or the branches whose loop has no
    impedance; NetworkError when omega is negative or not finite.
    """
    if not (np.isfinite(omega) and omega >= 0):
        raise NetworkError(f"omega is {omega} rad/s; give 0 (dead) or more, finite")
    parts = assemble(network, omega)
    if parts.size == 0:
        raise NetworkError("the network has no parts; give at least one branch or shunt")
    order = parts.pivots
    place_of_row, place_of_col = np.argsort(order.rows), np.argsort(order.cols)
    try:
        lu = eliminate(
            place_of_row[parts.row].tolist(),
            place_of_col[parts.col].tolist(),
            parts.value.tolist(),
            parts.size,
            parts.value.dtype,
        )
    except ZeroDivisionError as error:
        raise SingularNetwork from error
    x = np.zeros(parts.size, dtype=parts.rhs.dtype)
    factored = Factored(network, omega, parts, lu, order, x, parts.node_index, parts.branch_index)
    return replace(factored, x=factored.solve(parts.rhs))
