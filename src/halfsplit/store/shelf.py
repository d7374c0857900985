"""The shelf: jobs and their events in one database, written whole or not at all."""

from __future__ import annotations

import secrets
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from halfsplit.errors import Conflict, NotFound, OutOfRange
from halfsplit.jobs.chain import Chain, from_line, to_line, verify_lines
from halfsplit.service.jobs import Build, Card, Step
from halfsplit.store.devices import Devices
from halfsplit.store.migrations import STEPS, migrate

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine

_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"
_CARD = "id, title, customer, address, region, opened, changed, events, away"
LONGEST_KEY = 80


def new_id(length: int = 8) -> str:
    """A fresh id that can be read aloud: no letter is taken for another."""
    return "".join(secrets.choice(_LETTERS) for _ in range(length))


class Shelf:
    """Keeps jobs behind a SQLAlchemy engine; see ``service.jobs.Records`` for what is promised."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine
        with engine.connect() as connection:
            migrate(connection)
        self.devices = Devices(engine)

    @contextmanager
    def _write(self) -> Iterator[Connection]:
        """One transaction that nobody else writes beside; committed on leaving."""
        from sqlalchemy import text

        with self.engine.connect() as connection:
            if self.engine.dialect.name == "sqlite":
                connection.exec_driver_sql("BEGIN IMMEDIATE")
            else:
                connection.execute(text("LOCK TABLE jobs IN EXCLUSIVE MODE"))
            try:
                yield connection
            except BaseException:
                connection.rollback()
                raise
            connection.commit()

    def _rows(self, connection: Connection, sql: str, **given: Any) -> list[Any]:
        from sqlalchemy import text

        return list(connection.execute(text(sql), given))

    def _all(self, sql: str, **given: Any) -> list[Any]:
        with self.engine.connect() as connection:
            return self._rows(connection, sql, **given)

    def _do(self, connection: Connection, sql: str, **given: Any) -> int:
        from sqlalchemy import text

        return int(connection.execute(text(sql), given).rowcount)

    def cards(self, search: str = "", away: bool = False) -> tuple[Card, ...]:
        """Jobs whose title, customer or address holds the words searched for, newest first."""
        rows = self._all(
            f"SELECT {_CARD} FROM jobs WHERE away = :away ORDER BY changed DESC, id LIMIT 2000",
            away=int(away),
        )
        words = search.casefold().split()
        found = (_card(row) for row in rows)
        return tuple(
            card
            for card in found
            if all(
                word in f"{card.title} {card.customer} {card.address}".casefold() for word in words
            )
        )

    def card(self, job: str) -> Card:
        """One job's card. Raises: NotFound."""
        rows = self._all(f"SELECT {_CARD} FROM jobs WHERE id = :job", job=_id(job))
        if not rows:
            raise NotFound(f'no job "{job[:40]}"; look it up in the list of jobs')
        return _card(rows[0])

    def count(self, job: str) -> int:
        """How many events a job has. Raises: NotFound."""
        return self.card(job).events

    def lines(self, job: str) -> tuple[str, ...]:
        """A job's events exactly as stored, oldest first. Raises: NotFound."""
        with self.engine.connect() as connection:
            return self._lines(connection, job)

    def _lines(self, connection: Connection, job: str) -> tuple[str, ...]:
        rows = self._rows(
            connection, "SELECT line FROM events WHERE job = :job ORDER BY seq", job=_id(job)
        )
        if not rows:
            raise NotFound(f'no job "{job[:40]}"; look it up in the list of jobs')
        return tuple(row[0] for row in rows)

    def chain(self, job: str) -> Chain:
        """One job's events. Raises: NotFound; BadInput when a stored line was changed."""
        return _chain(self.lines(job))

    def create(self, card: Card, steps: Sequence[Step], who: str, when: str) -> str:
        """A new job with its first events; the id it has (an earlier one for a key seen before)."""
        key = _key(steps[0].key)
        with self._write() as connection:
            if key:
                known = self._rows(
                    connection, "SELECT job FROM opened_keys WHERE sent_key = :key", key=key
                )
                if known:
                    return str(known[0][0])
            job = new_id()
            self._do(
                connection,
                f"INSERT INTO jobs ({_CARD}) VALUES (:id, :title, :customer, :address, :region, "
                ":opened, :changed, 0, 0)",
                id=job, title=_text(card.title), customer=_text(card.customer),
                address=_text(card.address),
                region=card.region, opened=when, changed=when,
            )  # fmt: skip
            if key:
                self._do(
                    connection, "INSERT INTO opened_keys (sent_key, job) VALUES (:key, :job)",
                    key=key, job=job,
                )  # fmt: skip
            self._append(connection, job, Chain(), steps, who, when)
        return job

    def add(self, job: str, build: Build, who: str, when: str) -> Chain:
        """The chain with what ``build`` gives added, each once however often its key is sent."""
        with self._write() as connection:
            chain = _chain(self._lines(connection, job))
            return self._append(connection, job, chain, build(chain), who, when)

    def _append(
        self, connection: Connection, job: str, chain: Chain, steps: Sequence[Step], who: str,
        when: str,
    ) -> Chain:  # fmt: skip
        before = len(chain)
        for step in steps:
            chain = chain.add(step.happening, who, when, _key(step.key))
        for event in chain.events[before:]:
            self._do(
                connection,
                "INSERT INTO events (job, seq, sent_key, line) VALUES (:job, :seq, :key, :line)",
                job=job, seq=event.seq, key=event.key or None, line=to_line(event),
            )  # fmt: skip
        if len(chain) > before:
            self._do(
                connection,
                "UPDATE jobs SET changed = :when, events = :events WHERE id = :job",
                when=when, events=len(chain), job=job,
            )  # fmt: skip
        return chain

    def describe(self, job: str, title: str, customer: str, address: str) -> None:
        """Change what the list shows of a job. Raises: NotFound."""
        with self._write() as connection:
            done = self._do(
                connection,
                "UPDATE jobs SET title = :title, customer = :customer, address = :address "
                "WHERE id = :job",
                title=_text(title), customer=_text(customer), address=_text(address),
                job=_id(job),
            )  # fmt: skip
        if not done:
            raise NotFound(f'no job "{job[:40]}"; look it up in the list of jobs')

    def put_away(self, job: str, away: bool) -> None:
        """Put a job away, or bring it back. Raises: NotFound."""
        with self._write() as connection:
            done = self._do(
                connection,
                "UPDATE jobs SET away = :away WHERE id = :job",
                away=int(away),
                job=_id(job),
            )
        if not done:
            raise NotFound(f'no job "{job[:40]}"; look it up in the list of jobs')

    def check(self) -> tuple[str, ...]:
        """What is wrong with the store, in sentences: the file itself, then every chain."""
        found = []
        with self.engine.connect() as connection:
            if self.engine.dialect.name == "sqlite":
                said = connection.exec_driver_sql("PRAGMA integrity_check").scalar_one()
                if said != "ok":
                    found.append(f"the database file: {said}")
            jobs = [row[0] for row in self._rows(connection, "SELECT id FROM jobs ORDER BY id")]
            for job in jobs:
                problems = verify_lines(self._lines(connection, job))
                found += [f"job {job}: {problem.sentence()}" for problem in problems]
        return tuple(found)

    def close(self) -> None:
        """Let go of every connection."""
        self.engine.dispose()


def _id(job: str) -> str:
    """A job's id as it may stand in a question to the database; "" for what cannot be one."""
    return job if job.isascii() and job.isalnum() else ""


def _text(words: str) -> str:
    """Words as every database keeps them: without end marks."""
    return words.replace("\x00", "")


def _key(key: str) -> str:
    if len(key) > LONGEST_KEY:
        raise Conflict(f"a key of {len(key)} characters; send one of at most {LONGEST_KEY}")
    return key


def _chain(lines: Sequence[str]) -> Chain:
    return Chain(tuple(_event(line, f"event {k}") for k, line in enumerate(lines)))


_event = lru_cache(maxsize=5_000)(from_line)
"""Events never change, so that each stored line is read once."""


def _card(row: Any) -> Card:
    id, title, customer, address, region, opened, changed, events, away = row
    return Card(id, title, customer, address, region, opened, changed, int(events), bool(away))


def open_shelf(where: str | Path) -> Shelf:
    """The shelf in a file (made when missing), or behind a database address with "://".

    Raises: OutOfRange when a newer program has been at the store.
    """
    from sqlalchemy import create_engine, event, text

    address = str(where)
    if "://" not in address:
        Path(address).expanduser().parent.mkdir(parents=True, exist_ok=True)
        address = f"sqlite:///{Path(address).expanduser()}"
    sqlite = address.startswith("sqlite")
    engine = create_engine(address, connect_args={"timeout": 30} if sqlite else {})
    if sqlite:
        event.listen(engine, "connect", _prepare)
        event.listen(engine, "begin", lambda connection: None)
    shelf = Shelf(engine)
    with engine.connect() as connection:
        taken = connection.execute(text("SELECT count(*) FROM shape")).scalar_one()
    if taken > len(STEPS):
        raise OutOfRange(
            f"the store has {taken} steps and this program knows {len(STEPS)}: use the newer one"
        )
    return shelf


def _prepare(connection: Any, _: object) -> None:
    connection.isolation_level = None  # transactions are begun by this program, never implied
    cursor = connection.cursor()
    cursor.execute("PRAGMA journal_mode = WAL")
    cursor.execute("PRAGMA synchronous = FULL")  # what was acknowledged is on the disk
    cursor.execute("PRAGMA foreign_keys = ON")
    cursor.close()


def back_up(store: Path, to: Path) -> None:
    """Copy a store that may be in use into one file, and check the copy.

    Raises: NotFound when there is no store; Conflict when the copy is there already, or not sound.
    """
    _copy(store, to, "the store")


def restore(copy: Path, store: Path) -> None:
    """Put a copy back where the store was; an existing store is kept beside it, renamed.

    The copy is read and checked first: a bad one changes nothing.
    Raises: NotFound when there is no copy; Conflict when it is not sound.
    """
    fresh = store.with_name(f"{store.name}.new-{new_id(6)}")
    try:
        _copy(copy, fresh, "the copy")
    except BaseException:
        fresh.unlink(missing_ok=True)
        raise
    if store.exists():
        kept = store.with_name(f"{store.name}.before-{new_id(6)}")
        for tail in ("-wal", "-shm", ""):
            beside = store.with_name(store.name + tail)
            if beside.exists():
                beside.rename(kept.with_name(kept.name + tail))
    for tail in ("-wal", "-shm"):
        fresh.with_name(fresh.name + tail).unlink(missing_ok=True)
    fresh.rename(store)


def _copy(source: Path, target: Path, what: str) -> None:
    import sqlite3

    if not source.is_file():
        raise NotFound(f"{what} {source} is not there; name the file that serve or backup made")
    if target.exists():
        raise Conflict(f"{target} is there already; name a new file")
    target.parent.mkdir(parents=True, exist_ok=True)
    reading = sqlite3.connect(f"file:{source}?mode=ro", uri=True)
    writing = sqlite3.connect(target)
    try:
        reading.backup(writing)
    finally:
        reading.close()
        writing.close()
    shelf = open_shelf(target)
    try:
        wrong = shelf.check()
    finally:
        shelf.close()
    if wrong:
        raise Conflict(f"the copy is not sound: {wrong[0]}")
