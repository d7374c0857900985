"""Questions to the people there, asked where the suspects differ in what they would answer."""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.checks.check import Check
from halfsplit.checks.site import Site
from halfsplit.diagnosis.result import Cause
from halfsplit.faults.rates import HISTORY, RATES, meanings, multiplier
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.conditions import AS_DESCRIBED

WORKED_ON = next(row for row in HISTORY if row.word == "worked on")
HAD_WORKS = 0.15  # of all call-outs had works shortly before: judgement
OWNS_UP = 0.95  # somebody remembers what is plugged in when asked: judgement
HAS_MORE = 0.15  # something more is plugged in anyway, whether or not it matters: judgement
LEAST, MOST = 0.03, 0.97


def asks(site: Site) -> Iterator[Check]:
    """Does it work; did it begin after works; is anything plugged in that was not mentioned."""
    yield from _works(site)
    inst = site.installation
    past = [inst.history, inst.supply.history]
    past += [*(b.history for b in inst.boards), *(c.history for c in inst.circuits)]
    said = tuple(word for words in past for word in words)
    if WORKED_ON not in meanings(said):
        yield Check("ask works", "ask", "after works", "", answers=_after_works(site))
    forgotten = sum(c.forgotten * c.probability for c in site.believed)
    if LEAST < forgotten < MOST:
        yield Check("ask beyond", "ask", "anything beyond", "", answers=_beyond(site))


def _works(site: Site) -> Iterator[Check]:
    for circuit in site.suspected_circuits():
        if circuit.name in site.tripped:
            continue  # nothing there works
        for load in site.plan.loads:
            if load.circuit == circuit.name and load.connected and load.on:
                id = f"works {load.id}"
                reading = Reading(id, "works", of=load.id, conditions=AS_DESCRIBED,
                                  place=load.place)  # fmt: skip
                yield Check(id, "question", load.id, load.place, "", reading, AS_DESCRIBED,
                            "none", circuit.name)  # fmt: skip


def _after_works(site: Site) -> tuple[tuple[str, float], ...]:
    """Chance of "yes" under each cause: works raise its rate by what the table of history says."""
    groups = {row.group for row in RATES.values()}
    times = {group: multiplier(group, (WORKED_ON.word,)) for group in groups}

    def chance(cause: Cause) -> float:
        row = RATES.get(cause.fault.family) if cause.fault else None
        had = HAD_WORKS * (times[row.group] if row else 1.0)
        return had / (1 - HAD_WORKS + had)

    return tuple((cause.fault.id if cause.fault else "", chance(cause)) for cause in site.believed)


def _beyond(site: Site) -> tuple[tuple[str, float], ...]:
    """Chance of "yes" under each cause: by the share of its belief that needs a load forgotten."""
    return tuple(
        (
            cause.fault.id if cause.fault else "",
            OWNS_UP * cause.forgotten + HAS_MORE * (1 - cause.forgotten),
        )
        for cause in site.believed
    )
