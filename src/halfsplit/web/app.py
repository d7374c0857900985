"""The application: the guard in front, pages and JSON behind, failures in sentences."""

from __future__ import annotations

import json
import logging
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import FileResponse, JSONResponse, Response
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware

from halfsplit.errors import BadInput, Conflict, HalfsplitError, NotFound
from halfsplit.problems import Problem
from halfsplit.service.jobs import Records
from halfsplit.web import (
    api,
    job_pages,
    list_pages,
    proving_api,
    proving_pages,
    record_pages,
    sketch_pages,
    try_pages,
)
from halfsplit.web.guard import Guard, Pairing, Sharing
from halfsplit.web.site import HERE, Site, environment, is_part, page, sentences

_log = logging.getLogger("halfsplit.web")
_SENTENCES = {
    404: "There is no page at this address; go back to the list of jobs.",
    405: "This address does not take that; use the page's own buttons.",
}


def now() -> str:
    """This moment as text, with its zone."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def make_app(
    records: Records,
    devices: Pairing,
    sharing: Sharing | None = None,
    clock: Callable[[], str] = now,
) -> FastAPI:
    """The whole application on a store; ``sharing`` lets other machines join."""
    app = FastAPI(
        title="halfsplit", version="1", docs_url=None, redoc_url=None,
        openapi_url="/api/openapi.json",
        description="Finds which wire, joint, device or appliance is at fault, from readings.",
    )  # fmt: skip
    app.state.site = Site(records, devices, sharing, clock, environment())
    pages = (list_pages, job_pages, sketch_pages, try_pages, proving_pages, record_pages)
    for part in pages:
        app.include_router(part.router, include_in_schema=False)
    app.include_router(api.router)
    app.include_router(proving_api.router)
    app.add_api_route("/static/htmx.min.js", _htmx, include_in_schema=False)
    app.mount("/static", Static(directory=HERE / "static"), name="static")
    app.add_exception_handler(HalfsplitError, _failed)
    app.add_exception_handler(RequestValidationError, _invalid)
    app.add_exception_handler(HTTPException, _no_page)
    app.add_exception_handler(Exception, _broken)
    app.add_middleware(GZipMiddleware, minimum_size=1000)
    app.add_middleware(Guard, devices=devices, sharing=sharing)
    return app


def _htmx() -> Response:
    """The script for live parts, as its package ships it."""
    import js_lib_htmx

    folder = Path(js_lib_htmx.__file__).parent / "static" / "htmx"
    return FileResponse(
        folder / "htmx.min.js", media_type="text/javascript", headers={"cache-control": "no-cache"}
    )


class Static(StaticFiles):
    """Files that come with the program, kept by the browser and asked about each time."""

    def file_response(self, *args: Any, **kwargs: Any) -> Response:
        """A file that may be kept, but is asked about before it is used again."""
        response = super().file_response(*args, **kwargs)
        response.headers["cache-control"] = "no-cache"
        return response


def _failed(request: Request, error: Exception) -> Response:
    status = {BadInput: 422, NotFound: 404, Conflict: 409}.get(type(error), 400)
    if isinstance(error, BadInput):
        said = list(sentences(error))
        return _say(request, status, said, [_plain(p) for p in error.problems])
    return _say(request, status, [str(error)])


def _plain(problem: Problem) -> dict[str, Any]:
    return {
        "where": problem.where, "read": problem.read, "accepted": problem.accepted,
        "remedy": problem.remedy, "says": problem.sentence(),
    }  # fmt: skip


def _invalid(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    said = []
    for item in error.errors()[:10]:
        where = " ".join(str(part) for part in item["loc"] if part != "body") or "what was sent"
        read = json.dumps(item.get("input"), default=str)[:80]
        said.append(f"{where}: read {read}; accepted: {item['msg'].removeprefix('Value error, ')}.")
    return _say(request, 422, said)


def _no_page(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    said = _SENTENCES.get(error.status_code, str(error.detail))
    response = _say(request, error.status_code, [said])
    for name, value in (error.headers or {}).items():
        response.headers[name] = value
    return response


def _broken(request: Request, error: Exception) -> Response:
    _log.error("failed at %s", request.url.path, exc_info=error)
    return _say(
        request, 500,
        ["Something went wrong in the program. What you entered is kept; try once more, and report "
         "this if it happens again."],
    )  # fmt: skip


def _say(
    request: Request, status: int, said: list[str], problems: list[dict[str, Any]] | None = None
) -> Response:
    """A failure in sentences, as a whole page, a part of one, or JSON."""
    if request.url.path.startswith("/api"):
        listed = problems if problems is not None else [{"says": text} for text in said]
        return JSONResponse({"problems": listed}, status)
    if is_part(request):
        response = page(request, "_said.html", {"problems": said}, status)
        response.headers["HX-Retarget"] = "#said"
        response.headers["HX-Reswap"] = "innerHTML"
        return response
    return page(request, "failed.html", {"problems": said, "status": status}, status)
