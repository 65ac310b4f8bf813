"""Write the reference pages from the code, or check that they are up to date.

    python -m tools.docs            write docs/reference
    python -m tools.docs --check    exit 1 and say which pages differ

Each file in tools/reference describes one subject: a function ``pages()`` that gives the pages by file name. A new
subject is a new file there; nothing has to be registered.
"""

from __future__ import annotations

import importlib
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
SUBJECTS = ROOT / "tools" / "reference"
PAGES = ROOT / "docs" / "reference"
NOTE = "<!-- Made from the code by `python -m tools.docs`: change the code, not this page. -->"


def all_pages() -> dict[str, str]:
    """Every reference page by file name, the index among them."""
    sys.path[:0] = [str(ROOT / "src"), str(ROOT)]
    pages: dict[str, str] = {}
    for path in sorted(SUBJECTS.glob("*.py")):
        if path.stem.startswith("_"):
            continue
        for name, text in importlib.import_module(f"tools.reference.{path.stem}").pages().items():
            if name in pages:
                raise SystemExit(f"tools/reference/{path.name}: {name} is already made by another subject")
            pages[name] = text if name.endswith(".json") else f"{NOTE}\n\n{text.strip()}\n"
    pages["README.md"] = f"{NOTE}\n\n{_index(pages)}\n"
    return pages


def _index(pages: dict[str, str]) -> str:
    links = [f"- [{_title(name, text)}]({name})" for name, text in sorted(pages.items())]
    return "\n".join(["# Reference", "", "Made from the code, so that it says what the program does.", "", *links])


def _title(name: str, text: str) -> str:
    return next((line[2:].strip() for line in text.split("\n") if line.startswith("# ")), name)


def differing(pages: dict[str, str]) -> Iterator[str]:
    """Names of pages that are not on disk as they would be written, or that nothing makes any more."""
    for name, text in sorted(pages.items()):
        path = PAGES / name
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            yield name
    yield from (path.name for path in sorted(PAGES.glob("*")) if path.is_file() and path.name not in pages)


def main(words: list[str]) -> int:
    """Write or check. Exit code 0 done, 1 pages differ, 2 a word that is not known."""
    if words not in ([], ["--check"]):
        print(f"tools.docs: expected nothing or --check, found {' '.join(words)}")
        return 2
    pages = all_pages()
    wrong = list(differing(pages))
    if words:
        for name in wrong:
            print(f"docs/reference/{name} does not say what the code does: run  python -m tools.docs")
        return 1 if wrong else 0
    PAGES.mkdir(parents=True, exist_ok=True)
    for name in wrong:
        if name in pages:
            (PAGES / name).write_text(pages[name], encoding="utf-8")
        else:
            (PAGES / name).unlink()
    print(f"{len(pages)} pages, {len(wrong)} changed")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
