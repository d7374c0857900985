"""Who may use the pages, and what every answer carries. One place, before anything else is asked.

By default only this machine is answered. When shared, other machines need a token that they get by
the pairing secret; wrong secrets are counted and soon refused.
"""

from __future__ import annotations

import hmac
import ipaddress
import secrets
from collections import deque
from collections.abc import Awaitable, Callable, MutableMapping
from dataclasses import dataclass, field
from html import escape
from http.cookies import SimpleCookie
from typing import Any, Protocol

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

LARGEST = 600_000
COOKIE = "halfsplit-device"
TRIES, WITHIN = 5, 60.0
_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"
CONTENT_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
    "connect-src 'self'; worker-src 'self'; font-src 'self'; manifest-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS: tuple[tuple[bytes, bytes], ...] = (
    (b"content-security-policy", CONTENT_POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"same-origin"),
    (b"x-frame-options", b"DENY"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), microphone=(), geolocation=(), payment=(), usb=()"),
)


class Known(Protocol):
    """A device that joined."""

    @property
    def id(self) -> str:
        """Its number."""

    @property
    def name(self) -> str:
        """What its person called it."""

    @property
    def joined(self) -> str:
        """When it joined."""

    @property
    def revoked(self) -> bool:
        """Whether it was shut out."""


class Pairing(Protocol):
    """The devices that joined, as the store keeps them."""

    def join(self, name: str, when: str) -> str:
        """Let a device in; its token."""

    def known(self, token: str) -> Known | None:
        """The device of a token."""

    def all(self) -> tuple[Known, ...]:
        """Every device."""

    def revoke(self, id: str) -> None:
        """Shut a device out."""


def new_code() -> str:
    """A fresh pairing secret, in letters that can be read aloud: 50 bits."""
    return "".join(secrets.choice(_LETTERS) for _ in range(10))


@dataclass(slots=True)
class Sharing:
    """Sharing with phones on the same network: the secret, and tries counted by address.

    ``hosts`` are this machine's own names and addresses besides the loopback ones.
    """

    hosts: frozenset[str]
    address: str
    code: str = field(default_factory=new_code)
    tries: dict[str, deque[float]] = field(default_factory=dict)

    def may_try(self, who: str, now: float) -> bool:
        """Whether that address, and all together, have tries left; counts this one."""
        for name, most in ((who, TRIES), ("everyone", TRIES * 6)):
            seen = self.tries.setdefault(name, deque())
            while seen and now - seen[0] > WITHIN:
                seen.popleft()
            if len(seen) >= most:
                return False
        for name in (who, "everyone"):
            self.tries[name].append(now)
        if len(self.tries) > 1000:
            self.tries = {"everyone": self.tries["everyone"]}
        return True

    def right(self, given: str) -> bool:
        """Whether the secret given is the one, compared in constant time."""
        clean = "".join(given.split()).casefold().replace("-", "")
        return hmac.compare_digest(clean.encode(), self.code.encode())

    def renew(self) -> None:
        """A new secret; the old one lets nobody in any more."""
        self.code = new_code()


class Guard:
    """Refuses by a sentence what is too big, from another site, for another name, or not let in."""

    def __init__(self, app: App, devices: Pairing, sharing: Sharing | None) -> None:
        self.app, self.devices, self.sharing = app, devices, sharing
        self.hosts = {"localhost", "127.0.0.1", "::1"} | (sharing.hosts if sharing else set())

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = {name.decode("latin-1"): value.decode("latin-1")
                   for name, value in scope["headers"]}  # fmt: skip
        refused = self._refusal(scope, headers)
        if refused is not None:
            await _refuse(scope, send, *refused)
            return
        seen = 0

        async def counted() -> MutableMapping[str, Any]:
            nonlocal seen
            message = await receive()
            seen += len(message.get("body", b""))
            if seen > LARGEST:
                raise TooMuch
            return message

        started = False

        async def dressed(message: MutableMapping[str, Any]) -> None:
            nonlocal started
            if seen > LARGEST:  # whatever was made of it, the answer is that it was too much
                if not started:
                    started = True
                    await _refuse(scope, send, 413, _TOO_MUCH)
                return
            if message["type"] == "http.response.start":
                started = True
                present = {name for name, _ in message["headers"]}
                more = [pair for pair in HEADERS if pair[0] not in present]
                if b"cache-control" not in present:
                    more.append((b"cache-control", b"no-store"))
                message = {**message, "headers": [*message["headers"], *more]}
            await send(message)

        try:
            await self.app(scope, counted, dressed)
        except TooMuch:
            if not started:
                await _refuse(scope, send, 413, _TOO_MUCH)

    def _refusal(self, scope: Scope, headers: dict[str, str]) -> tuple[int, str] | None:
        host = headers.get("host", "")
        if _name(host) not in self.hosts:
            return 421, (
                f'read the address "{host[:60]}"; accepted: the address that was printed when the '
                "program started."
            )
        if scope["method"] not in ("GET", "HEAD", "OPTIONS"):
            refused = _from_elsewhere(scope, headers, host)
            if refused:
                return 403, refused
        size = headers.get("content-length", "0")
        if not size.isdigit() or int(size) > LARGEST:
            return 413, _TOO_MUCH
        if self._let_in(scope, headers):
            return None
        if self.sharing is None:
            return 403, "Only this machine is answered. Start with --share to let a phone join."
        return 401, (
            "This device has not joined yet. Open /pair and enter the pairing secret that was "
            "printed when the program started."
        )

    def _let_in(self, scope: Scope, headers: dict[str, str]) -> bool:
        client = scope.get("client")
        if client is None or _is_here(client[0]):
            return True
        if self.sharing is None:
            return False
        path = scope["path"]
        if path in ("/pair", "/sw.js", "/no-signal") or path.startswith("/static/"):
            return True
        device = self.devices.known(cookie_of(headers.get("cookie", "")))
        if device is not None:
            scope.setdefault("state", {})["device"] = device.name
        return device is not None


class TooMuch(Exception):
    """More was sent than is accepted."""


_TOO_MUCH = f"read more than {LARGEST // 1000} kB; accepted: at most that much in one go."


def cookie_of(header: str) -> str:
    """The device token in a cookie header, "" without one."""
    try:
        found = SimpleCookie(header).get(COOKIE)
    except Exception:
        return ""
    return found.value if found else ""


def _name(host: str) -> str:
    """A host without its port: "[::1]:8000" is "::1"."""
    if host.startswith("["):
        return host[1:].partition("]")[0]
    return host.partition(":")[0].casefold()


def _is_here(address: str) -> bool:
    try:
        return ipaddress.ip_address(address).is_loopback
    except ValueError:
        return address in ("testclient", "localhost")


def _from_elsewhere(scope: Scope, headers: dict[str, str], host: str) -> str:
    """The refusal of something sent by another site's page, "" when it is our own."""
    origin = headers.get("origin")
    site = headers.get("sec-fetch-site", "same-origin")
    ours = origin is None or origin.partition("://")[2] == host
    if ours and site in ("same-origin", "none"):
        return ""
    return (
        f'read something sent from "{escape((origin or site)[:60])}"; accepted: what is sent from '
        "these pages themselves."
    )


async def _refuse(scope: Scope, send: Send, status: int, sentence: str) -> None:
    wants_json = scope["path"].startswith("/api")
    if wants_json:
        text = '{"problems": [' + _quoted(sentence) + "]}"
        kind = b"application/json"
    else:
        text = (
            '<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" '
            'content="width=device-width"><title>halfsplit</title>'
            '<link rel="stylesheet" href="/static/pages.css"><main class="plain"><h1>Not done</h1>'
            f"<p>{escape(sentence)}</p></main></html>"
        )
        kind = b"text/html; charset=utf-8"
    body = text.encode()
    await send({
        "type": "http.response.start", "status": status,
        "headers": [(b"content-type", kind), (b"content-length", str(len(body)).encode()),
                    (b"cache-control", b"no-store"), *HEADERS],
    })  # fmt: skip
    await send({"type": "http.response.body", "body": body})


def _quoted(text: str) -> str:
    import json

    return json.dumps(text)
