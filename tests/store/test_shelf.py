"""The store: nothing acknowledged is lost, nothing is kept twice, and a change shows."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from halfsplit.errors import Conflict, NotFound, OutOfRange
from halfsplit.jobs.events import Note
from halfsplit.service import jobs, written
from halfsplit.service.standing import standing
from halfsplit.store.migrations import STEPS, migrate
from halfsplit.store.shelf import Shelf, back_up, open_shelf, restore

WHEN = "2026-03-01T09:00:00+00:00"
WIRING = {"title": "Boat shed", "circuits": {"east wall": {"run": ["Bench", "Shelf", "Winch"]}}}


OTHER = os.environ.get("HALFSPLIT_TEST_DATABASE", "")
"""A database address to try beside SQLite; its tables are thrown away by every test."""


@pytest.fixture(params=["sqlite", *(["other"] if OTHER else [])])
def where(tmp_path: Path, request: pytest.FixtureRequest) -> str:
    """Where an empty store is: a file, or the other database."""
    if request.param == "other":
        emptied(OTHER)
        return OTHER
    return str(tmp_path / "jobs.sqlite")


@pytest.fixture
def shelf(where: str) -> Iterator[Shelf]:
    made = open_shelf(where)
    yield made
    made.close()


def emptied(address: str) -> None:
    """Take away what an earlier test left in a database."""
    from sqlalchemy import create_engine, text

    engine = create_engine(address)
    with engine.begin() as connection:
        for table in ("events", "opened_keys", "devices", "jobs", "shape"):
            connection.execute(text(f"DROP TABLE IF EXISTS {table}"))
    engine.dispose()


def opened(shelf: Shelf, key: str = "") -> str:
    return jobs.open_job(shelf, WIRING, {}, "Ada", WHEN, key)


def test_a_key_sent_twice_is_kept_once(shelf: Shelf) -> None:
    """The same reading under the same key is one event, and answers with the same number."""
    job = opened(shelf, "open-1")
    assert opened(shelf, "open-1") == job
    first = jobs.take(shelf, job, {"at": "Bench", "L-N": "230 V"}, "Ada", WHEN, "k1")
    again = jobs.take(shelf, job, {"at": "Bench", "L-N": "230 V"}, "Ada", WHEN, "k1")
    assert (first, again) == ("r1", "r1")
    assert len(shelf.chain(job)) == 2
    assert shelf.count(job) == 2


def test_a_key_for_something_else_is_refused(shelf: Shelf) -> None:
    """One key cannot stand for two different things; the message says what it stands for."""
    job = opened(shelf)
    jobs.note(shelf, job, "first", "Ada", WHEN, "k1")
    with pytest.raises(Conflict, match='"k1" already stands for event 1'):
        jobs.note(shelf, job, "second", "Ada", WHEN, "k1")
    with pytest.raises(Conflict, match="at most 80"):
        jobs.note(shelf, job, "third", "Ada", WHEN, "k" * 81)


def test_two_people_at_once_lose_nothing(shelf: Shelf) -> None:
    """Four hands entering at the same moment give every reading its own number, in one chain."""
    job = opened(shelf)

    def enter(who: str) -> None:
        for k in range(10):
            jobs.take(shelf, job, {"at": "Shelf", "L-N": f"{220 + k} V"}, who, WHEN, f"{who}-{k}")

    hands = [threading.Thread(target=enter, args=(name,)) for name in ("Ada", "Bo", "Cy", "Di")]
    for hand in hands:
        hand.start()
    for hand in hands:
        hand.join()
    now = standing(shelf.chain(job))
    assert len({kept.id for kept in now.kept}) == len(now.kept) == 40
    assert shelf.check() == ()


WRITER = """
import sys
from halfsplit.service import jobs
from halfsplit.store.shelf import open_shelf
shelf = open_shelf(sys.argv[1])
for k in range(int(sys.argv[3]), 200):
    jobs.note(shelf, sys.argv[2], f"note {k}", "Ada", "2026-03-01T09:00:00+00:00", f"k{k}")
    print(k, flush=True)
"""


def test_what_was_acknowledged_survives_a_kill(where: str) -> None:
    """Killed again and again during 200 writes, every acknowledged one is there, the file sound."""
    shelf = open_shelf(where)
    job = opened(shelf)
    shelf.close()
    said: list[int] = []
    kills = 0
    while not said or said[-1] < 199:
        start = said[-1] + 1 if said else 0
        writer = subprocess.Popen(
            [sys.executable, "-c", WRITER, where, job, str(start)],
            stdout=subprocess.PIPE, text=True,
        )  # fmt: skip
        assert writer.stdout is not None
        for count, line in enumerate(writer.stdout, start=1):
            said.append(int(line))
            if count == 45:
                time.sleep(0.003 * kills)
                writer.send_signal(signal.SIGKILL)
                kills += 1
                break
        said += [int(line) for line in writer.stdout.read().split()]
        writer.wait()
        writer.stdout.close()
    shelf = open_shelf(where)
    kept = {e.happening.text for e in shelf.chain(job) if isinstance(e.happening, Note)}
    assert kept >= {f"note {k}" for k in said}
    assert kills >= 3
    assert shelf.check() == ()
    shelf.close()


def test_a_changed_byte_is_found(tmp_path: Path) -> None:
    """One digit changed in the file behind the program's back is named with its event."""
    path = tmp_path / "jobs.sqlite"
    shelf = open_shelf(path)
    job = opened(shelf)
    jobs.take(shelf, job, {"at": "Bench", "L-N": "231 V"}, "Ada", WHEN)
    shelf.close()
    file = sqlite3.connect(path)
    file.execute("UPDATE events SET line = replace(line, '231 V', '131 V')")
    file.commit()
    file.close()
    shelf = open_shelf(path)
    found = shelf.check()
    shelf.close()
    assert len(found) == 1
    assert f"job {job}: event 1: read" in found[0]


def test_a_copy_is_made_in_use_and_put_back(tmp_path: Path) -> None:
    """A copy taken while the store is open holds all; put back, it keeps what was there."""
    path, copy = tmp_path / "jobs.sqlite", tmp_path / "out" / "copy.sqlite"
    shelf = open_shelf(path)
    job = opened(shelf)
    back_up(path, copy)
    jobs.note(shelf, job, "after the copy", "Ada", WHEN)
    shelf.close()
    with pytest.raises(Conflict, match="is there already; name a new file"):
        back_up(path, copy)
    restore(copy, path)
    shelf = open_shelf(path)
    assert len(shelf.chain(job)) == 1
    shelf.close()
    kept = [p for p in tmp_path.iterdir() if ".before-" in p.name]
    assert kept


def test_a_copy_that_is_not_there_harms_nothing(tmp_path: Path) -> None:
    """Putting back a copy that does not exist says so and leaves the store where it was."""
    path = tmp_path / "jobs.sqlite"
    shelf = open_shelf(path)
    job = opened(shelf)
    shelf.close()
    with pytest.raises(NotFound, match="is not there"):
        restore(tmp_path / "nothing.sqlite", path)
    shelf = open_shelf(path)
    assert len(shelf.chain(job)) == 1
    shelf.close()


def test_the_shape_is_made_once(shelf: Shelf) -> None:
    """Steps already taken are not taken again."""
    with shelf.engine.connect() as connection:
        assert migrate(connection) == 0


def test_a_newer_store_is_refused(tmp_path: Path) -> None:
    """A store that a newer program made is left alone, with the remedy."""
    path = tmp_path / "jobs.sqlite"
    open_shelf(path).close()
    file = sqlite3.connect(path)
    file.execute("INSERT INTO shape (step, says) VALUES (99, 'later')")
    file.commit()
    file.close()
    with pytest.raises(OutOfRange, match="use the newer one"):
        open_shelf(path)


def test_the_shape_is_plain_sql() -> None:
    """Nothing in the steps is SQLite's alone, so that PostgreSQL takes them too."""
    text = " ".join(statement for _, statements in STEPS for statement in statements).upper()
    for word in ("AUTOINCREMENT", "PRAGMA", "ROWID", "IFNULL", "REPLACE INTO", "STRICT"):
        assert word not in text


def test_an_unknown_job_is_named(shelf: Shelf) -> None:
    """Asking for a job that is not there says which, and where to look."""
    with pytest.raises(NotFound, match='no job "nope"; look it up in the list of jobs'):
        shelf.chain("nope")
    with pytest.raises(NotFound, match='no job "nope"'):
        jobs.note(shelf, "nope", "words", "Ada", WHEN)


def test_jobs_are_found_by_any_of_their_words(shelf: Shelf) -> None:
    """Title, customer and address are searched together, whatever the case; away is apart."""
    job = jobs.open_job(shelf, WIRING, {}, "Ada", WHEN, customer="Harbour office", address="4 Quay")
    assert [card.id for card in shelf.cards("quay BOAT")] == [job]
    assert shelf.cards("quay farm") == ()
    shelf.put_away(job, True)
    assert shelf.cards() == ()
    assert [card.id for card in shelf.cards(away=True)] == [job]


def test_a_correction_keeps_what_was_said(shelf: Shelf) -> None:
    """A reading corrected or taken out stays in the record with its author; the rest counts."""
    job = opened(shelf)
    id = jobs.take(shelf, job, {"at": "Bench", "L-N": "23 V"}, "Ada", WHEN)
    jobs.correct(shelf, job, id, {"at": "Bench", "L-N": "230 V"}, "slip", "Bo", WHEN)
    kept = standing(shelf.chain(job)).kept_of(id)
    assert kept.written["L-N"] == "230 V"
    assert kept.before[0]["L-N"] == "23 V"
    assert kept.who == "Bo"
    jobs.withdraw(shelf, job, id, "wrong place", "Ada", WHEN)
    now = standing(shelf.chain(job))
    assert now.readings == ()
    assert now.kept_of(id).withdrawn


def test_readings_follow_a_renamed_place_and_undo_brings_both_back(shelf: Shelf) -> None:
    """Renaming a place renames it in the readings; undo restores the sketch and the readings."""
    job = opened(shelf)
    jobs.take(shelf, job, {"from": "Bench N", "to": "Shelf N", "reads": "3 V"}, "Ada", WHEN)
    wiring = {**WIRING, "circuits": {"east wall": {"run": ["Saw", "Shelf", "Winch"]}}}
    jobs.sketch(shelf, job, wiring, {"Bench": "Saw"}, "", "Ada", WHEN)
    now = standing(shelf.chain(job))
    assert now.kept[0].written["from"] == "Saw N"
    assert written.understand_record(now).unplaced == ()
    assert jobs.undo(shelf, job, "Ada", WHEN)
    now = standing(shelf.chain(job))
    assert now.kept[0].written["from"] == "Bench N"
    assert now.wiring == WIRING
    assert not jobs.undo(shelf, job, "Ada", WHEN)


def test_a_reading_without_its_place_waits(shelf: Shelf) -> None:
    """When the sketch loses a place, its reading is set aside with the reason, not lost."""
    job = opened(shelf)
    jobs.take(shelf, job, {"at": "Winch", "L-N": "230 V"}, "Ada", WHEN)
    jobs.take(shelf, job, {"at": "Bench", "L-N": "231 V"}, "Ada", WHEN)
    wiring = {**WIRING, "circuits": {"east wall": {"run": ["Bench", "Shelf"]}}}
    jobs.sketch(shelf, job, wiring, {}, "", "Ada", WHEN)
    found = written.understand_record(standing(shelf.chain(job)))
    assert [id for id, _ in found.unplaced] == ["r1"]
    assert found.unplaced[0][1].read == "Winch"
    assert len(found.job.readings) == 1
