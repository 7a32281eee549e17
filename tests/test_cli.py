import csv
import io
import json
import os
import re
import subprocess
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from lugbook import __version__, actions, cli
from lugbook.finding import Outcome, Weight

ROOT = Path(__file__).parents[1]
DEMO = ROOT / "examples" / "potters_house" / "plan.toml"
# Locale and width as a plain terminal has them.
PLAIN = {
    **{k: v for k, v in os.environ.items() if not k.startswith(("LC_", "PYTHON"))},
    "LANG": "C.UTF-8",
    "COLUMNS": "80",
    "PYTHONPATH": str(ROOT / "src"),
}


@pytest.fixture
def run(capsys):
    """Run a command in this process; return status, output and errors."""

    def call(*tokens):
        status = cli.main([str(token) for token in tokens])
        said = capsys.readouterr()
        return status, said.out, said.err

    return call


def process(*tokens, **changes):
    return subprocess.run(
        [sys.executable, "-m", "lugbook", *map(str, tokens)],
        capture_output=True,
        check=False,
        env={**PLAIN, **changes},
    )


@pytest.fixture(scope="module")
def demo_assessment():
    return actions.check(DEMO, on=date(2026, 11, 25))


# --- check ----------------------------------------------------------------------


def test_what_if_comes_after_the_answer_and_keeps_its_status(run):
    status, out, err = run("check", DEMO, "--what-if")
    plain_status, plain, _ = run("check", DEMO)
    assert (status, err) == (plain_status, "")
    assert out.startswith(plain)
    assert "What would change the answer" in out[len(plain) :]


def test_what_if_fills_its_key_of_the_json(run):
    _, out, _ = run("check", DEMO, "--what-if", "--json")
    told = json.loads(out)["sensitivity"]
    assert told["influences"]
    _, out, _ = run("check", DEMO, "--json")
    assert json.loads(out)["sensitivity"] is None


# --- compare --------------------------------------------------------------------


def test_a_plan_is_compared_with_itself_at_another_setting(run):
    status, out, err = run("compare", DEMO, "--setting-b", "32 A")
    assert (status, err) == (0, "")
    assert "Findings whose answer differs" in out


def test_a_comparison_goes_out_as_json_alone(run):
    status, out, err = run("compare", DEMO, "--setting-b", "32 A", "--json")
    assert (status, err) == (0, "")
    assert json.loads(out)["b"]["setting_a"] == 32.0


def test_a_plan_alone_has_nothing_to_be_compared_with(run):
    status, out, err = run("compare", DEMO)
    assert (status, out) == (2, "")
    assert "--edition-b" in err


def test_a_senseless_setting_of_one_side_is_named(run):
    status, _, err = run("compare", DEMO, "--setting-b", "0 A")
    assert status == 2
    assert "--setting-b" in err


def test_planned_loads_are_compared_with_today(run, tmp_path):
    plan = tmp_path / "plan.toml"
    planned = '[[loads]]\nid = "pump"\nkind = "heat pump"\nnameplate = "9 kW"\n'
    text = DEMO.read_text(encoding="utf-8")
    plan.write_text(f'{text}\n{planned}state = "planned"\n', encoding="utf-8")
    status, out, _ = run("compare", plan, "--planned")
    assert status == 0
    assert "loads.pump.state" in out
    _, out, _ = run("check", plan, "--what-if")
    assert "With what is planned" in out


def test_the_torque_sheet_is_printed_after_the_answer(run):
    status, out, err = run("check", DEMO, "--torque")
    plain_status, plain, _ = run("check", DEMO)
    assert (status, err) == (plain_status, "")
    assert out.startswith(plain)
    assert out.removeprefix(plain).startswith("\nTorque sheet: The potter's house")


def test_the_demo_answer_fits_one_screen(run, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    _, out, err = run("check", DEMO)
    lines = out.splitlines()
    assert err == ""
    assert len(lines) <= 40
    assert all(len(line) <= 80 for line in lines)


def test_the_demo_falls_short_at_80_a_and_exits_with_1(run):
    status, out, _ = run("check", DEMO)
    assert status == 1
    assert "FALLS SHORT" in out


def test_a_setting_goes_before_the_plans_own(run):
    _, out, _ = run("check", DEMO, "--setting", "16 A", "--json")
    assert json.loads(out)["headline"]["setting_a"] == 16


def test_an_edition_goes_before_the_plans_own(run):
    _, out, _ = run("check", DEMO, "--edition", "2017", "--json")
    assert json.loads(out)["edition"] == "nfpa70-2017"


def test_json_goes_alone_to_standard_output(run):
    status, out, err = run("check", DEMO, "--json")
    assert (status, err) == (1, "")
    assert json.loads(out)["schema"] == 1


def test_working_shows_every_working(run):
    _, brief, _ = run("check", DEMO)
    _, full, _ = run("check", DEMO, "--working")
    assert "Working of service rating" in full
    assert "Working of" not in brief


# --- exit status ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("outcome", "expected"),
    [
        (Outcome.MEETS, 0),
        (Outcome.NARROW, 0),
        (Outcome.FALLS_SHORT, 1),
        (Outcome.CANNOT_TELL, 3),
        (Outcome.NOT_REQUIRED, 3),  # nothing was judged, so nothing passed
    ],
)
def test_the_exit_status_follows_the_headline(demo_assessment, outcome, expected):
    headline = replace(demo_assessment.headline, outcome=outcome)
    answered = replace(demo_assessment, headline=headline, findings=())
    assert cli.exit_status(answered) == expected


def test_a_stop_exits_with_1_whatever_the_headline_says(demo_assessment):
    stop = replace(
        demo_assessment.findings[0], outcome=Outcome.FALLS_SHORT, weight=Weight.STOP
    )
    headline = replace(demo_assessment.headline, outcome=Outcome.MEETS)
    answered = replace(demo_assessment, headline=headline, findings=(stop,))
    assert cli.exit_status(answered) == 1


# --- unusable input -------------------------------------------------------------


@pytest.mark.parametrize(
    ("tokens", "sentence"),
    [
        (("check",), "PLAN requires an argument. Name your plan file; `lugbook new`"),
        (("check", DEMO, "--setting", "48"), '--setting: "48" has no unit'),
        (("check", DEMO, "--setting", "48 kW"), "--setting: "),
        (("check", DEMO, "--setting", "nan A"), "--setting: "),
        (("check", DEMO, "--setting", "0 A"), "--setting: '0 A'; accepted: a current"),
        (("check", DEMO, "--edition", "2021"), "edition: '2021'; accepted: 2017, 2020"),
        (("check", DEMO, "--frob"), "Unknown option"),
        (("check", DEMO, "more"), "'more': not expected here; accepted: what --help"),
        (("check", DEMO, "--setting", "48", "A"), 'in quotes: --setting "48 A"'),
        (("check", "nosuch.toml"), "nosuch.toml: no such file"),
        (("check", ROOT), "a folder"),
        (("table", "ampacit"), "Did you mean ampacity"),
        (("table", "ampacity", "--edition", "2021"), "--edition: '2021'"),
        (("table", "--csv"), "--csv: given without a name"),
        (("serve", DEMO, "--port", "70000"), "--port: 70000"),
        (("serve", DEMO, "--port", "x"), "port"),
        (("frob",), "frob"),
    ],
)
def test_bad_input_gets_one_sentence_and_status_2(run, tokens, sentence):
    status, out, err = run(*tokens)
    assert (status, out) == (2, "")
    assert sentence in err
    assert err.startswith("lugbook: ")
    assert err.count("\n") == 1


def test_every_fault_of_a_plan_gets_a_line_of_its_own(run, tmp_path):
    plan = tmp_path / "plan.toml"
    plan.write_text(
        'schema = 1\n[dwelling]\nfloor_area = "-3 ft²"\nflor = 2\n', encoding="utf-8"
    )
    status, out, err = run("check", plan)
    assert (status, out) == (2, "")
    lines = err.splitlines()
    assert [("floor_area" in line, "flor" in line) for line in lines] == [
        (True, False),
        (True, True),  # names the key it may be meant for
    ]


def test_a_plan_cannot_steer_the_terminal_through_its_faults(run, tmp_path):
    plan = tmp_path / "plan\x1b[2J.toml"
    _, _, err = run("check", plan)
    assert "\x1b" not in err


def test_a_fault_of_ours_is_owned_in_one_sentence(run, monkeypatch):
    def broken(*_, **__):
        raise ZeroDivisionError("float division by zero")

    monkeypatch.setattr(actions, "check", broken)
    status, out, err = run("check", DEMO)
    assert (status, out) == (70, "")
    assert err.count("\n") == 1
    assert "a fault of Lugbook, not of what you gave: ZeroDivisionError in " in err


def test_an_interrupt_is_quiet(run, monkeypatch):
    def interrupted(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(actions, "check", interrupted)
    assert run("check", DEMO) == (130, "", "")


# --- demo, table, new, the rest -------------------------------------------------


def test_the_demo_answers_and_says_what_comes_next(run):
    status, out, _ = run("demo")
    assert status == 1
    assert "potter" in out.splitlines()[0]
    assert "lugbook new" in out[out.index("What comes next") :]


def test_what_the_demo_suggests_runs(run):
    _, out, _ = run("demo")
    suggested = re.findall(r"^  lugbook (check .+)$", out, flags=re.MULTILINE)
    assert len(suggested) == 2
    import shlex

    for line in suggested:
        assert run(*shlex.split(line))[0] in (0, 1, 3)


def test_the_demo_served_hands_the_same_plan_to_the_pages(run, monkeypatch, tmp_path):
    from lugbook.web import app

    served = []
    monkeypatch.setattr(app, "serve", lambda path, port: served.append((path, port)))
    assert run("demo", "--serve", "--port", "0")[0] == 0
    assert run("serve", "--port", "8001")[0] == 0
    other = tmp_path / "other.toml"
    other.write_text("schema = 1\ncolour = 3\n", encoding="utf-8")
    assert run("serve", other)[0] == 0  # its faults are for the page
    assert served == [(DEMO, 0), (DEMO, 8001), (other, 8765)]


def test_the_example_is_found_in_an_installed_package_too(tmp_path, monkeypatch):
    package = tmp_path / "site-packages" / "lugbook"
    plan = package / "examples" / "potters_house" / "plan.toml"
    plan.parent.mkdir(parents=True)
    plan.write_text("schema = 1", encoding="utf-8")
    monkeypatch.setattr(cli, "__file__", str(package / "cli.py"))
    assert cli.demo_plan() == plan


def test_a_package_without_its_example_says_so(run, tmp_path, monkeypatch):
    monkeypatch.setattr(cli, "__file__", str(tmp_path / "lugbook" / "cli.py"))
    status, _, err = run("demo")
    assert status == 70
    assert "was not installed with the package" in err


def test_a_table_as_csv_is_header_and_rows_only(run):
    status, out, _ = run("table", "ampacity", "--edition", "2023", "--csv")
    header, *rows = csv.reader(io.StringIO(out))
    assert status == 0
    # NFPA 70-2023 Table 310.16, the row of 3 AWG (see the edition's own file)
    assert header[0] == "size"
    assert ["3 AWG", "85", "100", "115", "65", "75", "85"] in rows


def test_the_names_are_listed_and_each_can_be_shown(run):
    status, out, _ = run("table", "--edition", "2020")
    assert status == 0
    names = re.findall(r"^  ([a-z][a-z0-9-]+):", out, flags=re.MULTILINE)
    assert "ampacity" in names
    for name in names:
        assert run("table", name, "--edition", "2020")[0] == 0


def test_the_version_is_the_packages(run):
    assert run("--version") == (0, f"{__version__}\n", "")


def test_without_a_command_the_commands_are_listed(run):
    status, out, _ = run()
    assert status == 0
    for name in ("check", "demo", "new", "serve", "table"):
        assert re.search(rf"\b{name}\b", out)


def test_answers_to_the_questions_become_a_plan_that_can_be_checked(
    run, tmp_path, monkeypatch
):
    from lugbook.premises.interview import QUESTIONS

    answers = "\n".join(question.example for question in QUESTIONS)
    monkeypatch.setattr("sys.stdin", io.StringIO(f"{answers}\n"))
    plan = tmp_path / "plan.toml"
    status, out, _ = run("new", plan)
    assert status == 0
    assert "0 of 12 left open" in out
    assert run("check", plan)[0] in (0, 1, 3)


def test_every_question_may_be_left_open(run, tmp_path, monkeypatch):
    monkeypatch.setattr("sys.stdin", io.StringIO("\n\n"))  # and then the input ends
    plan = tmp_path / "plan.toml"
    status, out, _ = run("new", plan)
    assert status == 0
    assert "12 of 12 left open" in out
    assert f"lugbook check {plan} --edition 2023\n" in out
    assert run("check", plan, "--edition", "2023")[0] == 3


def test_an_answer_that_cannot_be_read_writes_no_plan(run, tmp_path, monkeypatch):
    monkeypatch.setattr("sys.stdin", io.StringIO("\n\n200\n"))  # the third is the main
    plan = tmp_path / "plan.toml"
    status, _, err = run("new", plan)
    assert status == 2
    assert "no unit" in err
    assert not plan.exists()


def test_a_person_at_the_terminal_is_asked_again(run, tmp_path, monkeypatch):
    class Terminal(io.StringIO):
        def isatty(self):
            return True

    monkeypatch.setattr("sys.stdin", Terminal("\n\n200\n200 A\n"))
    plan = tmp_path / "plan.toml"
    status, out, err = run("new", plan)
    assert (status, err.count("no unit")) == (0, 1)
    assert "11 of 12 left open" in out


@pytest.mark.parametrize("place", ["there.toml", "nofolder/plan.toml"])
def test_a_plan_is_never_written_over_nor_nowhere(run, tmp_path, place):
    (tmp_path / "there.toml").write_text("mine", encoding="utf-8")
    status, out, _ = run("new", tmp_path / place)
    assert (status, out) == (2, "")
    assert (tmp_path / "there.toml").read_text(encoding="utf-8") == "mine"


# --- as a process ---------------------------------------------------------------


def test_a_reader_that_leaves_ends_it_quietly():
    command = f"{sys.executable} -m lugbook check {DEMO} --json | head -c 20 >&2"
    ended = subprocess.run(
        ["bash", "-c", f"{command}; echo ${{PIPESTATUS[0]}}"],
        capture_output=True,
        check=False,
        env=PLAIN,
    )
    assert ended.stderr.startswith(b"{")
    assert b"Traceback" not in ended.stderr
    assert b"Exception ignored" not in ended.stderr


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="a device of Linux")
def test_a_full_disk_is_said_in_one_sentence():
    with Path("/dev/full").open("wb") as full:
        ended = subprocess.run(
            [sys.executable, "-m", "lugbook", "table", "ampacity"],
            stdout=full,
            stderr=subprocess.PIPE,
            check=False,
            env=PLAIN,
        )
    assert ended.returncode == 2
    assert ended.stderr.startswith(b"lugbook: standard output: cannot be written")
    assert ended.stderr.count(b"\n") == 1


@pytest.mark.parametrize(
    "changes", [{"LC_ALL": "C"}, {"PYTHONIOENCODING": "ascii"}, {"LC_ALL": "POSIX"}]
)
def test_a_plain_locale_gets_plain_characters(changes):
    for tokens in (("check", DEMO, "--working"), ("check", DEMO, "--json"), ("table",)):
        ended = process(*tokens, **changes)
        assert ended.stdout.isascii()
        assert ended.returncode in (0, 1, 3)
        assert ended.stderr == b""


def test_output_to_a_pipe_has_no_control_sequences():
    for tokens in ((), ("--help",), ("check", "--help"), ("check", DEMO), ("frob",)):
        ended = process(*tokens)
        assert b"\x1b" not in ended.stdout + ended.stderr


def test_the_plain_path_loads_nothing_heavy():
    script = (
        "import sys, lugbook.cli as cli; "
        f"cli.main(['check', {str(DEMO)!r}]); "
        "heavy = {'numpy', 'scipy', 'fastapi', 'uvicorn', 'jinja2', 'rich.console'}; "
        "sys.exit(', '.join(sorted(heavy & set(sys.modules))) or 0)"
    )
    ended = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, check=False, env=PLAIN
    )
    assert ended.stderr == b""


# --- the page that documents them -----------------------------------------------


def documented_commands():
    """Return the options the reference page lists, by command."""
    page = (ROOT / "docs" / "reference" / "commands.md").read_text(encoding="utf-8")
    sections = re.split(r"^## ", page, flags=re.MULTILINE)
    found = {}
    for section in sections:
        if heading := re.match(r"`lugbook ([a-z]+)", section):
            options = re.findall(r"^\| `(--[a-z]+)", section, flags=re.MULTILINE)
            found[heading[1]] = set(options)
    return found


def test_every_command_and_option_is_documented_and_no_other(run):
    _, listing, _ = run("--help")
    commands = re.findall(r"^  ([a-z]+): ", listing, flags=re.MULTILINE)
    offered = {}
    for command in commands:
        _, text, _ = run(command, "--help")
        offered[command] = set(re.findall(r"^  (--[a-z]+)", text, flags=re.MULTILINE))
    assert documented_commands() == offered


def test_every_exit_status_is_documented():
    page = (ROOT / "docs" / "reference" / "commands.md").read_text(encoding="utf-8")
    section = page[page.index("## Exit status") :]
    listed = {int(n) for n in re.findall(r"^\| (\d+) \|", section, flags=re.MULTILINE)}
    ours = {cli.UNUSABLE_INPUT, cli.OUR_FAULT, cli.INTERRUPTED, cli.READER_LEFT}
    assert listed == {0, 1, 3, *ours}


def test_a_plan_that_is_not_there_is_not_served(run, tmp_path):
    status, out, err = run("serve", tmp_path / "none.toml")
    assert (status, out) == (2, "")
    assert "no such file" in err
