"""The JSON interface of putting right and of the record: the objects of the command line."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import PlainTextResponse, Response
from pydantic import Field

from halfsplit.service import mending, parts
from halfsplit.service.proving import proof_object
from halfsplit.service.record import check_seal, kept_record, record_object, stored_lines
from halfsplit.service.testsheet import Result
from halfsplit.web.bodies import Body, Entry, JobId, Key, Short, Written, answer
from halfsplit.web.site import site_of, sketched

router = APIRouter(prefix="/api", tags=["putting right"])

Words = Annotated[str, Field(max_length=300)]


class Mend(Body):
    """What was mended: an entry of the form's ``mend``, or a suspect's id as ``cause``."""

    written: Written = Field(default_factory=dict)
    cause: Annotated[str, Field(max_length=400)] = ""
    did: Words = ""


class Shown(Body):
    """A result of the test ``test`` of the proof, or an entry of the form's ``tests after``."""

    test: Words = ""
    shown: Short = ""
    seen: Short = ""
    by: Short = ""
    nulled: bool = False
    equipment: bool = False
    temperature: Short = ""
    again: Words = ""
    written: Written = Field(default_factory=dict)


class Open(Body):
    """A link put in or a core lifted: ``kind`` is link, lifted or bridge."""

    kind: Short
    what: Short
    where: Short


class Given(Body):
    """To whom the record was given."""

    to: Short = ""


@router.get("/jobs/{job}/proof", summary="Which tests the mend needs, and how they came out")
def proof(request: Request, job: JobId) -> Response:
    """The object of ``halfsplit prove --json``, with the next test and what has no place."""
    now = sketched(request, job)
    found = mending.mending(now)
    return answer({
        **proof_object(found.placed.job, found.proof),
        "next": found.next.wanted.id if found.next else None,
        "after": now.after.written(),
        "open_items": [{"id": e.id, "what": e.written["what"]} for e in now.after.of("open items")],
        "unplaced": [{"id": id, "says": p.sentence()} for id, p in found.placed.unplaced],
        "seq": now.seq,
    })  # fmt: skip


@router.get("/jobs/{job}/parts", summary="What can be named as mended")
def part_list(request: Request, job: JobId) -> Response:
    """Places with their conductors, cables, devices, appliances, paths; and likely causes."""
    now = sketched(request, job)
    return answer({"parts": parts.parts_of(mending.mending(now).placed.job),
                    "causes": parts.offers(now)})  # fmt: skip


@router.post("/jobs/{job}/mends", status_code=201, summary="Say what was mended")
def mend(request: Request, job: JobId, sent: Mend, key: Key = "") -> Response:
    """Kept once however often its key is sent; ``id`` is its number in the record."""
    site = site_of(request)
    written = sent.written
    if sent.cause:
        written = parts.mend_of(sketched(request, job), sent.cause, sent.did)
    id = mending.mend_done(site.records, job, written, site.who(request), site.clock(), key)
    return answer({"id": id}, 201)


@router.delete("/jobs/{job}/mends/{mend}", summary="Take a mend out")
def drop_mend(
    request: Request, job: JobId, mend: JobId, why: Annotated[str, Query(max_length=300)] = "",
    key: Key = "",
) -> Response:  # fmt: skip
    """It stays in the record and no longer counts."""
    site = site_of(request)
    mending.taken_out(site.records, job, "mend", mend, why, site.who(request), site.clock(), key)
    return answer({"id": mend})


@router.post("/jobs/{job}/tests", status_code=201, summary="A result of a test after the mend")
def result(request: Request, job: JobId, sent: Shown, key: Key = "") -> Response:
    """With the verdict; live results are refused while dead tests or open items stand in the way.

    A further result of a test counts alone only when ``again`` says why it was taken again.
    """
    site = site_of(request)
    who, when = site.who(request), site.clock()
    if sent.written:
        id = mending.results_written(site.records, job, sent.written, who, when, key)
        return answer({"id": id}, 201)
    given = Result(sent.shown, sent.seen, sent.by, sent.nulled, sent.equipment, sent.temperature,
                   sent.again)  # fmt: skip
    id = mending.result_taken(site.records, job, sent.test, given, who, when, key)
    found = mending.mending(sketched(request, job))
    verdict = mending.verdict_of(found.proof, sent.test)
    return answer({
        "id": id, "outcome": verdict.outcome, "says": verdict.why, "doubts": verdict.doubts,
        "may_energise": found.proof.may_energise,
    }, 201)  # fmt: skip


@router.post("/jobs/{job}/open-items", status_code=201, summary="A link in, or a core lifted")
def open_item(request: Request, job: JobId, sent: Open, key: Key = "") -> Response:
    """It blocks energising until it is closed."""
    site = site_of(request)
    id = mending.item_opened(
        site.records, job, sent.kind, sent.what, sent.where, site.who(request), site.clock(), key
    )
    return answer({"id": id}, 201)


@router.delete("/jobs/{job}/open-items/{item}", summary="The link is out, or the core back")
def close_item(request: Request, job: JobId, item: JobId, key: Key = "") -> Response:
    """Closed; the record keeps when."""
    site = site_of(request)
    mending.item_closed(site.records, job, item, site.who(request), site.clock(), key)
    return answer({"id": item})


@router.put("/jobs/{job}/left-safe", summary="How what is not mended was left")
def left_safe(request: Request, job: JobId, sent: Entry, key: Key = "") -> Response:
    """All of it as it stands now; an empty entry for nothing left."""
    site = site_of(request)
    mending.left_safe(site.records, job, sent.written, site.who(request), site.clock(), key)
    return answer({"id": job})


@router.post("/jobs/{job}/seen", status_code=201, summary="Something seen and not mended")
def seen(request: Request, job: JobId, sent: Entry, key: Key = "") -> Response:
    """In the person's words, with its class: C1, C2, C3, FI or none."""
    site = site_of(request)
    id = mending.seen_noted(
        site.records, job, sent.written, site.who(request), site.clock(), key
    )  # fmt: skip
    return answer({"id": id}, 201)


@router.delete("/jobs/{job}/seen/{seen}", summary="Take an observation out")
def drop_seen(
    request: Request, job: JobId, seen: JobId, why: Annotated[str, Query(max_length=300)] = "",
    key: Key = "",
) -> Response:  # fmt: skip
    """It stays in the record and no longer counts."""
    site = site_of(request)
    mending.taken_out(site.records, job, "seen", seen, why, site.who(request), site.clock(), key)
    return answer({"id": seen})


@router.get("/jobs/{job}/record", summary="The record to hand over, as data")
def record(request: Request, job: JobId) -> Response:
    """Title, seal, and blocks in their order, each with its ``kind``."""
    return answer(record_object(kept_record(site_of(request).records, job)))


@router.get("/jobs/{job}/record.pdf", summary="The record on paper", response_class=Response)
def record_pdf(
    request: Request, job: JobId, paper: Annotated[str, Query(max_length=10)] = ""
) -> Response:
    """A tagged PDF: a4, letter, or the region's own."""
    made = kept_record(site_of(request).records, job).pdf(paper)
    return Response(made, media_type="application/pdf")


@router.post("/jobs/{job}/record/handed-over", status_code=201, summary="It was handed over")
def handed_over(request: Request, job: JobId, sent: Given, key: Key = "") -> Response:
    """``seal`` is what the record carried at that moment."""
    site = site_of(request)
    seal = mending.handed_over(site.records, job, sent.to, site.who(request), site.clock(), key)
    return answer({"seal": seal}, 201)


@router.get(
    "/jobs/{job}/history", summary="The sealed history, an event a line",
    response_class=PlainTextResponse,
)  # fmt: skip
def history(request: Request, job: JobId) -> Response:
    """As it is stored: what ``halfsplit verify`` is given with a seal."""
    return PlainTextResponse(stored_lines(site_of(request).records.chain(job)))


@router.get("/jobs/{job}/verify", summary="Whether a seal printed on a record still holds")
def verify(
    request: Request, job: JobId, seal: Annotated[str, Query(max_length=80)] = ""
) -> Response:
    """``problems`` is empty when everything up to that seal stands as it was."""
    chain = site_of(request).records.chain(job)
    found = [p.sentence() for p in check_seal(chain, seal)]
    return answer({"holds": not found, "problems": found, "last": chain.last})
