"""Two faults at once, as one hypothesis: the effects of both, named after both."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from halfsplit.faults.fault import Family, Fault, Severity
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import Plan

JOINS = " with "  # between the ids of the two


def _none(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Pairs are chosen by what the readings ask for, not listed."""
    yield from ()


TWO = Family(
    "two faults",
    "two faults at once",
    "{both}",
    "both rates together, divided once by how rare any fault is where nobody has called",
    (),
    "look at each by itself: a reading that only one of the two explains",
    "each as it would be mended alone; test both parts",
    _none,
)


def both(
    first: Fault, second: Fault, says: tuple[str, str], steps: Sequence[tuple[int, int]]
) -> Fault:
    """Both faults, at the given steps of their severities; ``says`` are their families' sentences.

    The shares of the steps are relative to each other.
    """
    shares = [first.severities[i].share * second.severities[j].share for i, j in steps]
    severities = tuple(
        Severity(
            f"{first.severities[i].name}, {second.severities[j].name}",
            first.severities[i].effects + second.severities[j].effects,
            share / (sum(shares) or 1.0),
        )
        for (i, j), share in zip(steps, shares, strict=True)
    )
    return Fault(
        f"{first.id}{JOINS}{second.id}",
        TWO.id,
        tuple(dict.fromkeys((*first.conductors, *second.conductors))),
        tuple(dict.fromkeys((*first.places, *second.places))),
        severities,
        first.rate * second.rate,
        tuple(dict.fromkeys((*first.parts, *second.parts))),
        first.circuit if first.circuit == second.circuit else "",
        (("says first", says[0]), ("says second", says[1])),
        (first, second),
    )
