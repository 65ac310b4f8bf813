"""The pages as a WSGI application, for the server and for tests. Call ``store.settings.configure`` first."""

from __future__ import annotations

from functools import cache
from typing import Any


@cache
def application() -> Any:
    """One application for the life of the process."""
    from django.core.handlers.wsgi import WSGIHandler

    return WSGIHandler()
