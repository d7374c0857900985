"""Order of work: isolation, proving dead, initial verification, report codes, probe rules.

Orders are tuples, first step first. These are rules of conduct that other rooms follow; local
rules and licensed practice come before all of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from types import MappingProxyType

from halfsplit.errors import NotInTable
from halfsplit.tables.source import Figure

ISOLATION = (
    "identify",
    "isolate",
    "lock and notice",
    "prove tester",
    "test dead",
    "prove tester again",
)
ISOLATION_SOURCE = "gs38-college"

PROVING = ("live", "dead", "live")
PROVING_SOURCE = "nfpa70e"

VERIFICATION = (
    "protective conductor continuity",
    "ring continuity",
    "insulation",
    "polarity",
    "electrode",
    "loop",
    "prospective fault current",
    "residual device",
    "functional",
)
VERIFICATION_SOURCE = "sequence"
DEAD_TESTS = frozenset(VERIFICATION[:4])

LIVE_WORK = (
    "it is unreasonable to work dead",
    "it is reasonable to work live",
    "suitable precautions are taken",
)
"""Live work needs all of these at once."""
LIVE_WORK_SOURCE = "eawr14"

# Report codes: does one such finding make the report unsatisfactory?
UNSATISFACTORY = MappingProxyType({"C1": True, "C2": True, "FI": True, "C3": False})
UNSATISFACTORY_SOURCE = "codes"


@dataclass(frozen=True, slots=True)
class Classed:
    """How one source classed something seen. Sources differ; whoever saw it decides."""

    id: str
    what: str
    codes: tuple[str, ...]
    source: str


CLASSED = (
    Classed("class-ring-open", "a conductor of a ring open", ("C2", "FI"), "forum-classes"),
    Classed("class-accessory", "polarity reversed at an accessory", ("C2",), "contractor-classes"),
    Classed("class-in-use", "polarity reversed at a socket-outlet in use", ("C1",),
            "training-classes"),
    Classed("class-origin", "polarity reversed at the origin", ("C1",), "contractor-classes"),
)  # fmt: skip

REMEDY_DAYS = Figure("remedy-days", 28.0, "d", "rented-2020")
INSPECTION_YEARS = Figure("inspection-years", 5.0, "a", "rented-2020")
PROBE_TIP_MAX = Figure("probe-tip-max", 4e-3, "m", "gs38")
PROBE_TIP_PREFERRED = Figure("probe-tip-preferred", 2e-3, "m", "gs38")
LEAD_FUSE = Figure("lead-fuse", 0.5, "A", "gs38")
LEAD_FUSE_LOOP = Figure("lead-fuse-loop", 10.0, "A", "gs38", note="loop and residual testers")


def pairs_to_prove_dead(conductors: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """Every pair to test: three on single phase, ten on three phase with neutral and earth."""
    return tuple(combinations(conductors, 2))


def unsatisfactory(codes: Iterable[str]) -> bool:
    """Whether findings with those codes make the report unsatisfactory. Raises: NotInTable."""
    found = tuple(codes)
    for code in found:
        if code not in UNSATISFACTORY:
            raise NotInTable("report codes", code, UNSATISFACTORY)
    return any(UNSATISFACTORY[code] for code in found)


def out_of_order(tests: Sequence[str]) -> tuple[str, ...]:
    """Live tests that come before a dead one in the same sequence, in the order met.

    Raises: NotInTable for a test that the order does not name.
    """
    for test in tests:
        if test not in VERIFICATION:
            raise NotInTable("verification tests", test, VERIFICATION)
    last_dead = max((at for at, test in enumerate(tests) if test in DEAD_TESTS), default=-1)
    return tuple(test for test in tests[: max(last_dead, 0)] if test not in DEAD_TESTS)
