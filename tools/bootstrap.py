#!/usr/bin/env python3
"""Set the project up once, then do one of its verbs.

Needs nothing but Python: makes .venv when it is missing, installs the locked
packages when the locks have changed, and then runs what was asked for. A second
run finds its stamp and goes straight to the verb.

Annotations that an old Python cannot evaluate stand in quotes, so that it gets as
far as the sentence that refuses it.
"""

import compileall
import hashlib
import json
import os
import subprocess
import sys
import sysconfig
import tempfile
from pathlib import Path

LOWEST_PYTHON = (3, 11)
ROOT = Path(__file__).resolve().parent.parent
SOURCE = ROOT / "src"
VENV = ROOT / ".venv"
STAMP = VENV / "lugbook-stamp.json"
REQUIREMENTS = ROOT / "requirements"
APP = ("app",)
APP_AND_DEV = ("app", "dev")
# The campaigns also need the record of a real house, 20 MB, which no one else does.
ALL = (*APP_AND_DEV, "prove")

# What each verb needs installed: a person who only runs the tool gets no test tools.
VERBS = {
    "setup": APP_AND_DEV,
    "run": APP,
    "test": APP_AND_DEV,
    "prove": ALL,
    "lint": APP_AND_DEV,
    "bench": APP,
}


class SetupError(Exception):
    """Set-up cannot go on; the message is all that the person needs."""


def old_python_refusal(version: "tuple[int, ...]", executable: str) -> "str | None":
    """Say in one sentence why this Python is too old, or None when it will do."""
    if tuple(version[:2]) >= LOWEST_PYTHON:
        return None
    given = ".".join(str(part) for part in version[:3])
    lowest = ".".join(str(part) for part in LOWEST_PYTHON)
    return (
        f"Lugbook needs Python {lowest} or newer and {executable} is Python {given}: "
        f"name a newer one, for example `make setup PYTHON=python{lowest}`."
    )


def venv_python() -> Path:
    """Give the path of the interpreter inside .venv."""
    if os.name == "nt":
        return VENV / "Scripts" / "python.exe"
    return VENV / "bin" / "python"


def lock_path(name: str) -> Path:
    """Give the path of a lock by its short name."""
    return REQUIREMENTS / f"{name}.lock"


def wanted_stamp(locks: "tuple[str, ...]") -> "dict[str, str]":
    """Say what .venv must have been made from to be usable as it is."""
    stamp = {"python": sys.version, "root": str(ROOT)}
    for name in locks:
        stamp[name] = hashlib.sha256(lock_path(name).read_bytes()).hexdigest()
    return stamp


def found_stamp() -> "dict[str, str]":
    """Read what .venv was made from; empty when it was never finished."""
    try:
        stamp = json.loads(STAMP.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return stamp if isinstance(stamp, dict) else {}


def is_ready(found: "dict[str, str]", wanted: "dict[str, str]") -> bool:
    """Tell whether everything wanted is there, whatever else is."""
    return all(found.get(key) == wanted[key] for key in wanted)


def is_of_another_place(found: "dict[str, str]", wanted: "dict[str, str]") -> bool:
    """Tell whether .venv belongs to another Python or another folder."""
    keys = ("python", "root")
    return bool(found) and any(found.get(key) != wanted[key] for key in keys)


def succeeds(command: "list[str]") -> bool:
    """Run a command and tell whether it ended well."""
    return subprocess.call(command, cwd=ROOT) == 0


def make_venv(*, clear: bool) -> None:
    """Make .venv, or mend a half-made one; clear it first when asked."""
    # Not sys.executable: run from inside .venv, that would clear its own folder.
    base = getattr(sys, "_base_executable", None) or sys.executable
    command = [base, "-m", "venv", *(["--clear"] if clear else []), str(VENV)]
    if not succeeds(command):
        raise SetupError(
            f"{base} could not make {VENV}: install its venv module (on Debian and "
            "Ubuntu the package python3-venv) and try again."
        )


def install(locks: "tuple[str, ...]") -> None:
    """Install exactly what the locks name, by uv, or by pip where uv fails."""
    python = str(venv_python())
    pip = [python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    hashed = ["--require-hashes"]
    for name in locks:
        hashed += ["-r", str(lock_path(name))]
    with tempfile.TemporaryDirectory(prefix="lugbook-uv-") as folder:
        fetch = [*pip, "--target", folder, "--require-hashes", "-r"]
        if succeeds([*fetch, str(lock_path("uv"))]):
            name = "uv.exe" if os.name == "nt" else "uv"
            uv = [str(Path(folder) / "bin" / name), "pip", "install", "--quiet"]
            # Without bytecode every start is slow for as long as the folder lives.
            if succeeds([*uv, "--python", python, "--compile-bytecode", *hashed]):
                return
    print("uv did not install the packages; trying pip, which is slower.", flush=True)
    if not succeeds([*pip, *hashed]):
        raise SetupError(
            "The packages could not be installed, see the messages above: check the "
            "network, or the mirror named in pip's settings, and try again."
        )


def name_source() -> None:
    """Let .venv find the package in src, and give it a `lugbook` command."""
    base = {"base": str(VENV), "platbase": str(VENV)}
    site_packages = Path(sysconfig.get_path("purelib", "venv", vars=base))
    (site_packages / "lugbook-src.pth").write_text(f"{SOURCE}\n", encoding="utf-8")
    if os.name == "nt":
        return
    command = VENV / "bin" / "lugbook"
    command.write_text(
        f"#!{venv_python()}\n"
        "import sys\n\nfrom lugbook.__main__ import run\n\nsys.exit(run())\n",
        encoding="utf-8",
    )
    command.chmod(0o755)


def set_up(locks: "tuple[str, ...]") -> None:
    """Bring .venv to what the locks say; does nothing when it is there already."""
    wanted = wanted_stamp(locks)
    found = found_stamp()
    if is_ready(found, wanted) and venv_python().exists():
        name_source()  # the command may be of an older source
        return
    print("Setting up .venv, once: about half a minute ...", flush=True)
    elsewhere = is_of_another_place(found, wanted)
    STAMP.unlink(missing_ok=True)
    if elsewhere or not found or not venv_python().exists():
        make_venv(clear=elsewhere)
        found = {}
    install(locks)
    name_source()
    kept = {key: found[key] for key in ALL if key in found}
    STAMP.write_text(json.dumps({**kept, **wanted}, indent=1), encoding="utf-8")


def compile_source() -> None:
    """Write the bytecode of src, which Python itself may have been told not to."""
    compileall.compile_dir(SOURCE, quiet=2)


def commands(verb: str, extra: "list[str]") -> "list[list[str]]":
    """Give the commands of a verb, in order, without the interpreter.

    Raises:
        SetupError: When the verb has nothing to run in this checkout.
    """
    if verb == "run":
        return [["-m", "lugbook", "demo", "--serve", *extra]]
    if verb == "test":
        return [["-m", "pytest", "-n", "2", *extra]]
    if verb == "lint":
        return [
            ["-m", "ruff", "check", *extra],
            ["-m", "ruff", "format", "--check"],
            ["-m", "mypy"],
        ]
    if verb == "bench":
        return [[existing("bench/run.py"), *extra]]
    if verb == "prove":
        campaigns = ["-m", "pytest", existing("tests/prove"), *extra]
        mutation = ROOT / "tools" / "mutate_tables.py"
        return [campaigns, *([[str(mutation)]] if mutation.exists() else [])]
    return []


def existing(relative: str) -> str:
    """Give the full path of a part of the project that must be there."""
    path = ROOT / relative
    if not path.exists():
        raise SetupError(f"{relative} is not in this checkout: nothing to run.")
    return str(path)


def perform(verb: str, extra: "list[str]") -> int:
    """Do a verb's commands; all run, and the first failure's status is returned."""
    python = str(venv_python())
    todo = [[python, *command] for command in commands(verb, extra)]
    os.chdir(ROOT)
    if len(todo) == 1 and os.name != "nt":
        # Replacing this process hands Ctrl-C and the exit status on untouched.
        os.execv(python, todo[0])
    statuses = [subprocess.call(command) for command in todo]
    return next((status for status in statuses if status), 0)


def main(arguments: "list[str]") -> int:
    """Set up what the verb needs and do it; give the exit status."""
    refusal = old_python_refusal(tuple(sys.version_info[:3]), sys.executable)
    if refusal:
        print(refusal, file=sys.stderr)
        return 2
    if not arguments or arguments[0] not in VERBS:
        print(f"usage: bootstrap.py {{{' | '.join(VERBS)}}} ...", file=sys.stderr)
        return 2
    verb, *extra = arguments
    try:
        set_up(VERBS[verb])
        compile_source()
        if verb == "setup":
            print("Ready: .venv holds Lugbook and its test tools.")
        return perform(verb, extra)
    except SetupError as error:
        print(error, file=sys.stderr)
        return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
