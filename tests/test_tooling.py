"""The project's own files: locks, verbs, set-up, what the repository may name."""

import importlib.util
import json
import re
import subprocess
import sys
import tomllib
from pathlib import Path
from types import ModuleType

import pytest

import lugbook

ROOT = Path(__file__).resolve().parent.parent
LOCKS = sorted((ROOT / "requirements").glob("*.lock"))


def _import_bootstrap() -> ModuleType:
    spec = importlib.util.spec_from_file_location(
        "bootstrap", ROOT / "tools" / "bootstrap.py"
    )
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


bootstrap = _import_bootstrap()


def _requirements(lock: Path) -> list[str]:
    joined = lock.read_text(encoding="utf-8").replace("\\\n", " ")
    return [line for line in joined.splitlines() if line.strip()]


def _direct_names(inputs: Path) -> set[str]:
    lines = inputs.read_text(encoding="utf-8").splitlines()
    return {line for line in lines if line and not line.startswith("-")}


def _locked_names(lock: Path) -> set[str]:
    return {line.split("==")[0] for line in _requirements(lock)}


class TestLocks:
    def test_the_four_locks_are_there(self) -> None:
        names = [lock.name for lock in LOCKS]
        assert names == ["app.lock", "dev.lock", "prove.lock", "uv.lock"]

    @pytest.mark.parametrize("lock", LOCKS, ids=lambda lock: lock.name)
    def test_no_lock_names_a_host(self, lock: Path) -> None:
        assert "://" not in lock.read_text(encoding="utf-8")

    @pytest.mark.parametrize("lock", LOCKS, ids=lambda lock: lock.name)
    def test_every_requirement_is_one_version_with_a_hash(self, lock: Path) -> None:
        unfit = [
            line
            for line in _requirements(lock)
            if not re.match(r"[a-z0-9.-]+==[^ ]+ .*--hash=sha256:[0-9a-f]{64}", line)
        ]
        assert unfit == []

    @pytest.mark.parametrize("name", ["app", "dev", "prove", "uv"])
    def test_every_direct_package_is_locked(self, name: str) -> None:
        folder = ROOT / "requirements"
        locked = _locked_names(folder / f"{name}.lock")
        assert _direct_names(folder / f"{name}.in") <= locked

    def test_both_locks_name_the_same_version_of_what_they_share(self) -> None:
        app, dev = (
            dict(line.split(" ")[0].split("==") for line in _requirements(lock))
            for lock in (
                ROOT / "requirements" / "app.lock",
                ROOT / "requirements" / "dev.lock",
            )
        )
        shared = app.keys() & dev.keys()
        assert shared
        assert {name: app[name] for name in shared} == {
            name: dev[name] for name in shared
        }


class TestOldPython:
    @pytest.mark.parametrize("version", [(3, 11, 0), (3, 12, 1), (4, 0, 0)])
    def test_python_3_11_and_newer_are_taken(self, version: tuple[int, ...]) -> None:
        assert bootstrap.old_python_refusal(version, "python3") is None

    @pytest.mark.parametrize("version", [(3, 10, 99), (3, 9, 2), (2, 7, 18)])
    def test_an_older_python_is_refused_in_one_sentence(
        self, version: tuple[int, ...]
    ) -> None:
        refusal = bootstrap.old_python_refusal(version, "/usr/bin/python3")
        given = ".".join(str(part) for part in version)
        assert refusal == (
            f"Lugbook needs Python 3.11 or newer and /usr/bin/python3 is Python "
            f"{given}: name a newer one, for example `make setup PYTHON=python3.11`."
        )

    def test_the_project_and_the_bootstrap_agree_on_the_lowest_python(self) -> None:
        project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
        lowest = ".".join(str(part) for part in bootstrap.LOWEST_PYTHON)
        assert project["project"]["requires-python"] == f">={lowest}"


WANTED = {"python": "3.11.7", "root": "here", "app": "a1"}


class TestStamp:
    def test_a_finished_venv_is_ready_even_with_more_in_it(self) -> None:
        found = {**WANTED, "dev": "d1"}
        assert bootstrap.is_ready(found, WANTED)

    @pytest.mark.parametrize("key", ["python", "root", "app"])
    def test_a_change_of_anything_wanted_makes_it_not_ready(self, key: str) -> None:
        found = {**WANTED, key: "other"}
        assert not bootstrap.is_ready(found, WANTED)

    def test_an_unfinished_venv_is_not_ready(self) -> None:
        assert not bootstrap.is_ready({}, WANTED)

    @pytest.mark.parametrize(
        ("key", "is_elsewhere"), [("python", True), ("root", True), ("app", False)]
    )
    def test_only_another_python_or_folder_clears_the_venv(
        self, key: str, is_elsewhere: bool
    ) -> None:
        found = {**WANTED, key: "other"}
        assert bootstrap.is_of_another_place(found, WANTED) is is_elsewhere

    def test_an_unfinished_venv_is_mended_not_cleared(self) -> None:
        assert not bootstrap.is_of_another_place({}, WANTED)

    @pytest.mark.parametrize("text", ["", "{", "[1, 2]"])
    def test_a_broken_stamp_counts_as_none(
        self, text: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        stamp = tmp_path / "stamp.json"
        stamp.write_text(text, encoding="utf-8")
        monkeypatch.setattr(bootstrap, "STAMP", stamp)
        assert bootstrap.found_stamp() == {}

    def test_a_changed_lock_changes_the_stamp(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(bootstrap, "REQUIREMENTS", tmp_path)
        (tmp_path / "app.lock").write_text("a==1\n", encoding="utf-8")
        before = bootstrap.wanted_stamp(("app",))
        (tmp_path / "app.lock").write_text("a==2\n", encoding="utf-8")
        assert bootstrap.wanted_stamp(("app",))["app"] != before["app"]


@pytest.fixture
def empty_project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Point the bootstrap at an empty folder with one small lock of each kind."""
    locks = tmp_path / "requirements"
    locks.mkdir()
    for name in ("app", "dev", "uv"):
        (locks / f"{name}.lock").write_text(f"{name}==1\n", encoding="utf-8")
    venv = tmp_path / ".venv"
    for name, path in {
        "ROOT": tmp_path,
        "SOURCE": tmp_path / "src",
        "VENV": venv,
        "STAMP": venv / "lugbook-stamp.json",
        "REQUIREMENTS": locks,
    }.items():
        monkeypatch.setattr(bootstrap, name, path)
    return tmp_path


class CommandLog:
    """Stands for running commands: notes them, fails those that hold a word."""

    def __init__(self, project: Path, *, failing: str = "") -> None:
        self.project = project
        self.failing = failing
        self.commands: list[list[str]] = []

    def __call__(self, command: list[str]) -> bool:
        self.commands.append(command)
        if command[1:3] == ["-m", "venv"]:
            python = bootstrap.venv_python()
            python.parent.mkdir(parents=True, exist_ok=True)
            python.touch()
            site_packages = bootstrap.sysconfig.get_path(
                "purelib", "venv", vars={"base": command[-1], "platbase": command[-1]}
            )
            Path(site_packages).mkdir(parents=True, exist_ok=True)
        return not (self.failing and self.failing in " ".join(command))

    def kinds(self) -> list[str]:
        words = [" ".join(command) for command in self.commands]
        return [
            "venv"
            if " -m venv " in line
            else "fetch uv"
            if " --target " in line
            else "by pip"
            if " -m pip " in line
            else "by uv"
            for line in words
        ]


class TestSetUp:
    def test_the_first_run_installs_and_the_second_does_nothing(
        self, empty_project: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        log = CommandLog(empty_project)
        monkeypatch.setattr(bootstrap, "succeeds", log)
        bootstrap.set_up(("app",))
        assert log.kinds() == ["venv", "fetch uv", "by uv"]
        bootstrap.set_up(("app",))
        assert log.kinds() == ["venv", "fetch uv", "by uv"]

    def test_bytecode_is_compiled_and_hashes_are_required(
        self, empty_project: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        log = CommandLog(empty_project)
        monkeypatch.setattr(bootstrap, "succeeds", log)
        bootstrap.set_up(("app",))
        by_uv = log.commands[-1]
        assert "--compile-bytecode" in by_uv
        assert all("--require-hashes" in command for command in log.commands[1:])

    @pytest.mark.parametrize(
        ("failing", "kinds"),
        [
            ("--compile-bytecode", ["venv", "fetch uv", "by uv", "by pip"]),
            ("--target", ["venv", "fetch uv", "by pip"]),
        ],
    )
    def test_where_uv_fails_pip_installs_the_same_locks(
        self,
        failing: str,
        kinds: list[str],
        empty_project: Path,
        monkeypatch: pytest.MonkeyPatch,
    ) -> None:
        log = CommandLog(empty_project, failing=failing)
        monkeypatch.setattr(bootstrap, "succeeds", log)
        bootstrap.set_up(("app", "dev"))
        assert log.kinds() == kinds
        assert log.commands[-1][-5:] == [
            "--require-hashes",
            "-r",
            str(empty_project / "requirements" / "app.lock"),
            "-r",
            str(empty_project / "requirements" / "dev.lock"),
        ]

    def test_a_failed_install_leaves_no_stamp_so_the_next_run_tries_again(
        self, empty_project: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(
            bootstrap, "succeeds", CommandLog(empty_project, failing="pip")
        )
        with pytest.raises(bootstrap.SetupError, match="could not be installed"):
            bootstrap.set_up(("app",))
        assert not bootstrap.STAMP.exists()

    def test_a_venv_of_another_python_is_cleared(
        self, empty_project: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        log = CommandLog(empty_project)
        monkeypatch.setattr(bootstrap, "succeeds", log)
        bootstrap.set_up(("app",))
        stamp = json.loads(bootstrap.STAMP.read_text(encoding="utf-8"))
        bootstrap.STAMP.write_text(
            json.dumps({**stamp, "python": "another"}), encoding="utf-8"
        )
        bootstrap.set_up(("app",))
        assert log.kinds() == ["venv", "fetch uv", "by uv"] * 2
        assert "--clear" in log.commands[3]

    def test_asking_for_the_test_tools_later_keeps_the_venv(
        self, empty_project: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        log = CommandLog(empty_project)
        monkeypatch.setattr(bootstrap, "succeeds", log)
        bootstrap.set_up(("app",))
        bootstrap.set_up(("app", "dev"))
        assert log.kinds() == ["venv", "fetch uv", "by uv", "fetch uv", "by uv"]
        bootstrap.set_up(("app",))
        assert len(log.commands) == 5

    def test_the_source_folder_is_named_inside_the_venv(
        self, empty_project: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(bootstrap, "succeeds", CommandLog(empty_project))
        bootstrap.set_up(("app",))
        (named,) = bootstrap.VENV.rglob("*.pth")
        assert named.read_text(encoding="utf-8").strip() == str(empty_project / "src")

    def test_source_is_compiled_even_where_python_writes_no_bytecode(
        self, empty_project: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(sys, "dont_write_bytecode", True)
        source = empty_project / "src"
        source.mkdir()
        (source / "one.py").write_text("A = 1\n", encoding="utf-8")
        bootstrap.compile_source()
        assert len(list(source.rglob("one.*.pyc"))) == 1


class TestVerbs:
    def test_every_verb_of_the_makefile_is_known_to_the_bootstrap(self) -> None:
        makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
        phony = re.search(r"^\.PHONY: (.+)$", makefile, re.MULTILINE)
        rule = re.search(r"^([a-z ]+): ; @.*bootstrap\.py \$@", makefile, re.MULTILINE)
        assert phony is not None
        assert rule is not None
        assert phony[1].split() == rule[1].split() == list(bootstrap.VERBS)

    def test_an_unknown_verb_is_refused_with_the_known_ones(
        self, capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert bootstrap.main(["fly"]) == 2
        assert "setup | run | test | prove | lint | bench" in capsys.readouterr().err

    def test_test_runs_pytest_on_two_cores_and_passes_the_rest_on(self) -> None:
        assert bootstrap.commands("test", ["-k", "heat"]) == [
            ["-m", "pytest", "-n", "2", "-k", "heat"]
        ]

    def test_lint_runs_all_three_checks(self) -> None:
        tools = [command[1:3] for command in bootstrap.commands("lint", [])]
        assert tools == [["ruff", "check"], ["ruff", "format"], ["mypy"]]

    @pytest.mark.parametrize("verb", ["bench", "prove"])
    def test_a_verb_with_nothing_to_run_says_so(
        self, verb: str, empty_project: Path
    ) -> None:
        with pytest.raises(bootstrap.SetupError, match="not in this checkout"):
            bootstrap.commands(verb, [])

    def test_prove_adds_the_mutation_of_tables_where_it_exists(
        self, empty_project: Path
    ) -> None:
        (empty_project / "tests" / "prove").mkdir(parents=True)
        assert len(bootstrap.commands("prove", [])) == 1
        (empty_project / "tools").mkdir()
        mutation = empty_project / "tools" / "mutate_tables.py"
        mutation.touch()
        assert bootstrap.commands("prove", [])[1] == [str(mutation)]

    def test_all_commands_of_a_verb_run_and_one_failure_is_enough(
        self, empty_project: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        statuses = iter([1, 0, 2])
        monkeypatch.setattr(
            bootstrap.subprocess, "call", lambda _command: next(statuses)
        )
        monkeypatch.chdir(empty_project)
        assert bootstrap.perform("lint", []) == 1
        assert list(statuses) == []


class TestRepository:
    def test_ci_runs_make_test_last_and_stops_at_the_first_failure(self) -> None:
        lines = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
        assert "set -euo pipefail" in lines
        assert lines[-1] == "make test"

    def test_the_version_is_a_calendar_version(self) -> None:
        assert re.fullmatch(r"20\d\d\.\d+", lugbook.__version__)

    @pytest.mark.skipif(
        not (ROOT / ".git").exists(), reason="a source archive does not list its files"
    )
    def test_no_text_file_names_a_folder_of_one_machine(self) -> None:
        listing = subprocess.run(
            ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
            cwd=ROOT,
            capture_output=True,
            check=True,
        )
        paths = [ROOT / name for name in listing.stdout.decode().split("\0") if name]
        assert paths
        # A folder of this kind at the start of a path, not inside an address.
        own_folder = re.compile(rb"(?<![\w.])/(?:home|root|work|Users)/\w")
        texts = {path: path.read_bytes() for path in paths if path.is_file()}
        naming = [
            str(path.relative_to(ROOT))
            for path, content in texts.items()
            if b"\0" not in content and own_folder.search(content)
        ]
        assert naming == []
