"""What the pages stand on: records, devices, clock; and how a page is made."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any
from urllib.parse import quote

from fastapi import Depends, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.datastructures import FormData

from halfsplit.errors import BadInput
from halfsplit.problems import Problem
from halfsplit.service.jobs import Card, Records
from halfsplit.service.offered import seen_words
from halfsplit.service.standing import Standing, standing
from halfsplit.service.words import REGION_NAMES, letter_of, trade_words
from halfsplit.web.guard import Pairing, Sharing

HERE = Path(__file__).parent
LAST = "halfsplit-last"
WHO = "halfsplit-who"


@dataclass(slots=True)
class Site:
    """Everything a page needs; wired once, in ``app.make_app``."""

    records: Records
    devices: Pairing
    sharing: Sharing | None
    clock: Callable[[], str]
    pages: Environment

    def who(self, request: Request) -> str:
        """Who is at the other end: the device's name, or what this browser's person said."""
        device = request.scope.get("state", {}).get("device", "")
        said = request.cookies.get(WHO, "").strip()[:60]
        return said or device or "this computer"


def site_of(request: Request) -> Site:
    """The site of a running application."""
    site: Site = request.app.state.site
    return site


def standing_of(request: Request, job: str) -> Standing:
    """What stands now in a job's record. Raises: NotFound."""
    return standing(site_of(request).records.chain(job))


def sketched(request: Request, job: str) -> Standing:
    """The same, for what is worked out from a circuit. Raises: BadInput where none is sketched."""
    now = standing_of(request, job)
    if not now.wiring.get("circuits"):
        raise BadInput([Problem("wiring", "no circuits", "a circuit; sketch one first")])
    return now


def environment() -> Environment:
    """The templates, every value escaped."""
    env = Environment(
        loader=FileSystemLoader(HERE / "templates"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    env.globals["new_key"] = lambda: secrets.token_hex(8)
    env.globals["letter"] = letter_of
    env.globals["seen_words"] = seen_words
    env.filters["q"] = lambda text: quote(str(text), safe="")
    env.filters["moment"] = moment
    return env


def moment(when: str) -> str:
    """A moment as people read it: "25 Nov 2026, 14:05"."""
    months = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split()
    try:
        year, month, day = when[:10].split("-")
        return f"{int(day)} {months[int(month) - 1]} {year}, {when[11:16]}"
    except (ValueError, IndexError):
        return when


def page(
    request: Request, template: str, context: Mapping[str, Any], status: int = 200
) -> HTMLResponse:
    """A page or a part of one."""
    site = site_of(request)
    region = str(context.get("region", "uk"))
    shared = {
        "region": region, "w": trade_words(region), "regions": REGION_NAMES,
        "who": site.who(request), "sharing": site.sharing is not None, "tab": "", "card": None,
        "message": "", "problems": (),
    }  # fmt: skip
    text = site.pages.get_template(template).render(**{**shared, **context})
    return HTMLResponse(text, status_code=status)


def is_part(request: Request) -> bool:
    """Whether the browser asks for a part of a page."""
    return request.headers.get("hx-request") == "true"


def go(url: str) -> Response:
    """On to another page after something was done."""
    return RedirectResponse(url, status_code=303)


def fields(form: FormData) -> tuple[dict[str, str], dict[str, list[str]]]:
    """(first value, all values) by name; files are not taken here."""
    many: dict[str, list[str]] = {}
    for name, value in form.multi_items():
        if isinstance(value, str):
            many.setdefault(name, []).append(value.replace("\x00", ""))
    return {name: values[0] for name, values in many.items()}, many


async def sent_fields(request: Request) -> tuple[dict[str, str], dict[str, list[str]]]:
    """What a page's form sent; the work itself is then done off the event loop."""
    return fields(await request.form(max_files=1, max_fields=600))


async def sent_file(request: Request) -> bytes:
    """The file a page's form sent, empty without one."""
    found = (await request.form(max_files=1, max_fields=600)).get("file")
    if found is None or isinstance(found, str) or not found.filename:
        return b""
    return await found.read()


Sent = Annotated[tuple[dict[str, str], dict[str, list[str]]], Depends(sent_fields)]
Upload = Annotated[bytes, Depends(sent_file)]


def job_context(card: Card, tab: str) -> dict[str, Any]:
    """What every page of a job needs."""
    return {"card": card, "tab": tab, "region": card.region}


def sentences(error: BadInput) -> Sequence[str]:
    """Every problem in words, without the place in a file that nobody sees here."""
    found = []
    for problem in error.problems:
        where = problem.where.rpartition(" of the job, ")[2] or problem.where
        text = problem.sentence()
        if problem.line is not None:
            text = text.partition(f"{problem.where}: ")[2]
            text = f"{where}: {text}"
        found.append(text[:1].upper() + text[1:])
    return tuple(dict.fromkeys(found))
