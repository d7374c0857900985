"""Devices that joined by the pairing secret: only a hash of each device's token is kept."""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from typing import TYPE_CHECKING

from halfsplit.errors import NotFound

if TYPE_CHECKING:
    from sqlalchemy import Engine


@dataclass(frozen=True, slots=True)
class Device:
    """A phone or computer that joined, and the name its person gave."""

    id: str
    name: str
    joined: str
    revoked: bool


class Devices:
    """The devices that may use the pages over the network."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine

    def join(self, name: str, when: str) -> str:
        """Let a device in; the token it must show from now on."""
        from sqlalchemy import text

        token = secrets.token_urlsafe(32)
        with self.engine.connect() as connection, connection.begin():
            connection.execute(
                text(
                    "INSERT INTO devices (id, name, token, joined, revoked) "
                    "VALUES (:id, :name, :token, :when, 0)"
                ),
                {"id": secrets.token_hex(5), "name": name[:60], "token": _hash(token),
                 "when": when},
            )  # fmt: skip
        return token

    def known(self, token: str) -> Device | None:
        """The device that shows this token, None when it is not let in (any more)."""
        from sqlalchemy import text

        with self.engine.connect() as connection:
            row = connection.execute(
                text("SELECT id, name, joined, revoked FROM devices WHERE token = :token"),
                {"token": _hash(token)},
            ).first()
        if row is None or row[3]:
            return None
        return Device(row[0], row[1], row[2], False)

    def all(self) -> tuple[Device, ...]:
        """Every device that ever joined, newest first."""
        from sqlalchemy import text

        with self.engine.connect() as connection:
            rows = connection.execute(
                text("SELECT id, name, joined, revoked FROM devices ORDER BY joined DESC, id")
            ).all()
        return tuple(Device(row[0], row[1], row[2], bool(row[3])) for row in rows)

    def revoke(self, id: str) -> None:
        """Shut a device out. Raises: NotFound."""
        from sqlalchemy import text

        with self.engine.connect() as connection, connection.begin():
            done = connection.execute(
                text("UPDATE devices SET revoked = 1 WHERE id = :id"), {"id": id}
            ).rowcount
        if not done:
            raise NotFound(f'no device "{id[:40]}"; look it up in the list of devices')


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
