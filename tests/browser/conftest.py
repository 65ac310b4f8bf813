"""A real server on a home with something on every page, and a real browser, once for the whole run."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

HERE = Path(__file__).parent
OUTPUT = HERE.parent.parent / "test-output"
PHONE, DESK = {"width": 390, "height": 844}, {"width": 1280, "height": 900}
PATIENCE_MS = 200_000
#: A busy machine must not fail a page; how long one takes is a matter for benches/.
expect.set_options(timeout=PATIENCE_MS)
CHROMIUMS = ("chromium", "chromium-browser", "google-chrome", "chrome")
#: As root there is no sandbox, and a small /dev/shm must not end the browser.
ARGUMENTS = ["--no-sandbox", "--disable-dev-shm-usage", "--disable-gpu", "--no-first-run", "--hide-scrollbars"]
LAN_NAME = "hangar.local"
#: The name that a telephone would ask the hangar's network for leads to this machine.
ARGUMENTS.append(f"--host-resolver-rules=MAP {LAN_NAME} 127.0.0.1")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Two workers share the pages evenly: the telephone's pages are one half, the desk's and the whole jobs the other.

    Each half has a server of its own, so that neither sees what the other enters.
    """
    for item in items:
        if HERE in item.path.parents:
            half = "telephone" if item.name.startswith("test_page[phone") else "desk"
            item.add_marker(pytest.mark.xdist_group(half))


def chromium() -> str | None:
    installed = (shutil.which(name) for name in CHROMIUMS)
    return os.environ.get("VANEWISE_CHROMIUM") or next(filter(None, installed), None)


@dataclass(frozen=True)
class Site:
    """The served home: its address, and the ids that addresses are made of."""

    address: str
    craft: str
    report: str
    job: str
    run: str
    photo: str
    entry: str
    dusty: str

    def of(self, path: str) -> str:
        return self.address + path.format(**self.__dict__)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    path = chromium()
    if path is None:
        words = "no Chromium is installed here"
        if os.environ.get("VANEWISE_CHECK"):
            pytest.fail(words)
        pytest.skip(words)
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield started
        started.close()


def run_python(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, *arguments], capture_output=True, text=True, timeout=400, check=False)


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory, browser: Browser) -> Iterator[Site]:
    home = tmp_path_factory.mktemp("site") / "home"
    seeded = run_python(str(HERE / "seed_home.py"), str(home))
    assert seeded.returncode == 0, seeded.stderr[-3000:]
    ids: dict[str, Any] = json.loads(seeded.stdout)
    with Served(home) as address:
        yield Site(address=address, **ids)


class Served:
    """``vanewise serve`` as a person starts it, in a process of its own; ended at the end."""

    def __init__(self, home: Path, *words: str, port: int = 8300) -> None:
        self._command = [sys.executable, "-m", "vanewise.web.serve", "--home", str(home), "--port", str(port), *words]
        self._process: subprocess.Popen[str] | None = None

    def __enter__(self) -> str:
        self._process = subprocess.Popen(self._command, stdout=subprocess.PIPE, text=True)
        assert self._process.stdout is not None
        for line in self._process.stdout:
            found = re.search(r"The pages are at (http://127\.0\.0\.1:\d+)", line)
            if found is not None:
                return found[1]
        raise AssertionError("the server ended before it said where its pages are")

    def __exit__(self, *_: object) -> None:
        assert self._process is not None
        self._process.terminate()
        self._process.wait(timeout=20)
        if self._process.stdout is not None:
            self._process.stdout.close()


def new_context(browser: Browser, size: dict[str, int], *, scripts: bool = True) -> BrowserContext:
    context = browser.new_context(
        viewport=size,  # type: ignore[arg-type]
        java_script_enabled=scripts,
        has_touch=size is PHONE,
        is_mobile=size is PHONE,
        reduced_motion="reduce",
    )
    context.set_default_timeout(PATIENCE_MS)
    return context


@pytest.fixture(params=["phone", "desk"])
def page(request: pytest.FixtureRequest, browser: Browser) -> Iterator[Page]:
    """A page at each size, with scripts."""
    context = new_context(browser, PHONE if request.param == "phone" else DESK)
    yield context.new_page()
    context.close()


@pytest.fixture(params=[True, False], ids=["scripts", "no scripts"])
def phone(request: pytest.FixtureRequest, browser: Browser) -> Iterator[Page]:
    """A telephone, with scripts and without."""
    context = new_context(browser, PHONE, scripts=request.param)
    yield context.new_page()
    context.close()


@pytest.fixture
def keep_picture() -> Callable[[Page, str], None]:
    """A whole-page picture for people to look at, under test-output/screens."""

    def keep(page: Page, name: str) -> None:
        folder = OUTPUT / "screens"
        folder.mkdir(parents=True, exist_ok=True)
        width = page.viewport_size["width"] if page.viewport_size else 0
        page.screenshot(path=str(folder / f"{name}-{width}.png"), full_page=True)

    return keep


@pytest.fixture
def telephone(browser: Browser) -> Iterator[Page]:
    context = new_context(browser, PHONE)
    yield context.new_page()
    context.close()


@pytest.fixture
def fresh_site(tmp_path: Path, browser: Browser) -> Iterator[str]:
    """The address of a server on an empty home."""
    with Served(tmp_path / "home") as address:
        yield address
