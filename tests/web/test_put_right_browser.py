"""Putting right in a real browser: a thumb on a phone, no script, every page readable."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from halfsplit.form.lines import layout
from tests.report.jobs import PRINT_ROOM
from tests.web.desk import Server

pytestmark = pytest.mark.browser
Open = Callable[..., Any]
AFTER = ("mend", "tests after", "seen")
FORM = layout({key: value for key, value in PRINT_ROOM.items() if key not in AFTER})
SHOWN = {"R1+R2 at Folder": "0.38", "R1+Rn at Folder": "0.30", "R1+R2 at Guillotine": "0.51",
         "R1+Rn at Guillotine": "0.40", "Insulation": ">299", "Loop": "0.86",
         "Time for": "24"}  # fmt: skip


def job_from(page: Any, server: Server, form: str = FORM) -> str:
    return str(page.request.post(f"{server.url}/api/jobs", data={"form": form}).json()["id"])


def enter_next(page: Any) -> str:
    """Enter the next test well; its title."""
    card = page.locator("#next")
    title = str(card.locator("h3").inner_text())
    shown = next((v for k, v in SHOWN.items() if title.startswith(k)), "")
    if shown:
        card.get_by_label("what it shows").fill(shown)
        card.get_by_role("button", name="Enter", exact=True).click()
    else:
        card.locator("button.chip-button").first.click()
    page.locator(".verdict.v-pass, .verdict.v-near, .verdict.v-no-limit", has_text=title).wait_for()
    return title


@pytest.mark.parametrize("script", [True, False])
def test_from_the_mend_to_the_record(phone: Open, server: Server, script: bool) -> None:
    """A suspect mended, a failure, an open item, every test, how it is left, the record sealed."""
    page = phone(java_script_enabled=script)
    job = job_from(page, server)
    page.goto(f"/jobs/{job}")
    page.get_by_role("link", name="Found? Put it right and prove it").click()
    page.locator(".cause", has_text="The neutral joint at Folder").click()
    page.get_by_role("button", name="This was mended").first.click()
    page.get_by_role("heading", name="Not to be energised").wait_for()
    assert "isolated, locked off and proved dead" in enter_next(page)
    page.locator("#next").get_by_label("what it shows").fill("0.62")
    page.locator("#next").get_by_role("button", name="Enter", exact=True).click()
    page.locator(".verdict.v-fail", has_text="0.62").wait_for()
    page.locator("#next").get_by_label("Why it is taken again").fill("joint tightened")
    enter_next(page)
    page.locator(".open-items summary").click()
    page.locator(".open-items label.chip", has_text="a core lifted").click()
    page.locator(".open-items label.chip").filter(has=page.get_by_text("N", exact=True)).click()
    page.get_by_role("button", name="It stands open").click()
    page.get_by_text("still open: N lifted at Board").wait_for()
    while page.locator("#next h3").count():
        enter_next(page)
    page.get_by_text("Close what is still open").wait_for()
    page.get_by_role("button", name="Closed: N lifted at Board").click()
    page.locator(".may-energise").wait_for()
    while page.locator("#next h3").count():
        last = enter_next(page)
    assert last == "What was first complained of"
    page.get_by_text("Proved: every test that the mend calls for").wait_for()
    page.get_by_role("link", name="Make safe and leave").click()
    page.get_by_label("What was seen, in your words").fill("board cover cracked")
    page.locator("label.chip", has_text="C3").click()
    page.get_by_role("button", name="Note it").click()
    page.get_by_role("link", name="The record").click()
    paper = page.locator(".paper")
    assert "What was mended is proved and may be used. All 14 tests" in paper.inner_text()
    assert "board cover cracked" in paper.inner_text()
    page.get_by_label("To whom").fill("the owner")
    page.get_by_role("button", name="It was handed over").click()
    page.locator("ol.record", has_text="Record handed over to the owner").wait_for()
    seal = page.request.get(f"{server.url}/api/jobs/{job}/events").json()["events"][-1]["data"]
    page.get_by_label("The seal at the foot").fill(seal["carries"])
    page.get_by_role("button", name="Check it").click()
    page.get_by_text("The seal holds: everything up to it stands").wait_for()


def test_a_result_survives_a_lost_signal_and_none_is_sent_twice(
    phone: Open, server: Server
) -> None:
    """Typed without a signal it is kept and sent later; what was answered is kept no longer."""
    page = phone()
    job = job_from(page, server)
    mend = {"did": "remade the joint", "at": "Folder", "joint": "N"}
    page.request.post(f"{server.url}/api/jobs/{job}/mends", data={"written": mend})
    page.goto(f"/jobs/{job}/prove")
    enter_next(page)
    assert page.evaluate("localStorage.getItem('halfsplit-unsent')") == "[]"
    server.stop()
    page.locator("#next").get_by_label("what it shows").fill("0.38")
    page.locator("#next").get_by_role("button", name="Enter", exact=True).click()
    page.get_by_text("0.38 · not sent yet").first.wait_for()
    server.start()
    page.get_by_role("link", name="Show the verdict").click()
    page.locator(".tests li.v-pass", has_text="0.38").first.wait_for()


@pytest.mark.parametrize(("size", "scheme"), [("phone", "light"), ("desktop", "dark")])
def test_every_page_of_the_mend_can_be_read_by_everybody(
    phone: Open, server: Server, size: str, scheme: str
) -> None:
    """axe finds nothing serious, nothing is too wide, targets are large; with all of it open."""
    from axe_playwright_python.sync_playwright import Axe

    page = phone(size, color_scheme=scheme, bypass_csp=True)
    fresh, done = job_from(page, server), job_from(page, server, layout(PRINT_ROOM))
    broken = layout(PRINT_ROOM | {"tests after": [{"at": "Folder", "R1+R2": "0.9"}]})
    failed = job_from(page, server, broken)
    found = []
    for job in (fresh, failed, done):
        for url in ("prove", "leave", "record"):
            page.goto(f"/jobs/{job}/{url}")
            page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
            page.wait_for_timeout(100)
            for item in Axe().run(page).response["violations"]:
                if item["impact"] in ("serious", "critical"):
                    nodes = [node["html"][:160] for node in item["nodes"][:3]]
                    found.append(f"{url}: {item['id']}: {nodes}")
            wide, view = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
            assert wide <= view, url
            small = page.evaluate(
                "Array.from(document.querySelectorAll('button, .button, summary, .chip span, "
                "select, .cause, input:not([type=hidden]):not([type=radio])"
                ":not([type=checkbox])')).filter(e => e.offsetParent && !e.closest('.unseen') && "
                "e.getBoundingClientRect().height < 43.5).map(e => e.outerHTML.slice(0, 120))"
            )
            assert small == [], url
    assert found == []
