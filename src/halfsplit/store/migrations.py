"""The shape of the store, in steps. A step and the note that it was taken share a transaction."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlalchemy import Connection

STEPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "jobs, their events, and devices that may join",
        (
            """CREATE TABLE jobs (
                id VARCHAR(16) PRIMARY KEY, title TEXT NOT NULL, customer TEXT NOT NULL,
                address TEXT NOT NULL, region VARCHAR(8) NOT NULL, opened VARCHAR(40) NOT NULL,
                changed VARCHAR(40) NOT NULL, events INTEGER NOT NULL, away INTEGER NOT NULL
            )""",
            """CREATE TABLE events (
                job VARCHAR(16) NOT NULL REFERENCES jobs (id), seq INTEGER NOT NULL,
                sent_key VARCHAR(80), line TEXT NOT NULL,
                PRIMARY KEY (job, seq), UNIQUE (job, sent_key)
            )""",
            """CREATE TABLE opened_keys (
                sent_key VARCHAR(80) PRIMARY KEY, job VARCHAR(16) NOT NULL REFERENCES jobs (id)
            )""",
            """CREATE TABLE devices (
                id VARCHAR(16) PRIMARY KEY, name TEXT NOT NULL, token VARCHAR(64) NOT NULL UNIQUE,
                joined VARCHAR(40) NOT NULL, revoked INTEGER NOT NULL
            )""",
        ),
    ),
)
"""Plain SQL that SQLite and PostgreSQL both take. A step is never changed, only followed."""


def migrate(connection: Connection) -> int:
    """Take every step not yet taken; how many were. Each is whole or not at all."""
    from sqlalchemy import text

    with connection.begin():
        connection.execute(
            text("CREATE TABLE IF NOT EXISTS shape (step INTEGER PRIMARY KEY, says TEXT NOT NULL)")
        )
        taken = connection.execute(text("SELECT count(*) FROM shape")).scalar_one()
    for number, (says, statements) in enumerate(STEPS[taken:], start=taken + 1):
        with connection.begin():
            for statement in statements:
                connection.execute(text(statement))
            connection.execute(
                text("INSERT INTO shape (step, says) VALUES (:step, :says)"),
                {"step": number, "says": says},
            )
    return len(STEPS) - int(taken)
