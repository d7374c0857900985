"""A job on the screen: the ladder and what is entered on it, and why."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from contextlib import suppress
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import PlainTextResponse, Response

from halfsplit.errors import BadInput
from halfsplit.service import jobs, live, offered, paths, story, written
from halfsplit.service.entries import entry_words, value_of, with_value
from halfsplit.service.standing import Standing, standing
from halfsplit.web.drawing import drawings
from halfsplit.web.entries import (
    AT_BOARD,
    AT_POINT,
    CONDITIONS,
    HOWS,
    SAWS,
    SECURED,
    reading_entry,
    secured_words,
)
from halfsplit.web.site import (
    LAST,
    Sent,
    go,
    is_part,
    job_context,
    page,
    sentences,
    site_of,
    standing_of,
)

router = APIRouter()
SCRIPT = "halfsplit-script"


def _remembered(request: Request) -> dict[str, Any]:
    """The instrument, conditions and "was it showing" used last from this browser."""
    try:
        found = json.loads(request.cookies.get(LAST, ""))
    except ValueError:
        found = {}
    if not isinstance(found, dict):
        found = {}
    how, showing = found.get("how"), found.get("showing")
    return {
        "how": how if how in HOWS else "multimeter",
        "cond": [c for c in found.get("cond", []) if c in CONDITIONS and c != "lamp"],
        "showing": showing if showing in ("yes", "no") else "unsaid",
    }


def _has_script(request: Request) -> bool:
    """Whether the pages' script ran in this browser."""
    return is_part(request) or request.cookies.get(SCRIPT) == "yes"


def ladder_context(
    request: Request, job: str, cause: str = "", at: str = "", pair: str = "",
    draft: Mapping[str, Any] | None = None, with_next: bool = True, path: str = "",
) -> dict[str, Any]:  # fmt: skip
    """Everything the ladder page shows."""
    site = site_of(request)
    card = site.records.card(job)
    now = standing(site.records.chain(job))
    context: dict[str, Any] = {
        **job_context(card, "ladder"), "now": now, "at": at, "pair": pair,
        "draft": dict(draft or {}), "hows": HOWS, "saws": SAWS, "conditions": CONDITIONS,
        "at_point": AT_POINT, "at_board": AT_BOARD, "last": _remembered(request), "scene": None,
        "drawn": (), "alarm": live.alarmed(now, None), "checks": None, "chosen": cause,
        "places": (), "broken": (), "route": None, "to_secure": SECURED,
        "light": _has_script(request),
    }  # fmt: skip
    if not now.wiring.get("circuits"):
        return context
    try:
        scene = live.scene(now, cause)
    except BadInput as error:
        return {**context, "broken": sentences(error)}
    region = scene.job.region
    context["scene"] = scene
    context["alarm"] = scene.alarm
    context["route"] = route = _route(now, scene, cause, path)
    context["drawn"] = drawings(
        scene.ladders, scene.matched, scene.sound, region,
        route,
    )  # fmt: skip
    context["places"] = [point.name for point in scene.job.installation.points()]
    context["chosen"] = cause
    if with_next:
        context["checks"] = _checks(now, scene.alarm)
    return context


def _route(now: Standing, scene: live.Scene, cause: str, path: str) -> paths.Route | None:
    """The current drawn on the rails: through the meter of the reading asked for, or the oddest."""
    id = path or paths.strangest(scene.answer.compared)
    found = paths.routes(now, cause, id) if id else ()
    return found[0] if found else None


def _checks(now: Standing, alarm: bool) -> dict[str, Any]:
    """The next checks; isolating first is not offered again once it was said to be done."""
    found = live.next_checks(now)
    worked = live.work(now)
    shown = [
        {"offer": p, "entry": json.dumps(e) if e else "", "kind": p.check.kind,
         "unit": offered.unit_of(p), "looks": p.check.reading is None and p.check.kind != "isolate"}
        for p in found.proposals
        if alarm or p.check.kind != "isolate"
        for e in (offered.check_entry(worked, p),)
    ]  # fmt: skip
    return {"shown": shown, "refused": found.refused, "stop": found.stop}


@router.get("/jobs/{job}")
def ladder_page(
    request: Request, job: str, cause: str = "", at: str = "", pair: str = "", path: str = "",
    next: str = "",
) -> Response:  # fmt: skip
    """The ladder, or its living part; ``path`` is the reading whose current is drawn.

    A browser that runs the pages' script asks for the next check once the ladder is there.
    """
    part = is_part(request)
    whole = bool(next) or not _has_script(request)
    context = ladder_context(request, job, cause, at, pair, with_next=whole, path=path)
    return page(request, "_live.html" if part else "job.html", context)


@router.get("/jobs/{job}/live")
def live_part(request: Request, job: str, since: int = -1, cause: str = "") -> Response:
    """The living part again when something happened since; nothing otherwise."""
    if site_of(request).records.count(job) == since + 1:
        return Response(status_code=204)
    return page(request, "_live.html", ladder_context(request, job, cause, with_next=False))


@router.get("/jobs/{job}/next")
def next_part(request: Request, job: str) -> Response:
    """The next check alone, asked for once the ladder is on the screen."""
    return page(request, "_next.html", ladder_context(request, job))


@router.post("/jobs/{job}/readings")
def take_reading(request: Request, job: str, sent: Sent) -> Response:
    """A reading into the record, then the ladder as it stands with it."""
    given, many = sent
    site = site_of(request)
    try:
        entry = reading_entry(given, many)
        jobs.take(
            site.records, job, entry, site.who(request), site.clock(), given.get("key", "")[:80]
        )
    except BadInput as error:
        return _refused(request, job, given, error)
    at = given.get("at", "")
    after = "" if given.get("saw") or given.get("to") or given.get("template") else _following(
        given
    )  # fmt: skip
    response = _shown_again(request, job, at, after)
    if not given.get("template") and not given.get("saw"):
        last = {"how": given.get("how", ""), "cond": many.get("cond", []),
                "showing": given.get("showing", "")}  # fmt: skip
        response.set_cookie(LAST, json.dumps(last), samesite="strict", httponly=True)
    return response


@router.post("/jobs/{job}/ahead")
def weigh_ahead(request: Request, job: str, sent: Sent) -> Response:
    """What is being typed is weighed while the thumb is on its way to Enter; nothing is kept."""
    given, many = sent
    figure = bool(given.get("shown", "").strip())
    with suppress(BadInput):
        entry = reading_entry(given if figure else {**given, "shown": "1"}, many)
        live.ahead(standing_of(request, job), entry, figure)
    return Response(status_code=204)


def _following(given: Mapping[str, str]) -> str:
    """The pair that is usually taken next at the same place."""
    order = given.get("pairs", "").split()
    pair = given.get("pair", "")
    if pair in order:
        return order[(order.index(pair) + 1) % len(order)]
    return ""


def _shown_again(request: Request, job: str, at: str, pair: str) -> Response:
    if is_part(request):
        context = ladder_context(request, job, at=at, pair=pair, with_next=False)
        return page(request, "_live.html", context)
    query = f"?at={_q(at)}&pair={_q(pair)}#open" if at else ""
    return go(f"/jobs/{job}{query}")


def _q(text: str) -> str:
    from urllib.parse import quote

    return quote(text, safe="")


def _refused(request: Request, job: str, given: Mapping[str, str], error: BadInput) -> Response:
    if is_part(request):
        response = page(request, "_said.html", {"problems": sentences(error)}, 422)
        response.headers["HX-Retarget"] = "#said"
        response.headers["HX-Reswap"] = "innerHTML"
        return response
    at = given.get("at", "")
    context = ladder_context(request, job, at=at, pair=given.get("pair", ""), draft=given)
    return page(request, "job.html", {**context, "problems": sentences(error)}, 422)


@router.get("/jobs/{job}/readings/{reading}")
def one_reading(request: Request, job: str, reading: str) -> Response:
    """One reading with what it said before, to correct it or take it out."""
    return page(request, "reading.html", _reading_context(request, job, reading))


def _reading_context(request: Request, job: str, reading: str) -> dict[str, Any]:
    site = site_of(request)
    card = site.records.card(job)
    now = standing(site.records.chain(job))
    kept = now.kept_of(reading)
    return {**job_context(card, "ladder"), "kept": kept, "now": now,
            "value": value_of(kept.written), "words": entry_words(kept.written),
            "text": json.dumps(dict(kept.written), ensure_ascii=False)}  # fmt: skip


@router.post("/jobs/{job}/readings/{reading}")
def change_reading(request: Request, job: str, reading: str, sent: Sent) -> Response:
    """Correct a reading, or take it out; the record keeps both."""
    given, _ = sent
    site = site_of(request)
    who, when, key = site.who(request), site.clock(), given.get("key", "")[:80]
    why = given.get("why", "").strip()[:300]
    try:
        if given.get("do") == "withdraw":
            jobs.withdraw(site.records, job, reading, why, who, when, key)
        else:
            kept = standing(site.records.chain(job)).kept_of(reading)
            shown = given.get("shown", "").strip()[:60]
            entry = with_value(kept.written, shown)
            jobs.correct(site.records, job, reading, entry, why, who, when, key)
    except BadInput as error:
        context = _reading_context(request, job, reading)
        return page(request, "reading.html", {**context, "problems": sentences(error)}, 422)
    return go(f"/jobs/{job}")


@router.post("/jobs/{job}/secured")
def secured(request: Request, job: str, sent: Sent) -> Response:
    """Say that people are away, that it is isolated and locked, and proved dead: all three."""
    given, many = sent
    site = site_of(request)
    try:
        how = secured_words(many.get("done", []))
    except BadInput as error:
        return _refused(request, job, given, error)
    jobs.secure(site.records, job, how, site.who(request), site.clock(), given.get("key", "")[:80])
    return go(f"/jobs/{job}")


@router.post("/jobs/{job}/notes")
def add_note(request: Request, job: str, sent: Sent) -> Response:
    """Words for the record."""
    given, _ = sent
    site = site_of(request)
    jobs.note(
        site.records, job, given.get("text", ""), site.who(request), site.clock(),
        given.get("key", "")[:80],
    )  # fmt: skip
    return go(f"/jobs/{job}/record" if given.get("from") == "record" else f"/jobs/{job}")


@router.post("/jobs/{job}/looked")
def add_look(request: Request, job: str, sent: Sent) -> Response:
    """A look of the next check that found nothing, or one taken back."""
    given, _ = sent
    site = site_of(request)
    check, who, when = given.get("check", ""), site.who(request), site.clock()
    key = given.get("key", "")[:80]
    if given.get("do") == "back":
        jobs.take_back_look(site.records, job, check, who, when, key)
    else:
        jobs.looked(site.records, job, check, given.get("what", ""), who, when, key)
    return go(f"/jobs/{job}")


@router.get("/jobs/{job}/why")
def why_page(request: Request, job: str, cause: str = "", reading: str = "") -> Response:
    """Every reading measured and predicted; what holds what; the path of the current."""
    context = ladder_context(request, job, cause, with_next=False)
    told: Sequence[paths.Route] = ()
    dividers: Sequence[story.Divider] = ()
    if context["scene"] is not None:
        told = paths.routes(context["now"], cause)
        dividers = story.dividers(context["now"], cause)
    return page(
        request, "why.html",
        {**context, "tab": "why", "routes": told, "dividers": dividers, "reading": reading},
    )  # fmt: skip


@router.get("/jobs/{job}/form")
def export(request: Request, job: str) -> Response:
    """The job as the written form."""
    site = site_of(request)
    site.records.card(job)
    text = written.form_of(standing(site.records.chain(job)))
    return PlainTextResponse(
        text, headers={"content-disposition": f'attachment; filename="job-{job}.yaml"'}
    )
