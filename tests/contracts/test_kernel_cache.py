"""The compiled kernel's cache: an edit is never answered by old code, and no folder has to be writable but one."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from vanewise.network import kernel_available
from vanewise.network.numba_cache import SOURCES, cache_digest

PACKAGE = Path(__file__).resolve().parents[2] / "src" / "vanewise"

pytestmark = pytest.mark.skipif(not kernel_available(), reason="numba is not installed")


ONE_ANSWER = """
from vanewise.aircraft.layouts import make
from vanewise.network import OperatingPoint, pack, solve, gauge_ports
packed = pack(make("suction-one-pump"))
answer = solve(packed, OperatingPoint(engine_rpm=1000.0), engine="kernel")
high, low = gauge_ports(packed.description)
print(answer.pressure_pa[high] - answer.pressure_pa[low])
"""


def run(code: str, source: Path, **environment: str) -> str:
    """What a fresh Python prints, with the package taken from ``source``."""
    inherited = {key: value for key, value in os.environ.items() if key not in ("NUMBA_CACHE_DIR", "PYTHONPATH")}
    done = subprocess.run(
        [sys.executable, "-c", code],
        env={**inherited, "PYTHONPATH": str(source), **environment},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def copied(tmp_path: Path) -> Path:
    shutil.copytree(PACKAGE, tmp_path / "src" / "vanewise", ignore=shutil.ignore_patterns("__pycache__", "static"))
    return tmp_path / "src"


def test_every_file_that_ends_up_in_the_kernel_is_in_the_digest():
    """The kernel's own files and what they import from the package: all but plain data types, the numpy twin and
    who may run Python meanwhile."""
    for name in SOURCES:
        assert (PACKAGE / name).is_file(), name
    python_alone = ("numba_cache", "oracle", "problem", "turns", "types")
    not_compiled = {f"network/{name}.py" for name in python_alone}
    kernels = [name for name in SOURCES if "compiled" in name or "lanes" in name]
    assert len(kernels) == len(list((PACKAGE / "network").glob("compiled*.py"))) + 1
    for kernel in kernels:
        for line in (PACKAGE / kernel).read_text(encoding="utf-8").splitlines():
            if line.startswith("from vanewise.network import "):
                modules = [
                    word.strip() for word in line.removeprefix("from vanewise.network import ").split("#")[0].split(",")
                ]
                names = {f"network/{module.split(' as ')[0]}.py" for module in modules}
            elif line.startswith("from vanewise."):
                names = {line.split()[1].removeprefix("vanewise.").replace(".", "/") + ".py"}
            else:
                continue
            assert names <= {*SOURCES, *not_compiled}, line


@pytest.mark.parametrize("name", SOURCES)
def test_an_edit_of_any_source_gives_another_folder(name: str, tmp_path: Path):
    source = copied(tmp_path) / "vanewise"
    before = cache_digest(source)
    assert before == cache_digest(PACKAGE)
    with (source / name).open("a", encoding="utf-8") as file:
        file.write("\n# edited\n")
    assert cache_digest(source) != before


ONE_LINE_KERNEL = """
from vanewise.network import law_constants as c, numba_cache
import numba

@numba.njit("float64(float64)", cache=True)
def answer(x):
    return x * c.LOG10_E
"""


def test_an_edited_constant_of_an_imported_module_changes_the_answer(tmp_path: Path):
    """The trap: numba looks at the file it compiles, not at what that file imports.

    A kernel of one line stands in for ours, which takes a minute to compile; `make long` does the same with ours.
    """
    cache = {"XDG_CACHE_HOME": str(tmp_path / "cache"), "LOCALAPPDATA": str(tmp_path / "cache")}
    source = copied(tmp_path)
    (source / "vanewise" / "network" / "compiled.py").write_text(ONE_LINE_KERNEL, encoding="utf-8")
    code = "from vanewise.network import compiled; print(compiled.answer(1.0))"
    assert float(run(code, source, **cache)) == 0.4342944819032518
    constants = source / "vanewise" / "network" / "law_constants.py"
    text = constants.read_text(encoding="utf-8")
    edited = text.replace("LOG10_E: Final = 0.4342944819032518", "LOG10_E: Final = 0.25")
    assert edited != text
    constants.write_text(edited, encoding="utf-8")
    assert float(run(code, source, **cache)) == 0.25
    assert len(list((tmp_path / "cache").rglob("kernel-*"))) == 2


@pytest.mark.long
def test_an_edited_constant_changes_the_answer_of_the_whole_kernel(tmp_path: Path):
    """The same with the kernel itself."""
    cache = {"XDG_CACHE_HOME": str(tmp_path / "cache"), "LOCALAPPDATA": str(tmp_path / "cache")}
    source = copied(tmp_path)
    before = float(run(ONE_ANSWER, source, **cache))
    constants = source / "vanewise" / "network" / "law_constants.py"
    text = constants.read_text(encoding="utf-8")
    edited = text.replace("LOG10_E: Final = 0.4342944819032518", "LOG10_E: Final = 0.2171472409516259")
    assert edited != text
    constants.write_text(edited, encoding="utf-8")
    after = float(run(ONE_ANSWER, source, **cache))
    assert abs(after - before) > 10.0
    folders = list((tmp_path / "cache").rglob("kernel-*"))
    assert len(folders) == 2


@pytest.mark.skipif(sys.platform == "win32", reason="paths of another system")
def test_without_a_writable_home_the_cache_is_in_a_temporary_folder(tmp_path: Path):
    """Neither the home folder nor the user's cache can be made: both lie below something that is no folder."""
    no_folder = tmp_path / "file"
    no_folder.write_text("", encoding="utf-8")
    printed = run(
        "from vanewise.network import numba_cache; import os; print(numba_cache.FOLDER, os.environ['NUMBA_CACHE_DIR'])",
        PACKAGE.parent,
        HOME=str(no_folder / "home"),
        XDG_CACHE_HOME=str(no_folder / "cache"),
        TMPDIR=str(tmp_path),
    )
    folder, told = printed.split()
    assert folder == told
    assert Path(folder).is_relative_to(tmp_path) and Path(folder).is_dir()


def test_the_cache_is_the_users_own_where_it_can_be(tmp_path: Path):
    printed = run(
        "from vanewise.network import numba_cache; print(numba_cache.FOLDER)",
        PACKAGE.parent,
        XDG_CACHE_HOME=str(tmp_path),
        LOCALAPPDATA=str(tmp_path),
        HOME=str(tmp_path),
    )
    assert Path(printed).is_relative_to(tmp_path)
    assert Path(printed).parent.name == "vanewise"


def test_numba_is_told_its_folder_whoever_imported_it_first(tmp_path: Path):
    """Else it keeps compiled code beside the source, where no digest of the constants watches it."""
    printed = run(
        "import numba; from vanewise.network import numba_cache; "
        "print(numba.config.CACHE_DIR == str(numba_cache.FOLDER))",
        PACKAGE.parent,
        XDG_CACHE_HOME=str(tmp_path),
        HOME=str(tmp_path),
    )
    assert printed == "True"


def test_the_numpy_engine_needs_no_numba():
    """With numba hidden the package answers all the same, and says which engine it takes."""
    printed = run(
        """
import importlib.util, sys
real = importlib.util.find_spec
importlib.util.find_spec = lambda name, package=None: None if name == "numba" else real(name, package)
sys.modules["numba"] = None
from vanewise.aircraft.layouts import make
from vanewise.network import OperatingPoint, best_engine, cases, pack, solve_batch
packed = pack(make("suction-one-pump"))
print(best_engine(), solve_batch(packed, cases([OperatingPoint(engine_rpm=2400.0)])).status[0])
""",
        PACKAGE.parent,
    )
    assert printed == "numpy 0"
