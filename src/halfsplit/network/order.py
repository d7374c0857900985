"""In which order to eliminate, and on which entry, so that small currents keep their digits.

Along a tree of branches every current is the sum of what leaks and what is drawn beyond it: a
sum that never subtracts, if each node's current balance is solved for the branch towards the
root, and each tree branch for the voltage of its far node. A factorisation left to choose its
own pivots may write a current as (v_a - v_b) / z instead and lose a leakage of 1e-12 S behind it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Edge:
    """A branch unknown: its row `at`, its two node rows (-1: the reference), abs(z) in ohm."""

    at: int
    a: int
    b: int
    ohm: float


@dataclass(frozen=True, slots=True)
class Pivots:
    """Rows and columns in elimination order: the k-th pivot is (rows[k], cols[k])."""

    rows: NDArray[np.intp]
    cols: NDArray[np.intp]


def pivots(nodes: int, edges: Sequence[Edge]) -> Pivots:
    """Pair and order all unknowns: tree from its leaves to its roots, then links, then roots.

    The tree is the one of least impedance; a group of nodes that no branch ties to the reference
    has a root of its own, which stays to the end and is held by shunts alone.
    """
    tree, links = _spanning(nodes, edges)
    rows: list[int] = []
    cols: list[int] = []
    roots, inward = _outwards(nodes, tree)
    for node, at in reversed(inward):
        rows += (node, at)
        cols += (at, node)
    last = [*links, *roots]
    return Pivots(
        np.array(rows + last, dtype=np.intp),
        np.array(cols + last, dtype=np.intp),
    )


def _spanning(nodes: int, edges: Sequence[Edge]) -> tuple[list[Edge], list[int]]:
    """The spanning forest of least impedance, and the rows of the edges left out of it."""
    parent = list(range(nodes + 1))  # -1, the reference, is the last one
    tree: list[Edge] = []
    links: list[int] = []
    for edge in sorted(edges, key=lambda edge: edge.ohm):
        a, b = _root(parent, edge.a), _root(parent, edge.b)
        if a == b:
            links.append(edge.at)
        else:
            parent[a] = b
            tree.append(edge)
    return tree, links


def _root(parent: list[int], node: int) -> int:
    node %= len(parent)
    while parent[node] != node:
        parent[node] = parent[parent[node]]
        node = parent[node]
    return node


def _outwards(nodes: int, tree: Sequence[Edge]) -> tuple[list[int], list[tuple[int, int]]]:
    """Floating roots, and (node, branch towards its root) by rising distance from the root."""
    near: list[list[tuple[int, int]]] = [[] for _ in range(nodes + 1)]
    for edge in tree:
        near[edge.a].append((edge.b, edge.at))
        near[edge.b].append((edge.a, edge.at))
    seen = [False] * (nodes + 1)
    roots: list[int] = []
    reached: list[tuple[int, int, int]] = []
    for root in (-1, *range(nodes)):
        if seen[root]:
            continue
        seen[root] = True
        if root >= 0:
            roots.append(root)
        front, depth = [root], 0
        while front:
            depth += 1
            following: list[int] = []
            for node in front:
                for other, at in near[node]:
                    if not seen[other]:
                        seen[other] = True
                        reached.append((depth, other, at))
                        following.append(other)
            front = following
    reached.sort(key=lambda item: item[0])
    return roots, [(node, at) for _, node, at in reached]
