"""What follows the finding, as written: the mend, its tests, what was left safe, what was seen.

All values, SI units. Conductors are keys (L, N, E, SL, L1, ...), whatever the region calls them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

MendKind = Literal[
    "joint", "accessory", "cable", "device", "load", "bond", "electrode", "link", "supply",
    "nothing",
]  # fmt: skip

TestKind = Literal[
    "dead",
    "continuity",
    "ring ends",
    "ring cross",
    "insulation",
    "polarity",
    "electrode",
    "loop",
    "fault current",
    "trip time",
    "trip current",
    "button",
    "volts",
    "pull",
    "switching",
    "works",
    "symptom",
]


@dataclass(frozen=True, slots=True)
class Mended:
    """One thing put right: what was done in the person's words, and which part it disturbed.

    ``kind`` joint: the ``conductors`` named were remade at ``place``; accessory: the point was
    opened or changed; cable: the run ``part`` was mended or replaced; device, load, bond: the one
    named by ``part``; electrode, link, supply: those of the installation. ``fault`` is the id of
    the fault put right, "" where only words were given.
    """

    id: str
    did: str
    kind: MendKind
    place: str = ""
    conductors: tuple[str, ...] = ()
    part: str = ""
    fault: str = ""
    who: str = ""
    when: str = ""
    line: int | None = None


@dataclass(frozen=True, slots=True)
class Tested:
    """One result of one test after the mend.

    ``port`` says between what ("L+E" is R1+R2, "L+N-E" live conductors together to earth, "1x" the
    rated residual current); ``value`` is in ohm, volt, second or ampere, None for over range or
    where ``seen`` holds the result. ``volts`` is the test voltage of an insulation test.
    ``equipment`` says that equipment was still connected. ``again`` is why an earlier result of
    the same test no longer counts; without it the worse of two counts.
    """

    __test__ = False  # not a test case of the test runner

    id: str
    test: TestKind
    place: str = ""
    circuit: str = ""
    part: str = ""  # the device, load or bond under test
    port: str = ""
    value: float | None = None
    bound: Literal["=", ">", "<", "~"] = "="
    spread: float = 0.0  # of a range or "about": standard deviation of its natural logarithm
    seen: str = ""
    volts: float | None = None
    instrument: str = ""
    nulled: bool | None = None
    equipment: bool = False
    celsius: float | None = None
    again: str = ""
    who: str = ""
    when: str = ""
    text: str = ""
    line: int | None = None


@dataclass(frozen=True, slots=True)
class LeftSafe:
    """How what could not be mended was left. Every field is in the person's words."""

    why: str = ""
    isolated: tuple[str, ...] = ()
    locked: str = ""
    labelled: str = ""
    told: tuple[str, ...] = ()
    do_not_use: tuple[str, ...] = ()
    who: str = ""
    when: str = ""


@dataclass(frozen=True, slots=True)
class Seen:
    """Something seen and not mended, in the person's words, with its class (C1, C2, C3, FI)."""

    id: str
    what: str
    place: str = ""
    code: str = ""
    who: str = ""
    when: str = ""
    line: int | None = None


@dataclass(frozen=True, slots=True)
class After:
    """All that followed the finding. ``open_items`` are links still in and cores still lifted."""

    mends: tuple[Mended, ...] = ()
    tests: tuple[Tested, ...] = ()
    left_safe: LeftSafe | None = None
    seen: tuple[Seen, ...] = ()
    open_items: tuple[str, ...] = ()

    @property
    def written(self) -> bool:
        """Whether anything was written at all."""
        return self != After()


NOTHING_AFTER = After()
"""Nothing followed yet."""
