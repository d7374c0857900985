"""Jobs: the list, the call that opens one, copies, putting away; joining by the pairing secret."""

from __future__ import annotations

import time
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import FileResponse, Response

from halfsplit.errors import BadInput, NotFound
from halfsplit.problems import Problem
from halfsplit.service import jobs, written
from halfsplit.service.scan import scan_picture
from halfsplit.service.standing import standing
from halfsplit.web.entries import (
    CALL,
    HISTORY,
    SOURCES,
    WORDS,
    call_answers,
    call_in_wiring,
)
from halfsplit.web.guard import COOKIE
from halfsplit.web.site import (
    HERE,
    WHO,
    Sent,
    Upload,
    go,
    is_part,
    job_context,
    page,
    sentences,
    site_of,
)

router = APIRouter()
REGION = "halfsplit-region"
SUPPLIES = ("", "TN-C-S 230 V", "TN-S 230 V", "TT 230 V", "three phase 400/230 V TN-S",
            "split phase 120/240 V", "three phase 208Y/120 V", "centre tapped 110 V")  # fmt: skip


@router.get("/")
def job_list(request: Request, search: str = "", away: str = "") -> Response:
    """Every job, newest first."""
    cards = site_of(request).records.cards(search[:100], away == "yes")
    context = {"cards": cards, "search": search, "away": away == "yes"}
    return page(request, "_cards.html" if is_part(request) else "jobs.html", context)


def _call_context(request: Request, call: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {
        "call": call, "questions": CALL, "words": WORDS, "history": HISTORY, "sources": SOURCES,
        "supplies": SUPPLIES, "first_region": request.cookies.get(REGION, "uk"), **more,
    }  # fmt: skip


@router.get("/new")
def new_job(request: Request) -> Response:
    """The call: what is asked before anything is measured."""
    return page(request, "call.html", _call_context(request, {}, given={}))


@router.post("/jobs")
def open_job(request: Request, sent: Sent) -> Response:
    """A job from the call's answers."""
    given, many = sent
    site = site_of(request)
    call = call_answers(given, many)
    wiring: dict[str, Any] = {"title": given.get("title", "").strip()[:120] or "Untitled job"}
    wiring["region"] = given.get("region", "uk")
    if given.get("supply", "").strip():
        wiring["supply"] = given["supply"].strip()[:80]
    wiring = call_in_wiring(wiring, call)
    try:
        written.check_wiring({**wiring, "circuits": {"a": {"run": ["b"]}}})
        id = jobs.open_job(
            site.records, wiring, call, site.who(request), site.clock(), given.get("key", "")[:80],
            customer=given.get("customer", "").strip()[:120],
            address=given.get("address", "").strip()[:200],
        )  # fmt: skip
    except BadInput as error:
        context = _call_context(request, call, given=given, problems=sentences(error))
        return page(request, "call.html", context, 422)
    danger = any(call.get(key) == "yes" for key, _, _ in CALL)
    response = go(f"/jobs/{id}" if danger else f"/jobs/{id}/sketch")
    response.set_cookie(
        REGION, str(wiring["region"])[:8], max_age=31_536_000, samesite="strict", httponly=True
    )
    return response


@router.get("/jobs/{job}/call")
def call_again(request: Request, job: str) -> Response:
    """The call of a job, to be looked at or changed."""
    site = site_of(request)
    card = site.records.card(job)
    now = standing(site.records.chain(job))
    given = {
        "title": card.title, "customer": card.customer, "address": card.address,
        "region": str(now.wiring.get("region", "uk")), "supply": _short(now.wiring.get("supply")),
    }  # fmt: skip
    context = {**job_context(card, "call"), **_call_context(request, dict(now.call), given=given)}
    return page(request, "call.html", context)


def _short(supply: Any) -> str:
    return supply if isinstance(supply, str) else ""


@router.post("/jobs/{job}/call")
def change_call(request: Request, job: str, sent: Sent) -> Response:
    """Change a job's answers, title, customer and supply."""
    given, many = sent
    site, when = site_of(request), site_of(request).clock()
    card = site.records.card(job)
    now = standing(site.records.chain(job))
    call = call_answers(given, many)
    wiring = call_in_wiring(now.wiring, call)
    wiring["title"] = given.get("title", "").strip()[:120] or card.title
    wiring["region"] = given.get("region", "uk")
    supply = given.get("supply", "").strip()[:80]
    if supply:
        wiring["supply"] = supply
    elif isinstance(wiring.get("supply"), str):
        wiring.pop("supply")
    who, key = site.who(request), given.get("key", "")[:70]
    try:
        written.check_wiring({"circuits": {"a": {"run": ["b"]}}, **wiring})
        jobs.sketch(site.records, job, wiring, {}, "the call", who, when, key and f"{key}-w")
    except BadInput as error:
        context = {**job_context(card, "call"), **_call_context(request, call, given=given)}
        return page(request, "call.html", {**context, "problems": sentences(error)}, 422)
    jobs.answer_call(site.records, job, call, who, when, key)
    site.records.describe(
        job, str(wiring["title"]), given.get("customer", "").strip()[:120],
        given.get("address", "").strip()[:200],
    )  # fmt: skip
    return go(f"/jobs/{job}")


@router.post("/jobs/{job}/copy")
def copy(request: Request, job: str, sent: Sent) -> Response:
    """A new job on the same wiring."""
    given, _ = sent
    site = site_of(request)
    id = jobs.duplicate(
        site.records, job, site.who(request), site.clock(), given.get("key", "")[:80]
    )
    return go(f"/jobs/{id}")


@router.post("/jobs/{job}/away")
def put_away(request: Request, job: str, sent: Sent) -> Response:
    """Put a job away, or bring it back."""
    given, _ = sent
    site_of(request).records.put_away(job, given.get("away") == "yes")
    return go("/")


@router.get("/import")
def import_form(request: Request) -> Response:
    """Bring in a job as the written form."""
    return page(request, "import.html", {"text": ""})


@router.post("/import")
def import_job(request: Request, sent: Sent, file: Upload) -> Response:
    """A job from a written form, typed in or as a file."""
    given, _ = sent
    site = site_of(request)
    text: str | bytes = given.get("text", "")
    if file:
        text = file
    try:
        wiring, entries = written.imported(text, "the form")
        id = jobs.open_job(
            site.records, wiring, {}, site.who(request), site.clock(), given.get("key", "")[:80],
            entries,
        )  # fmt: skip
    except BadInput as error:
        shown = text if isinstance(text, str) else text.decode("utf-8", "replace")
        said = [problem.sentence() for problem in error.problems]
        return page(request, "import.html", {"text": shown, "problems": said}, 422)
    return go(f"/jobs/{id}")


# Joining


@router.get("/pair")
def pair(request: Request, code: str = "") -> Response:
    """Where another device joins."""
    if site_of(request).sharing is None:
        raise NotFound("Sharing is off; start the program with --share to let a phone join.")
    return page(request, "pair.html", {"code": code[:20], "devices": (), "inside": False})


@router.post("/pair")
def join(request: Request, sent: Sent) -> Response:
    """Let a device in by the secret; tries are counted."""
    given, _ = sent
    site = site_of(request)
    if site.sharing is None:
        raise NotFound("Sharing is off; start the program with --share to let a phone join.")
    address = request.client.host if request.client else ""
    context = {"code": "", "devices": (), "inside": False}
    if not site.sharing.may_try(address, time.monotonic()):
        said = ["Too many tries; wait a minute, then enter the secret again."]
        return page(request, "pair.html", {**context, "problems": said}, 429)
    if not site.sharing.right(given.get("code", "")[:40]):
        wrong = Problem("pairing secret", given.get("code", "")[:40],
                        "the ten letters printed where the program was started")  # fmt: skip
        return page(request, "pair.html", {**context, "problems": [wrong.sentence()]}, 403)
    name = given.get("name", "").strip()[:60] or "a phone"
    token = site.devices.join(name, site.clock())
    response = go("/")
    response.set_cookie(COOKIE, token, max_age=7_776_000, httponly=True, samesite="strict")
    return response


@router.get("/devices")
def devices(request: Request) -> Response:
    """Devices that joined, and the secret to join by (shown on this machine only)."""
    site = site_of(request)
    here = request.client is not None and request.client.host in ("127.0.0.1", "::1", "testclient")
    code = site.sharing.code if site.sharing and here else ""
    address = site.sharing.address if site.sharing else ""
    picture = scan_picture(f"{address}/pair?code={code}") if code else ""
    context = {
        "devices": site.devices.all(), "code": code, "address": address, "picture": picture,
        "here": here,
    }  # fmt: skip
    return page(request, "devices.html", context)


@router.post("/devices/revoke")
def revoke(request: Request, sent: Sent) -> Response:
    """Shut a device out."""
    given, _ = sent
    site_of(request).devices.revoke(given.get("id", "")[:40])
    return go("/devices")


@router.post("/devices/renew")
def renew(request: Request) -> Response:
    """A new pairing secret."""
    site = site_of(request)
    if site.sharing is not None:
        site.sharing.renew()
    return go("/devices")


@router.post("/who")
def set_who(request: Request, sent: Sent) -> Response:
    """The name that stands beside what this browser enters."""
    given, _ = sent
    response = go("/devices")
    name = given.get("who", "").strip()[:60]
    safe = "".join(c for c in name if c.isalnum() or c in " .'-").strip()
    response.set_cookie(WHO, safe.encode("ascii", "ignore").decode(), max_age=31_536_000,
                        samesite="strict", httponly=True)  # fmt: skip
    return response


# Without a signal


@router.get("/sw.js")
def worker() -> Response:
    """What opens a page that was seen before without a signal; it stands over every page."""
    return FileResponse(
        HERE / "static" / "sw.js", media_type="text/javascript",
        headers={"cache-control": "no-cache"},
    )  # fmt: skip


@router.get("/no-signal")
def no_signal(request: Request) -> Response:
    """What stands there without a signal where a page was never opened."""
    return page(request, "no_signal.html", {})
