"""The requirement files: hashes, no address, one version of a package everywhere, and every need in them."""

from __future__ import annotations

import re
import sys
import tomllib
from pathlib import Path

import pytest

from tools import lock as locking

ROOT = Path(__file__).resolve().parents[2]
LOCKS = tuple(lock.path for lock in locking.LOCKS)
PIN = re.compile(r"^(?P<name>[a-z0-9][a-z0-9._-]*)==(?P<version>[^ ;\\]+)(?: ; (?P<marker>[^\\]+?))? \\$")
HASH = re.compile(r"^    --hash=sha256:[0-9a-f]{64}(?: \\)?$")


def text(path: str) -> str:
    return (ROOT / path).read_text(encoding="utf-8")


def pins(path: str) -> dict[str, str]:
    return {found["name"]: found["version"] for line in text(path).splitlines() if (found := PIN.match(line))}


def name_of(requirement: str) -> str:
    return re.split(r"[<>=!~;\[ ]", requirement, maxsplit=1)[0].lower().replace("_", "-")


@pytest.mark.parametrize("path", LOCKS)
def test_a_lock_holds_pins_and_hashes_and_nothing_else(path: str):
    lines = text(path).splitlines()
    assert lines
    for line in lines:
        assert PIN.match(line) or HASH.match(line), f"{path}: {line!r} is neither a pin nor a hash"


@pytest.mark.parametrize("path", LOCKS)
def test_a_lock_names_no_place(path: str):
    for sign in ("://", "file:", "--index", "--extra-index", "--find-links", "--trusted-host", " @ ", "/"):
        assert sign not in text(path), f"{path} holds {sign!r}"


@pytest.mark.parametrize("path", LOCKS)
def test_every_pin_has_a_hash(path: str):
    lines = text(path).splitlines()
    for line, following in zip(lines, [*lines[1:], ""], strict=True):
        if PIN.match(line):
            assert HASH.match(following), f"{path}: {line}"


@pytest.mark.parametrize("path", LOCKS)
def test_one_version_of_a_package_in_a_lock(path: str):
    names = [found["name"] for line in text(path).splitlines() if (found := PIN.match(line))]
    assert sorted(names) == sorted(set(names)), "one lock serves every Python, so nothing may be split by version"


def test_locks_installed_together_agree():
    runtime, fast, dev = (pins(path) for path in LOCKS[:3])
    for one, other in ((runtime, fast), (runtime, dev), (fast, dev)):
        assert {name: one[name] for name in one.keys() & other.keys()} == {
            name: other[name] for name in one.keys() & other.keys()
        }


def test_every_need_of_the_project_is_locked():
    data = tomllib.loads(text("pyproject.toml"))
    runtime, fast, dev = (pins(path) for path in LOCKS[:3])
    needs = [*data["project"]["dependencies"], *data["dependency-groups"]["build"], *data["build-system"]["requires"]]
    assert {name_of(need) for need in needs} <= runtime.keys()
    optional = data["project"]["optional-dependencies"]
    assert {name_of(need) for need in optional["fast"]} <= fast.keys()
    assert {name_of(need) for extra in ("heic", "tls") for need in optional[extra]} <= runtime.keys()
    tested = [*data["dependency-groups"]["dev"], *optional["cluster"]]
    assert {name_of(need) for need in tested} <= dev.keys() | runtime.keys()


def test_numba_is_only_where_it_may_be_missing():
    for path in (LOCKS[0], LOCKS[2]):
        assert not {"numba", "llvmlite"} & pins(path).keys()


def test_reference_libraries_stay_out_of_the_project():
    needs = {line.split("#")[0].strip().lower() for line in text("oracles/requirements.in").splitlines()} - {""}
    assert needs <= pins(LOCKS[3]).keys()
    assert not needs & (pins(LOCKS[0]).keys() | pins(LOCKS[1]).keys() | pins(LOCKS[2]).keys())


@pytest.mark.parametrize("lock", locking.LOCKS, ids=LOCKS)
def test_locks_are_written_without_an_address(lock: locking.Lock):
    call = locking.command(lock, upgrade=False)
    assert {"--generate-hashes", "--no-header", "--no-annotate", "--universal"} <= set(call)
    assert not any("index" in word or "find-links" in word for word in call)


def test_every_import_of_the_package_is_a_declared_need():
    """An import that works only because something else happens to need it breaks on another day."""
    import ast

    data = tomllib.loads(text("pyproject.toml"))["project"]
    optional = [need for extra in ("fast", "heic", "tls", "cluster") for need in data["optional-dependencies"][extra]]
    needs = {name_of(need) for need in [*data["dependencies"], *optional]}
    of_module = {"PIL": "pillow", "argon2": "argon2-cffi", "llvmlite": "numba", "pi_heif": "pi-heif"}
    for file in (ROOT / "src" / "vanewise").rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) and node.level == 0 else []
            for name in names:
                top = name.split(".")[0]
                if top in sys.stdlib_module_names or top == "vanewise":
                    continue
                assert of_module.get(top, top) in needs, f"{file.relative_to(ROOT)} imports {name}"
