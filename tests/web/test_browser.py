"""Whole journeys in a real browser, with a thumb, a lost signal, two people, and no script."""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from typing import Any

import pytest

from tests.web.desk import BOAT_SHED, READINGS, Server

pytestmark = pytest.mark.browser
Open = Callable[..., Any]


def job_from(page: Any, server: Server, form: str) -> str:
    answer = page.request.post(f"{server.url}/api/jobs", data={"form": form})
    return str(answer.json()["id"])


def kept(page: Any, server: Server, job: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = page.request.get(f"{server.url}/api/jobs/{job}").json()[
        "readings"
    ]
    return found


def chip(page: Any, words: str) -> Any:
    """A choice by its words: the whole of it can be tapped."""
    return page.locator("label.chip, label.pattern").filter(has=page.get_by_text(words, exact=True))


def enter(page: Any, place: str, pair: str, shown: str) -> None:
    """Open a rung, choose a pair, type a figure, enter it."""
    rung = page.locator(f'li.rung[data-place="{place}"]').first
    entry = rung.locator("details.entry").first
    if entry.get_attribute("open") is None:
        entry.locator("summary").first.click()
    entry.locator("label.chip", has_text=pair).first.click()
    entry.get_by_label("What it shows at").fill(shown)
    entry.get_by_role("button", name="Enter", exact=True).click()


@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_from_the_call_to_what_to_check_next(phone: Open, server: Server, size: str) -> None:
    """Call, sketch of eight points, four readings, suspects live, another suspect, what if."""
    page = phone(size)
    page.goto("/")
    page.get_by_role("link", name="New job").click()
    for ask in page.locator(".ask").all():
        ask.locator("label.chip").nth(1).click()
    page.get_by_label("What to call it").fill("Chapel hall")
    page.get_by_role("button", name="Open the job").click()
    started = time.monotonic()
    chip(page, "one after another").click()
    chip(page, "8").click()
    chip(page, "B16").click()
    page.get_by_role("button", name="Draw it").click()
    page.locator("input[name=place]").nth(7).wait_for()
    names = ["Porch", "Organ", "Vestry", "Stage", "Kitchen", "Urn", "Gallery", "Store"]
    for field, name in zip(page.locator("input[name=place]").all(), names, strict=True):
        field.fill(name)
    page.get_by_role("button", name="Done, to the ladder").click()
    page.locator("li.rung").nth(8).wait_for()
    assert time.monotonic() - started < 60
    for place, pair, shown in (
        ("Organ", "L–N", "231"), ("Stage", "L–N", "3.4"), ("Stage", "N–E", "229"),
        ("Vestry", "L–N", "231"),
    ):  # fmt: skip
        enter(page, place, pair, shown)
        page.locator(f'li.rung[data-place="{place}"] .readings', has_text=shown).wait_for()
    first = page.locator(".suspects > li").first
    assert "Vestry" in first.inner_text()
    assert "Stage" in first.inner_text()
    page.locator(".offer h3").first.wait_for()
    assert page.locator(".outcomes tbody tr").count() >= 2
    before = page.locator(".break-words").all_inner_texts()
    page.locator(".members summary").first.click()
    page.locator(".members a").nth(1).click()
    page.get_by_text("Back to the likeliest").wait_for()
    assert page.locator(".break-words").all_inner_texts() != before
    page.get_by_role("link", name="What if").click()
    page.get_by_label("One lead at").select_option("Stage.L:front")
    page.get_by_label("The other at").select_option("Stage.N:front")
    page.locator(".outcome .big").wait_for()
    assert "V" in page.locator(".outcome .big").inner_text()


def test_a_check_becomes_a_reading(phone: Open, server: Server) -> None:
    """One tap on the check opens its entry; what is entered is kept with its conditions."""
    page = phone()
    job = job_from(page, server, BOAT_SHED + READINGS)
    page.goto(f"/jobs/{job}")
    offer = page.locator(".offer").first
    offer.get_by_text("Enter the reading").click()
    outcome = offer.locator("form .chip-button, form button").first
    if offer.locator("input[name=shown]").count():
        offer.locator("input[name=shown]").fill("0.4")
    outcome.click()
    page.locator('#poll[data-seq="6"]').wait_for(state="attached")
    entry = kept(page, server, job)[-1]["written"]
    assert entry["by"]
    assert entry.get("seen") or "0.4" in json.dumps(entry)
    assert len(page.locator(".readings li").all()) == 6


def test_a_reading_survives_a_lost_signal(phone: Open, server: Server) -> None:
    """Entered with no signal, it stays on its rung, outlives the page, and is sent once later."""
    page = phone()
    job = job_from(page, server, BOAT_SHED)
    page.goto(f"/jobs/{job}")
    page.locator(".suspects").wait_for()
    server.stop()
    enter(page, "Sail loft", "L–N", "229")
    page.get_by_text("L-N 229 · not sent yet").wait_for()
    waiting = page.locator("#waiting").inner_text()
    assert waiting.startswith("1 entry is kept on this device")
    assert "L-N 229 at Sail loft: will be sent when the program answers again" in waiting
    server.start()
    page.locator('li.rung[data-place="Sail loft"] .readings', has_text="229 V").wait_for()
    page.get_by_text("not sent yet").wait_for(state="detached")
    assert [item["written"]["L-N"] for item in kept(page, server, job)] == ["229 V"]


def test_a_note_and_a_thing_seen_survive_a_lost_signal(phone: Open, server: Server) -> None:
    """A note and a tap on "dead" wait on the page and are sent once, in their order."""
    page = phone()
    job = job_from(page, server, BOAT_SHED)
    page.goto(f"/jobs/{job}")
    page.locator(".suspects").wait_for()
    server.stop()
    page.get_by_label("Words for the record").fill("back door key under the pot")
    page.get_by_role("button", name="Keep", exact=True).click()
    page.get_by_text("note: back door key under the pot · not sent yet").wait_for()
    entry = page.locator('li.rung[data-place="Slip winch"] details.entry')
    entry.locator("summary").first.click()
    entry.get_by_role("button", name="dead", exact=True).click()
    page.get_by_text("2 entries are kept on this device").wait_for()
    server.start()
    page.locator("#waiting").wait_for(state="hidden")
    answer = page.request.get(f"{server.url}/api/jobs/{job}").json()
    assert [note[0] for note in answer["notes"]] == ["back door key under the pot"]
    assert [item["written"].get("works") for item in answer["readings"]] == ["no"]


def test_a_sketch_survives_a_lost_signal(phone: Open, server: Server) -> None:
    """Names changed without a signal are kept by the browser and change the sketch later."""
    page = phone()
    job = job_from(page, server, BOAT_SHED)
    page.goto(f"/jobs/{job}/sketch")
    server.stop()
    page.locator("input[name=place]").nth(1).fill("Battery shelf")
    page.get_by_role("button", name="Keep and stay").click()
    page.locator("#waiting", has_text="the sketch of east wall").wait_for()
    page.locator("input[name=place]").nth(2).fill("Net loft")
    page.get_by_role("button", name="Keep and stay").click()
    page.locator("#waiting", has_text="1 entry is kept").wait_for()
    server.start()
    page.locator("#waiting").wait_for(state="hidden")
    run = page.request.get(f"{server.url}/api/jobs/{job}").json()["wiring"]["circuits"]["east wall"]
    assert run["run"][1::2] == [
        "Tool bench",
        "Battery shelf",
        "Net loft",
        "Radio desk",
        "Slip winch",
    ]
    events = page.request.get(f"{server.url}/api/jobs/{job}/events").json()["events"]
    assert len(events) == 2


def test_a_correction_and_making_safe_survive_a_lost_signal(phone: Open, server: Server) -> None:
    """A reading corrected and the three ticks of making safe wait, and are sent in their order."""
    page = phone()
    job = job_from(
        page, server, BOAT_SHED + "readings: [{at: Radio desk, tingle: case, L-N: 23}]\n"
    )
    page.goto(f"/jobs/{job}/readings/r2")
    server.stop()
    page.get_by_label("It should say").fill("230")
    page.get_by_role("button", name="Correct it").click()
    page.locator("#waiting", has_text="a correction of r2").wait_for()
    server.start()
    page.locator("#waiting").wait_for(state="hidden")
    assert kept(page, server, job)[1]["written"]["L-N"].startswith("230")
    page.goto(f"/jobs/{job}")
    server.stop()
    for words in ("people kept away", "isolated and locked", "proved dead"):
        chip(page, words).click()
    page.get_by_role("button", name="All three are done").click()
    page.locator("#waiting", has_text="made safe").wait_for()
    server.start()
    page.locator("#waiting").wait_for(state="hidden")
    page.reload()
    page.get_by_text("Made safe: people kept away, isolated and locked, proved dead").wait_for()


def test_what_is_refused_later_is_not_lost(phone: Open, server: Server) -> None:
    """An entry that the program cannot take when it is sent stays with the reason, until thrown."""
    page = phone()
    job = job_from(page, server, BOAT_SHED)
    page.goto(f"/jobs/{job}")
    page.locator(".suspects").wait_for()
    server.stop()
    enter(page, "Sail loft", "L–N", "wet")
    page.locator("#waiting", has_text="L-N wet at Sail loft").wait_for()
    server.start()
    page.locator("#waiting", has_text="not taken").wait_for()
    page.reload()
    page.locator("#waiting", has_text="not taken").wait_for()
    page.get_by_role("button", name="Throw it away").click()
    page.locator("#waiting").wait_for(state="hidden")
    assert kept(page, server, job) == []


def test_a_page_seen_before_opens_without_a_signal(phone: Open, server: Server) -> None:
    """With the program gone the ladder last seen opens, takes a reading, and says that it waits."""
    page = phone()
    job = job_from(page, server, BOAT_SHED + READINGS)
    page.goto(f"/jobs/{job}")
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.reload()
    page.locator(".offer").first.wait_for()
    enter(page, "Radio desk", "L–N", "234")
    page.locator('li.rung[data-place="Radio desk"] .readings', has_text="234 V").wait_for()
    page.locator(".offer").first.wait_for()
    page.wait_for_timeout(4000)
    server.stop()
    page.reload()
    page.locator('li.rung[data-place="Radio desk"] .readings', has_text="234 V").wait_for()
    page.locator(".offer").first.wait_for()
    page.locator('li.rung[data-place="Sail loft"] .readings', has_text="121 V").wait_for()
    enter(page, "Slip winch", "L–E", "119")
    page.get_by_text("L-E 119 · not sent yet").wait_for()
    page.goto("/jobs/elsewhere")
    page.get_by_role("heading", name="The program does not answer").wait_for()
    page.goto(f"/jobs/{job}")
    page.get_by_text("L-E 119 · not sent yet").wait_for()
    server.start()
    page.locator('li.rung[data-place="Slip winch"] .readings', has_text="119 V").wait_for()
    assert len(kept(page, server, job)) == 7


def test_a_reading_survives_a_closed_tab(phone: Open, server: Server) -> None:
    """The tab closed while offline: opened again, the browser sends what it had kept."""
    page = phone()
    job = job_from(page, server, BOAT_SHED)
    page.goto(f"/jobs/{job}")
    page.locator(".suspects").wait_for()
    page.context.set_offline(True)
    enter(page, "Tool bench", "L–E", "228")
    page.get_by_text("L-E 228 · not sent yet").wait_for()
    context = page.context
    page.close()
    context.set_offline(False)
    again = context.new_page()
    again.goto(f"/jobs/{job}")
    again.locator('li.rung[data-place="Tool bench"] .readings', has_text="228 V").wait_for()
    assert len(kept(again, server, job)) == 1


def test_a_double_tap_is_one_reading(phone: Open, server: Server) -> None:
    """Tapping Enter twice keeps one reading."""
    page = phone()
    job = job_from(page, server, BOAT_SHED)
    page.goto(f"/jobs/{job}")
    page.locator(".suspects").wait_for()
    entry = page.locator('li.rung[data-place="Sail loft"] details.entry')
    entry.locator("summary").first.click()
    entry.get_by_label("What it shows at").fill("230")
    entry.get_by_role("button", name="Enter", exact=True).dblclick()
    page.locator('li.rung[data-place="Sail loft"] .readings', has_text="230 V").wait_for()
    page.wait_for_timeout(400)
    assert len(kept(page, server, job)) == 1


def test_two_people_see_each_other(phone: Open, server: Server) -> None:
    """What one enters appears on the other's ladder, and what the other is typing stays."""
    one, other = phone(), phone("desktop")
    job = job_from(one, server, BOAT_SHED)
    one.goto(f"/jobs/{job}")
    other.goto(f"/jobs/{job}")
    other.locator(".suspects").wait_for()
    enter(one, "Sail loft", "L–N", "227")
    other.locator('li.rung[data-place="Sail loft"] .readings', has_text="227 V").wait_for()
    entry = other.locator('li.rung[data-place="Slip winch"] details.entry')
    entry.locator("summary").first.click()
    entry.get_by_label("What it shows at").fill("22")
    enter(one, "Radio desk", "L–N", "226")
    other.wait_for_timeout(4500)
    assert entry.get_by_label("What it shows at").input_value() == "22"
    entry.get_by_label("What it shows at").fill("225")
    entry.get_by_role("button", name="Enter", exact=True).click()
    other.locator('li.rung[data-place="Radio desk"] .readings', has_text="226 V").wait_for()
    other.locator('li.rung[data-place="Slip winch"] .readings', has_text="225 V").wait_for()
    assert len(kept(one, server, job)) == 3


def test_an_alarm_reaches_who_is_typing(phone: Open, server: Server) -> None:
    """An empty field holds nothing up; a figure half typed stays when somebody reports a shock."""
    one, other = phone(), phone("desktop")
    job = job_from(one, server, BOAT_SHED)
    other.goto(f"/jobs/{job}")
    entry = other.locator('li.rung[data-place="Slip winch"] details.entry')
    entry.locator("summary").first.click()
    entry.get_by_label("What it shows at").focus()
    chip(other, "L–E").locator("visible=true").click()
    one.request.post(
        f"{server.url}/api/jobs/{job}/readings",
        data={"written": {"at": "Sail loft", "L-N": "227 V"}},
    )
    other.locator('li.rung[data-place="Sail loft"] .readings', has_text="227 V").wait_for()
    assert entry.locator('input[value="L-E"]').is_checked()
    entry.get_by_label("What it shows at").fill("22")
    one.request.post(
        f"{server.url}/api/jobs/{job}/readings",
        data={"written": {"at": "Radio desk", "shock": "case"}},
    )
    other.get_by_role("heading", name="Isolate first. Keep people away.").wait_for()
    assert entry.get_by_label("What it shows at").input_value() == "22"


def test_it_works_without_script(phone: Open, server: Server) -> None:
    """With JavaScript off a reading is entered and the ladder shows it with its suspects."""
    page = phone(java_script_enabled=False)
    job = job_from(page, server, BOAT_SHED)
    page.goto(f"/jobs/{job}")
    enter(page, "Sail loft", "L–N", "224")
    page.locator('li.rung[data-place="Sail loft"] .readings', has_text="224 V").wait_for()
    assert page.locator(".suspects > li").count() > 0
    assert page.locator(".offer").count() > 0


def test_danger_takes_the_page(phone: Open, server: Server) -> None:
    """A tingle tapped on a rung turns the page to isolating first; three ticks turn it back."""
    page = phone()
    job = job_from(page, server, BOAT_SHED)
    page.goto(f"/jobs/{job}")
    entry = page.locator('li.rung[data-place="Radio desk"] details.entry')
    entry.locator("summary").first.click()
    entry.get_by_role("button", name="tingle").click()
    page.get_by_role("heading", name="Isolate first. Keep people away.").wait_for()
    assert not page.locator(".suspects").first.is_visible()
    for words in ("people kept away", "isolated and locked", "proved dead"):
        chip(page, words).click()
    page.get_by_role("button", name="All three are done").click()
    page.get_by_text("Made safe: people kept away, isolated and locked, proved dead").wait_for()
    assert page.locator(".suspects").first.is_visible()


def test_a_wrong_figure_is_refused_where_it_is_seen(phone: Open, server: Server) -> None:
    """A figure that cannot be read is refused in a sentence, and stays in its field."""
    page = phone()
    job = job_from(page, server, BOAT_SHED)
    page.goto(f"/jobs/{job}")
    enter(page, "Sail loft", "L–N", "wet")
    page.locator("#said", has_text='read "wet').wait_for()
    field = page.locator('li.rung[data-place="Sail loft"]').get_by_label("What it shows at")
    assert field.input_value() == "wet"
    assert kept(page, server, job) == []


PAGES = ("/", "/new", "/import", "/devices", "/jobs/{0}", "/jobs/{0}/sketch", "/jobs/{0}/why",
         "/jobs/{0}/try?a=Radio+desk.L%3Afront&b=Radio+desk.E%3Afront&kind=test+lamp",
         "/jobs/{0}/call", "/jobs/{0}/record", "/jobs/{0}/readings/r1", "/jobs/{1}",
         "/nowhere")  # fmt: skip


@pytest.mark.parametrize(("size", "scheme"), [("phone", "light"), ("desktop", "dark")])
def test_every_page_can_be_read_by_everybody(
    phone: Open, server: Server, size: str, scheme: str
) -> None:
    """axe finds nothing serious on any page, nothing is too wide, targets are large."""
    from axe_playwright_python.sync_playwright import Axe

    page = phone(size, color_scheme=scheme, bypass_csp=True)
    job = job_from(page, server, BOAT_SHED + READINGS)
    alarmed = job_from(page, server, BOAT_SHED + "readings: [{at: Radio desk, tingle: case}]\n")
    found = []
    for url in PAGES:
        page.goto(url.format(job, alarmed))
        if url == "/jobs/{0}":
            page.locator(".legend summary").click()
            page.locator('li.rung[data-place="Sail loft"] details.entry summary').first.click()
        result = Axe().run(page)
        for item in result.response["violations"]:
            if item["impact"] in ("serious", "critical"):
                nodes = [node["html"][:160] for node in item["nodes"][:3]]
                found.append(f"{url}: {item['id']}: {nodes}")
        wide, view = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
        assert wide <= view, url
        small = page.evaluate(
            "Array.from(document.querySelectorAll('button, .button, summary, .chip span, select, "
            "input:not([type=hidden]):not([type=radio]):not([type=checkbox])'))"
            ".filter(e => e.offsetParent && !e.closest('.unseen') && !e.matches('.unseen') && "
            "e.getBoundingClientRect().height < 43.5).map(e => e.outerHTML.slice(0, 120))"
        )
        assert small == [], url
    assert found == []


def test_the_keyboard_is_enough(phone: Open, server: Server) -> None:
    """A reading is entered with the keyboard alone; what it changed is said to who cannot see."""
    page = phone("desktop")
    job = job_from(page, server, BOAT_SHED)
    page.goto(f"/jobs/{job}")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "To the page"
    page.locator('li.rung[data-place="Sail loft"] details.entry summary').first.focus()
    page.keyboard.press("Enter")
    page.locator("input[name=shown]:focus").wait_for()
    page.keyboard.type("223")
    page.keyboard.press("Enter")
    page.locator("#heard", has_text="Entered. Likeliest: ").wait_for(state="attached")
    page.locator('li.rung[data-place="Sail loft"] .readings', has_text="223 V").wait_for()
