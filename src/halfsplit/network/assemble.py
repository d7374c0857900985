"""From a network to its symmetric matrix, with node voltages and branch currents unknown.

The trap: opening a joint by subtracting its admittance in node-voltage form cancels digits
when what is left hanging is held only by insulation or cable capacitance. So every branch
carries its own current. An artificial conductance to ground on every node decides the ghost
voltage and is forbidden; what nothing holds is named instead.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halfsplit.network.elements import Network
from halfsplit.network.errors import SingularNetwork
from halfsplit.network.order import Edge, Pivots, pivots

# A shunt stamped into a node's diagonal hides any leakage smaller by 1e16; from this admittance
# on it gets a current of its own, so that 1e-12 S of insulation still counts behind a load.
OWN_CURRENT_FROM_SIEMENS = 1e-5


class Clusters:
    """Which nodes hang together (union-find with halving)."""

    def __init__(self) -> None:
        self._parent: dict[str, str] = {}

    def find(self, node: str) -> str:
        """The name that stands for the node's cluster."""
        parent = self._parent
        root = parent.setdefault(node, node)
        while parent[root] != root:
            parent[root] = parent[parent[root]]
            root = parent[root]
        return root

    def join(self, a: str, b: str) -> bool:
        """Join two clusters; False when they were one already."""
        root_a, root_b = self.find(a), self.find(b)
        self._parent[root_a] = root_b
        return root_a != root_b


@dataclass(frozen=True, slots=True)
class Assembled:
    """Entries of the symmetric N x N matrix, its right-hand side, and where each unknown sits.

    Node row: shunt currents + branch currents leaving = injected (ampere).
    Branch row: v_a - v_b - Z i = -emf (volt).
    """

    size: int
    row: NDArray[np.intp]
    col: NDArray[np.intp]
    value: NDArray[Any]
    rhs: NDArray[Any]
    node_index: dict[str, int]
    branch_index: dict[str, int]
    pivots: Pivots


def assemble(network: Network, omega: float) -> Assembled:
    """Stamp every part at `omega` rad/s; real (float64) when omega is 0, else complex128.

    Open branches have no unknown; the index of theirs, and of the reference, is `size`.
    Raises SingularNetwork when nothing holds a node, or a loop has no impedance.
    """
    check_held(network, omega)
    check_loops(network, omega)
    node_index = {node: k for k, node in enumerate(network.nodes)}
    stamps = _Stamps(len(node_index), node_index)
    branch_index: dict[str, int] = {}
    for branch in network.branches:
        if branch.is_open:
            branch_index[branch.name] = -1
        else:
            z = branch.impedance(omega)
            branch_index[branch.name] = stamps.branch(branch.a, branch.b, z, branch.emf)
    for shunt in network.shunts:
        y = shunt.admittance(omega)
        if abs(y) >= OWN_CURRENT_FROM_SIEMENS:
            stamps.branch(shunt.a, shunt.b, 1 / y, 0j)
        elif y != 0:
            stamps.shunt(shunt.a, shunt.b, y)
    size = stamps.size
    node_index[network.reference] = size
    branch_index = {name: size if at < 0 else at for name, at in branch_index.items()}
    return stamps.assembled(node_index, branch_index, real=omega == 0)


class _Stamps:
    """Matrix entries collected one part at a time."""

    def __init__(self, nodes: int, index: dict[str, int]) -> None:
        self.size = nodes
        self._index = dict(index)
        self._edges: list[Edge] = []
        self._row: list[int] = []
        self._col: list[int] = []
        self._value: list[complex] = []
        self._sources: list[tuple[int, complex]] = []

    def _put(self, row: int | None, col: int | None, value: complex) -> None:
        if row is not None and col is not None:
            self._row.append(row)
            self._col.append(col)
            self._value.append(value)

    def branch(self, a: str, b: str, z: complex, emf: complex) -> int:
        """Give a branch the next unknown and return its index."""
        at = self.size
        self.size += 1
        self._edges.append(Edge(at, self._index.get(a, -1), self._index.get(b, -1), abs(z)))
        for node, sign in ((self._index.get(a), 1.0), (self._index.get(b), -1.0)):
            self._put(node, at, sign)
            self._put(at, node, sign)
        self._put(at, at, -z)
        if emf:
            self._sources.append((at, -emf))
        return at

    def shunt(self, a: str, b: str, y: complex) -> None:
        """Add an admittance between two nodes."""
        p, q = self._index.get(a), self._index.get(b)
        self._put(p, p, y)
        self._put(q, q, y)
        self._put(p, q, -y)
        self._put(q, p, -y)

    def assembled(
        self, node_index: dict[str, int], branch_index: dict[str, int], real: bool
    ) -> Assembled:
        """Everything stamped so far, as arrays."""
        value = np.array(self._value, dtype=np.complex128)
        rhs = np.zeros(self.size, dtype=np.complex128)
        for at, volts in self._sources:
            rhs[at] += volts
        return Assembled(
            self.size,
            np.array(self._row, dtype=np.intp),
            np.array(self._col, dtype=np.intp),
            value.real.copy() if real else value,
            rhs.real.copy() if real else rhs,
            node_index,
            branch_index,
            pivots(len(self._index), self._edges),
        )


def check_held(network: Network, omega: float) -> None:
    """Raise SingularNetwork naming the nodes without any path to the reference, sorted."""
    clusters = Clusters()
    for branch in network.branches:
        if not branch.is_open:
            clusters.join(branch.a, branch.b)
    for shunt in network.shunts:
        if shunt.admittance(omega) != 0:
            clusters.join(shunt.a, shunt.b)
    home = clusters.find(network.reference)
    floating = [node for node in network.nodes if clusters.find(node) != home]
    if floating:
        raise SingularNetwork(nodes=floating)


def check_loops(network: Network, omega: float) -> None:
    """Raise SingularNetwork naming the branches without impedance that close a loop, sorted."""
    clusters = Clusters()
    closing = [
        (branch.a, branch.b)
        for branch in network.branches
        if branch.impedance(omega) == 0 and not clusters.join(branch.a, branch.b)
    ]
    if closing:
        raise SingularNetwork(branches=_in_loops(network, omega, closing))


def _in_loops(network: Network, omega: float, closing: Iterable[tuple[str, str]]) -> list[str]:
    """Names of the branches without impedance in the clusters that hold a closed loop."""
    solid = [branch for branch in network.branches if branch.impedance(omega) == 0]
    clusters = Clusters()
    for branch in solid:
        clusters.join(branch.a, branch.b)
    looped = {clusters.find(a) for a, _ in closing}
    return [branch.name for branch in solid if clusters.find(branch.a) in looped]
