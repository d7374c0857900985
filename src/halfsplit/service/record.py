"""The record handed over: from a job, its answer and its proof to a document, text, page and PDF.

Also its seal: a written form has the seal of a history that only opens the job with that form, so
that the paper and the file can be held against each other; a kept job has its last event's.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from string import hexdigits
from typing import Any

from halfsplit.diagnosis.diagnose import conclude, weigh
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.diagnosis.result import Cause, Compared, Danger, Diagnosis
from halfsplit.errors import NotFound
from halfsplit.faults.catalogue import family
from halfsplit.faults.words import describe, vocabulary
from halfsplit.form import Job
from halfsplit.jobs import Chain, JobOpened
from halfsplit.jobs.chain import to_line, verify, verify_lines
from halfsplit.problems import Problem
from halfsplit.proving import Proof, prove
from halfsplit.proving.judge import shown
from halfsplit.report import pdf as paper_
from halfsplit.report.document import Document, as_data
from halfsplit.report.found import Found, History, Line, Moment
from halfsplit.report.ladder import ladders, note_of
from halfsplit.report.page import page, whole_page
from halfsplit.report.places import place_list
from halfsplit.report.plain import plain
from halfsplit.report.rails import drawing
from halfsplit.report.readings import letter
from halfsplit.report.reasons import reasons
from halfsplit.report.record import record
from halfsplit.service.answer import effects_of
from halfsplit.service.considered import borne_out, complaint, considered
from halfsplit.service.entries import event_words
from halfsplit.service.jobs import Records
from halfsplit.service.live import Worked, believed_effects, holds_under, work
from halfsplit.service.mending import mending
from halfsplit.service.standing import standing
from halfsplit.service.told import in_hundred, telling
from halfsplit.wiring.model import Region

RECORD_VERSION = "1"
SEAL_LETTERS = 64
OVER_RANGE_OHMS = 2e6
SINGLED_OUT = 0.3  # a cause, or a danger, less believed than this is not told to the customer


@dataclass(frozen=True, slots=True)
class Record:
    """A record ready to be read or printed."""

    job: Job
    proof: Proof
    document: Document

    def text(self, width: int = 80) -> str:
        """The record for a terminal."""
        return plain(self.document, width)

    def page(self) -> str:
        """The record as a fragment of a page."""
        return page(self.document)

    def whole_page(self) -> str:
        """The record as a page of its own."""
        return whole_page(self.document)

    def pdf(self, paper: str = "") -> bytes:
        """The record on paper: "a4", "us-letter", or the region's own. Raises: CannotPrint."""
        own = paper_.paper_for(self.job.region)
        return paper_.pdf(self.document, "us-letter" if paper in ("us-letter", "letter") else
                          "a4" if paper == "a4" else own)  # fmt: skip


def make_record(job: Job, history: History) -> Record:
    """The record of a job. Raises: BadInput for an edition of rules that is not held."""
    prepared = Prepared(job.installation)
    proof = prove(job, prepared.plan)
    worked = _weighed(job, prepared) if job.readings else None
    return Record(job, proof, record(job, proof, _found(job, proof, prepared, worked), history))


def kept_record(records: Records, id: str) -> Record:
    """The record of a kept job as it stands, on the diagnosis that its pages already made.

    Raises: NotFound; BadInput when its sketch cannot be read.
    """
    chain, card = records.chain(id), records.card(id)
    now = standing(chain)
    found = mending(now)
    worked = work(now)
    job = replace(worked.job, after=found.placed.job.after)
    told = _found(job, found.proof, worked.prepared, worked if job.readings else None)
    kept_for = (("Customer", card.customer), ("Address", card.address))
    history = replace(
        history_of(chain, verify(chain)), kept_for=tuple(row for row in kept_for if row[1])
    )
    lost = [id for id, _ in (*worked.unplaced, *found.placed.unplaced)]
    if lost:
        made = f"Kept, but without a place in the sketch, and not counted: {', '.join(lost)}."
        history = replace(history, made=made)
    return Record(job, found.proof, record(job, found.proof, told, history))


def history_of_form(form: str | bytes) -> History:
    """The history of a job that is only a written form: one event, sealed."""
    seal = form_chain(form).last
    return History(
        seal, made="Made from a written form. Its seal is at the foot: with the form and the seal "
        "anyone can check that the form was not changed since.",
    )  # fmt: skip


def history_of(chain: Chain, problems: Sequence[Problem] = ()) -> History:
    """The history of a kept job, oldest first."""
    moments = tuple(Moment(event.when, event.who, event_words(event)) for event in chain)
    return History(chain.last, moments, tuple(problem.sentence() for problem in problems))


def form_chain(form: str | bytes) -> Chain:
    """The chain of a written form by itself: the job opened with exactly these characters."""
    text = form.decode("utf-8", "surrogateescape") if isinstance(form, bytes) else form
    text = text.encode("utf-8", "surrogateescape").decode("utf-8", "replace")
    return Chain().add(JobOpened("", text), "", "")


def record_object(made: Record) -> dict[str, Any]:
    """A record as plain values: its blocks in order, its seal, and what is proved."""
    return {
        "halfsplit": RECORD_VERSION,
        "standing": made.proof.standing,
        "may_energise": made.proof.may_energise,
        **as_data(made.document),
    }


def check_seal(chain: Chain, seal: str) -> tuple[Problem, ...]:
    """Whether a seal printed on a record is one of a kept job's, and all before it stands."""
    plain_seal = _plain_seal(seal)
    return _cut_short(plain_seal) or verify(chain, plain_seal)


def _plain_seal(seal: str) -> str:
    """A seal as it is stored, whatever copying it put between its letters."""
    return "".join(letter for letter in seal.casefold() if letter in hexdigits) or seal


def _cut_short(seal: str) -> tuple[Problem, ...]:
    """A seal that was not copied whole, which would fit nothing; empty for a whole one or none."""
    if len(seal) in (0, SEAL_LETTERS):
        return ()
    return (Problem("the seal", f"{len(seal)} letters", f"all {SEAL_LETTERS} that are printed"),)


def stored_lines(chain: Chain) -> bytes:
    """A kept job's events as they are stored: what ``halfsplit verify`` is given."""
    return "".join(f"{to_line(event)}\n" for event in chain).encode()


def verify_record(stored: bytes, seal: str) -> tuple[Problem, ...]:
    """Whether a written form, or a kept job's lines, still carries ``seal``; every problem found.

    Lines of events are also checked one against the other; without a seal only that is done.
    Raises: NotFound for a form without a seal to hold it against.
    """
    seal = _plain_seal(seal)
    if short := _cut_short(seal):
        return short
    lines = [line for line in stored.split(b"\n") if line]
    if lines and lines[0].startswith(b'{"before":'):
        return verify_lines(lines, seal)
    if not seal:
        raise NotFound("a written form has no seal of its own; give the one printed on its record")
    now = form_chain(stored).last
    if now == seal:
        return ()
    return (
        Problem("the form", f"seal {now[:12]}", f"seal {seal[:12]}",
                "the form was changed after the record was made, or is another form"),
    )  # fmt: skip


def _weighed(job: Job, prepared: Prepared) -> Worked:
    bench, weighed = weigh(prepared, job.readings)
    diagnosis = conclude(bench, weighed)
    return Worked(job, (), (), prepared, bench, weighed, diagnosis, telling(job, diagnosis))


def _found(job: Job, proof: Proof, prepared: Prepared, worked: Worked | None) -> Found:
    after, inst, mended = _after(proof, job.region), job.installation, bool(job.after.mends)
    tested = {v.wanted.circuit for v in proof.verdicts}
    if worked is None:
        empty = ladders(inst, prepared.plan, (), (), (), ())
        sketched = tuple(drawing(x, inst, after, mended) for x in empty if x.circuit in tested)
        return Found(_wrong(job, proof, prepared, None), mended=mended, drawings=sketched)
    diagnosis, said = worked.diagnosis, worked.telling
    leading = diagnosis.suspects[0].members[0]
    chosen = borne_out(job.after.mends, diagnosis, proof)
    taken = chosen or leading
    compared, suspects = considered(job, prepared, diagnosis, taken, proof)
    compared = tuple(_over_range(item) for item in compared)
    held = diagnosis.holds
    if taken is not leading:
        held = holds_under(worked, sum(believed_effects(worked, taken), ()))
    effects = effects_of(taken)
    known = diagnosis.suspects[0].probability >= SINGLED_OUT and leading.fault is not None
    drawn = ladders(inst, prepared.plan, held, effects, compared, diagnosis.dangers)
    return Found(
        _wrong(job, proof, prepared, diagnosis, chosen),
        _meant(diagnosis.dangers, job) if chosen or known else (),
        mended,
        said.first,
        tuple(_line(item, job) for item in compared),
        suspects,
        said.others,
        reasons(inst, held, diagnosis.sound_holds),
        said.dangers,
        tuple(drawing(x, inst, after, mended) for x in drawn if x.drawn or x.circuit in tested),
    )


# What each kind of danger means to the customer: while it lasts, and once it is mended.
_MEANT = {
    "shock": ("At {at} somebody can get a shock.", "At {at} somebody could have got a shock."),
    "heat": (
        "At {at} something can grow hot enough to start a fire.",
        "At {at} something could have grown hot enough to start a fire.",
    ),
    "unearthed": (
        "Metal at {at} is not {earthed}: one more fault makes it live.",
        "Metal at {at} was not {earthed}: one more fault would have made it live.",
    ),
}


def _meant(dangers: Sequence[Danger], job: Job) -> tuple[str, ...]:
    """What it could have done, in a sentence for each kind of danger that was likely enough."""
    earthed = vocabulary(job.region)["earthed"]
    found = []
    for kind, (now, then) in _MEANT.items():
        places = [d.place for d in dangers if d.kind == kind and d.chance >= SINGLED_OUT]
        if places:
            words = then if job.after.mends else now
            found.append(words.format(at=place_list(places, job.installation), earthed=earthed))
    return tuple(found)


def _over_range(item: Compared) -> Compared:
    """A reading over range fits any resistance that no ohmmeter shows."""
    if item.reading.value is None and (item.predicted or 0.0) >= OVER_RANGE_OHMS:
        return replace(item, fits="yes")
    return item


def _after(proof: Proof, region: Region) -> dict[str, list[str]]:
    """Results on the rung they were taken at."""
    found: dict[str, list[str]] = {}
    for verdict in proof.verdicts:
        for test in verdict.tests:
            if test.place and test.value is not None:
                name = {"L+E": "R1+R2", "L+N": "R1+Rn"}.get(test.port, _port(test.port, region))
                found.setdefault(test.place, []).append(f"{test.test} {name} {shown(test)}")
    return found


def _port(port: str, region: Region) -> str:
    """ "L+N-E" in the region's letters."""
    return re.sub(r"[A-Z]+\d?", lambda found: letter(found[0], region), port)


def _wrong(
    job: Job, proof: Proof, prepared: Prepared, diagnosis: Diagnosis | None,
    chosen: Cause | None = None,
) -> tuple[str, ...]:  # fmt: skip
    """What was wrong: what the mends put right, else the likeliest cause with its chance.

    What was mended is the cause once the complaint is seen to be gone, till then taken for it, and
    not at all while the complaint is still there.
    """
    state = complaint(proof)
    ids = {mend.fault for mend in job.after.mends if state != "fail"}
    faults = [fault for fault in prepared.hypotheses.faults if fault.id in ids]
    if chosen is not None and chosen.fault is not None and chosen.fault.id not in ids:
        faults.append(chosen.fault)
    if faults:
        taken = "" if state == "pass" else "Taken for the cause"
        said = (describe(f, family(f.family), job.installation) for f in faults)
        return tuple(dict.fromkeys(_clause(w, taken) for w in said))
    if diagnosis is None or not diagnosis.suspects:
        return ()
    first = diagnosis.suspects[0]
    if first.probability < SINGLED_OUT:
        return ("The readings do not single out one cause; the other part lists them.",)
    if first.members[0].fault is None:
        return ("By the readings nothing is wrong in what was described.",)
    chance = in_hundred(first.probability)
    return (_clause(first.says, "" if first.probability >= 0.9 else f"Most likely ({chance})"),)


def _clause(says: str, lead: str) -> str:
    """What is wrong without the terminals, which stand in the other part, after some words."""
    words = says.partition(":")[0].rstrip(".")
    return f"{lead}: {words[:1].lower()}{words[1:]}." if lead else f"{words}."


def _line(item: Compared, job: Job) -> Line:
    note = note_of(item, job.installation)
    t = note.told
    return Line(t.place, t.what, t.shown, t.instrument, t.conditions, note.predicted, note.fits)
