"""The ``prove`` command: which tests the mend needs, how they came out, and whether to energise."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Console
from rich.text import Text

from halfsplit.cli import commands, show

if TYPE_CHECKING:
    from halfsplit.service.proving import Proof, Verdict

_STAGES = {
    "dead": "Dead, before anything is switched on",
    "live": "Live, once the dead tests have passed",
    "function": "In use",
}
_MARKS = {
    "pass": ("+", "good"),
    "near": ("~", ""),
    "no limit": ("~", ""),
    "missing": (" ", "quiet"),
    "doubtful": ("?", "bad"),
    "implausible": ("?", "bad"),
    "fail": ("!", "bad"),
}
_STANDING = {
    "proved": "Proved: every test that the mend calls for was made and passed.",
    "in doubt": "In order, with doubts: see below.",
    "not proved": "Not proved.",
    "nothing mended": "Nothing is mended yet: write what was done under mend.",
}
CAUTIONS = (
    "Dead means proved dead, with a two-pole detector proved before and after. Work live only "
    "where it is justified and permitted; local rules first. This advises; you decide.",
)


def prove(file: str, as_json: bool, steps: bool) -> None:
    """Read a form and prove its mends."""
    from halfsplit.service import proving

    with commands.failures(as_json):
        job, _ = commands.job_of(file)
        with show.progress("solving what each test should read"):
            proof = proving.prove_job(job)
    if as_json:
        commands.print_json(proving.proof_object(job, proof))
    else:
        told(proof, steps)


def told(proof: Proof, steps: bool) -> None:
    """The proof for people."""
    out = show.console()
    if proof.blocks:
        off = "Not to be energised:" if proof.before_live else "Switch it off again:"
        _hung(out, "! ", off, "alarm")
        for block in proof.blocks:
            _hung(out, "  ! ", block, "")
        out.print()
    _hung(out, "", f"{_STANDING[proof.standing]} Rules used: {proof.rules_title}.", "")
    for said in proof.disturbed:
        _hung(out, "- ", said, "quiet")
    for stage, title in _STAGES.items():
        rows = [v for v in proof.verdicts if v.wanted.stage == stage]
        if rows:
            out.print()
            _hung(out, "", title, "head")
        for verdict in rows:
            _verdict(out, verdict, steps)
    for title, items in (
        ("Worked out", [f"{d.title}: {d.why}" for d in proof.derived]),
        ("Doubts that remain", proof.other_doubts),
        ("Take care", CAUTIONS),
    ):
        if items:
            out.print()
            _hung(out, "", title, "head")
        for item in items:
            _hung(out, "- ", item, "quiet" if title == "Take care" else "")


def _verdict(out: Console, verdict: Verdict, steps: bool) -> None:
    from halfsplit.service.proving import outcome_words, should_read

    mark, style = _MARKS[verdict.outcome]
    further = "" if verdict.asked else " (not asked for)"
    if verdict.outcome == "missing":
        expect = should_read(verdict.wanted)
        _hung(out, f"{mark} ", f"{verdict.wanted.title}{f': {expect}' if expect else ''}", style)
    else:
        outcome = "" if verdict.outcome == "pass" else f"{outcome_words(verdict)}: "
        _hung(out, f"{mark} ", f"{verdict.wanted.title}{further}: {outcome}{verdict.why}", style)
    if steps and verdict.outcome != "pass":
        for k, step in enumerate(verdict.wanted.steps, start=1):
            _hung(out, f"    {k}. ", step, "")
        for caution in verdict.wanted.cautions:
            _hung(out, "    ! ", caution, "")


def _hung(out: Console, lead: str, words: str, style: str) -> None:
    """Words after a lead, wrapped under themselves."""
    text = Text(words, style=style)
    lines = text.wrap(out, max(20, out.width - len(lead)))
    for k, line in enumerate(lines):
        line.rstrip()
        first = Text(lead if k == 0 else " " * len(lead))
        out.print(first + line, soft_wrap=True)
