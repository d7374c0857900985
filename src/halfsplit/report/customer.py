"""The customer's page: what was wrong, what was done, is it safe, what to do next."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from halfsplit.form.job import Job
from halfsplit.proving.result import Proof
from halfsplit.report.document import Block, Heading, Notice, Para, Points
from halfsplit.report.found import Found
from halfsplit.tables.procedure import unsatisfactory

MOST = 5  # items of a list on the one page
LONGEST = 220  # characters of one item there


def customer_part(job: Job, proof: Proof, found: Found) -> Iterator[Block]:
    """One page in plain words."""
    yield Heading("For the customer", 1)
    yield Heading("What was wrong")
    if found.wrong:
        yield from _listed(found.wrong)
    else:
        yield Para("No cause is named in this record.")
    yield Heading("What was done")
    if job.after.mends:
        yield from _listed([_sentence(mend.did) for mend in job.after.mends])
    else:
        yield Para("Nothing has been mended yet.")
    yield Heading("Is it safe?")
    yield from _safe(job, proof)
    yield Heading("What to do next")
    yield from _next(job, proof)


def _safe(job: Job, proof: Proof) -> Iterator[Block]:
    asked = [v for v in proof.verdicts if v.asked]
    good = [v for v in asked if v.good]
    count = f"{len(good)} of the {len(asked)} tests that the work calls for were made and passed."
    left = job.after.left_safe
    if proof.standing == "proved":
        yield Notice("good", f"What was mended is proved. {count}")
    elif proof.standing == "in doubt":
        yield Notice("caution", f"What was mended may be used. {count} Some came close to a limit, "
                     "or have no limit in the rules used: the other part says which.")  # fmt: skip
    elif proof.standing == "not proved":
        yield Notice("danger", f"Not yet proved: do not use it until it is. {count}")
    else:
        yield Notice("danger", "Nothing has been mended. Treat it as it was found: do not use it.")
    if left is not None and left.do_not_use:
        yield Notice("danger", f"Do not use: {', '.join(left.do_not_use)}.")
    codes = [seen.code for seen in job.after.seen if seen.code]
    if unsatisfactory(codes):
        words = "is dangerous now" if "C1" in codes else "could become dangerous or has to be "\
            "looked into"  # fmt: skip
        yield Notice("danger", f"Something else was seen that {words}. It was not mended.")
    yield Para(
        "Only what was worked on was tested. The rest of the installation was not inspected.",
        quiet=True,
    )


def _next(job: Job, proof: Proof) -> Iterator[Block]:
    steps: list[str] = []
    left = job.after.left_safe
    if left is not None:
        kept = ", ".join(left.isolated) or "what was left off"
        why = f": {left.why}" if left.why else ""
        steps.append(f"Leave {kept} off and locked until it is mended{why}.")
        if left.told:
            steps.append(f"Told about it: {', '.join(left.told)}.")
    if proof.standing in ("not proved", "nothing mended") and job.after.mends:
        steps.append("Have the missing or failed tests made before it is switched on.")
    order = {"C1": 0, "C2": 1, "FI": 2, "C3": 3, "": 4}
    for seen in sorted(job.after.seen, key=lambda item: order[item.code]):
        where = f" ({seen.place})" if seen.place else ""
        urge = {"C1": "At once", "C2": "Soon", "FI": "Have looked into", "C3": "When you can"}
        steps.append(f"{urge.get(seen.code, 'Noted')}: {seen.what}{where}.")
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


def _sentence(text: str) -> str:
    text = text[:1].upper() + text[1:]
    return text if text.endswith((".", "!", "?")) else f"{text}."
