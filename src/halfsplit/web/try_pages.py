"""What if: try a change on the screen before trying it on site."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response

from halfsplit.errors import BadInput
from halfsplit.service import live, whatif
from halfsplit.service.standing import standing
from halfsplit.web.drawing import drawings
from halfsplit.web.site import is_part, job_context, page, sentences, site_of

router = APIRouter()


def asked_from(query: Any) -> whatif.Asked:
    """What is tried, from the page's fields."""
    positions = tuple(
        (name[4:], value) for name, value in query.multi_items()
        if name.startswith("set:") and value
    )  # fmt: skip
    return whatif.Asked(
        tuple(query.getlist("off")), tuple(query.getlist("on")), positions,
        tuple(query.getlist("out")), tuple(query.getlist("in")), query.get("lamp", ""),
        query.get("a", ""), query.get("b", ""), query.get("kind", "multimeter"),
    )  # fmt: skip


@router.get("/jobs/{job}/try")
def try_page(request: Request, job: str, cause: str = "") -> Response:
    """Throw a switch, plug a lamp, put a meter somewhere: what would come of it."""
    site = site_of(request)
    card = site.records.card(job)
    now = standing(site.records.chain(job))
    context: dict[str, Any] = {
        **job_context(card, "try"), "now": now, "tried": None, "drawn": (), "can": None,
        "suspects": (), "chosen": cause, "asked": whatif.Asked(),
    }  # fmt: skip
    if not now.wiring.get("circuits"):
        return page(request, "try.html", context)
    status = 200
    try:
        scene = live.scene(now)
        asked = asked_from(request.query_params)
        context |= {"suspects": scene.suspects, "can": whatif.options(now), "asked": asked}
        tried = whatif.try_it(now, cause, asked)
        context["tried"] = tried
        inst = scene.job.installation
        context["drawn"] = drawings(tried.ladders, (), tried.sound, inst.region)
    except BadInput as error:
        status = 422
        context["problems"] = sentences(error)
    template = "_tried.html" if is_part(request) and status == 200 else "try.html"
    return page(request, template, context, status)
