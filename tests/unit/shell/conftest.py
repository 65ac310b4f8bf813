"""A home folder for each test: Django is set up once, and each test gets a copy of an empty, migrated database.

The append-only triggers stay in force, so nothing is ever flushed between tests; the file is put back instead.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from vanewise.store.home import Home
from vanewise.store.settings import configure, migrate


@pytest.fixture(scope="session")
def _empty(tmp_path_factory: pytest.TempPathFactory) -> tuple[Home, Path]:
    folder = tmp_path_factory.mktemp("home")
    home = configure(folder, hosts=["testserver"])
    migrate()
    _close()
    template = folder.parent / "empty.sqlite3"
    shutil.copy(home.database, template)
    return home, template


def _close() -> None:
    from django.db import connections

    connections.close_all()


@pytest.fixture
def home(_empty: tuple[Home, Path]) -> Iterator[Home]:
    place, template = _empty
    _put_back(place, template)
    yield place
    _put_back(place, template)


def _put_back(place: Home, template: Path) -> None:
    _close()
    for suffix in ("-wal", "-shm"):
        place.database.with_name(place.database.name + suffix).unlink(missing_ok=True)
    shutil.copy(template, place.database)
    for folder in (place.files, place.backups):
        shutil.rmtree(folder)
        folder.mkdir(mode=0o700)


@pytest.fixture
def empty_again(home: Home, _empty: tuple[Home, Path]) -> Callable[[], None]:
    """Call it to make the home an empty one, as on another machine."""
    return lambda: _put_back(*_empty)
