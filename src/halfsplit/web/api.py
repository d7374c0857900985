"""The JSON interface: everything that the pages do, with the objects of the command line."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import PlainTextResponse, Response

from halfsplit.service import (
    as_object,
    ask,
    jobs,
    live,
    offered,
    paths,
    read,
    sketch,
    story,
    whatif,
    written,
)
from halfsplit.web.bodies import (
    Answers,
    Away,
    Circuit,
    Correction,
    Details,
    Entry,
    Form,
    JobId,
    Key,
    Look,
    NewJob,
    Trial,
    Wiring,
    Words,
    answer,
)
from halfsplit.web.site import site_of, sketched, standing_of

router = APIRouter(prefix="/api", tags=["halfsplit"])


@router.get("/jobs", summary="Jobs, newest first")
def job_list(
    request: Request, search: Annotated[str, Query(max_length=100)] = "", away: bool = False
) -> Response:
    """Those whose title, customer or address holds every word searched for."""
    return answer({"jobs": site_of(request).records.cards(search, away)})


@router.post("/jobs", status_code=201, summary="Open a job")
def open_job(request: Request, sent: NewJob, key: Key = "") -> Response:
    """From a written form (its readings too), or from a title to be sketched later."""
    site = site_of(request)
    entries: list[dict[str, Any]] = []
    wiring: dict[str, Any] = {"title": sent.title or "Untitled job", "region": sent.region}
    if sent.supply:
        wiring["supply"] = sent.supply
    if sent.form:
        wiring, entries = written.imported(sent.form, "the form")
        if sent.title:
            wiring["title"] = sent.title
    written.check_wiring({"circuits": {"a": {"run": ["b"]}}, **wiring})
    id = jobs.open_job(
        site.records, wiring, sent.call, site.who(request), site.clock(), key, entries,
        sent.customer, sent.address,
    )  # fmt: skip
    return answer({"id": id}, 201)


@router.get("/jobs/{job}", summary="A job as it stands")
def one_job(request: Request, job: JobId) -> Response:
    """Its card, wiring, call, readings with what they said before, and the newest seal."""
    card = site_of(request).records.card(job)
    now = standing_of(request, job)
    return answer({
        "card": card, "wiring": now.wiring, "call": now.call, "readings": now.kept,
        "notes": now.notes, "looks": now.looks, "secured": now.secured, "seq": now.seq,
        "seal": now.seal,
    })  # fmt: skip


@router.put("/jobs/{job}/details", summary="Title, customer, address")
def details(request: Request, job: JobId, sent: Details) -> Response:
    """Change what the list shows."""
    site_of(request).records.describe(job, sent.title, sent.customer, sent.address)
    return answer({"id": job})


@router.put("/jobs/{job}/away", summary="Put a job away or bring it back")
def away(request: Request, job: JobId, sent: Away) -> Response:
    """Jobs put away leave the list and lose nothing."""
    site_of(request).records.put_away(job, sent.away)
    return answer({"id": job, "away": sent.away})


@router.post("/jobs/{job}/copies", status_code=201, summary="A new job on the same wiring")
def copy(request: Request, job: JobId, key: Key = "") -> Response:
    """Without its readings."""
    site = site_of(request)
    id = jobs.duplicate(site.records, job, site.who(request), site.clock(), key)
    return answer({"id": id}, 201)


@router.put("/jobs/{job}/call", summary="Answer the call again")
def call(request: Request, job: JobId, sent: Answers, key: Key = "") -> Response:
    """Every answer as it is now."""
    site = site_of(request)
    jobs.answer_call(site.records, job, sent.call, site.who(request), site.clock(), key)
    return answer({"id": job})


@router.post("/jobs/{job}/secured", summary="Say that it is isolated and people are away")
def secured(request: Request, job: JobId, sent: Words, key: Key = "") -> Response:
    """Answers an alarm; ``text`` says how."""
    site = site_of(request)
    jobs.secure(site.records, job, sent.text, site.who(request), site.clock(), key)
    return answer({"id": job})


@router.post("/jobs/{job}/notes", status_code=201, summary="A note for the record")
def add_note(request: Request, job: JobId, sent: Words, key: Key = "") -> Response:
    """Free words."""
    site = site_of(request)
    jobs.note(site.records, job, sent.text, site.who(request), site.clock(), key)
    return answer({"id": job}, 201)


@router.post("/jobs/{job}/looks", status_code=201, summary="A look that found nothing")
def add_look(request: Request, job: JobId, sent: Look, key: Key = "") -> Response:
    """``check`` is the id of a check that was offered; what it would have shown is less likely."""
    site = site_of(request)
    jobs.looked(site.records, job, sent.check, sent.what, site.who(request), site.clock(), key)
    return answer({"id": job}, 201)


@router.delete("/jobs/{job}/looks", summary="Take back a look that found nothing")
def take_back_look(
    request: Request, job: JobId, check: Annotated[str, Query(max_length=200)], key: Key = ""
) -> Response:
    """It no longer counts; the record keeps both."""
    site = site_of(request)
    jobs.take_back_look(site.records, job, check, site.who(request), site.clock(), key)
    return answer({"id": job})


@router.put("/jobs/{job}/wiring", summary="Set the description of the installation")
def set_wiring(request: Request, job: JobId, sent: Wiring, key: Key = "") -> Response:
    """``renamed`` maps old names of places to new ones, so that readings follow."""
    site = site_of(request)
    jobs.sketch(
        site.records, job, sent.wiring, sent.renamed, sent.why, site.who(request), site.clock(),
        key,
    )  # fmt: skip
    return answer({"id": job})


@router.post("/jobs/{job}/circuits", status_code=201, summary="One more circuit in a pattern")
def add_circuit(request: Request, job: JobId, sent: Circuit, key: Key = "") -> Response:
    """Patterns: run, ring, lighting, feeds, points, pair (several lines only), board."""
    site = site_of(request)
    made = sketch.new_circuit(
        standing_of(request, job).wiring, sent.pattern, sent.count, sent.device, sent.cable,
        sent.name, sent.board,
    )  # fmt: skip
    jobs.sketch(
        site.records, job, made, {}, "a circuit added", site.who(request), site.clock(), key
    )
    return answer({"wiring": made}, 201)


@router.post("/jobs/{job}/undo", summary="Take back the last change of the sketch")
def undo(request: Request, job: JobId, key: Key = "") -> Response:
    """``done`` is false when there was nothing to take back."""
    site = site_of(request)
    done = jobs.undo(site.records, job, site.who(request), site.clock(), key)
    return answer({"done": done})


@router.post("/jobs/{job}/readings", status_code=201, summary="A reading, or something seen")
def take(request: Request, job: JobId, sent: Entry, key: Key = "") -> Response:
    """Kept once however often its key is sent; ``id`` is its number in the record."""
    site = site_of(request)
    id = jobs.take(site.records, job, sent.written, site.who(request), site.clock(), key)
    return answer({"id": id}, 201)


@router.put("/jobs/{job}/readings/{reading}", summary="Correct a reading")
def correct(
    request: Request, job: JobId, reading: JobId, sent: Correction, key: Key = ""
) -> Response:
    """What it said before stays in the record."""
    site = site_of(request)
    jobs.correct(
        site.records, job, reading, sent.written, sent.why, site.who(request), site.clock(), key
    )
    return answer({"id": reading})


@router.delete("/jobs/{job}/readings/{reading}", summary="Take a reading out")
def withdraw(
    request: Request, job: JobId, reading: JobId,
    why: Annotated[str, Query(max_length=300)] = "", key: Key = "",
) -> Response:  # fmt: skip
    """It stays in the record and no longer counts."""
    site = site_of(request)
    jobs.withdraw(site.records, job, reading, why, site.who(request), site.clock(), key)
    return answer({"id": reading})


@router.get("/jobs/{job}/diagnosis", summary="What could explain the readings, and where it hurts")
def diagnosis(request: Request, job: JobId) -> Response:
    """The object that the command line prints with --json, with the next checks in it."""
    now = sketched(request, job)
    scene = live.scene(now)
    found = as_object(scene.answer)
    if not found.get("next"):
        found["next"] = [offered.check_object(p) for p in live.next_checks(now).proposals]
    return answer({**found, "seq": now.seq})


@router.get("/jobs/{job}/ladder", summary="The ladder for a suspect")
def ladder(
    request: Request, job: JobId, cause: Annotated[str, Query(max_length=400)] = ""
) -> Response:
    """Where every conductor stands and what holds it, with breaks; the leading cause if none.

    ``paths`` are the easiest ways of each meter's current, ``dividers`` what sets what hangs free.
    """
    now = sketched(request, job)
    scene = live.scene(now, cause)
    return answer({
        "cause": scene.cause, "says": scene.says, "ladders": scene.ladders, "why": scene.why,
        "readings": scene.matched, "alarm": scene.alarm, "suspects": scene.suspects,
        "paths": paths.routes(now, cause), "dividers": story.dividers(now, cause),
    })  # fmt: skip


@router.post("/jobs/{job}/try", summary="What if")
def try_it(request: Request, job: JobId, sent: Trial) -> Response:
    """What a meter would show, and what it would make live."""
    asked = whatif.Asked(
        tuple(sent.off), tuple(sent.on), tuple(sent.positions.items()), tuple(sent.unplugged),
        tuple(sent.plugged), sent.lamp_at, sent.a, sent.b, sent.instrument,
    )  # fmt: skip
    tried = whatif.try_it(sketched(request, job), sent.cause, asked)
    return answer({
        "cause": tried.cause, "says": tried.says, "conditions": tried.conditions,
        "shows": tried.shows, "between": tried.between, "behind": tried.behind,
        "livens": tried.livens, "tripped": tried.parted, "ladders": tried.ladders,
    })  # fmt: skip


@router.get("/jobs/{job}/events", summary="Everything that happened, oldest first")
def events(request: Request, job: JobId) -> Response:
    """Events with their seals, and what is wrong with the chain (nothing, as a rule)."""
    site = site_of(request)
    chain = site.records.chain(job)
    return answer({
        "events": [{**e.body(), "seal": e.seal} for e in chain],
        "problems": [p.sentence() for p in jobs.check_chain(site.records, job)],
    })  # fmt: skip


@router.get(
    "/jobs/{job}/form", summary="The job as the written form", response_class=PlainTextResponse
)
def form(request: Request, job: JobId) -> Response:
    """Lines of text that the command line reads."""
    return PlainTextResponse(written.form_of(standing_of(request, job)))


@router.post("/diagnose", summary="Diagnose a written form without keeping it")
def diagnose(sent: Form) -> Response:
    """The object that the command line prints with --json."""
    job, warnings = read(sent.form, "the form")
    return answer(as_object(ask(job, warnings)))
