"""A home folder for each test: Django is set up once, and each test gets a copy of an empty, migrated database.

The append-only triggers stay in force, so nothing is ever flushed between tests; the whole database is put back
instead. With ``VANEWISE_TEST_URL`` set, the same tests run on that PostgreSQL (see test_store_on_postgresql.py).
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from django.test import Client

from vanewise.store.home import Home
from vanewise.store.settings import configure, migrate

URL = os.environ.get("VANEWISE_TEST_URL")


class Empty:
    """An empty home that can be put back as it was."""

    def __init__(self, folder: Path) -> None:
        self.home = configure(folder, URL, hosts=["testserver"])
        migrate()
        self._close()
        self._template = folder.parent / "empty.sqlite3"
        if URL:
            self._admin("CREATE DATABASE empty TEMPLATE work")
        else:
            shutil.copy(self.home.database, self._template)

    def put_back(self) -> None:
        self._close()
        if URL:
            self._admin("DROP DATABASE IF EXISTS work WITH (FORCE)", "CREATE DATABASE work TEMPLATE empty")
        else:
            for suffix in ("-wal", "-shm"):
                self.home.database.with_name(self.home.database.name + suffix).unlink(missing_ok=True)
            shutil.copy(self._template, self.home.database)
        for folder in (self.home.files, self.home.backups):
            shutil.rmtree(folder)
            folder.mkdir(mode=0o700)

    def _close(self) -> None:
        from django.db import connections

        connections.close_all()

    def _admin(self, *statements: str) -> None:
        import psycopg

        assert URL
        with psycopg.connect(URL.replace("/work", "/postgres"), autocommit=True) as connection:
            for statement in statements:
                connection.execute(statement.encode())


@pytest.fixture(scope="session")
def _empty(tmp_path_factory: pytest.TempPathFactory) -> Empty:
    return Empty(tmp_path_factory.mktemp("home"))


@pytest.fixture
def home(_empty: Empty) -> Home:
    """An empty home. It is put back before each test, so a failed one leaves its own to be looked at."""
    _empty.put_back()
    return _empty.home


@pytest.fixture
def empty_again(home: Home, _empty: Empty) -> Callable[[], None]:
    """Call it to make the home an empty one, as on another machine."""
    return _empty.put_back


@pytest.fixture
def client(home: Home) -> Client:
    """A browser without scripts: forms, links and cookies only."""
    return Client()
