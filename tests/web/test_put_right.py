"""Putting right over the pages and the JSON interface: entered once, judged at once, not early."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pypdf
import pytest
from fastapi.testclient import TestClient

from halfsplit.form import read_job
from halfsplit.form.lines import layout
from halfsplit.service.proving import proof_object, prove_job
from halfsplit.service.record import verify_record
from halfsplit.service.testsheet import ANSWERS
from halfsplit.store.shelf import Shelf
from tests.report.jobs import PRINT_ROOM
from tests.web.desk import desk, open_form

AFTER = ("mend", "tests after", "seen")
FOUND = {key: value for key, value in PRINT_ROOM.items() if key not in AFTER}
SHOWN = {"insulation": ">299", "trip time": "24", "loop": "0.86"}


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    """The pages without a browser."""
    with desk(tmp_path) as (found, _):
        yield found


@pytest.fixture
def shelf(tmp_path: Path) -> Iterator[tuple[TestClient, Shelf]]:
    """The pages and what they are kept in."""
    with desk(tmp_path) as both:
        yield both


def proof(client: TestClient, job: str) -> dict[str, Any]:
    found: dict[str, Any] = client.get(f"/api/jobs/{job}/proof").json()
    return found


def mended(client: TestClient, **more: Any) -> str:
    """A job whose neutral joint was remade."""
    job = open_form(client, layout(FOUND | more))
    mend = {"did": "remade the joint", "at": "Folder", "joint": "N"}
    assert client.post(f"/api/jobs/{job}/mends", json={"written": mend}).status_code == 201
    return job


def well(test: dict[str, Any]) -> dict[str, Any]:
    """What a good result of a test is, as the page sends it."""
    if test["test"] in ANSWERS and test["test"] != "trip time":
        return {"seen": ANSWERS[test["test"]][0][0]}
    shown = SHOWN.get(test["test"]) or f"{test['expected']['value']:.2f}"
    return {"shown": shown} | ({"by": "insulation 500"} if test["test"] == "insulation" else {})


def prove_all(client: TestClient, job: str, stages: tuple[str, ...]) -> None:
    for test in proof(client, job)["tests"]:
        if test["stage"] in stages and test["outcome"] == "missing":
            sent = {"test": test["id"]} | well(test)
            assert client.post(f"/api/jobs/{job}/tests", json=sent).status_code == 201, test["id"]


def test_a_suspect_mended_is_proved_to_the_end(client: TestClient) -> None:
    """From a suspect to proved, and the interface gives the very object of the command line."""
    job = open_form(client, layout(FOUND))
    causes = client.get(f"/api/jobs/{job}/parts").json()["causes"]
    cause = next(c["id"] for c in causes if "joint Folder N" in c["id"])
    client.post(f"/api/jobs/{job}/mends", json={"cause": cause})
    assert proof(client, job)["next"] == "dead at east"
    prove_all(client, job, ("dead",))
    assert proof(client, job)["may_energise"]
    prove_all(client, job, ("live", "function"))
    made = proof(client, job)
    assert (made["standing"], made["next"], made["blocks"]) == ("proved", None, [])
    form = read_job(client.get(f"/jobs/{job}/form").text, "job")
    alone = proof_object(form, prove_job(form))
    assert {key: made[key] for key in alone} == alone


def test_a_live_result_is_refused_before_the_dead_ones(client: TestClient) -> None:
    """By the page, by the interface, by a written entry: refused with what comes first."""
    job = mended(client)
    early = {"test": "loop L-E at Guillotine", "shown": "0.86"}
    for path, body in (
        (f"/api/jobs/{job}/tests", {"json": early}),
        (f"/api/jobs/{job}/tests", {"json": {"written": {"at": "Folder", "works": "yes"}}}),
        (f"/jobs/{job}/prove/tests", {"data": early}),
    ):
        answer = client.post(path, **body)
        assert answer.status_code == 422
        assert "East isolated, locked off and proved dead: not tested" in answer.text
    assert 'name="shown"' in client.get(f"/jobs/{job}/prove").text
    assert proof(client, job)["after"].get("tests after") is None


def test_an_open_item_stands_in_the_way_until_it_is_closed(client: TestClient) -> None:
    """A core lifted blocks energising after every dead test; closed, it blocks no more."""
    job = mended(client)
    sent = {"kind": "lifted", "what": "N", "where": "Board"}
    item = client.post(f"/api/jobs/{job}/open-items", json=sent).json()["id"]
    prove_all(client, job, ("dead",))
    assert proof(client, job)["blocks"] == ["still open: N lifted at Board"]
    assert "Close what is still open" in client.get(f"/jobs/{job}/prove").text
    assert client.delete(f"/api/jobs/{job}/open-items/{item}").status_code == 200
    assert proof(client, job)["may_energise"]
    assert client.delete(f"/api/jobs/{job}/open-items/{item}").status_code == 404


def test_a_result_is_kept_once_and_a_second_needs_a_reason(client: TestClient) -> None:
    """The same key is one result; another one without a reason is refused, with one it counts."""
    job = mended(client)
    one = {"test": "continuity L+E at Folder", "shown": "0.62"}
    for _ in range(2):
        answer = client.post(f"/api/jobs/{job}/tests", json=one, headers={"Idempotency-Key": "a"})
        assert (answer.status_code, answer.json()["outcome"]) == (201, "fail")
    assert len(proof(client, job)["after"]["tests after"]) == 1
    other = one | {"shown": "0.38"}
    refused = client.post(f"/api/jobs/{job}/tests", json=other)
    assert refused.status_code == 422
    assert "why it is taken again" in refused.text
    answer = client.post(f"/api/jobs/{job}/tests", json=other | {"again": "joint tightened"})
    assert answer.json()["outcome"] == "pass"
    assert len(proof(client, job)["retired"]) == 1
    said = "R1+R2 at Folder 0.62 Ω: taken again, joint tightened"
    assert said in client.get(f"/jobs/{job}/prove").text


def test_a_mend_taken_out_takes_no_failure_with_it(client: TestClient) -> None:
    """Withdrawing the mend that called for a failed test does not clear the circuit for use."""
    job = mended(client)
    bad = {"test": "continuity L+E at Folder", "shown": "0.9"}
    assert client.post(f"/api/jobs/{job}/tests", json=bad).json()["outcome"] == "fail"
    prove_all(client, job, ("dead",))
    assert not proof(client, job)["may_energise"]
    client.delete(f"/api/jobs/{job}/mends/m1?why=not+so")
    assert not proof(client, job)["may_energise"]
    other = {"written": {"did": "switched on", "at": "Press", "nothing": "yes"}}
    assert client.post(f"/api/jobs/{job}/mends", json=other).json()["id"] == "m2"
    again = proof(client, job)
    assert not again["may_energise"]
    assert any("failed" in text for text in again["blocks"]) or again["standing"] == "not proved"


def test_what_was_kept_and_sent_later_is_said_without_disturbing_what_is_typed(
    client: TestClient,
) -> None:
    """The browser's own sign that it has sent something asks for a line that leads to the verdict,
    not for the page in which somebody may be typing."""
    job = mended(client)
    assert 'hx-trigger="halfsplit:sent from:document"' in client.get(f"/jobs/{job}/prove").text
    answer = client.get(f"/jobs/{job}/prove", headers={"HX-Request": "true"})
    assert f'<a href="/jobs/{job}/prove">Show the verdict</a>' in answer.text
    assert "<form" not in answer.text


@pytest.mark.parametrize(
    ("path", "body", "said"),
    [
        ("tests", {"test": "loop L-E at Nowhere", "shown": "1"}, "no test"),
        ("tests", {"test": "continuity L+E at Folder", "shown": "wet"}, 'read "wet"'),
        ("mends", {"written": {"did": "x", "at": "Attic"}}, 'read "Attic"'),
        ("mends", {"cause": "gremlins"}, "nothing weighed is called"),
        ("open-items", {"kind": "gap", "what": "N", "where": "Board"}, "link, lifted, bridge"),
        ("seen", {"written": {"what": "x", "class": "C9"}}, 'read "C9"'),
    ],
)
def test_what_cannot_be_read_is_refused_in_a_sentence(
    client: TestClient, path: str, body: dict[str, Any], said: str
) -> None:
    """What was read and what would have been taken; nothing is kept."""
    job = mended(client)
    before = client.get(f"/api/jobs/{job}").json()["seq"]
    answer = client.post(f"/api/jobs/{job}/{path}", json=body)
    assert answer.status_code in (404, 422)
    assert said in answer.json()["problems"][0]["says"]
    assert client.get(f"/api/jobs/{job}").json()["seq"] == before


def test_how_it_is_left_and_what_was_seen_reach_the_record(client: TestClient) -> None:
    """Typed on the page, superseded whole, said to the customer; an entry taken out is gone."""
    job = mended(client)
    for told in ("nobody", "the owner\nthe tenant"):
        client.post(f"/jobs/{job}/leave", data={
            "why": "no device in the van", "isolated": ["east", ""], "locked": "padlock",
            "told": told, "do not use": "Guillotine",
        })  # fmt: skip
    client.post(f"/jobs/{job}/leave/seen", data={"what": "cover cracked", "class": "C2"})
    client.post(f"/jobs/{job}/leave/seen", data={"what": "a slip", "class": "C3", "at": "Press"})
    entry = proof(client, job)["after"]["seen"][1]
    assert entry["at"] == "Press"
    out = {"list": "seen", "id": entry["id"], "why": "not so"}
    assert client.post(f"/jobs/{job}/prove/take-out", data=out).status_code == 303
    text = " ".join(client.get(f"/jobs/{job}/record.txt").text.split())
    for said in ("Do not use: Guillotine.", "the owner, the tenant", "padlock",
                 "Leave east off and locked", "put right soon: cover cracked"):  # fmt: skip
        assert said in text
    assert "nobody" not in text.split("Who and when")[0]
    assert "a slip" not in text.split("Who and when")[0]


def test_a_place_renamed_takes_its_mend_and_tests_along(client: TestClient) -> None:
    """Results follow a place to its new name, and back when that is undone."""
    job = mended(client)
    prove_all(client, job, ("dead",))
    wiring = client.get(f"/api/jobs/{job}").json()["wiring"]
    east = wiring["circuits"]["east"]
    run = ["Bindery" if part == "Folder" else part for part in east["run"]]
    changed = wiring | {"circuits": {"east": east | {"run": run}}}
    sent = {"wiring": changed, "renamed": {"Folder": "Bindery"}}
    assert client.put(f"/api/jobs/{job}/wiring", json=sent).status_code == 200
    moved = proof(client, job)
    assert moved["may_energise"]
    assert "continuity L+E at Bindery" in [t["id"] for t in moved["tests"] if t["results"]]
    client.post(f"/api/jobs/{job}/undo")
    back = proof(client, job)
    assert back["may_energise"]
    assert back["unplaced"] == []


def test_an_entry_without_a_place_is_set_aside_and_said(client: TestClient) -> None:
    """A place taken out of the sketch: its results are kept, not counted, and named."""
    job = mended(client)
    prove_all(client, job, ("dead",))
    wiring = client.get(f"/api/jobs/{job}").json()["wiring"]
    short = wiring | {"circuits": {"east": {"run": ["12 m", "Press"]}}}
    client.put(f"/api/jobs/{job}/wiring", json={"wiring": short})
    lost = [item["id"] for item in proof(client, job)["unplaced"]]
    assert "m1" in lost
    assert "has no place in the sketch" in client.get(f"/jobs/{job}/prove").text
    assert "not counted: " in " ".join(client.get(f"/jobs/{job}/record.txt").text.split())


def test_a_written_form_brings_its_mend_in_and_takes_it_out_again(client: TestClient) -> None:
    """Import, one more result, export: the same proof, with the result in it."""
    job = open_form(client, layout(PRINT_ROOM))
    assert proof(client, job)["standing"] == "proved"
    again = {"test": "continuity L+E at Folder", "shown": "0.39", "again": "to be sure"}
    assert client.post(f"/api/jobs/{job}/tests", json=again).status_code == 201
    text = client.get(f"/jobs/{job}/form").text
    other = proof(client, open_form(client, text))
    assert other["standing"] == "proved"
    assert [t["shown"] for t in other["retired"]] == ["0.38 Ω"]
    assert "mend" not in client.get(f"/api/jobs/{job}").json()["wiring"]


def test_the_record_is_sealed_and_one_byte_changed_shows(
    shelf: tuple[TestClient, Shelf],
) -> None:
    """The seal on the paper holds for the history; a changed byte, or another seal, does not."""
    client, _ = shelf
    job = mended(client)
    paper = client.get(f"/jobs/{job}/record.pdf?paper=letter")
    opened = pypdf.PdfReader(io.BytesIO(paper.content))
    assert round(opened.pages[0].mediabox.width) == 612
    seal = client.get(f"/api/jobs/{job}/record").json()["seal"]
    text = "".join("".join(page.extract_text().split()) for page in opened.pages)
    assert seal in text
    client.post(f"/jobs/{job}/record/handed-over", data={"to": "the owner"})
    events = client.get(f"/api/jobs/{job}/events").json()["events"]
    assert events[-1]["data"]["carries"] == seal
    lines = client.get(f"/jobs/{job}/history").content
    assert verify_record(lines, seal) == ()
    for at in range(0, len(lines), 211):
        changed = lines[:at] + bytes([lines[at] ^ 1]) + lines[at + 1 :]
        assert verify_record(changed, seal), at
    assert client.get(f"/api/jobs/{job}/verify?seal={seal}").json()["holds"]
    assert not client.get(f"/api/jobs/{job}/verify?seal={'0' * 64}").json()["holds"]
    assert "The seal holds" in client.get(f"/jobs/{job}/record?seal={seal}").text


def test_every_address_is_in_the_description_of_the_interface(client: TestClient) -> None:
    """OpenAPI lists what the pages do after the mend."""
    paths = client.get("/api/openapi.json").json()["paths"]
    for name in ("proof", "parts", "mends", "tests", "open-items", "left-safe", "seen", "record",
                 "record.pdf", "record/handed-over", "history", "verify"):  # fmt: skip
        assert f"/api/jobs/{{job}}/{name}" in paths


def test_a_job_without_a_circuit_says_so(client: TestClient) -> None:
    """Nothing sketched: the pages send to the sketch, the interface says what is missing."""
    job = client.post("/api/jobs", json={"title": "Empty"}).json()["id"]
    for page in ("prove", "leave", "record"):
        answer = client.get(f"/jobs/{job}/{page}")
        assert answer.status_code == 200
        assert "No circuit yet" in answer.text
    assert client.get(f"/api/jobs/{job}/proof").status_code == 422


def test_danger_is_the_first_line_here_too(client: TestClient) -> None:
    """A tingle reported and not answered: isolate first, on every page of the mend."""
    readings = [*FOUND["readings"], {"at": "Press", "tingle": "case"}]
    job = mended(client, readings=readings)
    for page in ("prove", "leave", "record"):
        assert "Isolate first. Keep people away." in client.get(f"/jobs/{job}/{page}").text


def test_for_whom_and_where_stands_on_the_customers_page(client: TestClient) -> None:
    """Customer and address as the list of jobs has them; a job without them says nothing of it."""
    job = mended(client)
    assert "Address" not in client.get(f"/jobs/{job}/record.txt").text
    sent = {"title": "Print room", "customer": "N. Owner", "address": "2 Quay Lane"}
    assert client.put(f"/api/jobs/{job}/details", json=sent).status_code == 200
    text = client.get(f"/jobs/{job}/record.txt").text.split("What was wrong")[0]
    assert "N. Owner" in text
    assert "2 Quay Lane" in text


def test_a_live_failure_says_to_switch_off_and_can_be_taken_again(client: TestClient) -> None:
    """The loop fails: off again, in words, and the same test may be made once it is put right."""
    job = mended(client)
    prove_all(client, job, ("dead",))
    bad = {"test": "loop L-E at Guillotine", "shown": "4.4"}
    assert client.post(f"/api/jobs/{job}/tests", json=bad).json()["outcome"] == "fail"
    now = proof(client, job)
    assert (now["may_energise"], now["before_live"]) == (False, [])
    assert "Switch it off again" in client.get(f"/jobs/{job}/prove").text
    again = bad | {"shown": "0.86", "again": "terminal tightened"}
    assert client.post(f"/api/jobs/{job}/tests", json=again).json()["outcome"] == "pass"
    assert proof(client, job)["may_energise"]
