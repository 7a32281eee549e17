"""The same actions from a terminal.

Exit status: 0 meets or narrow, 1 falls short or a stop, 3 cannot tell, 2 input that
cannot be used, 70 a fault of ours, 130 interrupted, 141 the reader of a pipe left.
"""

from __future__ import annotations

import gc
import os
import shlex
import shutil
import sys
import traceback
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import (
    App,
    CycloptsError,
    MissingArgumentError,
    Parameter,
    UnusedCliTokensError,
)

from lugbook import __version__
from lugbook.errors import Fault, InputError, LugbookError

# What only some commands need is imported inside them: `lugbook check` is to answer
# in half a second, and `lugbook --version` at once.
if TYPE_CHECKING:
    from lugbook.assess.assessment import Assessment
    from lugbook.premises.interview import Question
    from lugbook.report.paper import Paper

__all__ = ["app", "exit_status", "main"]

UNUSABLE_INPUT = 2
OUR_FAULT = 70  # EX_SOFTWARE of sysexits.h
INTERRUPTED = 130  # as a shell reports SIGINT
READER_LEFT = 141  # as a shell reports SIGPIPE
DEMO = Path("potters_house", "plan.toml")

app = App(
    name="lugbook",
    help="Can this house carry the charger, on which circuit, proven how?",
    version=__version__,
    help_format="plaintext",
    help_formatter="plain",
)
Flag = Annotated[bool, Parameter(negative="", show_default=False)]


@app.command
def demo(*, serve: Flag = False, port: int = 8765) -> int:
    """Answer for the potter's house, our invented example.

    Args:
        serve: Also show the answer as a page on this machine.
        port: Port of the page; 0 for any free one.
    """
    plan_path = demo_plan()
    status = check(plan_path)
    shown = _as_typed(plan_path)
    _say(
        "\nWhat comes next\n"
        f"  lugbook check {shown} --setting '32 A'\n"
        f"  lugbook check {shown} --working\n"
        "  lugbook new           your own house, by twelve questions\n"
    )
    if serve:
        return _serve(plan_path, port)
    return status


@app.command
def check(
    plan: Path,
    /,
    *,
    edition: str | None = None,
    setting: str | None = None,
    working: Flag = False,
    torque: Flag = False,
    work: Flag = False,
    what_if: Flag = False,
    json: Flag = False,
) -> int:
    """Answer for the house in a plan file.

    Args:
        plan: The plan file.
        edition: Edition of NFPA 70 to judge by; else the plan's own.
        setting: Setting to judge, as in "48 A"; else the plan's own.
        working: Add every finding and every line of the arithmetic.
        torque: Add the torque sheet, to be printed and written on.
        work: Add the order of work, the inspector's list, permit papers and letter.
        what_if: Add what would change the answer, the gravest first.
        json: Print everything as JSON instead.
    """
    setting_a = _setting_a(setting)
    from lugbook import actions

    assessment = actions.check(plan, edition=edition, setting_a=setting_a)
    varied = (
        actions.what_would_change(plan, edition=edition, setting_a=setting_a)
        if what_if
        else None
    )
    if json:
        from lugbook.report.as_json import json_text

        ascii_only = not _is_utf8(_encoding())
        _say(json_text(assessment, varied, ascii_only=ascii_only) + "\n")
    else:
        from lugbook.report.terminal import answer, full_answer

        _say((full_answer if working else answer)(assessment, _paper()))
        if torque and assessment.torque is not None:
            from lugbook.report.torque_text import torque_text

            _say("\n" + torque_text(assessment.torque, _paper()))
        if work and assessment.work is not None:
            from lugbook.report.work_text import work_text

            _say("\n" + work_text(assessment.work, _paper()))
        if varied is not None:
            from lugbook.report.sensitivity_text import planned_text, sensitivity_text

            _say("\n" + sensitivity_text(varied[0], _paper()))
            _say(planned_text(varied[1], _paper()))
    return exit_status(assessment)


@app.command
def compare(
    first: Path,
    second: Path | None = None,
    /,
    *,
    edition_a: str | None = None,
    edition_b: str | None = None,
    setting_a: str | None = None,
    setting_b: str | None = None,
    planned: Flag = False,
    working: Flag = False,
    json: Flag = False,
) -> int:
    """Show which answers differ between two plans, editions or settings, and why.

    Args:
        first: Plan A.
        second: Plan B; plan A again if left out, by another edition or setting.
        edition_a: Edition of NFPA 70 to judge A by; else the plan's own.
        edition_b: The same for B.
        setting_a: Setting to judge A at, as in "48 A"; else the plan's own.
        setting_b: The same for B.
        planned: Take every planned load as there in B.
        working: Add every figure that changes no answer.
        json: Print everything as JSON instead.
    """
    if second is None and not (edition_b or setting_b or planned):
        raise InputError(
            Fault(
                "plan B",
                "left out",
                "a second plan, or one of --edition-b, --setting-b and --planned",
            )
        )
    first_a, second_a = _setting_a(setting_a, "-a"), _setting_a(setting_b, "-b")
    from lugbook import actions
    from lugbook.report.compare_text import comparison_text

    comparison = actions.compare(
        actions.Side(first, edition_a, first_a),
        actions.Side(second or first, edition_b, second_a, planned),
    )
    if json:
        from lugbook.report.compare_json import comparison_json_text

        ascii_only = not _is_utf8(_encoding())
        _say(comparison_json_text(comparison, ascii_only=ascii_only) + "\n")
    else:
        _say(comparison_text(comparison, _paper(), every_line=working))
    return 0


@app.command
def options(
    plan: Path,
    /,
    *,
    edition: str | None = None,
    prices: Path | None = None,
    parts: int | None = None,
    all: Flag = False,
    json: Flag = False,
) -> int:
    """Search every lawful circuit for the run in a plan file, priced roughly.

    Args:
        plan: The plan file.
        edition: Edition of NFPA 70 to judge by; else the plan's own.
        prices: Your price list, of the shape of the one shipped, which is invented.
        parts: Give parts, hours, papers and cautions of the circuit of this number.
        all: List every circuit that no other beats, not only a few.
        json: Print everything as JSON instead.
    """
    from lugbook import actions
    from lugbook.report.options_json import options_json_text
    from lugbook.report.options_text import options_text, parts_text

    found = actions.options(plan, edition=edition, prices_path=prices)
    chosen = (
        None
        if parts is None
        else actions.parts(plan, parts, found, edition=edition, prices_path=prices)
    )
    if json:
        ascii_only = not _is_utf8(_encoding())
        own = None if chosen is None else chosen[0]
        _say(options_json_text(found, own, ascii_only=ascii_only) + "\n")
    elif chosen is not None:
        _say(parts_text(*chosen, found, _paper()))
    else:
        _say(options_text(found, _paper(), every_one=all))
    if not found.candidates:
        return 3
    return 0 if found.lawful else 1


@app.command
def need(
    plan: Path,
    /,
    *,
    edition: str | None = None,
    working: Flag = False,
    json: Flag = False,
) -> int:
    """Say which setting has the cars ready, and what each smaller one misses.

    Args:
        plan: The plan file.
        edition: Edition of NFPA 70 to judge by; else the plan's own.
        working: Add every line behind the numbers.
        json: Print everything as JSON instead.
    """
    from lugbook import actions
    from lugbook.finding import Outcome
    from lugbook.report.need_json import need_json_text
    from lugbook.report.need_text import need_text
    from lugbook.report.together_json import together_tree
    from lugbook.report.together_text import together_text

    found = actions.need(plan, edition=edition)
    nights = actions.together(plan, found, edition=edition)
    if json:
        ascii_only = not _is_utf8(_encoding())
        tree = together_tree(nights)
        _say(need_json_text(found, tree, ascii_only=ascii_only) + "\n")
    else:
        _say(need_text(found, _paper(), working=working))
        if nights is not None:
            _say("\n" + together_text(nights, _paper(), working=working))
    if found.outcome is Outcome.CANNOT_TELL:
        return 3
    return 0 if found.outcome is Outcome.MEETS else 1


@app.command
def new(plan: Path = Path("plan.toml"), /) -> int:
    """Ask twelve questions and write a plan file; any may be left open.

    Args:
        plan: File to write; one that exists is never touched.
    """
    from lugbook.premises.interview import QUESTIONS, plan_text

    _check_is_free(plan)
    _say(
        f"{len(QUESTIONS)} questions, those that can change the answer most first.\n"
        "Press Enter where you do not know; it stays open, with where to look.\n"
    )
    answers = {
        question.key: _asked(question, f"{number} of {len(QUESTIONS)}")
        for number, question in enumerate(QUESTIONS, 1)
    }
    _write_new(plan, plan_text(answers))
    left_open = sum(not answer for answer in answers.values())
    trial = "" if answers["edition"] else " --edition 2023"
    _say(
        f"\n{plan} is written, with {left_open} of {len(QUESTIONS)} left open.\n"
        f"What comes next: lugbook check {plan}{trial}\n"
        + "(2023 only for a first look, until the building department has told you.)\n"
        * bool(trial)
    )
    return 0


@app.command
def table(
    name: str | None = None,
    /,
    *,
    edition: str | None = None,
    csv: Flag = False,
) -> int:
    """Print a table or rule of an edition, or list their names.

    Args:
        name: Name of a table or rule; without it all names are listed.
        edition: Year of the edition of NFPA 70; the newest held if left out.
        csv: Print the header and the rows only, parted by commas.
    """
    from lugbook.codebook.edition import editions, open_edition
    from lugbook.report.book_pages import contents_page, csv_text, find_entry, page

    year = edition or editions()[-1]
    if year not in editions():
        raise InputError(Fault("--edition", repr(year), ", ".join(editions())))
    book = open_edition(year)
    if name is None:
        if csv:
            raise InputError(
                Fault("--csv", "given without a name", "lugbook table NAME --csv")
            )
        _say(contents_page(book, _paper()))
        return 0
    entry = find_entry(book, name)
    _say(csv_text(entry) if csv else page(entry, _paper()))
    return 0


@app.command
def demand(
    file: Path,
    /,
    *,
    zone: str | None = None,
    point: str | None = None,
    unit: str | None = None,
    day_first: bool | None = None,
    column: str | None = None,
    times_end: bool | None = None,
    interval: int | None = None,
    leg_volts: float | None = None,
    working: Flag = False,
    json: Flag = False,
) -> int:
    """Say what a meter file shows of the house's demand.

    Args:
        file: ESPI XML, or a table of a utility or logger; gzip or zip too.
        zone: Time zone of the house, as in America/Chicago; else the file's own.
        point: Usage point to take, where the file holds several.
        unit: Unit of a table's amounts, as in kWh; else its own.
        day_first: Read 3/4/2026 as the third of April.
        column: Heading of the table's column of amounts.
        times_end: Take each time of a table as the end of its interval.
        interval: Seconds of each interval of a table.
        leg_volts: Voltage from leg to neutral, where a table holds amperes.
        working: Add every line behind the numbers.
        json: Print everything as JSON instead.
    """
    from lugbook import actions
    from lugbook.demand.clock import open_zone
    from lugbook.demand.summary import demand_of
    from lugbook.demand.table_file import TableOptions
    from lugbook.report.demand_text import demand_answer, demand_json

    clock = open_zone(zone) if zone else None
    options = TableOptions(
        zone=clock,
        unit=unit,
        day_first=day_first,
        column=column,
        times_end=times_end,
        interval_s=interval,
        leg_v=leg_volts,
    )
    with _progress(f"reading {file.name}") as progress:
        summary = demand_of(file, options, zone=clock, point=point, progress=progress)
    asked = actions.demand_conditions(summary.as_record())
    if json:
        ascii_only = not _is_utf8(_encoding())
        _say(demand_json(summary, asked, ascii_only=ascii_only) + "\n")
    else:
        _say(demand_answer(summary, _paper(), asked, working=working))
    return 0


@app.command
def serve(plan: Path | None = None, /, *, port: int = 8765) -> int:
    """Show the answer as a page on this machine, until Ctrl-C.

    Args:
        plan: The plan file; the invented example if left out.
        port: Port of the page; 0 for any free one.
    """
    return _serve(plan or demo_plan(), port)


def demo_plan() -> Path:
    """The plan file of the invented example.

    Returns:
        Its path, beside the source or inside the installed package. [-]

    Raises:
        LugbookError: It is in neither place.
    """
    package = Path(__file__).parent
    # In a checkout the package's own folder is only a link to the one beside it.
    for folder in (package.parents[1] / "examples", package / "examples"):
        if (folder / DEMO).is_file():
            return folder / DEMO
    raise LugbookError(f"the example {DEMO} was not installed with the package")


def exit_status(assessment: Assessment) -> int:
    """The exit status an assessment asks for.

    Args:
        assessment: The assessment. [-]

    Returns:
        0 meets or narrow, 1 falls short or a stop, 3 cannot tell. [-]
    """
    from lugbook.finding import Outcome, Weight

    stops = any(
        finding.weight is Weight.STOP and finding.outcome is Outcome.FALLS_SHORT
        for finding in assessment.findings
    )
    outcome = assessment.headline.outcome
    if stops or outcome is Outcome.FALLS_SHORT:
        return 1
    return 0 if outcome in (Outcome.MEETS, Outcome.NARROW) else 3


def main(tokens: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status; never a traceback.

    Args:
        tokens: What was typed after `lugbook`; the process's own if left out. [-]

    Returns:
        Exit status. [-]
    """
    try:
        status = _run(sys.argv[1:] if tokens is None else list(tokens))
        sys.stdout.flush()
    except InputError as error:
        _complain(*map(str, error.faults))
        return UNUSABLE_INPUT
    except CycloptsError as error:
        _complain(_unread(error))
        return UNUSABLE_INPUT
    except BrokenPipeError:
        _drop_output()
        return READER_LEFT
    except KeyboardInterrupt:
        return INTERRUPTED
    except Exception as error:
        _complain(_apology(error))
        return OUR_FAULT
    return status


def _unread(error: CycloptsError) -> str:
    """Return what could not be read of the words typed, and how to mend it."""
    said = " ".join(str(error).split())
    if isinstance(error, MissingArgumentError) and "PLAN" in said:
        return f"{said} Name your plan file; `lugbook new` makes a first one."
    if isinstance(error, UnusedCliTokensError):
        extra = " ".join(map(str, error.unused_tokens or ()))
        return (
            f"{extra!r}: not expected here; accepted: what --help lists. Put an amount "
            'with its unit in quotes: --setting "48 A".'
        )
    return said


def _run(tokens: list[str]) -> int:
    command, bound, _ = app.parse_args(tokens, exit_on_error=False, print_error=False)
    status = command(*bound.args, **bound.kwargs)
    return status if isinstance(status, int) else 0


def _setting_a(typed: str | None, side: str = "") -> float | None:
    if typed is None:
        return None
    from lugbook.quantities import Quantity, read

    option = f"--setting{side}"
    setting_a = read(typed, Quantity.CURRENT, field=option).amount
    if setting_a <= 0:
        raise InputError(Fault(option, repr(typed), "a current above 0 A"))
    return setting_a


def _check_is_free(plan: Path) -> None:
    if plan.exists():
        raise InputError(
            Fault(str(plan), "exists already", "the name of a file to be made")
        )
    if not plan.parent.is_dir():
        raise InputError(
            Fault(str(plan), "its folder does not exist", "a folder that exists")
        )


def _asked(question: Question, number: str) -> str:
    """Ask until an answer can be read; blank, or the end of the input, leaves it."""
    paper = _paper()
    lines = [
        "",
        *paper.wrap(question.ask, first=f"{number}: ", rest="  "),
        *paper.wrap(f"Look: {question.look}", first="  ", rest="  "),
        *paper.wrap(f"As in: {question.example}", first="  ", rest="  "),
    ]
    _say("\n".join(lines) + "\n")
    while True:
        try:
            answer = input("> ").strip()
        except EOFError:
            return ""
        if not answer:
            return ""
        try:
            question.check(answer)
        except InputError as error:
            if not sys.stdin.isatty():
                raise  # the next line is the answer to another question
            _complain(*map(str, error.faults))
        else:
            return answer


def _write_new(plan: Path, text: str) -> None:
    try:
        with plan.open("x", encoding="utf-8") as file:
            file.write(text)
    except OSError as error:
        raise InputError(
            Fault(str(plan), f"cannot be written ({error.strerror})", "another place")
        ) from error


def _serve(plan_path: Path, port: int) -> int:
    if not 0 <= port <= 65535:
        raise InputError(Fault("--port", str(port), "0 (any free port) to 65535"))
    from lugbook.premises.plan import read_plan
    from lugbook.web.app import serve as serve_pages

    if not plan_path.is_file():
        read_plan(plan_path)  # says why it cannot be read; faults are for the page
    gc.enable()  # the server stays; see __main__.py
    serve_pages(plan_path, port)
    return 0


@contextmanager
def _progress(words: str) -> Iterator[Callable[[int, int], None] | None]:
    """Show a bar on the error stream while a file is read, on a terminal only."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(words, total=None)
        yield lambda read, whole: bar.update(task, completed=read, total=whole)


def _apology(error: Exception) -> str:
    """Return one sentence on a fault of ours, with what its mender needs."""
    frames = traceback.extract_tb(error.__traceback__)
    place = f" in {Path(frames[-1].filename).name} line {frames[-1].lineno}"
    said = " ".join(str(error).split())
    return (
        "this is a fault of Lugbook, not of what you gave: "
        f"{type(error).__name__}{place * bool(frames)}: {said}; "
        "no answer was reached, please report it with the plan file."
    )


def _as_typed(path: Path) -> str:
    """Return a path the way a person standing here would type it."""
    inside = path.is_relative_to(Path.cwd())
    return shlex.quote(str(path.relative_to(Path.cwd()) if inside else path))


def _encoding() -> str:
    # Python writes UTF-8 where the locale is C; a terminal set to C may not read it.
    if os.environ.get("LC_ALL") in ("C", "POSIX"):
        return "ascii"
    return sys.stdout.encoding or "ascii"


def _is_utf8(encoding: str) -> bool:
    return encoding.lower().replace("-", "").replace("_", "") == "utf8"


def _paper() -> Paper:
    from lugbook.report.paper import LARGEST_WIDTH, LEAST_WIDTH, Paper

    columns, lines = shutil.get_terminal_size((80, 40))
    width = max(LEAST_WIDTH, min(columns, LARGEST_WIDTH))
    return Paper(width, _encoding(), lines)


def _say(text: str) -> None:
    encoding = _encoding()
    if not _is_utf8(encoding):
        text = text.encode(encoding, "backslashreplace").decode(encoding)
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        raise
    except OSError as error:
        _drop_output()
        given = f"cannot be written ({error.strerror})"
        raise InputError(
            Fault("standard output", given, "a place with room")
        ) from error


def _drop_output() -> None:
    """Point standard output nowhere: Python flushes what is left when it ends."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _complain(*sentences: str) -> None:
    """Write one line for each fault to the error stream, in characters it can show."""
    from lugbook.report.paper import Paper

    encoding = sys.stderr.encoding or "ascii"
    paper = Paper(encoding=encoding)
    for sentence in sentences:
        sys.stderr.write(f"lugbook: {paper.fit(sentence)}\n")
