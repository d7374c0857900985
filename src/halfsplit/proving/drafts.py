"""A test as it is asked for: one of each, with every reason why, in the order of verification."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from halfsplit.form.after import Tested, TestKind
from halfsplit.instruments.reading import Reading
from halfsplit.proving.result import Limit, Part, Stage, Wanted
from halfsplit.proving.rules import NONE_HELD
from halfsplit.tables.procedure import VERIFICATION

_PLACE: dict[TestKind, str] = {
    "dead": "", "continuity": "protective conductor continuity",
    "ring ends": "ring continuity", "ring cross": "ring continuity", "insulation": "insulation",
    "pull": "polarity", "polarity": "polarity", "electrode": "electrode", "volts": "electrode",
    "loop": "loop", "fault current": "prospective fault current", "trip time": "residual device",
    "trip current": "residual device", "button": "residual device", "switching": "functional",
    "works": "functional", "symptom": "functional",
}  # fmt: skip
NUMBERS = ("insulation", "electrode", "loop", "fault current", "trip time", "trip current", "volts")
"""Tests that give a number and are held against the rules' own limits."""


def order_of(test: TestKind) -> int:
    """Where a test stands in the order of verification; proving dead comes before all."""
    name = _PLACE[test]
    return VERIFICATION.index(name) if name else -1


def stage_of(test: TestKind, supply: bool = False) -> Stage:
    """Whether a test is made dead, live, or by using the thing.

    ``supply`` marks the polarity of what comes in, which only a live test shows.
    """
    if test in ("switching", "works", "symptom"):
        return "function"
    if test == "polarity" and supply:
        return "live"
    return "live" if order_of(test) > VERIFICATION.index("polarity") else "dead"


def stage_of_result(test: Tested) -> Stage:
    """The stage of the test that a result is of."""
    return stage_of(test.test, supply=not (test.circuit or test.part))


@dataclass(slots=True)
class Sheet:
    """Tests as they are asked for: one of each, with every reason why."""

    wanted: dict[str, Wanted] = field(default_factory=dict)
    asks: dict[str, Reading] = field(default_factory=dict)

    def add(self, item: Wanted, why: str, reading: Reading | None = None) -> None:
        """Ask for a test; asked for again, it only gains a reason."""
        known = self.wanted.get(item.id)
        if known is None:
            self.wanted[item.id] = replace(item, why=(why,))
            if reading is not None:
                self.asks[item.id] = reading
        elif why not in known.why:
            self.wanted[item.id] = replace(known, why=(*known.why, why))


def want(
    test: TestKind, port: str, subject: str, circuit: str, title: str, steps: tuple[str, ...],
    cautions: tuple[str, ...] = (), instrument: str = "", *, limit: Limit | None = None,
    ports: tuple[tuple[str, ...], ...] = (), note: str = "", supply: bool = False, part: Part = "",
) -> Wanted:  # fmt: skip
    """A test asked for, with its stage and id; without a limit it says that none is held."""
    id = " ".join(part for part in (test, port, f"at {subject}" if subject else "") if part)
    title = title[:1].upper() + title[1:]
    steps = tuple(step[:1].upper() + step[1:] for step in steps)
    if limit is None and test in NUMBERS and not note:
        note = NONE_HELD
    return Wanted(id, test, port, subject, circuit, stage_of(test, supply), title, (), steps,
                  cautions, instrument, None, limit, ports or ((port,),), note, part)  # fmt: skip


NUMBERS = ("insulation", "electrode", "loop", "fault current", "trip time", "trip current", "volts")
