"""What a server loads by name: the application on the store that the settings name."""

from __future__ import annotations

from urllib.parse import urlsplit

from fastapi import FastAPI

from halfsplit.bootstrap import open_store, prepare
from halfsplit.web.app import make_app
from halfsplit.web.guard import Sharing


def application() -> FastAPI:
    """The application as the environment describes it."""
    settings = prepare()
    shelf = open_store(settings)
    sharing = None
    if settings.share:
        name = urlsplit(settings.share).hostname or ""
        sharing = Sharing(frozenset({name}), settings.share)
        if settings.secret:
            sharing.code = settings.secret
    return make_app(shelf, shelf.devices, sharing)
