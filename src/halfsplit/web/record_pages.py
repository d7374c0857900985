"""The record handed over: on the screen, on paper, as text; its seal checked; its history."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import PlainTextResponse, Response
from markupsafe import Markup

from halfsplit.errors import BadInput
from halfsplit.service import jobs, live, mending
from halfsplit.service.entries import event_words
from halfsplit.service.record import check_seal, kept_record, stored_lines
from halfsplit.service.standing import standing
from halfsplit.web.site import Sent, go, job_context, page, sentences, site_of

router = APIRouter()


@router.get("/jobs/{job}/record")
def record_page(request: Request, job: str, seal: str = "") -> Response:
    """The record as it stands, everything that happened, and whether a seal still holds."""
    site = site_of(request)
    card = site.records.card(job)
    chain = site.records.chain(job)
    now = standing(chain)
    context: dict[str, Any] = {
        **job_context(card, "record"), "seal": chain.last, "asked": seal.strip()[:80],
        "alarm": live.alarmed(now, None), "document": "", "broken": (), "standing": "",
        "lines": [{"who": e.who, "when": e.when, "says": event_words(e)} for e in chain][::-1],
        "wrong": [p.sentence() for p in jobs.check_chain(site.records, job)],
    }  # fmt: skip
    if context["asked"]:
        context["checked"] = [p.sentence() for p in check_seal(chain, context["asked"])]
    if now.wiring.get("circuits"):
        try:
            made = kept_record(site.records, job)
            context["document"] = Markup(made.page())  # texts are escaped where it is made
            context["standing"] = made.proof.standing
            if now.readings:
                context["alarm"] = live.alarmed(now, live.work(now).diagnosis)
        except BadInput as error:
            context["broken"] = sentences(error)
    return page(request, "record.html", context)


@router.get("/jobs/{job}/record.pdf")
def record_pdf(request: Request, job: str, paper: str = "") -> Response:
    """The record on paper: a4, letter, or the region's own."""
    made = kept_record(site_of(request).records, job).pdf(paper)
    return Response(made, media_type="application/pdf", headers=_named(job, "pdf"))


@router.get("/jobs/{job}/record.txt")
def record_text(request: Request, job: str) -> Response:
    """The record as text."""
    made = kept_record(site_of(request).records, job).text()
    return PlainTextResponse(made, headers=_named(job, "txt"))


@router.get("/jobs/{job}/history")
def history(request: Request, job: str) -> Response:
    """The sealed history, one event a line, as it is stored."""
    made = stored_lines(site_of(request).records.chain(job))
    return Response(made, media_type="application/jsonl", headers=_named(job, "jsonl"))


def _named(job: str, ending: str) -> dict[str, str]:
    name = "".join(c for c in job if c.isalnum() or c == "-")
    return {"content-disposition": f'attachment; filename="record-{name}.{ending}"'}


@router.post("/jobs/{job}/record/handed-over")
def handed_over(request: Request, job: str, sent: Sent) -> Response:
    """Note to whom the record was given, with the seal it carried."""
    given, _ = sent
    site = site_of(request)
    mending.handed_over(
        site.records, job, given.get("to", ""), site.who(request), site.clock(),
        given.get("key", "")[:80],
    )  # fmt: skip
    return go(f"/jobs/{job}/record")
