"""Put right: what was mended, the tests one at a time, open items, and what is left safe."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import Response

from halfsplit.errors import BadInput
from halfsplit.problems import Problem
from halfsplit.service import live, mending, parts
from halfsplit.service.proving import (
    CLASSED,
    CLASSES,
    OUTCOMES,
    STAGES,
    STANDING_WORDS,
    results_of,
    retired_words,
    should_read,
)
from halfsplit.service.standing import Standing, standing
from halfsplit.service.testsheet import ANSWERS, INSTRUMENTS, UNITS, Result
from halfsplit.web.site import Sent, go, is_part, job_context, page, sentences, site_of

router = APIRouter()
NULLED = ("continuity", "ring ends", "ring cross", "loop")


def _context(request: Request, job: str, **more: Any) -> dict[str, Any]:
    """Everything the page of the mend shows."""
    site = site_of(request)
    card = site.records.card(job)
    now = standing(site.records.chain(job))
    context: dict[str, Any] = {
        **job_context(card, "prove"), "now": now, "found": None, "parts": None, "offers": (),
        "alarm": live.alarmed(now, None), "open_kinds": mending.OPEN_KINDS, "units": UNITS,
        "answers": ANSWERS, "instruments": INSTRUMENTS, "nulled": NULLED, "stages": STAGES,
        "outcomes": OUTCOMES, "standing_words": STANDING_WORDS, "should_read": should_read,
        "results_of": results_of, "done": None, "open_test": "", "draft": {}, "broken": (),
        "classes": CLASSES, "classed": CLASSED, **more,
    }  # fmt: skip
    if not now.wiring.get("circuits"):
        return context
    try:
        found = mending.mending(now)
        if now.readings:
            context["alarm"] = live.alarmed(now, live.work(now).diagnosis)
        context["offers"] = parts.offers(now)
    except BadInput as error:
        return {**context, "broken": sentences(error)}
    done = [v for v in found.proof.verdicts if v.wanted.id == more.get("done_id")]
    return {**context, "found": found, "parts": parts.parts_of(found.placed.job),
            "done": done[0] if done else None, "retired": retired_words(found.proof)}  # fmt: skip


@router.get("/jobs/{job}/prove")
def prove_page(request: Request, job: str, done: str = "", test: str = "") -> Response:
    """What was mended, what stands in the way, the next test, and all of them."""
    if is_part(request):  # what was kept is sent; whoever types meanwhile is not disturbed
        card = site_of(request).records.card(job)
        return page(request, "prove_sent.html", job_context(card, "prove"))
    return page(request, "prove.html", _context(request, job, done_id=done, open_test=test))


@router.post("/jobs/{job}/prove/mends")
def add_mend(request: Request, job: str, sent: Sent) -> Response:
    """Say what was mended: a suspect, or a part by hand."""
    given, many = sent
    site = site_of(request)
    try:
        now = standing(site.records.chain(job))
        mending.mend_done(
            site.records, job, _mend(now, given, many), site.who(request), site.clock(),
            given.get("key", "")[:80],
        )  # fmt: skip
    except BadInput as error:
        return _refused(request, job, error, given)
    return go(f"/jobs/{job}/prove#next")


def _mend(now: Standing, given: Mapping[str, str], many: Mapping[str, Sequence[str]]) -> Any:
    """The entry of the form's ``mend`` that a page's fields make."""
    part, did = given.get("part", ""), given.get("did", "").strip()[:300]
    if part == "suspect":
        return parts.mend_of(now, given.get("cause", "")[:400], did)
    at = given.get("at", "").strip()[:80]
    if part == "joint":
        keys = list(many.get("joint", ()))
        if not keys:
            raise BadInput([Problem("joint", "no conductor", "the conductors whose joint it was")])
        written: dict[str, Any] = {"at": at, "joint": keys}
    elif part == "accessory":
        written = {"at": at, "accessory": "yes"}
    elif part == "load":
        place, _, load = given.get("load", "").rpartition("/")
        written = {"at": place, "load": load}
    elif part == "nothing":
        written = {"nothing": "yes"} | ({"at": at} if at else {})
    elif part in ("cable", "device", "bond", "supply"):
        written = {part: given.get(part, "")[:120]}
    else:
        raise BadInput([Problem("what was mended", part, "a suspect, or the part by its kind")])
    return {"did": did or _did(part, written)} | written


def _did(part: str, written: Mapping[str, Any]) -> str:
    """What was done in words, from the part alone."""
    done = {
        "joint": "joint remade", "accessory": "accessory opened or changed",
        "cable": "cable mended or changed", "device": "device changed", "load": "appliance mended",
        "bond": "connection remade", "supply": "put right", "nothing": "nothing opened",
    }[part]  # fmt: skip
    named = written.get(part, "")
    return done if named in ("yes", "") or isinstance(named, list) else f"{done}: {named}"


@router.post("/jobs/{job}/prove/tests")
def add_result(request: Request, job: str, sent: Sent) -> Response:
    """One result; the verdict stands on the page that comes back."""
    given, _ = sent
    site = site_of(request)
    test = given.get("test", "")[:300]
    result = Result(
        given.get("shown", ""), given.get("saw", ""), given.get("by", ""),
        given.get("nulled") == "yes", given.get("equipment") == "yes",
        given.get("temperature", ""), given.get("again", ""),
    )  # fmt: skip
    try:
        mending.result_taken(
            site.records, job, test, result, site.who(request), site.clock(),
            given.get("key", "")[:80],
        )  # fmt: skip
    except BadInput as error:
        return _refused(request, job, error, given)
    if is_part(request):
        return page(request, "prove_live.html", _context(request, job, done_id=test))
    return go(f"/jobs/{job}/prove?done={quote(test, safe='')}#verdict")


def _refused(
    request: Request, job: str, error: BadInput, given: Mapping[str, str], template: str = ""
) -> Response:
    """What was sent is refused in sentences, and stays in its fields."""
    if is_part(request):
        response = page(request, "_said.html", {"problems": sentences(error)}, 422)
        response.headers["HX-Retarget"] = "#said"
        response.headers["HX-Reswap"] = "innerHTML"
        return response
    context = _context(
        request, job, open_test=given.get("test", ""), draft=dict(given),
        problems=sentences(error), kept=dict(given),
    )  # fmt: skip
    return page(request, template or "prove.html", context, 422)


@router.post("/jobs/{job}/prove/open-items")
def open_item(request: Request, job: str, sent: Sent) -> Response:
    """A link put in, or a core lifted: it stands in the way until it is closed."""
    given, many = sent
    site = site_of(request)
    kind = given.get("kind", "")
    what = ("-" if kind == "link" else " and ").join(many.get("what", ()))
    try:
        mending.item_opened(
            site.records, job, kind, what, given.get("where", "")[:80], site.who(request),
            site.clock(), given.get("key", "")[:80],
        )  # fmt: skip
    except BadInput as error:
        return _refused(request, job, error, given)
    return go(f"/jobs/{job}/prove#open-items")


@router.post("/jobs/{job}/prove/close")
def close_item(request: Request, job: str, sent: Sent) -> Response:
    """The link is out, or the core back."""
    given, _ = sent
    site = site_of(request)
    mending.item_closed(
        site.records, job, given.get("id", "")[:40], site.who(request), site.clock(),
        given.get("key", "")[:80],
    )  # fmt: skip
    return go(f"/jobs/{job}/prove#open-items")


@router.post("/jobs/{job}/prove/take-out")
def take_out(request: Request, job: str, sent: Sent) -> Response:
    """A mend or an observation entered by mistake: it no longer counts, and is kept."""
    given, _ = sent
    site = site_of(request)
    kind = given.get("list", "")
    if kind not in ("mend", "seen"):
        raise BadInput([Problem("list", kind, "mend or seen")])
    mending.taken_out(
        site.records, job, "mend" if kind == "mend" else "seen", given.get("id", "")[:40],
        given.get("why", ""), site.who(request), site.clock(), given.get("key", "")[:80],
    )  # fmt: skip
    return go(f"/jobs/{job}/prove" if kind == "mend" else f"/jobs/{job}/leave#seen")


# What is not mended


@router.get("/jobs/{job}/leave")
def leave_page(request: Request, job: str) -> Response:
    """How it is left, and what was seen and not mended."""
    return page(request, "prove_leave.html", _context(request, job))


@router.post("/jobs/{job}/leave")
def leave(request: Request, job: str, sent: Sent) -> Response:
    """Isolated, locked, labelled, told, not to be used: all of it as it stands now."""
    given, many = sent
    site = site_of(request)
    written: dict[str, Any] = {
        key: given.get(key, "").strip()[:300] for key in ("why", "locked", "labelled")
    }
    for key in ("isolated", "told", "do not use"):
        lines = [part for text in many.get(key, ()) for part in text.splitlines()]
        written[key] = [line.strip()[:120] for line in lines if line.strip()][:20]
    try:
        mending.left_safe(
            site.records, job, {key: value for key, value in written.items() if value},
            site.who(request), site.clock(), given.get("key", "")[:80],
        )  # fmt: skip
    except BadInput as error:
        return _refused(request, job, error, given, "prove_leave.html")
    return go(f"/jobs/{job}/leave")


@router.post("/jobs/{job}/leave/seen")
def seen(request: Request, job: str, sent: Sent) -> Response:
    """Something seen and not mended, with its class."""
    given, _ = sent
    site = site_of(request)
    written = {"what": given.get("what", "").strip()[:300], "at": given.get("at", ""),
               "class": given.get("class", "")}  # fmt: skip
    try:
        if not written["what"]:
            raise BadInput([Problem("seen", "", "what was seen, in your words")])
        mending.seen_noted(
            site.records, job, {key: value for key, value in written.items() if value},
            site.who(request), site.clock(), given.get("key", "")[:80],
        )  # fmt: skip
    except BadInput as error:
        return _refused(request, job, error, given, "prove_leave.html")
    return go(f"/jobs/{job}/leave#seen")
