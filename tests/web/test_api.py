"""The JSON interface: everything that the pages do, refused in sentences, never failing."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from tests.web import fuzz
from tests.web.desk import BOAT_SHED, READINGS, desk, open_form


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    with desk(tmp_path) as (made, _):
        yield made


def test_made_up_calls_never_break_it(tmp_path: Path) -> None:
    """A few hundred calls made up from the interface's own document: no failure, always words."""
    answers, bad = fuzz.run(tmp_path, 250, seed=20260301)
    assert bad == []
    assert answers[422] > 20
    assert answers[200] + answers[201] > 60


def test_a_job_from_start_to_answer(client: TestClient) -> None:
    """Open, draw, read, correct, diagnose, try, undo: each by JSON, the record complete."""
    job = client.post("/api/jobs", json={"title": "Mill"}).json()["id"]
    assert client.get(f"/api/jobs/{job}/diagnosis").status_code == 422
    made = client.post(f"/api/jobs/{job}/circuits", json={"pattern": "run", "count": 3})
    assert made.status_code == 201
    key = {"Idempotency-Key": "one"}
    entry = {"written": {"at": "Point 3", "L-N": "0.4 V", "by": "multimeter"}}
    first = client.post(f"/api/jobs/{job}/readings", json=entry, headers=key)
    again = client.post(f"/api/jobs/{job}/readings", json=entry, headers=key)
    assert first.json() == again.json() == {"id": "r1"}
    changed = {"written": {"at": "Point 3", "L-N": "4 V", "by": "multimeter"}, "why": "misread"}
    assert client.put(f"/api/jobs/{job}/readings/r1", json=changed).status_code == 200
    found = client.get(f"/api/jobs/{job}/diagnosis").json()
    assert found["halfsplit"] == "1"
    total = sum(s["probability"] for s in found["suspects"]) + found["none_of_these"]
    assert 0.9 < total < 1.0001  # what is believed least is left out of the list
    assert found["next"]
    tried = client.post(
        f"/api/jobs/{job}/try", json={"a": "Point 1.L:front", "b": "Point 1.N:front"}
    ).json()
    assert tried["shows"].endswith("V")
    assert client.post(f"/api/jobs/{job}/undo").json() == {"done": True}
    events = client.get(f"/api/jobs/{job}/events").json()
    assert events["problems"] == []
    kinds = [e["kind"] for e in events["events"]]
    assert kinds == ["job opened", "form set", "reading taken", "reading corrected", "form set"]


def test_the_interface_and_the_form_say_the_same(client: TestClient) -> None:
    """A kept job and the same form diagnosed without keeping give the same suspects."""
    job = open_form(client)
    kept = client.get(f"/api/jobs/{job}/diagnosis").json()
    loose = client.post("/api/diagnose", json={"form": BOAT_SHED + READINGS}).json()
    assert [s["says"] for s in kept["suspects"]] == [s["says"] for s in loose["suspects"]]


def test_a_refusal_names_what_was_read(client: TestClient) -> None:
    """A refused reading says where, what was read and what is accepted, and nothing is kept."""
    job = open_form(client, BOAT_SHED)
    entry = {"written": {"at": "Sail loft", "L-N": "many"}}
    answer = client.post(f"/api/jobs/{job}/readings", json=entry)
    assert answer.status_code == 422
    problem = answer.json()["problems"][0]
    assert problem["read"] == "many"
    assert problem["where"] == "L-N"
    assert "a voltage such as" in problem["accepted"]


@pytest.mark.parametrize("text", ['"a\\u0000b"', '"half \\ud83d"'])
def test_what_no_database_keeps_is_no_text(client: TestClient, text: str) -> None:
    """An end mark or half of a character is refused by a sentence wherever text is sent."""
    job, kind = open_form(client, BOAT_SHED), {"content-type": "application/json"}
    for method, address, body in (
        ("POST", "/api/jobs", f'{{"title": {text}}}'),
        ("PUT", f"/api/jobs/{job}/details", f'{{"title": {text}}}'),
        ("PUT", f"/api/jobs/{job}/wiring", f'{{"wiring": {{"title": {text}}}}}'),
        ("POST", f"/api/jobs/{job}/readings", f'{{"written": {{{text}: "1"}}}}'),
    ):
        answer = client.request(method, address, content=body.encode(), headers=kind)
        assert answer.status_code == 422, (method, address)
        assert "text without end marks or half characters" in answer.json()["problems"][0]["says"]
    assert client.get("/jobs/%00").status_code == 404


@pytest.mark.parametrize(
    ("address", "body"),
    [("/api/jobs", {"title": 3}), ("/api/jobs", {"surprise": 1}), ("/api/diagnose", {"form": []})],
)
def test_the_wrong_kind_is_refused(client: TestClient, address: str, body: object) -> None:
    """A number for words, a name nobody knows, a list for a form: where, what was read, why not."""
    answer = client.post(address, json=body)
    assert answer.status_code == 422
    said = answer.json()["problems"][0]["says"]
    assert "read" in said
    assert "accepted" in said


def test_the_ladder_has_its_path_and_its_divider(client: TestClient) -> None:
    """What the page draws and tells of the current is in the interface too."""
    found = client.get(f"/api/jobs/{open_form(client)}/ladder").json()
    assert {"L", "N", "E"} >= {leg["key"] for path in found["paths"] for leg in path["legs"]}
    assert found["dividers"][0]["gives"] == pytest.approx(found["dividers"][0]["solved"], rel=0.1)
    assert found["suspects"][0]["all"]


def test_every_call_is_described(client: TestClient) -> None:
    """Each address of the document has a summary, and what it takes is described in words."""
    document = client.get("/api/openapi.json").json()
    for path, methods in document["paths"].items():
        for method, what in methods.items():
            assert what.get("summary"), (method, path)
            assert what.get("description"), (method, path)
    for name, schema in document["components"]["schemas"].items():
        if name not in ("HTTPValidationError", "ValidationError"):
            assert schema.get("description"), name
