"""The record of a job: a page for the customer, then all of it for the next electrician.

What it says is worked out from the diagnosis, the proof and the person's own words; the layout is
this project's own. It is a fault-finding record and says so: no statutory certificate.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from halfsplit.form.after import LeftSafe, Seen
from halfsplit.form.job import Job
from halfsplit.proving.judge import of_words, shown, unit_words
from halfsplit.proving.result import Outcome, Proof, Verdict
from halfsplit.report.customer import capital, customer_part, done
from halfsplit.report.document import (
    Block,
    Document,
    Facts,
    Grid,
    Heading,
    Mark,
    Notice,
    PageBreak,
    Para,
    Points,
)
from halfsplit.report.found import NO_HISTORY, Found, History, Line
from halfsplit.report.moments import day, moment
from halfsplit.tables.procedure import VERIFICATION_SOURCE
from halfsplit.tables.sources import source

NOT_A_CERTIFICATE = (
    "This is a fault-finding record. It is not a statutory certificate or report, and does not "
    "take the place of one where the law or your rules ask for it."
)
MOST_BLOCKS = 4
OUTCOME_WORDS: dict[Outcome, str] = {
    "pass": "passed",
    "near": "passed, close to the limit",
    "no limit": "agrees with the wiring; no limit held",
    "doubtful": "shows nothing either way",
    "implausible": "cannot be right",
    "missing": "not tested",
    "fail": "FAILED",
}
MARKS: dict[Outcome, Mark] = {
    "pass": "good", "near": "doubt", "no limit": "doubt", "doubtful": "bad", "implausible": "bad",
    "missing": "bad", "fail": "bad",
}  # fmt: skip
CODE_WORDS = {
    "C1": "C1, danger present",
    "C2": "C2, could become dangerous",
    "C3": "C3, improvement advised",
    "FI": "FI, look further without delay",
    "": "not classed",
}


def record(job: Job, proof: Proof, found: Found, history: History = NO_HISTORY) -> Document:
    """The whole record as a document."""
    blocks: list[Block] = [*customer_part(job, proof, found, history)]
    blocks += [PageBreak(), Heading("For the next electrician", 1)]
    if found.first:
        blocks.append(Notice("danger", found.first))
    blocks += _site(job, proof)
    blocks += _finding(found)
    blocks += _mend(job, proof)
    blocks += _tests(proof)
    blocks += _leaving(job)
    blocks += _history(history)
    blocks += _cautions(job)
    title = job.title or "Fault-finding record"
    return Document(title, tuple(blocks), history.seal, NOT_A_CERTIFICATE)


def _site(job: Job, proof: Proof) -> Iterator[Block]:
    supply = job.installation.supply
    live = {"single": "single phase", "split": "split phase", "three": "three phase",
            "centre tap": "centre tapped", "high leg": "high leg"}[supply.live]  # fmt: skip
    earthing = supply.earthing if supply.earthing_known else f"{supply.earthing}, not certain"
    rows = [
        ("Supply", f"{live}, {supply.volts.value:g} V, {supply.hertz:g} Hz, {earthing}"),
        ("Rules used", proof.rules_title),
    ]
    if job.sources:
        rows.append(("Other sources", ", ".join(job.sources)))
    if job.history:
        rows.append(("What happened before", ", ".join(job.history)))
    if job.notes:
        rows.append(("Notes", job.notes))
    yield Facts(tuple(rows))


def _finding(found: Found) -> Iterator[Block]:
    if found.drawings:
        yield Heading(f"The circuit, as found{' and after the mend' if found.mended else ''}")
        yield Para(
            "Rails stand for conductors, from the board down. × is a break, a dashed rail hangs "
            "free. A rail that is drawn whole may still be live.",
            quiet=True,
        )
        yield from found.drawings
    before = " before the mend" if found.mended else ""
    yield Heading(f"Readings{before}")
    if not found.lines:
        yield Para("None were taken.")
    else:
        yield Grid(
            ("Where and what", "Read", "With, and conditions", "The cause found gives"),
            tuple(_reading_row(line) for line in found.lines),
            (3.2, 1.6, 3.4, 2.2),
            tuple(_reading_mark(line) for line in found.lines),
        )
    if found.suspects:
        yield Heading("What was considered, and what speaks for or against it")
        yield Grid(
            ("Cause", f"Chance{before}", "What speaks for or against it"),
            tuple((s.says, s.chance, s.against) for s in found.suspects),
            (4.0, 1.4, 4.6),
        )
        if found.others:
            yield Para(f"Besides: {found.others}.", quiet=True)
    if found.why:
        yield Heading("Why it read so", 3)
        yield Points(found.why)
    if found.dangers:
        yield Heading("Where it could have hurt before the mend" if found.mended else
                      "Where it may hurt")  # fmt: skip
        yield Points(found.dangers)


def _reading_row(line: Line) -> tuple[str, ...]:
    where = ": ".join(part for part in (line.place, line.what) if part)
    taken = ", ".join(part for part in (line.instrument, line.conditions) if part)
    fits = {"yes": "fits", "no": "does not fit", "slip": "taken for a slip", "": ""}[line.fits]
    return where, line.shown, taken, ", ".join(part for part in (line.predicted, fits) if part)


def _reading_mark(line: Line) -> Mark:
    marks: dict[str, Mark] = {"no": "bad", "slip": "doubt"}
    return marks.get(line.fits, "")


def _mend(job: Job, proof: Proof) -> Iterator[Block]:
    yield Heading("The mend")
    if not job.after.mends:
        yield Para("Nothing has been mended yet.")
        return
    for mend in job.after.mends:
        yield Para(done(mend))
    yield Para("Disturbed by it:", quiet=True)
    one = f"{job.after.mends[0].did}: " if len(job.after.mends) == 1 else ""
    yield Points(tuple(capital(said.removeprefix(one)) for said in proof.disturbed))


def _tests(proof: Proof) -> Iterator[Block]:
    yield Heading("Tests after the mend")
    if proof.standing == "nothing mended":
        yield Para("None are called for until something is mended.")
    asked = [v for v in proof.verdicts if v.asked]
    done = [v for v in asked if v.outcome != "missing"]
    missing = [v for v in asked if v.outcome == "missing"]
    rows = [*done, *(v for v in proof.verdicts if not v.asked)]
    made = _made_by(rows)
    if asked:
        count = f"All {len(asked)}" if not missing else f"{len(done)} of {len(asked)}"
        by = f" by {made}" if made else ""
        yield Para(f"{count} made{by}; listed in the order they are to be made, dead tests first.",
                   quiet=True)  # fmt: skip
    if rows:
        yield Grid(
            ("Test", "Result", "Limit or computed", "Verdict"),
            tuple(_test_row(verdict, not made) for verdict in rows),
            (3.4, 2.2, 3.2, 1.8),
            tuple(MARKS[verdict.outcome] for verdict in rows),
        )
    if proof.derived:
        yield Points(tuple(f"{d.title}: {d.why}" for d in proof.derived))
    if missing:
        yield Heading("Not tested", 3)
        yield Points(tuple(f"{verdict.wanted.title}." for verdict in missing))
    if proof.retired:
        yield Heading("Results that no longer count", 3)
        yield Points(tuple(capital(text) for text in retired_words(proof)))
    if proof.other_doubts:
        yield Heading("Doubts that remain", 3)
        yield Points(proof.other_doubts)
    if proof.blocks:
        yield Notice("danger", f"Not to be energised: {_blocks(proof)}")
    yield from _sources(proof)


def retired_words(proof: Proof) -> tuple[str, ...]:
    """Results that no longer count, each with why it was taken again."""
    return tuple(f"{of_words(t)} {shown(t)}: taken again, {why}" for t, why in proof.retired)


def _blocks(proof: Proof) -> str:
    """Why it stays off: all reasons while they are few, else how many of which kind."""
    if len(proof.blocks) <= MOST_BLOCKS:
        return "; ".join(proof.blocks) + "."
    dead = [v for v in proof.verdicts if v.wanted.stage == "dead" and not v.good]
    missing = sum(v.outcome == "missing" for v in dead)
    items = [b for b in proof.blocks if b.startswith("still open")]
    items += [b for b in proof.blocks if b not in proof.before_live]
    parts = [*items, f"{missing} dead tests not made", f"{len(dead) - missing} dead tests not good"]
    return "; ".join(part for part in parts if not part.startswith("0 ")) + "."


def _made_by(rows: Sequence[Verdict]) -> str:
    """Who made all the tests, and on which day, where that is the same for all; else ""."""
    made = {(test.who, day(test.when)) for verdict in rows for test in verdict.tests}
    return ", ".join(filter(None, made.pop())) if len(made) == 1 else ""


def _test_row(verdict: Verdict, told: bool) -> tuple[str, ...]:
    """A test as a row; ``told``: who and when stand in it."""
    item = verdict.wanted
    results = "; ".join(_result(verdict, told)) or verdict.why
    against = item.limit.words if item.limit else item.note
    if item.expected is not None and item.test != "insulation":
        low, high = (unit_words(item, end) for end in (item.expected.low, item.expected.high))
        band = f"{low} to {high} by this wiring"
        against = f"{against}; {band}" if against and not item.by_wiring else band
    words = OUTCOME_WORDS[verdict.outcome]
    if verdict.margin is not None and verdict.good and verdict.margin < 1.0:
        words += f", {100 * verdict.margin:.0f} % inside"
    if verdict.outcome in ("fail", "implausible", "doubtful"):
        words += f": {_short(verdict)}"
    title = item.title if verdict.asked else f"{item.title} (not called for)"
    return title, results, against, words


def _short(verdict: Verdict) -> str:
    """Why it came out so, without what stands in the row already."""
    why = verdict.why
    for test in verdict.tests:
        why = why.removeprefix(f"{shown(test)}: ").removeprefix(f"{shown(test)} ")
    limit = verdict.wanted.limit
    return why if limit is None else why.replace(f" ({limit.words})", "")


def _result(verdict: Verdict, made: bool) -> Iterator[str]:
    for test in verdict.tests:
        extra = [test.instrument]
        if test.nulled is not None and test.test in ("continuity", "ring ends", "ring cross"):
            extra.append("leads nulled" if test.nulled else "leads not nulled")
        if test.equipment:
            extra.append("equipment connected")
        if test.celsius is not None:
            extra.append(f"{test.celsius:g} °C")
        extra += [test.who, moment(test.when)] if made else []
        told = ", ".join(part for part in extra if part)
        yield shown(test) + (f" ({told})" if told else "")


def _sources(proof: Proof) -> Iterator[Block]:
    used = dict.fromkeys(
        part for v in proof.verdicts if v.wanted.limit for part in v.wanted.limit.source.split("; ")
    )
    if used:
        yield Heading("Where the limits are from", 3)
        yield Para(f"Rules used: {proof.rules_title}.")
        order = f"Order of the tests: {source(VERIFICATION_SOURCE).words()}"
        yield Points((*(capital(name) for name in used), order))


def _leaving(job: Job) -> Iterator[Block]:
    left: LeftSafe | None = job.after.left_safe
    if left is not None:
        yield Heading("Left safe, not mended")
        rows = (
            ("Why", left.why), ("Isolated", ", ".join(left.isolated)), ("Locked", left.locked),
            ("Labelled", left.labelled), ("Must not be used", ", ".join(left.do_not_use)),
            ("Told", ", ".join(left.told)),
            ("By", ", ".join(filter(None, (left.who, moment(left.when))))),
        )  # fmt: skip
        yield Facts(tuple((name, value) for name, value in rows if value))
        if not left.told:
            yield Notice("caution", "The record does not say who was told.")
    if job.after.open_items:
        yield Heading("Open items")
        yield Points(job.after.open_items)
    yield Heading("Seen and not mended")
    if not job.after.seen:
        yield Para("Nothing was noted.")
    else:
        yield Grid(
            ("Seen", "Where", "Class"),
            tuple((s.what, s.place, CODE_WORDS[s.code]) for s in job.after.seen),
            (6.0, 2.0, 2.4),
            tuple(_seen_mark(s) for s in job.after.seen),
        )


def _seen_mark(seen: Seen) -> Mark:
    marks: dict[str, Mark] = {"C1": "bad", "C2": "bad", "FI": "doubt"}
    return marks.get(seen.code, "")


def _history(history: History) -> Iterator[Block]:
    yield Heading("Who and when")
    if history.moments:
        yield Grid(
            ("When", "Who", "What"),
            tuple((moment(m.when), m.who, m.what) for m in history.moments),
            (2.4, 2.0, 5.6),
        )
    if history.made:
        yield Para(history.made)
    for problem in history.broken:
        yield Notice("danger", f"The history does not hold: {problem}")
    if history.seal and history.moments:
        yield Para(
            "Each entry of the history carries the seal of the one before. The seal at the foot is "
            "the last one's: with it, anyone can check that nothing before it was changed.",
            quiet=True,
        )


def _cautions(job: Job) -> Iterator[Block]:
    sources: Sequence[str] = job.sources
    also = f" Isolate {', '.join(sources)} at their own points too." if sources else ""
    yield Heading("Before you work on it")
    yield Points(
        (
            "Isolate, lock off, and prove dead: every pair of conductors and each to an "
            f"independent earth, detector proved before and after.{also}",
            "Live work only where it is justified and you are permitted. Local rules come first.",
            "This record advises; the person on site decides.",
        )
    )
