"""The pages without JavaScript, and what they refuse."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from halfsplit.store.shelf import Shelf
from halfsplit.web.guard import CONTENT_POLICY, Sharing
from tests.web.desk import BOAT_SHED, READINGS, desk, open_form

ALL_DONE = ["people kept away", "isolated and locked", "proved dead"]
PAGES = ("", "/sketch", "/try", "/why", "/call", "/record")


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    with desk(tmp_path) as (made, _):
        yield made


def job_of(answer: Any) -> str:
    found = re.search(r"/jobs/([a-z0-9]+)", answer.headers["location"])
    assert found
    return found[1]


def said(answer: Any) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", answer.text)).split())


def test_a_whole_job_without_script(client: TestClient) -> None:
    """The call, a sketch of four points, readings and what explains them, by plain forms alone."""
    answer = client.post("/jobs", data={"title": "Farm shop", "region": "uk", "key": "a1"})
    job = job_of(answer)
    assert answer.headers["location"].endswith("/sketch")
    drawn = client.post(
        f"/jobs/{job}/sketch/new",
        data={"pattern": "run", "count": "4", "device": "B16", "name": "till", "key": "a2"},
    )
    assert drawn.status_code == 303
    names = ["Till", "Freezer", "Scales", "Door"]
    rows = {
        "circuit": "till", "name": "till", "device": "B16", "cable": "", "op": "done",
        "place": names, "was": [f"Point {k}" for k in range(1, 5)], "length": ["8", "", "4 m", ""],
        "kind": ["socket"] * 4, "loads": ["", "fridge", "", ""], "depth": ["0"] * 4,
    }  # fmt: skip
    assert client.post(f"/jobs/{job}/sketch", data=rows).headers["location"] == f"/jobs/{job}"
    for at, pair, shown in (
        ("Till", "L-N", "231"),
        ("Scales", "L-N", "2.1"),
        ("Scales", "N-E", "230"),
        ("Scales", "L-E", "231"),
    ):
        sent = {"at": at, "pair": pair, "shown": shown, "how": "multimeter", "pairs": "L-N L-E N-E"}
        answer = client.post(f"/jobs/{job}/readings", data=sent)
        assert answer.status_code == 303
    page = client.get(f"/jobs/{job}")
    text = said(page)
    assert "neutral" in text[text.index("What could explain it") :][:400].lower()
    assert "L–N 2.1 V multimeter" in text
    assert "Next check" in text
    assert "Freezer" in said(client.get(f"/jobs/{job}/why"))


def test_the_next_pair_is_offered(client: TestClient) -> None:
    """After L–N at a rung the same rung stands open with L–E chosen, and the meter remembered."""
    job = open_form(client, BOAT_SHED)
    sent = {"at": "Sail loft", "pair": "L-N", "shown": "230", "how": "two-pole",
            "pairs": "L-N L-E N-E "}  # fmt: skip
    answer = client.post(f"/jobs/{job}/readings", data=sent)
    page = client.get(answer.headers["location"]).text
    entry = page[page.index('id="open"') :]
    entry = entry[: entry.index("</form>")]
    assert 'value="L-E" checked' in entry
    assert 'value="two-pole" checked' in entry


def test_danger_reported_turns_the_page(client: TestClient) -> None:
    """A yes to any danger puts isolating first, before everything else, until it is answered."""
    answer = client.post("/jobs", data={"title": "Flat 2", "burning": "yes"})
    job = job_of(answer)
    assert answer.headers["location"] == f"/jobs/{job}"
    page = said(client.get(f"/jobs/{job}"))
    assert page.index("Isolate first. Keep people away.") < page.index("No circuit yet")
    client.post(f"/jobs/{job}/secured", data={"done": ALL_DONE})
    page = said(client.get(f"/jobs/{job}"))
    assert "Isolate first" not in page
    assert "Made safe: people kept away, isolated and locked, proved dead" in page


@pytest.mark.parametrize("missing", [0, 1, 2])
def test_a_place_is_made_safe_by_all_three(client: TestClient, missing: int) -> None:
    """Two of the three ticked are refused by a sentence that names the third; the alarm stays."""
    job = job_of(client.post("/jobs", data={"title": "Flat 2", "burning": "yes"}))
    done = [words for k, words in enumerate(ALL_DONE) if k != missing]
    answer = client.post(f"/jobs/{job}/secured", data={"done": done})
    assert answer.status_code == 422
    assert f"before this is done too: {ALL_DONE[missing]}." in said(answer)
    assert "Isolate first. Keep people away." in said(client.get(f"/jobs/{job}"))


def test_a_shock_entered_later_turns_the_page_again(client: TestClient) -> None:
    """A tingle entered after the place was made safe brings the isolating page back."""
    job = open_form(client, BOAT_SHED)
    client.post(f"/jobs/{job}/secured", data={"done": ALL_DONE})
    client.post(f"/jobs/{job}/readings", data={"at": "Radio desk", "saw": "tingle"})
    assert "Isolate first. Keep people away." in said(client.get(f"/jobs/{job}"))


def test_every_suspect_can_be_drawn(client: TestClient) -> None:
    """Choosing another suspect moves the break on the ladder to where that one puts it."""
    job = open_form(client)
    page = client.get(f"/jobs/{job}").text
    links = list(dict.fromkeys(re.findall(r'href="(/jobs/\w+\?cause=[^"]+)"', page)))
    assert len(links) > 2
    seen = set()
    for link in links:
        text = client.get(unescape(link)).text
        seen.add(tuple(re.findall(r'class="break-words">([^<]+)', text)))
    assert len(seen) > 2


def test_a_meter_tried_shows_what_it_makes_live(client: TestClient) -> None:
    """A test lamp from line to an open protective conductor livens it, and the page says so."""
    job = open_form(client)
    query = {"a": "Radio desk.L:front", "b": "Radio desk.E:front", "kind": "test lamp"}
    text = said(client.get(f"/jobs/{job}/try", params=query))
    assert "While connected, this makes live" in text
    assert "would hold a hand fast" in text
    sound = open_form(client, BOAT_SHED)
    text = said(client.get(f"/jobs/{sound}/try", params={**query, "cause": "nothing wrong"}))
    assert "the lamp is lit normally" in text
    assert "While connected" not in text


@pytest.mark.parametrize(
    ("sent", "sentence"),
    [
        ({"at": "Sail loft", "pair": "L-N", "shown": "wet", "how": "multimeter"}, 'read "wet"'),
        ({"at": "Sail loft", "pair": "L-N", "shown": "", "how": "multimeter"}, "such as"),
        ({"at": "Moon", "pair": "L-N", "shown": "230"}, 'read "Moon"'),
        ({"at": "Sail loft", "pair": "<b>", "shown": "230"}, "a pair such as L-N"),
        ({"at": "Sail loft", "pair": "L-N", "shown": "230", "how": "nose"}, 'read "nose"'),
        ({"at": "Sail loft", "saw": "sang"}, 'read "sang"'),
        ({"at": "Sail loft", "pair": "L-N", "shown": "9" * 80}, "a number such as"),
        ({"template": "{", "shown": "1"}, "a check as the page offered it"),
    ],
)
def test_a_wrong_entry_is_refused_in_a_sentence(
    client: TestClient, sent: dict[str, str], sentence: str
) -> None:
    """What cannot be read is refused with what was read and what is accepted; nothing is kept."""
    job = open_form(client, BOAT_SHED)
    answer = client.post(f"/jobs/{job}/readings", data=sent)
    assert answer.status_code == 422
    assert sentence in said(answer)
    assert client.get(f"/api/jobs/{job}").json()["readings"] == []


def test_what_was_typed_is_still_there_after_a_refusal(client: TestClient) -> None:
    """The page that refuses an entry shows it again where it was typed."""
    job = open_form(client, BOAT_SHED)
    sent = {"at": "Sail loft", "pair": "N-E", "shown": "23o", "how": "multimeter"}
    page = client.post(f"/jobs/{job}/readings", data=sent).text
    assert 'value="23o"' in page
    assert 'value="N-E" checked' in page


def test_a_double_tap_is_one_reading(client: TestClient) -> None:
    """A form sent twice with its key is kept once."""
    job = open_form(client, BOAT_SHED)
    sent = {"at": "Sail loft", "pair": "L-N", "shown": "230", "key": "tap"}
    for _ in range(3):
        assert client.post(f"/jobs/{job}/readings", data=sent).status_code == 303
    assert len(client.get(f"/api/jobs/{job}").json()["readings"]) == 1


SCRIPT = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>"


def test_a_script_in_a_name_stays_text(client: TestClient) -> None:
    """Markup in a title, a customer, an address, a place or a note is shown, never run."""
    answer = client.post(
        "/jobs", data={"title": SCRIPT, "customer": SCRIPT, "address": SCRIPT, "works": SCRIPT}
    )
    job = job_of(answer)
    wiring = {"title": SCRIPT, "circuits": {"<i>c</i>": {"run": ["<b>one</b>", "two<script>"]}}}
    made = client.put(f"/api/jobs/{job}/wiring", json={"wiring": wiring})
    if made.status_code == 200:
        client.post(f"/jobs/{job}/notes", data={"text": SCRIPT})
    for url in ("/", *(f"/jobs/{job}{tail}" for tail in PAGES)):
        page = client.get(url).text
        assert "<script>alert" not in page
        assert "<img src=x" not in page
        assert "<b>one" not in page


def test_another_site_cannot_post(client: TestClient) -> None:
    """A form on another site's page is refused, whatever the browser says about it."""
    job = open_form(client, BOAT_SHED)
    for headers in (
        {"origin": "https://elsewhere.example"},
        {"origin": "null"},
        {"sec-fetch-site": "cross-site"},
        {"origin": "http://127.0.0.1:9999"},
    ):
        answer = client.post(f"/jobs/{job}/notes", data={"text": "x"}, headers=headers)
        assert answer.status_code == 403
        assert "what is sent from these pages themselves" in said(answer)
    assert client.post(
        f"/jobs/{job}/notes", data={"text": "x"}, headers={"origin": "http://127.0.0.1"}
    ).is_redirect


def test_another_name_for_this_machine_is_not_answered(client: TestClient) -> None:
    """A name pointed at this machine by someone else gets a refusal, not a page."""
    answer = client.get("/", headers={"host": "rebound.example"})
    assert answer.status_code == 421
    assert 'read the address "rebound.example"' in said(answer)


def test_too_much_is_refused(client: TestClient) -> None:
    """Something too large is refused by its size, declared or not, with the limit."""
    big = "x" * 700_000
    answer = client.post("/import", data={"text": big})
    assert answer.status_code == 413
    assert "at most that much" in said(answer)

    def stream() -> Iterator[bytes]:
        for _ in range(90):
            yield b"y" * 10_000

    answer = client.post(
        "/api/jobs", content=stream(), headers={"content-type": "application/json"}
    )
    assert answer.status_code == 413


def test_every_answer_carries_the_strict_headers(client: TestClient) -> None:
    """No answer may load, frame or run anything of another host, and pages are not stored."""
    job = open_form(client)
    for url in ("/", f"/jobs/{job}", "/api/jobs", "/static/pages.css", "/nope", "/api/nope"):
        headers = client.get(url).headers
        assert headers["content-security-policy"] == CONTENT_POLICY
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "same-origin"
        assert headers["cache-control"] in ("no-store", "no-cache")
    assert "unsafe" not in CONTENT_POLICY


def test_no_page_names_another_host_or_runs_inline(client: TestClient) -> None:
    """Nothing in any page points elsewhere, and no page has inline script or style."""
    job = open_form(client)
    urls = ["/", "/new", "/import", "/devices", *(f"/jobs/{job}{tail}" for tail in PAGES),
            f"/jobs/{job}/readings/r1"]  # fmt: skip
    for url in urls:
        text = client.get(url).text
        for link in re.findall(r'(?:src|href|action|hx-get|hx-post)="([^"]*)"', text):
            assert link.startswith(("/", "#", "?")), (url, link)
            assert not link.startswith("//")
        assert not re.search(r"<script(?![^>]*\bsrc=)", text)
        assert " style=" not in text
        assert not re.search(r"\son[a-z]+=", text)


def test_a_page_is_light(client: TestClient) -> None:
    """Everything that the ladder of eight points needs is under 200 kB, unpacked."""
    form = BOAT_SHED.replace("Slip winch]", "Slip winch, Quay, Crane, Gate]") + READINGS
    job = open_form(client, form)
    size = sum(
        len(client.get(url).content)
        for url in (f"/jobs/{job}", "/static/pages.css", "/static/pages.js", "/static/htmx.min.js",
                    "/static/mark.svg")
    )  # fmt: skip
    assert size < 200_000


def test_words_follow_the_region(client: TestClient) -> None:
    """A North American job says ground, receptacle and H–N; a British one earth and L–N."""
    form = """region: na
supply: split phase 120/240 V
circuits: {den: {device: 15 A breaker, legs: L2, run: [40 ft, Den, 10 ft, Patio]}}
readings: [{at: Patio, hot-neutral: 48, by: multimeter}]
"""
    job = open_form(client, form)
    text = said(client.get(f"/jobs/{job}"))
    assert "H–N 48 V" in text
    assert "receptacle" in said(client.get(f"/jobs/{job}/sketch"))
    assert "L–N" not in text


def test_a_job_goes_out_and_comes_back(client: TestClient) -> None:
    """The written form that a job gives opens a job with the same diagnosis."""
    job = open_form(client)
    text = client.get(f"/jobs/{job}/form").text
    again = job_of(client.post("/import", data={"text": text}))
    one, other = (client.get(f"/api/jobs/{j}/diagnosis").json() for j in (job, again))
    assert [(s["says"], s["probability"]) for s in one["suspects"]] == [
        (s["says"], s["probability"]) for s in other["suspects"]
    ]


def test_a_bad_form_is_refused_with_its_lines(client: TestClient) -> None:
    """Every mistake of a form is named with its line, and the form is still there to be mended."""
    answer = client.post("/import", data={"text": "circuits: {a: {run: [Hall]}}\nvoltage: 3\n"})
    assert answer.status_code == 422
    assert "line 2" in said(answer)
    assert "voltage: 3" in answer.text


def test_an_unknown_page_says_so(client: TestClient) -> None:
    """A wrong address, a wrong job and a wrong reading each answer in a sentence."""
    job = open_form(client, BOAT_SHED)
    assert "no page at this address" in said(client.get("/nowhere"))
    assert 'no job "abc"' in said(client.get("/jobs/abc"))
    assert 'no reading "r9"' in said(client.get(f"/jobs/{job}/readings/r9"))
    assert "nothing weighed is called" in said(client.get(f"/jobs/{job}?cause=magic"))


# Sharing


@pytest.fixture
def shared(tmp_path: Path) -> Iterator[tuple[TestClient, Shelf, Sharing]]:
    sharing = Sharing(frozenset({"192.0.2.7"}), "http://192.0.2.7:8642")
    with desk(tmp_path, sharing) as (made, shelf):
        phone = TestClient(
            made.app, base_url="http://192.0.2.7:8642", client=("192.0.2.50", 4000),
            follow_redirects=False,
        )  # fmt: skip
        yield phone, shelf, sharing


def test_a_phone_joins_by_the_secret_and_is_shut_out(
    shared: tuple[TestClient, Shelf, Sharing],
) -> None:
    """Without the secret there is no page; with it there is, until the device is shut out."""
    phone, shelf, sharing = shared
    assert phone.get("/").status_code == 401
    assert phone.get("/api/jobs").status_code == 401
    answer = phone.post("/pair", data={"code": sharing.code, "name": "Bo"})
    assert answer.status_code == 303
    assert "HttpOnly" in answer.headers["set-cookie"]
    assert phone.get("/").status_code == 200
    assert sharing.code not in phone.get("/devices").text
    shelf.devices.revoke(shelf.devices.all()[0].id)
    assert phone.get("/").status_code == 401


def test_what_a_phone_enters_carries_its_name(shared: tuple[TestClient, Shelf, Sharing]) -> None:
    """The name given on joining stands beside what that phone enters."""
    phone, shelf, sharing = shared
    phone.post("/pair", data={"code": sharing.code, "name": "Bo"})
    job = open_form(phone, BOAT_SHED)
    assert shelf.chain(job).events[0].who == "Bo"


def test_guessing_the_secret_is_stopped(shared: tuple[TestClient, Shelf, Sharing]) -> None:
    """After five tries in a minute even the right secret is refused for a while."""
    phone, _, sharing = shared
    for _ in range(5):
        assert phone.post("/pair", data={"code": "wrong"}).status_code == 403
    answer = phone.post("/pair", data={"code": sharing.code})
    assert answer.status_code == 429
    assert "Too many tries" in said(answer)
    assert sharing.may_try("192.0.2.50", time.monotonic() + 61)


def test_a_renewed_secret_shuts_the_old_one(shared: tuple[TestClient, Shelf, Sharing]) -> None:
    """After a new secret is made, the old one lets nobody in."""
    phone, _, sharing = shared
    old = sharing.code
    sharing.renew()
    assert phone.post("/pair", data={"code": old}).status_code == 403


def test_without_sharing_no_other_machine_is_answered(tmp_path: Path) -> None:
    """Unless it was started to be shared, another machine gets a refusal even for joining."""
    with desk(tmp_path) as (made, _):
        other = TestClient(made.app, base_url="http://127.0.0.1", client=("192.0.2.50", 4000))
        answer = other.get("/pair")
        assert answer.status_code == 403
        assert "Only this machine is answered" in said(answer)


def test_what_opens_a_page_without_a_signal_is_served(client: TestClient) -> None:
    """The worker stands over every page, and keeps only what is there to be had."""
    worker = client.get("/sw.js")
    assert worker.headers["content-type"].startswith("text/javascript")
    needed = re.search(r"NEEDED = \[(.*?)\]", worker.text)
    assert needed
    for address in re.findall(r'"(.*?)"', needed[1]):
        assert client.get(address).status_code == 200, address
    page = client.get("/").text
    assert set(re.findall(r'(?:src|href)="(/static/[^"]+)"', page)) <= set(
        re.findall(r'"(.*?)"', needed[1])
    )


def test_the_next_check_may_come_after_the_ladder(client: TestClient) -> None:
    """A browser that runs the script gets the ladder first; without it both come together."""
    job = open_form(client)
    assert "Enter the reading" in said(client.get(f"/jobs/{job}"))
    client.cookies.set("halfsplit-script", "yes")
    first = client.get(f"/jobs/{job}")
    assert f'hx-get="/jobs/{job}/next"' in first.text
    assert "Enter the reading" not in said(first)
    assert "Enter the reading" in said(client.get(f"/jobs/{job}?next=yes"))
