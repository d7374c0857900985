"""What can be asked of a solved network: a voltage between two nodes, a branch's current."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class V:
    """The voltage v_a - v_b, in volts.

    As a port: the current a load draws leaves at `a` and comes back at `b`.
    """

    a: str
    b: str


@dataclass(frozen=True, slots=True)
class I:  # noqa: E742 - the textbook letter
    """The current of a branch, in amperes, from its `a` to its `b`."""

    branch: str


Functional = V | I
