"""The documents hang together: every link leads somewhere, and every page can be reached from the first one."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
LINK = re.compile(r"\[[^\]]*\]\(([^)\s]+)\)")
FENCED = re.compile(r"```.*?```", re.DOTALL)
FIRST = ROOT / "README.md"


def pages() -> list[Path]:
    folders = ("docs", "benches", "oracles", "tests")
    return [*sorted(ROOT.glob("*.md")), *(path for name in folders for path in sorted((ROOT / name).rglob("*.md")))]


def links(page: Path) -> Iterator[tuple[str, Path]]:
    """Links of a page to other files of the project, as written and as meant."""
    for target in LINK.findall(FENCED.sub("", page.read_text(encoding="utf-8"))):
        if "://" not in target and not target.startswith(("#", "mailto:")):
            yield target, (page.parent / target.split("#")[0]).resolve()


@pytest.mark.parametrize("page", pages(), ids=lambda page: str(page.relative_to(ROOT)))
def test_every_link_leads_somewhere(page: Path):
    assert [written for written, meant in links(page) if not meant.exists()] == []


def test_every_page_of_the_docs_can_be_reached_from_the_readme():
    seen, waiting = set(), [FIRST]
    while waiting:
        page = waiting.pop()
        if page in seen or page.suffix != ".md" or not page.exists():
            continue
        seen.add(page)
        waiting += [meant for _, meant in links(page)]
    lost = [str(page.relative_to(ROOT)) for page in sorted((ROOT / "docs").rglob("*.md")) if page not in seen]
    assert lost == [], "link them from docs/README.md or from the index of their folder"


def test_every_oracle_set_is_held_against_something():
    """A set of answers that no test asks for proves nothing."""
    named = {
        name
        for path in (ROOT / "oracles").glob("case_*.py")
        for name in re.findall(r'@oracle_set\(\s*"([a-z_]+)"', path.read_text(encoding="utf-8"))
    }
    asked = {
        name
        for path in (ROOT / "tests").rglob("test_*.py")
        for name in re.findall(r'oracle\("([a-z_]+)"\)', path.read_text(encoding="utf-8"))
    }
    assert named
    assert named <= asked
    assert asked <= named
