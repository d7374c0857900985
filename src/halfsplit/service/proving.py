"""Proving the mend: which tests, what each should read, the verdicts, and whether to energise."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from halfsplit.form import Job
from halfsplit.form.after import Tested
from halfsplit.proving import Proof, Verdict, Wanted, prove
from halfsplit.proving.judge import shown, unit_words
from halfsplit.proving.page import classed_words
from halfsplit.proving.prove import plan_tests
from halfsplit.report.record import CODE_WORDS, OUTCOME_WORDS, retired_words

__all__ = [
    "CLASSED", "CLASSES", "OUTCOMES", "STAGES", "STANDING_WORDS", "Proof", "Verdict", "Wanted",
    "outcome_words", "proof_object", "prove_job", "results_of", "retired_words", "should_read",
    "tests_of",
]  # fmt: skip

PROOF_VERSION = "1"
OUTCOMES = OUTCOME_WORDS
CLASSES = CODE_WORDS
CLASSED = classed_words()
STAGES: Mapping[str, str] = {
    "dead": "Dead, before anything is switched on",
    "live": "Live, once the dead tests have passed",
    "function": "In use",
}
STANDING_WORDS: Mapping[str, str] = {
    "proved": "Proved: every test that the mend calls for was made and passed.",
    "in doubt": "In order, with doubts: see below.",
    "not proved": "Not proved yet.",
    "nothing mended": "Nothing is mended yet.",
}


def prove_job(job: Job, wanted: tuple[Wanted, ...] | None = None) -> Proof:
    """What is proved after a job's mends, what is not, and what doubt remains.

    ``wanted`` are its tests where :func:`tests_of` gave them already. Raises: BadInput for an
    edition of rules that is not held.
    """
    return prove(job, wanted=wanted)


def tests_of(job: Job) -> tuple[Wanted, ...]:
    """The tests a job's mends call for, whatever was tested yet. Raises: BadInput, as above."""
    return plan_tests(job)


def outcome_words(verdict: Verdict) -> str:
    """A verdict's outcome as people say it."""
    return OUTCOME_WORDS[verdict.outcome]


def should_read(wanted: Wanted) -> str:
    """What a test should read and what it is held against, in a few words."""
    parts = []
    expected = wanted.expected
    if expected is not None and wanted.test != "insulation":
        low, high = unit_words(wanted, expected.low), unit_words(wanted, expected.high)
        parts.append(f"should read {unit_words(wanted, expected.value)} ({low} to {high})")
    if wanted.limit is not None and wanted.limit.words not in parts:
        computed = wanted.limit.most == (expected.high if expected else None)
        parts += [] if computed else [wanted.limit.words]
    return "; ".join([*parts, wanted.note] if wanted.note else parts)


def results_of(verdict: Verdict) -> str:
    """The results a verdict was judged by, in trade units; "" where there are none."""
    return "; ".join(shown(test) for test in verdict.tests)


def proof_object(job: Job, proof: Proof) -> dict[str, Any]:
    """A proof as one object of plain values for ``--json`` and the interface."""
    return {
        "halfsplit": PROOF_VERSION,
        "title": job.title,
        "region": job.region,
        "rules": {"id": proof.rules, "title": proof.rules_title},
        "standing": proof.standing,
        "may_energise": proof.may_energise,
        "blocks": list(proof.blocks),
        "before_live": list(proof.before_live),
        "disturbed": list(proof.disturbed),
        "tests": [_test(verdict) for verdict in proof.verdicts],
        "derived": [
            {"title": d.title, "value": d.value, "outcome": d.outcome, "says": d.why}
            for d in proof.derived
        ],
        "doubts": list(proof.doubts),
        "retired": [{"id": t.id, "shown": shown(t), "why": why} for t, why in proof.retired],
    }


def _test(verdict: Verdict) -> dict[str, Any]:
    item = verdict.wanted
    expected, limit = item.expected, item.limit
    return {
        "id": item.id,
        "test": item.test,
        "port": item.port,
        "of": item.subject,
        "circuit": item.circuit,
        "stage": item.stage,
        "title": item.title,
        "why": list(item.why),
        "steps": list(item.steps),
        "cautions": list(item.cautions),
        "instrument": item.instrument,
        "asked": verdict.asked,
        "expected": None if expected is None else {
            "value": _digits(expected.value), "from": _digits(expected.low),
            "to": _digits(expected.high),
        },
        "limit": None if limit is None else {
            "most": limit.most, "least": limit.least, "says": limit.words, "source": limit.source,
        },
        "note": item.note,
        "outcome": verdict.outcome,
        "says": verdict.why,
        "margin": None if verdict.margin is None else _digits(verdict.margin),
        "uncertainty": None if verdict.uncertainty is None else _digits(verdict.uncertainty),
        "doubts": list(verdict.doubts),
        "results": _results(verdict.tests),
    }  # fmt: skip


def _results(tests: Sequence[Tested]) -> list[dict[str, Any]]:
    return [
        {"id": t.id, "value": t.value, "bound": t.bound, "seen": t.seen, "shown": shown(t),
         "instrument": t.instrument, "who": t.who, "when": t.when}
        for t in tests
    ]  # fmt: skip


def _digits(value: float) -> float:
    return float(f"{value:.4g}") if math.isfinite(value) else value
