"""The commands: demo, check, bench, long, oracles."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from xml.etree import ElementTree

from tools.devkit import oracles, system
from tools.devkit.environment import Environment, in_ci, prepare
from tools.devkit.machine import Machine, Stop

TOGETHER = ("unit", "laws", "contracts", "published", "scenarios", "old_files")
"""Test folders that run side by side in two workers, a file in one worker."""
GROUPS = (
    (TOGETHER, ("-n", "2", "--dist", "loadfile")),
    (("hardship",), ()),
    (("browser",), ("-n", "2", "--dist", "loadgroup")),
)
"""Each group of folders runs after the one before it; hardship has the machine to itself."""

LONG_LIMIT_S = 4 * 3600.0

DEMO_OUT = "demo-out"

TEST_ENV = {"NUMBA_NUM_THREADS": "1", "VANEWISE_CHECK": "1"}


def demo(machine: Machine, words: list[str]) -> int:
    """Set up, play the demo case through, and in a terminal serve it."""
    environment = prepare(machine)
    # The solver is waited for here, so that nobody waits for it after the address is printed.
    environment.kernel.wait(required=in_ci(machine))
    vanewise = environment.script("vanewise")
    try:
        code = machine.run([vanewise, "demo", "--out", DEMO_OUT, *words])
        if code == 0 and machine.is_terminal() and not in_ci(machine):
            return _served(machine, vanewise)
    except KeyboardInterrupt:
        return 130
    return code


def _served(machine: Machine, vanewise: Path) -> int:
    """Serve what the demo kept until the person ends it by key, which is the usual way to leave and no failure."""
    try:
        return machine.run([vanewise, "serve", "--home", f"{DEMO_OUT}/home"])
    except KeyboardInterrupt:
        return 0


def bench(machine: Machine, words: list[str]) -> int:
    """Measure; ratios go to benches/results.json."""
    environment = prepare(machine)
    environment.kernel.wait(required=in_ci(machine))
    try:
        oracles.make(machine)
    except Stop as problem:
        machine.say(str(problem))  # the benches against those libraries then say so themselves
    return machine.run([environment.python, "-m", "benches.run", *words])


def make_oracles(machine: Machine, words: list[str]) -> int:
    """Let the reference libraries answer; build/oracles.json is what the tests compare with."""
    oracles.make(machine, again="--again" in words)
    return 0


def long(machine: Machine, words: list[str]) -> int:
    """The tests marked long, and the laws with fresh random examples; four hours at most."""
    environment = prepare(machine, dev=True)
    env = _test_environment(system.ensure_programs(machine))
    oracles.make(machine)
    environment.kernel.wait(required=True)
    pytest = [environment.python, "-m", "pytest", "--hypothesis-profile=long", "--durations=15"]
    start = machine.clock()
    codes = []
    for arguments in (["-m", "long", *words], ["tests/laws", "-n", "2", "--dist", "worksteal", *words]):
        left = LONG_LIMIT_S - (machine.clock() - start)
        try:
            code = machine.run([*pytest, *arguments], env=env, seconds=max(left, 1.0))
        except TimeoutError:
            raise Stop(
                "make long",
                expected=f"everything to end within {LONG_LIMIT_S / 60:.0f} minutes",
                found="tests still running then; they were ended",
                next_step="look at the durations above and run the slowest by itself with pytest -m long PATH",
            ) from None
        # pytest's 5 is 'no test asked for', which a narrower selection may well give.
        codes.append(0 if code == 5 else code)
    return max(codes)


@dataclass
class Steps:
    """The steps of a check: each is timed, and all of them run even when one fails."""

    machine: Machine
    rows: list[tuple[str, float, str]] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)

    def do(self, name: str, act: Callable[[], int]) -> None:
        self.machine.say(f"\n== {name}")
        start = self.machine.clock()
        try:
            outcome = "ok" if act() == 0 else "FAILED"
        except Stop as problem:
            self.machine.say(str(problem))
            outcome = "FAILED"
        self.rows.append((name, self.machine.clock() - start, outcome))

    @property
    def failed(self) -> bool:
        return any(outcome != "ok" for _, _, outcome in self.rows)

    def summary(self) -> None:
        self.machine.say("\n== Steps")
        for name, seconds, outcome in self.rows:
            self.machine.say(f"{seconds:7.1f} s  {outcome:6}  {name}")
        for remark in self.remarks:
            self.machine.say(f"not run here: {remark}")


@dataclass
class Counts:
    """How the tests ended, added up over all runs of pytest."""

    passed: int = 0
    failed: int = 0
    skipped: int = 0

    def add(self, report: Path) -> None:
        """Read one JUnit report. A missing one is a run that died, which counts as a failure."""
        try:
            suites = ElementTree.parse(report).getroot().iter("testsuite")
            for suite in suites:
                tests, skipped = int(suite.get("tests", 0)), int(suite.get("skipped", 0))
                failed = int(suite.get("failures", 0)) + int(suite.get("errors", 0))
                self.passed += tests - failed - skipped
                self.failed += failed
                self.skipped += skipped
        except (OSError, ElementTree.ParseError):
            self.failed += 1

    def __str__(self) -> str:
        return f"{self.passed} passed, {self.failed} failed, {self.skipped} skipped"


def check(machine: Machine, words: list[str]) -> int:
    """Everything that has to hold before a change goes in: style, types, all tests, the reference libraries, docs."""
    if words:
        raise Stop(
            "check",
            expected="no further words; it is the same for everyone",
            found=" ".join(words),
            next_step="for a part of it: .venv/bin/python -m pytest PATH, or -m ruff check",
        )
    steps, counts = Steps(machine), Counts()
    programs: list[system.Programs] = []
    environments: list[Environment] = []
    steps.do("environment", lambda: _keep(environments, prepare(machine, dev=True)))
    if not environments:
        steps.summary()
        return _close(machine, steps, Counts(failed=1))
    environment = environments[0]
    steps.do("programs for the tests", lambda: _keep(programs, system.ensure_programs(machine)))
    reference = machine.start([machine.executable, "dev.py", "oracles"], log=machine.root / "build" / "oracles.log")
    try:
        _style_and_types(machine, steps, environment)
        steps.do("compiled solver", lambda: _kernel(machine, environment))
        steps.do("reference libraries", lambda: _finish(machine, reference))
    finally:
        reference.stop()
        environment.kernel.stop()
    _tests(machine, steps, counts, environment, programs[0] if programs else system.Programs(None))
    steps.summary()
    return _close(machine, steps, counts)


def _keep(place: list, value: object) -> int:
    place.append(value)
    return 0


def _kernel(machine: Machine, environment: Environment) -> int:
    environment.kernel.wait(required=True)
    return 0


def _finish(machine: Machine, job) -> int:
    result = job.wait()
    machine.say(result.tail(40))
    return result.code


def _style_and_types(machine: Machine, steps: Steps, environment: Environment) -> None:
    python = environment.python
    steps.do("style", lambda: machine.run([python, "-m", "ruff", "check"]))
    steps.do("layout of the code", lambda: machine.run([python, "-m", "ruff", "format", "--check"]))
    steps.do("types", lambda: machine.run([python, "-m", "mypy"]))
    if (machine.root / "tools" / "docs.py").exists():
        steps.do("generated docs", lambda: machine.run([python, "-m", "tools.docs", "--check"]))


def _test_environment(programs: system.Programs) -> dict[str, str]:
    return {**TEST_ENV, **({"VANEWISE_CHROMIUM": programs.browser} if programs.browser else {})}


def _tests(machine: Machine, steps: Steps, counts: Counts, environment: Environment, programs: system.Programs) -> None:
    env = _test_environment(programs)
    steps.remarks += programs.not_run
    for wanted, extra in GROUPS:
        names = [name for name in wanted if (machine.root / "tests" / name).is_dir()]
        if not names:
            continue
        if names == ["browser"] and programs.browser is None:
            continue
        report = machine.root / "build" / "tests" / f"{names[0]}.xml"
        report.unlink(missing_ok=True)
        command = [environment.python, "-m", "pytest", "-q", "-rsfE", "--durations=15", f"--junitxml={report}", *extra]
        command += [f"tests/{name}" for name in names]
        steps.do(f"tests: {', '.join(names)}", lambda command=command: machine.run(command, env=env))
        counts.add(report)


def _close(machine: Machine, steps: Steps, counts: Counts) -> int:
    """The last lines: what is wrong in words, and the one line that says how the tests ended."""
    bad = [name for name, _, outcome in steps.rows if outcome != "ok"]
    minutes = sum(seconds for _, seconds, _ in steps.rows) / 60
    machine.say(f"\nFailed: {'; '.join(bad)} ({minutes:.1f} min)" if bad else f"\nAll well ({minutes:.1f} min).")
    machine.say(str(counts))
    return 1 if bad or counts.failed else 0


COMMANDS: dict[str, Callable[[Machine, list[str]], int]] = {
    "demo": demo,
    "check": check,
    "bench": bench,
    "long": long,
    "oracles": make_oracles,
}


def main(machine: Machine, arguments: list[str]) -> int:
    """Run one command. Without one, or with an unknown one, list them."""
    name, words = (arguments[0], arguments[1:]) if arguments else ("", [])
    act = COMMANDS.get(name)
    if act is None:
        if name and name not in {"-h", "--help", "help"}:
            machine.say(f"There is no command '{name}'.")
        machine.say("python3 dev.py COMMAND")
        for known, function in COMMANDS.items():
            machine.say(f"  {known:8} {(function.__doc__ or '').splitlines()[0]}")
        return 2 if name and name not in {"-h", "--help", "help"} else 0
    try:
        return act(machine, words)
    except Stop as problem:
        machine.say(str(problem))
        return 1
    except KeyboardInterrupt:
        machine.say("Stopped.")
        return 130
