"""The parts of a linear network: branches with a current unknown, and shunts.

Units are SI: ohm, henry, siemens, farad, volt (RMS phasors). A network is a value: a
change gives a new one.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from halfsplit.network.errors import NetworkError


@dataclass(frozen=True, slots=True)
class Branch:
    """A conductor whose current i, from `a` to `b`, is an unknown of its own.

    v_a - v_b + emf = (r + j w l) i, with r in ohm, l in henry, emf in volts RMS. `r` may be
    infinite: the branch is open, carries nothing, and its current is not an unknown.
    Raises NetworkError when r is negative or a value is not a number.
    """

    name: str
    a: str
    b: str
    r: float = 0.0
    l: float = 0.0  # noqa: E741 - the textbook letter
    emf: complex = 0j

    def __post_init__(self) -> None:
        if math.isnan(self.r) or self.r < 0:
            raise NetworkError(f"branch {self.name!r}: r is {self.r}; give 0 ohm or more")
        if not math.isfinite(self.l):
            raise NetworkError(f"branch {self.name!r}: l is {self.l}; give henries, finite")
        if not math.isfinite(abs(self.emf)):
            raise NetworkError(f"branch {self.name!r}: emf is {self.emf}; give volts, finite")
        if self.a == self.b:
            raise NetworkError(f"branch {self.name!r} joins {self.a!r} to itself; give two nodes")

    @property
    def is_open(self) -> bool:
        """True when no current can flow, whatever the voltage."""
        return math.isinf(self.r)

    def impedance(self, omega: float) -> complex:
        """Series impedance in ohm at `omega` rad/s."""
        return complex(self.r, omega * self.l)


@dataclass(frozen=True, slots=True)
class Shunt:
    """An admittance g + j w c between `a` and `b`: siemens, farad.

    Raises NetworkError when g or c is negative or not finite: nothing is ever subtracted.
    """

    name: str
    a: str
    b: str
    g: float = 0.0
    c: float = 0.0

    def __post_init__(self) -> None:
        for letter, value in (("g", self.g), ("c", self.c)):
            if not math.isfinite(value) or value < 0:
                raise NetworkError(
                    f"shunt {self.name!r}: {letter} is {value}; give 0 or more, finite"
                )
        if self.a == self.b:
            raise NetworkError(f"shunt {self.name!r} joins {self.a!r} to itself; give two nodes")

    def admittance(self, omega: float) -> complex:
        """Admittance in siemens at `omega` rad/s."""
        return complex(self.g, omega * self.c)


@dataclass(frozen=True)
class Network:
    """Branches and shunts about one reference node, which is at 0 V.

    Nodes are collected from the parts, in the order they first appear.
    Raises NetworkError when two branches or two shunts share a name.
    """

    reference: str
    branches: tuple[Branch, ...]
    shunts: tuple[Shunt, ...] = ()

    def __post_init__(self) -> None:
        _distinct("branch", (branch.name for branch in self.branches))
        _distinct("shunt", (shunt.name for shunt in self.shunts))

    @cached_property
    def nodes(self) -> tuple[str, ...]:
        """Every node except the reference."""
        seen: dict[str, None] = {}
        parts: tuple[Branch | Shunt, ...] = (*self.branches, *self.shunts)
        for part in parts:
            seen[part.a] = None
            seen[part.b] = None
        seen.pop(self.reference, None)
        return tuple(seen)

    @cached_property
    def drive(self) -> float:
        """The largest source emf in volts, or 1 V when there is none."""
        return max((abs(branch.emf) for branch in self.branches), default=0.0) or 1.0


def _distinct(kind: str, names: Iterable[str]) -> None:
    seen: set[str] = set()
    for name in names:
        if name in seen:
            raise NetworkError(f"two of kind {kind} are called {name!r}; give each its own name")
        seen.add(name)
