"""What proving gives, all as data. SI units: ohm, volt, second, ampere."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from halfsplit.form.after import Tested, TestKind
from halfsplit.instruments.reading import Reading

Stage = Literal["dead", "live", "function"]

Outcome = Literal["pass", "near", "no limit", "doubtful", "implausible", "missing", "fail"]
"""``near`` is within the limit by less than the instrument's uncertainty; ``no limit`` agrees with
the circuit where the rules hold no limit; ``doubtful`` shows nothing either way."""

GOOD: frozenset[Outcome] = frozenset({"pass", "near", "no limit"})
"""Outcomes that let the work go on."""

Part = Literal["", "device", "bond"]
"""What a test's subject is, where its name alone does not say."""

Standing = Literal["proved", "in doubt", "not proved", "nothing mended"]


@dataclass(frozen=True, slots=True)
class Limit:
    """What a result is held against. ``most`` or ``least`` in SI; both for a band.

    ``words`` say it with its rule, ``source`` names where it is from with its edition.
    """

    words: str
    source: str
    most: float | None = None
    least: float | None = None


@dataclass(frozen=True, slots=True)
class Expected:
    """What the circuit as described would show: its value, and the band it may lie in.

    The band holds what is not known: lengths stated as about, a conductor between 5 and 30 °C,
    joints from very good to just sound. ``loose`` marks a band too wide to judge by.
    """

    value: float
    low: float
    high: float

    @property
    def loose(self) -> bool:
        """Whether the band is so wide that agreeing with it shows little."""
        return self.high > 4.0 * max(self.low, 1e-9)


@dataclass(frozen=True, slots=True)
class Wanted:
    """One test that the mend calls for.

    ``subject`` is what it is of: a place, a circuit, a device, a load or a bond. ``ports`` are the
    ways it may be given, each a set of results that serve together (R1+R2, or both cores by a long
    lead). ``reading`` is the measurement as the network is asked for it, where it can be.
    """

    id: str
    test: TestKind
    port: str
    subject: str
    circuit: str
    stage: Stage
    title: str
    why: tuple[str, ...]
    steps: tuple[str, ...]
    cautions: tuple[str, ...]
    instrument: str
    expected: Expected | None = None
    limit: Limit | None = None
    ports: tuple[tuple[str, ...], ...] = ()
    note: str = ""
    part: Part = ""
    reading: Reading | None = None

    @property
    def by_wiring(self) -> bool:
        """Whether its limit is no rule but the upper end of what the wiring gives."""
        limit, expected = self.limit, self.expected
        return limit is not None and expected is not None and limit.most == expected.high


@dataclass(frozen=True, slots=True)
class Verdict:
    """One test judged. ``tests`` are the results it was judged by, the deciding one first.

    ``margin`` is how far inside the limit the result lies as a share of the limit (negative
    outside, None where there is nothing to compare); ``uncertainty`` is two standard deviations
    of the instrument at that value, in the result's unit. ``why`` says the outcome in a sentence.
    """

    wanted: Wanted
    outcome: Outcome
    why: str
    tests: tuple[Tested, ...] = ()
    margin: float | None = None
    uncertainty: float | None = None
    doubts: tuple[str, ...] = ()
    asked: bool = True  # False: a result nobody asked for, judged all the same

    @property
    def good(self) -> bool:
        """Whether it lets the work go on."""
        return self.outcome in GOOD


@dataclass(frozen=True, slots=True)
class Derived:
    """A figure worked out from results: its value in SI, its limit, the outcome and how.

    ``binding`` says that the limit is a requirement and not advice.
    """

    title: str
    value: float
    limit: Limit | None
    outcome: Outcome
    why: str
    binding: bool = True


@dataclass(frozen=True, slots=True)
class Proof:
    """The whole job. ``before_live`` is what stands before any live test: dead ones, open items.

    ``rules`` is the id of the rules used, ``rules_title`` their name and edition. ``disturbed``
    says what each mend disturbed; ``retired`` are results that no longer count, each with why.
    """

    rules: str
    rules_title: str
    disturbed: tuple[str, ...]
    verdicts: tuple[Verdict, ...]
    standing: Standing
    before_live: tuple[str, ...]
    doubts: tuple[str, ...]
    retired: tuple[tuple[Tested, str], ...]
    derived: tuple[Derived, ...] = ()

    @property
    def blocks(self) -> tuple[str, ...]:
        """Why it must not be energised, or must be switched off again; empty when it may be."""
        return (*self.before_live, *(
            f"{v.wanted.title}: failed; switch off and isolate until it is put right"
            for v in self.verdicts if v.wanted.stage == "live" and v.outcome == "fail"
        ))  # fmt: skip

    @property
    def may_energise(self) -> bool:
        """Whether the dead tests have passed, no live one failed and nothing stands in the way."""
        return not self.blocks and self.standing != "nothing mended"

    @property
    def other_doubts(self) -> tuple[str, ...]:
        """The doubts that do not stand among what was worked out from results already."""
        known = {f"{d.title}: {d.why}" for d in self.derived}
        return tuple(doubt for doubt in self.doubts if doubt not in known)

    def with_outcome(self, *outcomes: Outcome) -> tuple[Verdict, ...]:
        """The verdicts that came out so, in the order of the tests."""
        return tuple(v for v in self.verdicts if v.outcome in outcomes)
