"""The customer's page: what was wrong, what was done, is it safe, what to do next."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from halfsplit.faults.words import conductor_words
from halfsplit.form.after import LeftSafe, Mended
from halfsplit.form.job import Job
from halfsplit.proving.result import Proof
from halfsplit.report.document import Block, Facts, Heading, Notice, Para, Points
from halfsplit.report.found import Found, History
from halfsplit.report.moments import moment
from halfsplit.tables.procedure import unsatisfactory
from halfsplit.wiring.model import Region

MOST = 5  # items of a list on the one page
LONGEST = 220  # characters of one item there
URGE = {
    "C1": "To be dealt with at once", "C2": "To be put right soon", "FI": "To be looked into",
    "C3": "To be improved when you can", "": "Noted",
}  # fmt: skip
PLAIN = (
    ("E", "the wire that lets a protective device switch off, and keeps metal safe to touch"),
    ("N", "the wire by which the current goes back; it can give a shock as well"),
    ("L", "the wire that is live"),
)
"""What a conductor is for, to who never heard of it."""


def customer_part(job: Job, proof: Proof, found: Found, history: History) -> Iterator[Block]:
    """One page in plain words."""
    yield Heading("For the customer", 1)
    if history.kept_for:
        yield Facts(history.kept_for)
    yield Heading("What was wrong")
    if found.wrong:
        yield from _listed((*found.wrong, *found.meant))
        yield from _explained(found.wrong, job.region)
    else:
        yield Para("No cause is named in this record.")
    yield Heading("What was done")
    if job.after.mends:
        yield from _listed([done(mend) for mend in job.after.mends])
    else:
        yield Para("Nothing has been mended yet.")
    yield Heading("Is it safe?")
    yield from _safe(job, proof)
    yield Heading("What to do next")
    yield from _next(job, proof)


def _explained(wrong: Sequence[str], region: Region) -> Iterator[Block]:
    """The conductors named, said in everyday words."""
    said = f"{' '.join(wrong)} ".casefold()
    named = [(conductor_words(key, region), what) for key, what in PLAIN]
    rows = [f"The {name} is {what}." for name, what in named if f"the {name} " in said]
    if rows:
        yield Para(" ".join(rows), quiet=True)


def _safe(job: Job, proof: Proof) -> Iterator[Block]:
    asked = [v for v in proof.verdicts if v.asked]
    good = [v for v in asked if v.good]
    made = f"{len(good)} of the {len(asked)} tests" if good else f"None of the {len(asked)} tests"
    count = f"{made} that the work calls for were made and passed."
    every = f"All {len(asked)} tests that the work calls for were made and passed."
    left = job.after.left_safe
    if proof.standing == "proved":
        yield Notice("good", f"What was mended is proved and may be used. {every}")
    elif proof.standing == "in doubt":
        yield Notice("caution", f"What was mended may be used. {every} Some leave a doubt, which "
                     "the other part names.")  # fmt: skip
    elif proof.standing == "not proved":
        yield Notice("danger", f"Not yet proved: do not use it until it is. {count}")
    elif left is None:
        yield Notice("danger", "Nothing has been mended. Treat it as it was found: do not use it.")
    if left is not None:
        yield Notice("danger", _left_words(left, bool(job.after.mends)))
    codes = [seen.code for seen in job.after.seen if seen.code]
    if unsatisfactory(codes):
        words = "is dangerous now" if "C1" in codes else "could become dangerous or has to be "\
            "looked into"  # fmt: skip
        yield Notice("danger", f"Something else was seen that {words}. It was not mended.")
    yield Para(
        "Only what was worked on was tested. The rest of the installation was not inspected.",
        quiet=True,
    )


def _left_words(left: LeftSafe, mended: bool) -> str:
    """How it was left, in one breath."""
    parts = ["Not all of it is mended." if mended else "Nothing has been mended."]
    if left.isolated:
        parts.append(f"Switched off and isolated: {', '.join(left.isolated)}.")
    parts.append(f"Do not use: {', '.join(left.do_not_use) or 'what was left off'}.")
    return " ".join(parts)


def _next(job: Job, proof: Proof) -> Iterator[Block]:
    steps: list[str] = []
    left = job.after.left_safe
    if left is not None:
        kept = ", ".join(left.isolated) or "what was left off"
        locked = " and locked" if left.locked else ""
        why = f": {left.why}" if left.why else ""
        steps.append(f"Leave {kept} off{locked} until it is mended{why}.")
        if left.told:
            steps.append(f"Told about it: {', '.join(left.told)}.")
    if proof.standing == "not proved":
        steps.append("Have the missing or failed tests made before it is switched on.")
    order = list(URGE)
    for seen in sorted(job.after.seen, key=lambda item: order.index(item.code)):
        where = f" ({seen.place})" if seen.place else ""
        steps.append(f"{URGE[seen.code]}: {seen.what}{where}.")
    steps.append("If it comes back, or anything tingles, smells or gets hot: switch off at the "
                 "board, keep away, and call.")  # fmt: skip
    steps.append("Keep this record and give it to the next electrician.")
    yield from _listed(steps, keep_last=2)


def _listed(items: Sequence[str], keep_last: int = 0) -> Iterator[Block]:
    """A short list; what does not fit the page is counted and stands in the other part."""
    clipped = [item if len(item) <= LONGEST else item[: LONGEST - 1] + "…" for item in items]
    room = MOST + keep_last
    if len(clipped) > room:
        first = clipped[: MOST - 1]
        last = clipped[len(clipped) - keep_last :] if keep_last else []
        hidden = len(clipped) - len(first) - len(last)
        clipped = [*first, f"And {hidden} more, in the other part.", *last]
    yield Points(tuple(clipped))


def done(mend: Mended) -> str:
    """A mend as a sentence, with who did it and when."""
    told = ", ".join(part for part in (mend.who, moment(mend.when)) if part)
    words = capital(mend.did).rstrip(".")
    return f"{words} ({told})." if told else f"{words}{'' if words.endswith(('!', '?')) else '.'}"


def capital(text: str) -> str:
    """Text that begins a sentence."""
    return text[:1].upper() + text[1:]
