"""Every command that answers: exit 0, and with ``--json`` the shape that is published, with facts that must hold."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from tests.contracts.answer_shapes import answer, example, process, published, run
from vanewise.aircraft.layouts import layouts
from vanewise.cli import main
from vanewise.diagnosis.modes import MODES
from vanewise.jobs.answers_by_command import ANSWERS
from vanewise.jobs.file_schemas import FILES

D1 = example("d1_club_aircraft.toml")
D2 = example("d2_pressure.toml")
PA_PER_INHG = 3386.389
"""NIST SP 811, appendix B.8: conventional inch of mercury."""


# ---- all commands ----------------------------------------------------------------------------------------------------


def test_every_command_is_there() -> None:
    listing, looking = {"layouts", "new", "validate", "sweep", "modes"}, {"diagnose", "trace", "plan", "prove"}
    keeping = {"wear", "due", "demo", "serve", "passphrase"}
    assert listing | looking | keeping <= set(main.commands)


def test_every_command_that_takes_json_has_its_shape_published() -> None:
    takes = {
        name for name, command in main.commands.items() if any("--json" in option.opts for option in command.params)
    }
    assert takes == set(ANSWERS)
    assert {entry["title"] for entry in published()["anyOf"]} == {
        *(f"vanewise {name}" for name in takes),
        "any command that gave no answer",
    }


@pytest.mark.parametrize("name", main.commands)
def test_every_command_tells_what_it_does(name: str) -> None:
    done = run(name, "--help")
    assert done.exit_code == 0
    assert (main.commands[name].help or "").split(".")[0] in done.output.replace("\n ", "")


def test_help_loads_nothing_heavy(tmp_path: Path) -> None:
    """Half a second of imports stands between a person and every answer, help included."""
    ask = (
        "import sys\n"
        "from vanewise.cli import main\n"
        "try:\n    main(['--help'], prog_name='vanewise')\n"
        "except SystemExit as end:\n    assert end.code == 0\n"
        "heavy = {'numpy', 'numba', 'scipy', 'django', 'msgspec', 'PIL', 'typst'}\n"
        "print(sorted(heavy & set(sys.modules)), file=sys.stderr)\n"
    )
    done = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=False, cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "vanewise" in done.stdout and done.stderr.strip() == "[]"


def test_a_real_process_gives_the_same_codes(tmp_path: Path) -> None:
    good = process("validate", D1, "--json", folder=tmp_path)
    assert good.returncode == 0 and json.loads(good.stdout)["name"] and good.stderr == ""
    wrong = process("validate", "nowhere.toml", "--json", folder=tmp_path)
    assert wrong.returncode == 2
    assert json.loads(wrong.stdout)["error"] == "wrong input"
    assert "Expected" in wrong.stderr and "Traceback" not in wrong.stderr


def without_numba(*words: str) -> str:
    """What a command prints in a process where numba cannot be imported."""
    ask = (
        "import sys\n"
        "sys.modules['numba'] = None\n"
        "from vanewise.cli import main\n"
        "main(sys.argv[1:], prog_name='vanewise')\n"
    )
    done = subprocess.run([sys.executable, "-c", ask, *words], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_without_the_compiler_the_sweep_is_the_same() -> None:
    """Within 0.1 Pa; printed with six digits, absolute pressures may differ by one in the last."""
    plain = json.loads(without_numba("sweep", str(D1), "--rpm", "700,2400", "--json"))
    for here, there in zip(answer("sweep", D1, "--rpm", "700,2400")["points"], plain["points"], strict=True):
        assert here["gauge_inhg"] == pytest.approx(there["gauge_inhg"], abs=1e-4)
        for part, other in zip(here["parts"], there["parts"], strict=True):
            assert part["pressure_pa"] == pytest.approx(other["pressure_pa"], abs=1.0)


def test_without_the_compiler_causes_say_that_the_bank_is_smaller() -> None:
    words = without_numba("diagnose", str(D1), str(example("d1_evidence_27h.toml")), "--quick")
    assert "Computed on numpy" in words and "a smaller bank" in words


# ---- layouts, new, ask, validate, schema -----------------------------------------------------------------------------


def test_layouts() -> None:
    assert [layout["name"] for layout in answer("layouts")["layouts"]] == list(layouts())


def test_without_an_instrument_the_rest_is_figured_and_the_ports_are_named() -> None:
    found = answer("without", D1, "attitude", "--rpm", "1000,2400")
    assert [len(found[key]) for key in ("before", "spring_as_it_is", "spring_set_again")] == [2, 2, 2]
    assert found["to_cap"] == ["filter_tee.attitude", "manifold.attitude"]
    shown = run("without", D1, "attitude", "--rpm", "1000").output
    assert "To cap:" in shown and "Computed, not approved" in shown
    assert run("without", D1, "atitude").exit_code == 2


@pytest.mark.parametrize("layout", layouts())
def test_a_new_file_is_sound_at_once(layout: str, tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    assert run("new", layout, file).exit_code == 0
    checked = answer("validate", file)
    assert checked["assumed"] and not checked["duty_confirmed"]
    assert any(remark["where"] == "duty_confirmed" for remark in checked["remarks"])


def test_an_existing_file_is_kept_unless_forced(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text("my own work", encoding="utf-8")
    assert run("new", "suction-one-pump", file).exit_code == 2
    assert file.read_text(encoding="utf-8") == "my own work"
    assert run("new", "suction-one-pump", file, "--force").exit_code == 0
    assert file.read_text(encoding="utf-8") != "my own work"


def test_ask_without_a_terminal_takes_what_is_given_and_assumes_the_rest(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    begun = answer("ask", file, "--answer", "duty=pressure", "--name", "Ours")
    assert (begun["name"], begun["duty"]) == ("Ours", "pressure")
    assert not any(number == 1 and "suction" in taken for number, _, taken, _ in begun["assumed"])
    assert answer("validate", file)["duty"] == "pressure"


def test_validate_counts_what_is_there() -> None:
    """Eight parts and eight lines stand in the file of the club aircraft."""
    checked = answer("validate", D1)
    text = D1.read_text(encoding="utf-8")
    assert checked["parts"] == text.count("[[parts]]")
    assert checked["lines"] == text.count("[[lines]]")
    assert checked["duty_confirmed"] is True


@pytest.mark.parametrize("what", FILES)
def test_schemas_are_printed(what: str) -> None:
    done = run("schema", what)
    assert done.exit_code == 0
    assert json.loads(done.stdout)["$schema"].endswith("2020-12/schema")


# ---- sweep -----------------------------------------------------------------------------------------------------------


def points(*words: object) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = answer("sweep", D1, *words)["points"]
    return found


def test_sweep_gives_the_points_asked_for_in_order() -> None:
    swept = points("--rpm", "2400,700,1200", "--altitude", "5500")
    assert [point["rpm"] for point in swept] == [2400.0, 700.0, 1200.0]
    assert all(point["altitude_ft"] == pytest.approx(5500.0, abs=0.1) for point in swept)
    assert all(point["status"] in ("converged", "retried", "continued") for point in swept)
    assert all(0.0 <= point["radius_pa"] < 0.1 for point in swept), "the bound on the numerical error"


def test_sweep_has_every_part_and_line_with_pressure_drop_and_flow() -> None:
    (point,) = points("--rpm", "1800")
    parts = {part["id"]: part for part in point["parts"]}
    assert {"attitude", "heading", "regulator", "pump", "filter", "manifold", "firewall_hose"} <= set(parts)
    for part in parts.values():
        assert set(part) == {"id", "pressure_pa", "drop_inhg", "flow_cfm"}
        assert all(pressure > 0.0 for pressure in part["pressure_pa"].values()), "absolute pressures"


def test_the_gauge_is_the_difference_of_the_pressures_at_its_ports() -> None:
    for point in points("--rpm", "700,1200,2400"):
        attitude = next(part for part in point["parts"] if part["id"] == "attitude")
        difference = attitude["pressure_pa"]["inlet"] - attitude["pressure_pa"]["outlet"]
        assert point["gauge_inhg"] == pytest.approx(difference / PA_PER_INHG, abs=0.001)
        assert attitude["drop_inhg"] == pytest.approx(point["gauge_inhg"], abs=0.001)


def test_what_goes_through_the_filter_goes_through_the_gyros() -> None:
    """Conservation of mass, with flows as free air: nothing leaks in the sound system."""
    for point in points("--rpm", "700,1200,2400"):
        flow = {part["id"]: part["flow_cfm"] for part in point["parts"]}
        assert flow["filter"] == pytest.approx(flow["attitude"] + flow["heading"], rel=1e-3)
        assert flow["firewall_hose"] == pytest.approx(flow["regulator_hose"] + flow["regulator"], rel=1e-3)


def test_a_worn_pump_reads_lower_where_the_regulator_is_shut() -> None:
    sound = points("--rpm", "700,1000")
    worn = points("--rpm", "700,1000", "--state", "pump.slip=3")
    assert all(b["gauge_inhg"] < a["gauge_inhg"] - 0.2 for a, b in zip(sound, worn, strict=True))


def test_height_takes_from_the_gauge_at_low_speed() -> None:
    low, high = (points("--rpm", "1000", "--altitude", feet)[0]["gauge_inhg"] for feet in (0, 10000))
    assert high < low


def test_sweep_takes_what_people_write() -> None:
    assert points("--rpm", " 700 , 1000 ")[1]["rpm"] == 1000.0
    assert run("sweep", D1, "--rpm", "700", "--temperature", "-20").exit_code == 0


def test_band_names_the_three_inputs_that_widen_it_most_and_offers_a_baseline(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    run("new", "suction-one-pump", file)
    band = answer("sweep", file, "--band", "--rpm", "700,1200,2400")["band"]
    assert len(band["wideners"]) == 3
    assert all(widener["assumed"] and widener["find_out"] for widener in band["wideners"])
    assert all(point["low_pa"] < point["middle_pa"] < point["high_pa"] for point in band["points"])
    assert "baseline sweep" in band["offer"]


def test_an_unknown_gauge_connection_gives_both_curves(tmp_path: Path) -> None:
    text = D1.read_text(encoding="utf-8")
    head, gauge, rest = text.partition("[gauge]")
    unknown = rest.replace('high = "attitude.inlet"', 'high = "unknown"', 1).replace(
        'low = "attitude.outlet"', 'low = "unknown"', 1
    )
    file = tmp_path / "mine.toml"
    file.write_text(head + gauge + unknown, encoding="utf-8")
    swept = answer("sweep", file, "--rpm", "700,2400")
    other = swept["other_connection"]
    assert other["gauge_high"] == "cabin"
    assert other["points"][0]["gauge_inhg"] != swept["points"][0]["gauge_inhg"]
    assert "other usual one" in run("sweep", file, "--rpm", "700,2400").output


def test_what_is_fitted_but_not_computed_is_told(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text('also_fitted = ["door seal"]\n' + D1.read_text(encoding="utf-8"), encoding="utf-8")
    assert any("door seal" in remark for remark in answer("sweep", file, "--rpm", "700")["remarks"])
    assert any(
        "door seal" in remark for remark in answer("trace", file, "--part", "pump", "--event", "stop")["remarks"]
    )
    assert "door seal" in run("sweep", file, "--rpm", "700").output


# ---- modes, diagnose -------------------------------------------------------------------------------------------------


def test_modes() -> None:
    assert [mode["id"] for mode in answer("modes")["modes"]] == list(MODES)


@pytest.fixture(scope="module")
def causes() -> dict[str, Any]:
    """The club aircraft at 27 hours, first answer."""
    found: dict[str, Any] = answer("diagnose", D1, example("d1_evidence_27h.toml"), "--quick", "--seed", "3")
    return found


def test_diagnose_sums_to_one_over_sources_and_none_of_these(causes: dict[str, Any]) -> None:
    assert sum(cause["probability"] for cause in causes["causes"]) == pytest.approx(1.0, abs=1e-4)
    ids = [cause["id"] for cause in causes["causes"]]
    assert "none_of_these" in ids and len(set(ids)) == len(ids)
    assert set(ids) <= set(MODES)


def test_present_is_at_least_the_chance_of_being_the_source(causes: dict[str, Any]) -> None:
    for cause in causes["causes"]:
        assert cause["probability"] - 1e-6 <= cause["present"] <= 1.0 + 1e-6, cause["id"]


def test_each_cause_carries_its_hypotheses_and_the_weight_of_each_piece_of_evidence(causes: dict[str, Any]) -> None:
    for cause in causes["causes"]:
        shares = [hypothesis["share"] for hypothesis in cause["hypotheses"]]
        assert shares[0] == max(shares) and sum(shares) <= cause["probability"] * (1.0 + 1e-4)
        assert all(hypothesis["modes"][0] == cause["id"] for hypothesis in cause["hypotheses"]), (
            "the source comes first"
        )
        assert all(math.isfinite(item["log10_odds"]) for item in cause["evidence"])
        assert cause["effective_rows"] >= 0.0 and cause["log_evidence_se"] >= 0.0
    seat = next(cause for cause in causes["causes"] if cause["id"] == "regulator_seat_dirty")
    wanders = next(item for item in seat["evidence"] if "wander" in item["words"])
    assert wanders["log10_odds"] > 0.0 and wanders["speaks"] == "for", "a needle that wanders speaks for the seat"


def test_the_group_is_the_smallest_that_shares_nine_tenths(causes: dict[str, Any]) -> None:
    chances = {cause["id"]: cause["probability"] for cause in causes["causes"]}
    group = [chances[cause] for cause in causes["group"]]
    largest = sorted(chances.values(), reverse=True)
    assert sorted(group, reverse=True) == largest[: len(group)]
    assert sum(group) >= 0.9 - 1e-6 > sum(group) - min(group) - 1e-6
    assert causes["undecided"] is True and largest[0] < 0.8


def test_next_checks_carry_minutes_and_expected_information(causes: dict[str, Any]) -> None:
    assert causes["next_checks"]
    for check in causes["next_checks"]:
        assert check["minutes"] > 0.0 and check["expected_bits"] >= 0.0 and check["who"] and check["why"]


def test_the_same_seed_gives_the_same_answer(causes: dict[str, Any]) -> None:
    again = answer("diagnose", D1, example("d1_evidence_27h.toml"), "--quick", "--seed", "3")
    assert again == causes


def test_diagnose_reads_json_too(tmp_path: Path) -> None:
    file = tmp_path / "evidence.json"
    reading = {"reading": "0.0 inHg", "rpm": "2400 rpm"}
    file.write_text(json.dumps({"readings": [reading]}), encoding="utf-8")
    found = answer("diagnose", D1, file, "--quick")
    assert found["level"] in ("supply dead", "indication", "")


def test_words_never_say_certain() -> None:
    done = run("diagnose", D1, example("d1_evidence_27h.toml"), "--quick", "--seed", "3")
    assert done.exit_code == 0
    assert "100 %" not in done.output and "100%" not in done.output
    assert done.output.startswith("Undecided between")
    assert "cover the regulator's air intake" in done.output, "the next check"


# ---- plan ------------------------------------------------------------------------------------------------------------


def test_plan_writes_the_package_and_its_pages(tmp_path: Path) -> None:
    out = tmp_path / "new" / "plan"
    package = answer("plan", D1, example("d1_evidence.toml"), "--cause", "debris_left_in_lines", "--out", out)
    assert {path.name for path in out.iterdir()} == {
        "work-package.json",
        "work-package.pdf",
        "hose-map.pdf",
        "hose-tags.pdf",
    }
    assert all(path.read_bytes().startswith(b"%PDF-") for path in out.glob("*.pdf"))
    assert json.loads((out / "work-package.json").read_text(encoding="utf-8")) == package
    tasks = [task["id"] for task in package["tasks"]]
    assert tasks.index("safe") < tasks.index("pump-off") < tasks.index("pump-on") < tasks.index("ground-run")
    assert {suspect["id"] for suspect in package["scope"]["suspects"]} >= {"pump", "firewall_hose", "regulator"}
    assert any("suspects" in gate["id"] for gate in package["gates"])


def test_the_same_plan_twice_is_the_same_files(tmp_path: Path) -> None:
    """What it says depends on files, seed and date alone, and the date is the same within a test."""
    words = ("plan", D1, example("d1_evidence.toml"), "--cause", "leak", "--page", "a4", "--out")
    for name in ("one", "other"):
        assert run(*words, tmp_path / name).exit_code == 0
    files = sorted(path.name for path in (tmp_path / "one").iterdir())
    assert files
    for name in files:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "other" / name).read_bytes(), name


def test_a_plan_for_none_of_these_buys_nothing(tmp_path: Path) -> None:
    package = answer("plan", D1, example("d1_evidence.toml"), "--cause", "none_of_these", "--out", tmp_path)
    assert package["parts"] == [] and package["hose_tags"] == []
    assert not (tmp_path / "hose-tags.pdf").exists()


# ---- trace, prove, wear ----------------------------------------------------------------------------------------------


def test_trace_gives_path_reason_and_proof_for_each_suspect() -> None:
    scope = answer("trace", D1, "--part", "pump", "--event", "stop", "--altitude", "4500")
    ids = [suspect["id"] for suspect in scope["suspects"]]
    assert {"pump", "firewall_hose", "regulator"} <= set(ids) and "filter" not in ids
    for suspect in scope["suspects"]:
        assert suspect["path"] and suspect["reason"] and suspect["proof"] and suspect["closures"]
    assert scope["events"][0]["altitude_m"] == pytest.approx(4500 * 0.3048)


def test_running_debris_goes_the_way_of_the_air() -> None:
    """Suction duty: out through the pump. Pressure duty: towards the gyros, unless the filter is found intact."""
    suction = {suspect["id"] for suspect in answer("trace", D1, "--part", "pump", "--event", "running")["suspects"]}
    assert "heading" not in suction
    pressure = answer("trace", D2, "--part", "pump", "--event", "running")
    assert "heading" in {suspect["id"] for suspect in pressure["suspects"]}
    seen = ("trace", D2, "--part", "pump", "--event", "running", "--found")
    held = answer(*seen, "inline_filter=intact,right-way")
    assert "heading" not in {suspect["id"] for suspect in held["suspects"]}
    for silent in ("inline_filter=intact", "inline_filter=intact,wrong-way", "inline_filter=reversed"):
        assert "heading" in {suspect["id"] for suspect in answer(*seen, silent)["suspects"]}, silent
    unsaid = answer(*seen, "inline_filter=intact")
    assert any("its arrow was not stated" in remark for remark in unsaid["remarks"])
    assert unsaid["findings"][0]["right_way_round"] is None, "what nobody wrote is not added"


def test_a_line_seen_clean_from_a_point_on_is_logged_on_the_command_line() -> None:
    """As the looks recommend it; the indicator behind it comes off the list, the hose itself stays."""
    stop = ("trace", D1, "--part", "pump", "--event", "stop", "--altitude", "4500")
    scope = answer(*stop, "--found", "attitude_outlet_hose=clean,0.3m,white cloth")
    ids = {suspect["id"] for suspect in scope["suspects"]}
    assert "attitude" not in ids and "attitude_outlet_hose" in ids
    assert scope["findings"][0] | {"by": ""} == {
        "finding": "front",
        "line": "attitude_outlet_hose",
        "clean_from_m": pytest.approx(0.3),
        "proof": "white cloth",
        "by": "",
        "when": None,
        "as_it_was": None,
    }


def test_a_trace_of_a_stop_knows_height_suction_and_turns_back() -> None:
    stop = ("trace", D1, "--part", "pump", "--event", "stop")
    unknown, low = answer(*stop), answer(*stop, "--altitude", "500")
    assert unknown["events"][0]["altitude_m"] is None, "the field is not where it stopped"
    assert unknown["reach_upper_m"] > low["reach_upper_m"]
    read = answer(*stop, "--altitude", "500", "--suction", "3")
    assert read["reaches"][0]["suction_pa"] == pytest.approx(3 * PA_PER_INHG, rel=1e-5)
    assert read["reach_upper_m"] < low["reach_upper_m"]
    turned = answer(*stop, "--altitude", "500", "--suction", "3", "--turns-back", "1.5")
    assert turned["reach_upper_m"] > read["reach_upper_m"]


def test_what_is_not_reached_is_named_in_words() -> None:
    done = run("trace", D2, "--part", "pump", "--event", "running", "--found", "inline_filter=intact,right-way")
    assert "gauge line, high side: shielded by" in done.stdout and "gauge.high" not in done.stdout


def test_prove_says_fail_and_is_still_an_answer() -> None:
    """The first run reads 5.4 inHg at 2400 rpm where the club's handbook band ends at 5.2."""
    proved = answer("prove", D1, example("d1_ground_run_first.toml"))
    assert proved["verdict"]["overall"] == "fail"
    failed = [point for point in proved["verdict"]["points"] if point["verdict"] == "fail"]
    assert [point["what"] for point in failed] == ["gauge at 2400 rpm"]
    assert all(point["margin"] for point in failed)
    assert all(point["low_pa"] < point["middle_pa"] < point["high_pa"] for point in proved["plan"]["points"])


def test_wear() -> None:
    forecast = answer("wear", example("d2_wear.toml"))
    left = [forecast["hours_left"][key] for key in ("p025", "p10", "p50", "p90", "p975")]
    assert set(forecast["hours_left"]) == {"p025", "p10", "p50", "p90", "p975"}
    assert left == sorted(left) and left[0] >= 0.0
    assert 0.0 <= forecast["prob_past_now"] <= 1.0
    assert forecast["look_again_h"] >= forecast["hours_now"] == 512.6


# ---- ask, at a terminal ----------------------------------------------------------------------------------------------


def talk(monkeypatch: pytest.MonkeyPatch, file: Path, said: str, *words: object) -> Any:
    monkeypatch.setattr("vanewise.cli._on_terminal", lambda: True)
    return CliRunner().invoke(main, ["ask", str(file), *(str(word) for word in words)], input=said)


def test_a_person_who_knows_nothing_gets_a_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Return means "don't know", at every question."""
    file = tmp_path / "mine.toml"
    done = talk(monkeypatch, file, "\n" * 60)
    assert done.exit_code == 0, done.output
    assert done.output.count("How to look:") == 10
    assert answer("validate", file)["duty_confirmed"] is False


def test_an_answer_that_cannot_be_taken_is_asked_for_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "mine.toml"
    done = talk(monkeypatch, file, "sucking\nsuction\n" + "\n" * 60)
    assert done.exit_code == 0, done.output
    assert 'Found: "sucking"' in done.output
    assert answer("validate", file)["duty_confirmed"] is True


def test_what_was_answered_is_not_lost_when_a_person_stops(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The end of the input stands for Ctrl-C: both abort."""
    file = tmp_path / "mine.toml"
    done = talk(monkeypatch, file, "pressure\n")
    assert done.exit_code == 1 and not file.exists()
    again = next(line for line in done.output.splitlines() if line.startswith("  vanewise ask"))
    assert "--answer duty=pressure" in again
    finished = talk(monkeypatch, file, "\n" * 60, "--answer", "duty=pressure")
    assert finished.exit_code == 0 and answer("validate", file)["duty"] == "pressure"


def test_a_taken_name_is_told_before_the_first_question(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "mine.toml"
    file.write_text("mine", encoding="utf-8")
    done = talk(monkeypatch, file, "")
    assert done.exit_code == 2 and "How to look" not in done.output
