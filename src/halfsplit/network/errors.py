"""What the solver refuses, in words that name the conductors and not the matrix."""

from collections.abc import Iterable

from halfsplit.errors import HalfsplitError


def _listed(names: Iterable[str], limit: int = 12) -> str:
    """Join names for a message, saying how many were left unsaid past `limit`."""
    kept = list(names)
    more = f" and {len(kept) - limit} more" if len(kept) > limit else ""
    return ", ".join(repr(name) for name in kept[:limit]) + more


class NetworkError(HalfsplitError):
    """The network, or a question put to it, makes no sense as given."""


class UnknownName(NetworkError):
    """A node or branch was asked for that the network does not have."""

    def __init__(self, kind: str, name: str, known: Iterable[str]) -> None:
        self.kind = kind
        self.name = name
        self.known = tuple(sorted(known))
        super().__init__(f"there is no {kind} {name!r}; this network has {_listed(self.known)}")

    def __reduce__(self) -> tuple[type["UnknownName"], tuple[str, str, tuple[str, ...]]]:
        return type(self), (self.kind, self.name, self.known)


class SingularNetwork(NetworkError):
    """Some voltages or currents are decided by nothing.

    `nodes` (sorted) have no path of branch or non-zero shunt to the reference;
    `branches` (sorted) close a loop without impedance, so that the current in it is anybody's.
    """

    def __init__(self, nodes: Iterable[str] = (), branches: Iterable[str] = ()) -> None:
        self.nodes = tuple(sorted(nodes))
        self.branches = tuple(sorted(branches))
        super().__init__(self._sentence())

    def __reduce__(self) -> tuple[type["SingularNetwork"], tuple[tuple[str, ...], ...]]:
        return type(self), (self.nodes, self.branches)

    def _sentence(self) -> str:
        if self.nodes:
            return (
                f"nothing holds {_listed(self.nodes)}: no path leads to the reference; "
                "give the insulation or capacitance that is really there"
            )
        if self.branches:
            return (
                f"{_listed(self.branches)} close a loop without impedance; "
                "give at least one of them its resistance"
            )
        return "the network has no single solution; look for a resonance without resistance"
