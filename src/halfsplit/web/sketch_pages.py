"""The sketch: circuits by pattern, rows changed by thumb, undo; or the written form in full."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response

from halfsplit.errors import BadInput
from halfsplit.problems import Problem
from halfsplit.service import jobs, sketch, sketch_house, written
from halfsplit.service.sketch_rows import Drawn, Place
from halfsplit.service.sketch_rows import drawn as drawn_rows
from halfsplit.service.standing import standing
from halfsplit.web.site import Sent, go, job_context, page, sentences, site_of

router = APIRouter()
DEVICES: Mapping[str, tuple[str, ...]] = {
    "na": ("15 A breaker", "20 A breaker", "30 A breaker", "20 A breaker GFCI", "50 A breaker"),
    "other": ("B6", "B10", "B16", "B20", "B32", "B40", "C16", "B16 RCBO 30 mA", "B32 RCBO 30 mA"),
}
CABLES: Mapping[str, tuple[str, ...]] = {
    "na": ("14/2 NM-B", "12/2 NM-B", "10/2 NM-B", "12/3 NM-B"),
    "uk": ("1/1 twin and earth", "1.5/1 twin and earth", "2.5/1.5 twin and earth",
           "4/1.5 twin and earth", "6/2.5 twin and earth"),
    "other": ("3G1.5", "3G2.5", "3G4", "5G2.5"),
}  # fmt: skip
SHARED: Mapping[str, tuple[str, ...]] = {
    "na": ("60 A breaker", "100 A breaker", "60 A fuse"),
    "other": ("RCD 30 mA 63 A", "RCD 30 mA 40 A", "RCD 300 mA 63 A", "switch 63 A"),
}
PATHS = ("Water pipe", "Gas pipe", "Main bonding", "Earth rod", "Steel frame", "Heating pipe",
         "Shower tray")  # fmt: skip
LOADS = ("kettle 3 kW", "electronics", "LED 9 W", "60 W", "fridge", "heater 2 kW", "motor 750 W")
COUNTS = tuple(range(1, 13))


def _choices(lines: Sequence[str]) -> tuple[tuple[str, ...], ...]:
    """The lines a circuit may take: one, two, all."""
    pairs = [(a, b) for k, a in enumerate(lines) for b in lines[k + 1 :]]
    every = [tuple(lines)] if len(lines) > 2 else []
    return (*((line,) for line in lines), *pairs, *every)


def _context(request: Request, job: str, **more: Any) -> dict[str, Any]:
    site = site_of(request)
    card = site.records.card(job)
    now = standing(site.records.chain(job))
    lines = sketch.lines_in(now.wiring)
    region = card.region if card.region in ("na", "uk") else "other"
    return {
        **job_context(card, "sketch"), "now": now, "drawn": sketch.drawn_circuits(now.wiring),
        "patterns": sketch.patterns_for(lines), "names": sketch.PATTERNS, "lines": lines,
        "leg_choices": ["+".join(legs) for legs in _choices(lines)],
        "boards": sketch.boards_in(now.wiring), "kinds": sketch.KINDS, "counts": COUNTS,
        "loads": LOADS,
        "devices": DEVICES.get(region, DEVICES["other"]), "cables": CABLES[region],
        "house": sketch_house.house_of(now.wiring), "source_kinds": sketch_house.SOURCES,
        "shared": SHARED.get(region, SHARED["other"]), "path_names": PATHS,
        "can_undo": bool(now.earlier), "text": written.wiring_text(now), "open": "", **more,
    }  # fmt: skip


@router.get("/jobs/{job}/sketch")
def sketch_page(request: Request, job: str, circuit: str = "") -> Response:
    """The circuits as rows."""
    return page(request, "sketch.html", _context(request, job, open=circuit))


@router.post("/jobs/{job}/sketch/new")
def add_circuit(request: Request, job: str, sent: Sent) -> Response:
    """One more circuit in a pattern."""
    given, _ = sent
    site = site_of(request)
    count = given.get("count", "")
    try:
        if not count.isdigit():
            raise BadInput([Problem("points", count, "a number")])
        wiring = sketch.new_circuit(
            standing(site.records.chain(job)).wiring, given.get("pattern", ""), int(count[:4]),
            given.get("device", "").strip()[:60], given.get("cable", "").strip()[:60],
            given.get("name", "")[:60], given.get("board", "")[:60],
        )  # fmt: skip
        jobs.sketch(
            site.records, job, wiring, {}, "a circuit added", site.who(request), site.clock(),
            given.get("key", "")[:80],
        )  # fmt: skip
    except BadInput as error:
        context = _context(request, job, problems=sentences(error))
        return page(request, "sketch.html", context, 422)
    return go(f"/jobs/{job}/sketch?circuit={len(wiring['circuits'])}#circuit-open")


def _drawn(given: Mapping[str, str], many: Mapping[str, Sequence[str]], was: Drawn) -> Drawn:
    """The circuit as the rows of the page say it, kept details by the rows' old names."""
    kept = {place.name: place for place in was.places}
    names = many.get("place", ())

    def at(key: str, k: int) -> str:
        values = many.get(key, ())
        return values[k].strip()[:120] if k < len(values) else ""

    places = []
    for k, name in enumerate(names[: sketch.MOST_POINTS + 1]):
        old = kept.get(at("was", k))
        places.append(
            Place(
                name.strip()[:60], at("length", k), at("kind", k) or "socket", at("loads", k),
                at("switches", k), 1 if at("depth", k) == "1" else 0, at("leg", k),
                old.name if old else "", old.rest if old else {},
            )
        )  # fmt: skip
    legs = given.get("legs", "+".join(was.legs)).strip()[:20]
    return replace(
        was, name=given.get("name", "").strip()[:60], device=given.get("device", "").strip()[:60],
        cable=given.get("cable", "").strip()[:60], home=given.get("home", "").strip()[:40],
        board=given.get("board", was.board).strip()[:60],
        legs=tuple(leg for leg in legs.split("+") if leg),
        places=tuple(places),
    )  # fmt: skip


@router.post("/jobs/{job}/sketch")
def change_circuit(request: Request, job: str, sent: Sent) -> Response:
    """Keep the rows as they stand on the page, with one button pressed."""
    given, many = sent
    site = site_of(request)
    wiring = sketch_house.proper(standing(site.records.chain(job)).wiring)
    circuits = wiring.get("circuits") or {}
    name = given.get("circuit", "")
    if name not in circuits:
        raise BadInput([Problem("circuit", name, ", ".join(circuits) or "none yet")])
    drawn = _drawn(given, many, drawn_rows(name, circuits[name]))
    number = list(circuits).index(name) + 1
    try:
        made, renamed = sketch.change(wiring, drawn, given.get("op", "")[:40])
        jobs.sketch(
            site.records, job, made, renamed, given.get("op", "") or "rows changed",
            site.who(request), site.clock(), given.get("key", "")[:80],
        )  # fmt: skip
    except BadInput as error:
        context = _context(request, job, problems=sentences(error), open=str(number))
        shown = tuple(drawn if d.name == name else d for d in context["drawn"])
        return page(request, "sketch.html", {**context, "drawn": shown}, 422)
    if given.get("op") == "done":
        return go(f"/jobs/{job}")
    return go(f"/jobs/{job}/sketch?circuit={number}#circuit-open")


def _house(
    given: Mapping[str, str], many: Mapping[str, Sequence[str]], was: sketch_house.House
) -> sketch_house.House:
    """What the circuits share as the page says it; what a row does not show stays as it was."""

    for key, rows in (("group", was.groups), ("path", was.paths), ("source", was.sources)):
        if len(many.get(key, ())) != len(rows):
            remedy = "somebody changed it meanwhile: look at it as it is now, and change it again"
            raise BadInput([Problem(key, f"{len(many.get(key, ()))} rows", str(len(rows)), remedy)])

    def at(key: str, k: int, old: str) -> str:
        values = many.get(key, ())
        return values[k].strip()[:80] if k < len(values) else old

    mains = tuple(replace(m, device=at("main", k, m.device)) for k, m in enumerate(was.mains))
    groups = tuple(
        replace(
            g, name=at("group", k, g.name), device=at("group device", k, g.device),
            board=at("group board", k, g.board), circuits=tuple(many.get(f"behind {k}", ())),
        )
        for k, g in enumerate(was.groups)
    )  # fmt: skip
    paths = tuple(
        replace(
            p, name=at("path", k, p.name), ends=at("path ends", k, p.ends),
            ohms=at("path ohms", k, p.ohms), maybe=f"path maybe {k}" in given,
        )
        for k, p in enumerate(was.paths)
    )  # fmt: skip
    sources = tuple(
        replace(
            s, name=at("source", k, s.name), kind=at("source kind", k, s.kind),
            on=f"source on {k}" in given,
        )
        for k, s in enumerate(was.sources)
    )  # fmt: skip
    return sketch_house.House(mains, groups, paths, sources)


@router.post("/jobs/{job}/sketch/house")
def change_house(request: Request, job: str, sent: Sent) -> Response:
    """Keep what the circuits share as it stands on the page, with one button pressed."""
    given, many = sent
    site = site_of(request)
    chain, key, op = site.records.chain(job), given.get("key", "")[:80], given.get("op", "")[:40]
    wiring = standing(chain).wiring
    house = sketch_house.house_of(wiring)
    try:
        if chain.keyed(key) is None:
            house = _house(given, many, house)
            made = sketch_house.with_house(wiring, house, op)
            who, when = site.who(request), site.clock()
            jobs.sketch(site.records, job, made, {}, "what the circuits share", who, when, key)
    except BadInput as error:
        context = _context(request, job, problems=sentences(error), open="house")
        return page(request, "sketch.html", {**context, "house": house}, 422)
    if op == "done":
        return go(f"/jobs/{job}")
    return go(f"/jobs/{job}/sketch?circuit=house#circuit-open")


@router.post("/jobs/{job}/sketch/undo")
def undo(request: Request, job: str, sent: Sent) -> Response:
    """Take back the last change."""
    given, _ = sent
    site = site_of(request)
    jobs.undo(site.records, job, site.who(request), site.clock(), given.get("key", "")[:80])
    return go(f"/jobs/{job}/sketch")


@router.post("/jobs/{job}/sketch/text")
def change_text(request: Request, job: str, sent: Sent) -> Response:
    """The whole description as the written form."""
    given, _ = sent
    site = site_of(request)
    text = given.get("text", "")
    try:
        wiring, entries = written.imported(text, "the form")
        if entries:
            accepted = "the wiring alone; readings are entered on the ladder"
            raise BadInput([Problem("readings", f"{len(entries)} readings", accepted)])
        jobs.sketch(
            site.records, job, wiring, {}, "written", site.who(request), site.clock(),
            given.get("key", "")[:80],
        )  # fmt: skip
    except BadInput as error:
        said = [problem.sentence() for problem in error.problems]
        context = _context(request, job, problems=said)
        return page(request, "sketch.html", {**context, "text": text}, 422)
    return go(f"/jobs/{job}")
