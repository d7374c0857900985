"""Jobs for these tests, and plans whose joints are nothing, as worked examples have them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from halfsplit.form import read_job
from halfsplit.form.job import Job
from halfsplit.form.lines import layout
from halfsplit.proving import Proof, Verdict, prove
from halfsplit.wiring.layout import lay_out
from halfsplit.wiring.plan import Plan

NOTHING = ("joint", "contact", "pole", "switch", "link")


def job(**keys: Any) -> Job:
    """A job from its form's keys; underscores stand for blanks."""
    return read_job(layout({k.replace("_", " "): v for k, v in keys.items()}), "job")


def ideal(given: Job, **protective: float) -> Plan:
    """The job's plan with conductors only; worked examples leave joints out.

    ``protective`` sets the whole of a conductor's resistance (E=0.9), shared out by length.
    """
    plan = lay_out(given.installation)
    for key, total in protective.items():
        whole = sum(e.ohms for e in plan.elements if e.kind == "core" and e.conductor == key)
        plan = replace(
            plan,
            elements=tuple(
                replace(e, ohms=e.ohms * total / whole)
                if e.kind == "core" and e.conductor == key
                else e
                for e in plan.elements
            ),
        )
    return replace(
        plan,
        elements=tuple(replace(e, ohms=0.0) if e.kind in NOTHING else e for e in plan.elements),
    )


def verdict(proof: Proof, id: str) -> Verdict:
    """The verdict on the test of that id."""
    found = [v for v in proof.verdicts if v.wanted.id == id]
    assert found, f"no test {id!r}; there are {[v.wanted.id for v in proof.verdicts]}"
    return found[0]


def radial(cable: str, *lengths: str, device: str = "B32", **more: Any) -> Job:
    """A radial of points P1, P2, ... with new cable to its last point."""
    run: list[str] = []
    for k, length in enumerate(lengths, start=1):
        run += [length, f"P{k}"]
    circuits = {"c": {"device": device, "cable": cable, "run": run}}
    mend = [{"did": "new cable", "cable": f"{run[-3] if len(run) > 2 else 'Board'}–{run[-1]}"}]
    supply = more.pop("supply", {"earthing": "TN-S", "line": "0.3 ohm", "earth": "0.3 ohm"})
    return job(region=more.pop("region", "uk"), supply=supply, circuits=circuits, mend=mend, **more)


def house(tests: list[Any], **more: Any) -> Job:
    """A circuit with a new cable, and the tests given."""
    keys: dict[str, Any] = {
        "region": "uk",
        "supply": "TN-S 230 V",
        "circuits": {
            "hall": {"device": "B16 RCBO 30 mA", "run": ["12 m", "Bench", "5 m", "Shelf"]}
        },
        "mend": [{"did": "new cable", "from": "Bench", "to": "Shelf"}],
        "tests after": tests,
    }  # fmt: skip
    return job(**{key.replace(" ", "_"): value for key, value in (keys | more).items()})


FULL: list[dict[str, Any]] = [
    {"circuit": "hall", "proved dead": "yes", "by": "two-pole"},
    {"at": "Bench", "R1+R2": "0.28", "R1+Rn": "0.22", "nulled": "yes"},
    {"at": "Shelf", "R1+R2": "0.39", "R1+Rn": "0.31", "nulled": "yes"},
    {"circuit": "hall", "insulation": {"L+N-E": ">299 MΩ at 500 V", "L-N": ">299 MΩ at 500 V"}},
    {"at": "Bench", "pull": "sound", "polarity": "right"},
    {"at": "Shelf", "pull": "sound", "polarity": "right"},
    {"at": "Shelf", "loop": {"L-E": "0.78"}},
    {"device": "hall", "trip time": {"1x": "24 ms"}, "button": "trips"},
    {"at": "Bench", "works": "yes"},
    {"at": "Shelf", "works": "yes", "symptom": "gone"},
]
"""A good result for every test that the new cable calls for."""


__all__ = ["FULL", "house", "ideal", "job", "prove", "radial", "verdict"]
