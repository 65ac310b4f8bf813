"""The set-up commands on machines unlike this one: a fake answers for the machine and remembers what was asked."""

from __future__ import annotations

import ast
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import pytest

import dev
from tools.devkit import commands, environment, oracles, system
from tools.devkit.machine import Result, Stop

ROOT = Path(__file__).resolve().parents[2]

Answer = Callable[[str], Result | None]


class FakeJob:
    def __init__(self, result: Result):
        self.result = result
        self.stopped = False

    def wait(self) -> Result:
        return self.result

    def stop(self) -> None:
        self.stopped = True


@dataclass
class FakeMachine:
    """A machine made of answers. Unless told otherwise every program ends well and says nothing."""

    root: Path
    environ: dict[str, str] = field(default_factory=lambda: {"PATH": "/usr/bin:/bin"})
    executable: str = "/usr/bin/python3"
    version: tuple[int, int, int] = (3, 11, 2)
    system: str = "Linux"
    root_user: bool = False
    terminal: bool = False
    modules: set[str] = field(default_factory=lambda: {"venv", "ensurepip"})
    programs: dict[str, str] = field(default_factory=dict)
    folders: set[str] = field(default_factory=set)
    libraries: set[str] = field(default_factory=lambda: {"libgomp.so.1", "libatomic.so.1"})
    answer: Answer = lambda call: None
    calls: list[str] = field(default_factory=list)
    environments: list[dict[str, str]] = field(default_factory=list)
    said: list[str] = field(default_factory=list)
    waited: float = 0.0
    jobs: list[FakeJob] = field(default_factory=list)

    def is_root(self) -> bool:
        return self.root_user

    def is_terminal(self) -> bool:
        return self.terminal

    def has_module(self, name: str) -> bool:
        return name in self.modules

    def which(self, name: str) -> str | None:
        return self.programs.get(name)

    def has_library(self, name: str) -> bool:
        return name in self.libraries

    def has_files(self, folder: str, pattern: str) -> bool:
        return folder in self.folders

    def write_file(self, path: Path, text: str) -> None:
        self.calls.append(f"write {path.name}: {text.strip()}")

    def remove_file(self, path: Path) -> None:
        self.calls.append(f"unlink {path.name}")

    def clock(self) -> float:
        return self.waited

    def say(self, text: str) -> None:
        self.said.append(text)

    def pause(self, seconds: float) -> None:
        self.waited += seconds

    def remove_tree(self, folder: Path) -> None:
        self.calls.append(f"remove {folder.name}")
        for path in sorted(folder.rglob("*"), reverse=True):
            path.rmdir() if path.is_dir() else path.unlink()
        folder.rmdir()

    def _do(self, command: Sequence[str | Path], env: Mapping[str, str] | None) -> Result:
        call = " ".join(str(word) for word in command).replace(str(self.root), "ROOT")
        self.calls.append(call)
        self.environments.append(dict(env or {}))
        result = self.answer(call) or Result(0)
        if "-m venv" in call and result.ok:
            python = environment.venv_python(self, Path(str(command[-1])))  # type: ignore[arg-type]
            python.parent.mkdir(parents=True)
            python.touch()
        return result

    def run(
        self, command: Sequence[str | Path], *, env: Mapping[str, str] | None = None, seconds: float | None = None
    ) -> int:
        return self._do(command, env).code

    def capture(self, command: Sequence[str | Path], *, env: Mapping[str, str] | None = None) -> Result:
        return self._do(command, env)

    def start(self, command: Sequence[str | Path], *, log: Path, env: Mapping[str, str] | None = None) -> FakeJob:
        self.jobs.append(FakeJob(self._do(command, env)))
        return self.jobs[-1]

    @property
    def words(self) -> str:
        return "\n".join(self.said)

    def called(self, part: str) -> list[str]:
        return [call for call in self.calls if part in call]


@pytest.fixture
def machine(tmp_path: Path) -> FakeMachine:
    """A person's Debian machine: not root, Python whole, nothing installed yet."""
    for name in (environment.RUNTIME, environment.FAST, environment.DEV, oracles.LOCK):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(f"package of {name}\n", encoding="utf-8")
    (tmp_path / "pyproject.toml").write_text(
        '[build-system]\nrequires = []\n[project]\nname = "x"\n[tool.ruff]\nline-length = 120\n', encoding="utf-8"
    )
    return FakeMachine(tmp_path)


def failing(*parts: str, text: str = "no", code: int = 1) -> Answer:
    return lambda call: Result(code, text) if all(part in call for part in parts) else None


def four_parts(text: str) -> bool:
    lines = text.splitlines()
    return bool(lines[0]) and all(
        any(line.startswith(f"  {word}:") for line in lines) for word in ("Expected", "Found", "Next")
    )


# the Python that runs dev.py


def test_dev_py_can_be_read_by_python_3_8():
    ast.parse((ROOT / "dev.py").read_text(encoding="utf-8"), feature_version=(3, 8))


def test_dev_py_needs_nothing_but_the_standard_library():
    import sys

    files = [ROOT / "dev.py", *(ROOT / "tools" / "devkit").glob("*.py")]
    for file in files:
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            for name in names:
                assert name.split(".")[0] in {*sys.stdlib_module_names, "tools"}, f"{file.name} imports {name}"


@pytest.mark.parametrize("version", [(3, 8, 1), (3, 10, 14), (3, 15, 0), (4, 0, 0)])
def test_a_python_out_of_range_is_told_in_the_first_line(version: tuple[int, int, int]):
    words = dev.refusal(version, lambda name: None)
    assert words.splitlines()[0].startswith(f"This is Python {version[0]}.{version[1]};")
    assert four_parts(words)


def test_an_old_python_names_a_newer_one_that_is_there():
    words = dev.refusal((3, 9, 0), lambda name: f"/usr/bin/{name}" if name == "python3.13" else None, ["check"])
    assert words.splitlines()[-1].endswith("on this machine: python3.13 dev.py check")


@pytest.mark.parametrize("minor", [11, 12, 13, 14])
def test_the_pythons_in_range_are_taken(minor: int):
    assert dev.refusal((3, minor, 0), lambda name: None) is None


# ensurepip


def test_root_with_apt_gets_the_venv_package(machine: FakeMachine):
    machine.root_user, machine.programs, machine.modules = True, {"apt-get": "/usr/bin/apt-get"}, {"venv"}

    def answer(call: str) -> Result | None:
        if "install" in call and "python3.11-venv" in call:
            machine.modules.add("ensurepip")
        return None

    machine.answer = answer
    system.ensure_venv_module(machine)
    assert [call.split("=120 ")[1].split()[0] for call in machine.called("apt-get")] == ["update", "install"]


def test_apt_gets_the_folders_of_system_programs_and_asks_no_question(machine: FakeMachine):
    system.apt_install(machine, ("chromium",), "a test")
    for env in machine.environments:
        assert "/usr/sbin" in env["PATH"].split(":") and "/sbin" in env["PATH"].split(":")
        assert env["DEBIAN_FRONTEND"] == "noninteractive"


@pytest.mark.parametrize(("root_user", "programs"), [(False, {"apt-get": "/usr/bin/apt-get"}), (True, {})])
def test_without_root_or_without_apt_the_exact_command_is_given(machine: FakeMachine, root_user: bool, programs: dict):
    machine.root_user, machine.programs, machine.modules = root_user, programs, {"venv"}
    with pytest.raises(Stop, match=r"apt-get install python3\.11-venv") as stop:
        system.ensure_venv_module(machine)
    assert four_parts(str(stop.value))
    assert machine.calls == []


def test_a_venv_package_that_does_not_help_is_said(machine: FakeMachine):
    machine.root_user, machine.programs, machine.modules = True, {"apt-get": "/usr/bin/apt-get"}, {"venv"}
    with pytest.raises(Stop, match="still has no 'ensurepip'"):
        system.ensure_venv_module(machine)


def test_a_busy_apt_is_waited_for(machine: FakeMachine):
    tries = iter([Result(100, "E: Could not get lock /var/lib/apt/lists/lock. It is held by process 7"), Result(0)])
    machine.answer = lambda call: next(tries) if "update" in call else None
    system.apt_install(machine, ("chromium",), "a test")
    assert machine.waited == system.APT_WAIT_S
    assert len(machine.called("update")) == 2


def test_an_apt_busy_for_long_ends_with_the_command(machine: FakeMachine):
    machine.answer = failing("apt-get", text="E: Could not get lock /var/lib/dpkg/lock-frontend")
    with pytest.raises(Stop, match="apt-get install chromium") as stop:
        system.apt_install(machine, ("chromium",), "a test")
    assert four_parts(str(stop.value))
    assert len(machine.calls) == system.APT_TRIES


def test_another_apt_error_is_not_tried_again(machine: FakeMachine):
    machine.answer = failing("install", text="E: Unable to locate package")
    with pytest.raises(Stop, match="Unable to locate"):
        system.apt_install(machine, ("chromium",), "a test")
    assert len(machine.called("install -y")) == 1 and machine.waited == 0


def test_nothing_is_done_by_sudo_or_to_the_systems_python():
    for file in (ROOT / "tools" / "devkit").glob("*.py"):
        words = [
            node.value
            for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
            if isinstance(node, ast.Constant) and isinstance(node.value, str)
        ]
        assert not [word for word in words if word == "sudo" or "break-system-packages" in word]


# the environment


def test_a_first_run_installs_from_the_locks_with_hashes(machine: FakeMachine):
    made = environment.prepare(machine)
    pips = machine.called("-m pip install")
    assert [call.split(" -r ")[-1] for call in pips[:2]] == [environment.FAST, environment.RUNTIME]
    assert all("--require-hashes --only-binary :all:" in call for call in pips[:2])
    assert pips[2].endswith("--no-deps --no-build-isolation -e .")
    assert len(pips) == 3
    assert made.kernel.wait(required=True)


def test_the_solver_is_compiled_while_the_rest_is_installed(machine: FakeMachine):
    environment.prepare(machine)
    order = [machine.calls.index(machine.called(part)[0]) for part in (environment.FAST, "--warm", environment.RUNTIME)]
    assert order == sorted(order)


def test_a_second_run_installs_nothing(machine: FakeMachine):
    environment.prepare(machine)
    machine.calls.clear()
    made = environment.prepare(machine)
    assert machine.called("pip install") == [] and machine.called("-m venv") == []
    assert made.kernel.wait(required=True), "the compiled solver is still looked after: its sources may have changed"


def test_the_developers_packages_are_added_to_what_stands(machine: FakeMachine):
    environment.prepare(machine)
    machine.calls.clear()
    environment.prepare(machine, dev=True)
    assert [call.split(" -r ")[-1] for call in machine.called("pip install")] == [environment.DEV]
    machine.calls.clear()
    environment.prepare(machine)
    assert machine.called("pip install") == [], "the demo after a check keeps the developers' packages"


@pytest.mark.parametrize("lock", [environment.RUNTIME, environment.FAST, environment.DEV])
def test_a_changed_lock_makes_the_environment_anew(machine: FakeMachine, lock: str):
    environment.prepare(machine, dev=True)
    machine.calls.clear()
    (machine.root / lock).write_text("another package\n", encoding="utf-8")
    environment.prepare(machine, dev=True)
    assert machine.called("remove .venv") and machine.called("-m venv")


@pytest.mark.parametrize("change", ["version", "executable"])
def test_another_python_makes_the_environment_anew(machine: FakeMachine, change: str):
    environment.prepare(machine)
    machine.calls.clear()
    setattr(machine, change, {"version": (3, 12, 1), "executable": "/opt/python3"}[change])
    environment.prepare(machine)
    assert machine.called("remove .venv")


def test_a_changed_project_table_installs_only_the_project_again(machine: FakeMachine):
    environment.prepare(machine)
    machine.calls.clear()
    path = machine.root / "pyproject.toml"
    path.write_text(path.read_text(encoding="utf-8").replace('name = "x"', 'name = "y"'), encoding="utf-8")
    environment.prepare(machine)
    assert len(machine.called("pip install")) == 1 and machine.called("-e .")


def test_changed_test_settings_install_nothing(machine: FakeMachine):
    environment.prepare(machine)
    machine.calls.clear()
    path = machine.root / "pyproject.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("120", "100"), encoding="utf-8")
    environment.prepare(machine)
    assert machine.called("pip install") == []


def test_a_half_made_environment_is_made_anew(machine: FakeMachine):
    machine.answer = failing("-r requirements.lock", text="connection reset")
    with pytest.raises(Stop, match="connection reset") as stop:
        environment.prepare(machine)
    assert four_parts(str(stop.value))
    assert machine.jobs[0].stopped, "the solver's process is not left behind"
    machine.answer = lambda call: None
    machine.calls.clear()
    environment.prepare(machine)
    assert machine.called("remove .venv") and machine.called("-m venv")


def test_an_interrupted_addition_is_made_anew(machine: FakeMachine):
    environment.prepare(machine)
    machine.answer = failing("-r requirements-dev.lock")
    with pytest.raises(Stop):
        environment.prepare(machine, dev=True)
    machine.answer = lambda call: None
    machine.calls.clear()
    environment.prepare(machine, dev=True)
    assert machine.called("remove .venv")


@pytest.mark.parametrize("broken", ["no python", "python does not run", "stamp is torn"])
def test_a_broken_environment_is_made_anew(machine: FakeMachine, broken: str):
    environment.prepare(machine)
    machine.calls.clear()
    folder = machine.root / ".venv"
    if broken == "no python":
        environment.venv_python(machine, folder).unlink()
    elif broken == "stamp is torn":
        (folder / "stamp.json").write_text('{"python": "3.1', encoding="utf-8")
    else:
        machine.answer = failing("-c import pip")
    environment.prepare(machine)
    assert machine.called("remove .venv") and machine.called("-m venv")


def test_a_venv_that_cannot_be_made_is_said(machine: FakeMachine):
    machine.answer = failing("-m venv", text="No space left on device")
    with pytest.raises(Stop, match="No space left") as stop:
        environment.prepare(machine)
    assert four_parts(str(stop.value))


def test_windows_has_its_own_layout(machine: FakeMachine):
    machine.system = "Windows"
    made = environment.prepare(machine)
    assert made.python.parts[-2:] == ("Scripts", "python.exe")
    assert made.script("vanewise").name == "vanewise.exe"


# numba


def test_without_a_numba_binary_the_numpy_solver_is_named(machine: FakeMachine):
    machine.answer = failing("-r requirements-fast.lock", text="No matching distribution")
    made = environment.prepare(machine)
    assert "numpy solver" in machine.words
    assert machine.jobs == [] and not made.kernel.wait(required=False)
    machine.calls.clear()
    environment.prepare(machine)
    assert machine.called("pip install") == [], "what is not to be had is not asked for at every start"


def test_without_a_numba_binary_ci_fails(machine: FakeMachine):
    machine.environ["CI"] = "true"
    machine.answer = failing("-r requirements-fast.lock", text="No matching distribution")
    with pytest.raises(Stop, match="No matching distribution"):
        environment.prepare(machine)


def test_a_solver_that_does_not_compile_is_said_or_refused(machine: FakeMachine):
    machine.answer = failing("--warm", text="LoweringError")
    assert not environment.prepare(machine).kernel.wait(required=False)
    assert "numpy solver" in machine.words
    with pytest.raises(Stop, match="LoweringError"):
        environment.prepare(machine).kernel.wait(required=True)


def test_a_check_fails_without_the_compiled_solver(machine: FakeMachine):
    furnish(machine)
    machine.answer = failing("-r requirements-fast.lock", text="No matching distribution")
    assert commands.check(machine, []) == 1
    assert any("compiled solver" in line and "Failed" in line for line in machine.said)


# browser, fonts, database


def furnish(machine: FakeMachine) -> None:
    """Everything the tests need from outside Python is there."""
    machine.programs |= {"chromium": "/usr/bin/chromium", "initdb": "/usr/bin/initdb"}
    machine.folders |= {"/usr/share/fonts"}


def installing(machine: FakeMachine, **what: str) -> Answer:
    """apt that really brings the programs named in its install line."""

    def answer(call: str) -> Result | None:
        if "install -y" in call:
            if "chromium" in call:
                machine.programs["chromium"] = "/usr/bin/chromium"
            machine.folders |= {folder for package, folder in what.items() if package in call}
        return None

    return answer


def test_what_is_there_is_taken(machine: FakeMachine):
    furnish(machine)
    assert system.ensure_programs(machine) == system.Programs("/usr/bin/chromium")
    assert machine.calls == []


def test_a_browser_can_be_named_by_hand(machine: FakeMachine):
    furnish(machine)
    machine.environ["VANEWISE_CHROMIUM"] = "/elsewhere/browser"
    assert system.ensure_programs(machine).browser == "/elsewhere/browser"


def test_root_gets_browser_font_and_database_in_one_go(machine: FakeMachine):
    machine.root_user, machine.programs = True, {"apt-get": "/usr/bin/apt-get"}
    machine.answer = installing(machine, fonts="/usr/share/fonts", postgresql="/usr/lib/postgresql")
    assert system.ensure_programs(machine) == system.Programs("/usr/bin/chromium")
    assert [call.split("recommends ")[1] for call in machine.called("install -y")] == [
        "chromium fonts-dejavu-core postgresql"
    ]


def test_the_packages_own_server_is_not_started(machine: FakeMachine):
    machine.root_user, machine.programs = True, {"apt-get": "/usr/bin/apt-get"}
    machine.answer = installing(machine, fonts="/usr/share/fonts", postgresql="/usr/lib/postgresql")
    system.ensure_programs(machine)
    order = [machine.calls.index(machine.called(part)[0]) for part in ("write vanewise.conf", "install -y", "unlink")]
    assert order == sorted(order)


def test_the_setting_for_it_goes_even_when_apt_fails(machine: FakeMachine):
    machine.root_user, machine.programs = True, {"apt-get": "/usr/bin/apt-get"}
    machine.answer = failing("install -y")
    with pytest.raises(Stop):
        system.ensure_programs(machine)
    assert machine.calls[-1] == "unlink vanewise.conf"


@pytest.mark.parametrize("lacking", ["chromium", "fonts-dejavu-core", "libgomp1", "libatomic1"])
def test_a_missing_browser_font_or_library_is_an_error_on_linux(machine: FakeMachine, lacking: str):
    furnish(machine)
    if lacking == "chromium":
        del machine.programs["chromium"]
    elif lacking.startswith("lib"):
        machine.libraries.discard(f"{lacking.removesuffix('1')}.so.1")
    else:
        machine.folders.clear()
    with pytest.raises(Stop, match=f"apt-get install {lacking}") as stop:
        system.ensure_programs(machine)
    assert four_parts(str(stop.value))
    assert machine.calls == []


def test_apt_that_ends_well_without_bringing_the_browser_is_an_error(machine: FakeMachine):
    furnish(machine)
    machine.root_user, machine.programs = True, {"apt-get": "/usr/bin/apt-get"}
    with pytest.raises(Stop, match="chromium"):
        system.ensure_programs(machine)


def test_a_missing_database_leaves_out_its_tests_and_says_so(machine: FakeMachine):
    furnish(machine)
    del machine.programs["initdb"]
    assert "PostgreSQL" in system.ensure_programs(machine).not_run[0]


def test_what_is_not_run_elsewhere_is_listed(machine: FakeMachine):
    machine.system = "Darwin"
    for name in ("unit", "browser"):
        (machine.root / "tests" / name).mkdir(parents=True)
    commands.check(machine, [])
    assert any(line.startswith("not run here: browser tests") for line in machine.said)
    assert machine.called("tests/unit")
    assert machine.called("tests/browser") == []


# the commands


@pytest.mark.parametrize(("terminal", "ci", "served"), [(True, "", True), (False, "", False), (True, "true", False)])
def test_the_demo_is_served_in_a_terminal_only(machine: FakeMachine, terminal: bool, ci: str, served: bool):
    machine.terminal = terminal
    machine.environ["CI"] = ci
    assert commands.main(machine, ["demo"]) == 0
    assert machine.called("vanewise demo --out demo-out")
    assert bool(machine.called("vanewise serve --home demo-out/home")) == served


def test_a_demo_that_fails_is_not_served(machine: FakeMachine):
    machine.terminal = True
    machine.answer = failing("vanewise demo", code=3)
    assert commands.main(machine, ["demo"]) == 3
    assert machine.called("vanewise serve") == []


def test_the_demo_is_started_anew_on_demand(machine: FakeMachine):
    commands.main(machine, ["demo", "--fresh"])
    assert machine.calls[-1].endswith("demo --out demo-out --fresh")


@pytest.mark.parametrize(("part", "code"), [("vanewise serve", 0), ("vanewise demo", 130)])
def test_leaving_the_served_demo_by_key_is_no_failure(machine: FakeMachine, part: str, code: int):
    def answer(call: str) -> Result | None:
        if part in call:
            raise KeyboardInterrupt
        return None

    machine.answer = answer
    machine.terminal = True
    assert commands.main(machine, ["demo"]) == code


def test_no_command_lists_them_and_an_unknown_one_is_wrong(machine: FakeMachine):
    assert commands.main(machine, []) == 0
    assert all(name in machine.words for name in commands.COMMANDS)
    assert commands.main(machine, ["chek"]) == 2


def test_a_stop_is_told_in_four_parts(machine: FakeMachine):
    machine.modules = set()
    assert commands.main(machine, ["demo"]) == 1
    assert four_parts(machine.said[-1])


JUNIT = '<testsuites><testsuite tests="{}" failures="{}" errors="{}" skipped="{}"/></testsuites>'


def checked(machine: FakeMachine, answer: Answer, report: str | None = JUNIT.format(5, 0, 0, 1)) -> int:
    """A check on a fake machine whose pytest writes ``report`` for every group of folders."""
    furnish(machine)
    for name in ("unit", "contracts", "browser"):
        (machine.root / "tests" / name).mkdir(parents=True)
    (machine.root / "build" / "tests").mkdir(parents=True)

    def answer_and_write(call: str) -> Result | None:
        if "--junitxml=" in call and report is not None:
            name = call.split("--junitxml=ROOT/")[1].split(maxsplit=1)[0]
            (machine.root / name).write_text(report, encoding="utf-8")
        return answer(call)

    machine.answer = answer_and_write
    return commands.check(machine, [])


def test_a_check_runs_every_part_and_closes_with_the_count(machine: FakeMachine):
    assert checked(machine, lambda call: None) == 0
    for part in (
        "ruff check",
        "ruff format --check",
        "-m mypy",
        "dev.py oracles",
        "tests/unit tests/contracts",
        "tests/browser",
    ):
        assert machine.called(part), part
    assert machine.said[-1] == "8 passed, 0 failed, 2 skipped"


@pytest.mark.parametrize(
    ("part", "step"),
    [
        ("ruff check", "style"),
        ("ruff format", "layout of the code"),
        ("-m mypy", "types"),
        ("dev.py oracles", "reference libraries"),
        ("tests/unit", "tests: unit, contracts"),
        ("tests/browser", "tests: browser"),
    ],
)
def test_one_failing_step_fails_the_check_and_the_others_still_run(machine: FakeMachine, part: str, step: str):
    assert checked(machine, failing(part)) == 1
    assert any(line.startswith(f"\nFailed: {step} (") for line in machine.said)
    assert machine.called("tests/browser")


def test_failed_tests_are_counted(machine: FakeMachine):
    assert checked(machine, lambda call: None, JUNIT.format(7, 1, 1, 0)) == 1
    assert machine.said[-1] == "10 passed, 4 failed, 0 skipped"


def test_a_run_of_tests_that_died_counts_as_failed(machine: FakeMachine):
    assert checked(machine, failing("pytest", code=139), None) == 1
    assert machine.said[-1] == "0 passed, 2 failed, 0 skipped"


def test_a_check_whose_environment_fails_says_so_and_closes_with_a_count(machine: FakeMachine):
    assert checked(machine, failing("-m venv")) == 1
    assert machine.said[-1] == "0 passed, 1 failed, 0 skipped"


def test_a_check_is_the_same_for_everyone(machine: FakeMachine):
    assert commands.main(machine, ["check", "tests/unit"]) == 1
    assert machine.calls == []


def test_long_tests_that_take_more_than_their_time_are_ended(machine: FakeMachine):
    furnish(machine)

    def answer(call: str) -> Result | None:
        if "-m long" in call:
            raise TimeoutError
        return None

    machine.answer = answer
    assert commands.main(machine, ["long"]) == 1
    assert "240 minutes" in machine.said[-1]


# the reference libraries


def test_the_reference_libraries_have_their_own_environment(machine: FakeMachine):
    oracles.make(machine)
    assert [call.split()[0] for call in machine.called("pip install")] == ["ROOT/.venv-oracles/bin/python"]
    assert machine.called("-m oracles.run --out ROOT/build/oracles.json")


def test_answers_are_made_again_only_when_a_case_changed(machine: FakeMachine):
    def answer(call: str) -> Result | None:
        if "oracles.run" in call:
            (machine.root / "build").mkdir(exist_ok=True)
            (machine.root / oracles.ANSWERS).write_text("{}", encoding="utf-8")
        return None

    machine.answer = answer
    oracles.make(machine)
    oracles.make(machine)
    assert len(machine.called("oracles.run")) == 1
    (machine.root / "oracles" / "case_x.py").write_text("CASE = 1\n", encoding="utf-8")
    oracles.make(machine)
    assert len(machine.called("oracles.run")) == 2
    oracles.make(machine, again=True)
    assert len(machine.called("oracles.run")) == 3


def test_an_oracle_that_fails_fails_the_step(machine: FakeMachine):
    machine.answer = failing("oracles.run")
    with pytest.raises(Stop, match="oracles"):
        oracles.make(machine)
    assert "answers" not in json.loads((machine.root / ".venv-oracles" / "stamp.json").read_text(encoding="utf-8"))
