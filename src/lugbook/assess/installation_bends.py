"""The raceway's turns: bends between pull points, their radius, fittings and boxes."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

from lugbook.assess.circuit_laid import Laid
from lugbook.assess.circuit_parts import check, fact_check
from lugbook.assess.installation_parts import (
    Check,
    Sheet,
    cited,
    inches,
    joined,
    length_text,
    told,
    value_of,
)
from lugbook.codebook.nfpa70.installation import (
    bend_radius_needed_in,
    box_length_needed_in,
    worst_bends_deg,
)
from lugbook.errors import MissingEntry
from lugbook.finding import Line, Outcome
from lugbook.premises.circuit import RACEWAYS, ConduitBody

__all__ = ["inspect_bends"]

_STRAIGHT = ("C",)
_PULLED = ("LB", "LL", "LR", "box", "T", "C", "pull elbow")


def inspect_bends(sheet: Sheet) -> None:
    """Write what there is to say of the raceway's turns.

    Args:
        sheet: The sheet. [-]
    """
    _bends(sheet)
    _bend_radius(sheet)
    _conduit_bodies(sheet)


def _bends(sheet: Sheet) -> None:
    """Write the bends between pull points.

    A fitting that can be opened ends a stretch, and which bends come before it is
    stated; one without that ends none.
    """
    raceway = [laid for laid in sheet.case.run if laid.method in RACEWAYS]
    if not raceway:
        return
    rule = sheet.edition.rule("raceway-bends")
    limit_deg = rule.number("bends_up_to_deg")
    total = value_of(sheet.circuit.bend_total) if sheet.circuit else None
    silent = [laid.id for laid in raceway if not laid.section.bends]
    found = worst_bends_deg(edition=sheet.edition, stretches=_stretches(sheet.case.run))
    least, lines = found.amount, found.lines
    known: float | None = None if silent else least
    if total is not None and len(silent) == len(raceway):
        least = known = total
        lines = (
            Line("sum of the bends, as stated", total, "deg", source="plan, circuit"),
            Line("at most", limit_deg, "deg", source=rule.citation),
        )
    # Sections whose bends nobody stated can only add to the sum.
    compared = check(
        found=(least, known),
        limit=(limit_deg, limit_deg),
        unit="deg",
        citation=rule.citation,
        next="",
    )
    sheet.answer(
        "run.bends",
        "Can the wire be pulled round the bends between two pull points?",
        (
            told(
                compared,
                open_=f"Count the bends of {joined(silent)}." if silent else "",
                short=(
                    "Put a box or a fitting that can be opened into the run, or bend "
                    "less: wire forced round more bends tears its insulation. With 4 "
                    "AWG and larger, 270 deg is kinder."
                ),
            ),
        ),
        lines=lines,
        unknown=tuple(
            (
                f"circuit.sections.{each}.bends",
                "Which bends has this stretch of the raceway?",
                "the run, or the way it is planned to go",
            )
            for each in silent
        ),
    )


def _stretches(run: Iterable[Laid]) -> list[list[float]]:
    """Return the bends of each stretch between pull points, in the order of the run."""
    stretches: list[list[float]] = [[]]
    for laid in run:
        if laid.method not in RACEWAYS:
            stretches.append([])
            continue
        bends = [bend.value for bend in laid.section.bends]
        cuts = [
            value_of(body.bends_before)
            for body in laid.section.conduit_bodies
            if value_of(body.accessible) and value_of(body.kind) != "pull elbow"
        ]
        edges = [0, *sorted(each for each in cuts if each is not None), len(bends)]
        first, *rest = [bends[start:end] for start, end in pairwise(edges)]
        stretches[-1] += first
        stretches += rest
    return stretches


def _bend_radius(sheet: Sheet) -> None:
    checks: list[Check] = []
    lines: list[Line] = []
    unknown: list[tuple[str, str, str]] = []
    for laid in sheet.case.run:
        trade = value_of(laid.section.trade_size)
        if laid.method not in RACEWAYS or not laid.section.bends or trade is None:
            continue
        try:
            needed = bend_radius_needed_in(edition=sheet.edition, trade_size=trade)
        except MissingEntry:
            continue
        lines += [line for line in needed.lines if line not in lines]
        found_in = inches(laid.section.bend_radius)
        compared = check(
            found=(found_in, found_in),
            limit=(needed.amount, needed.amount),
            direction="at least",
            unit="in",
            citation=cited(needed.lines),
            next="",
        )
        checks.append(
            told(
                compared,
                open_="Measure the smallest radius; factory elbows keep it.",
                short=f"Bend {laid.id} again with a larger radius.",
            )
        )
        if found_in is None:
            unknown.append(
                (
                    f"circuit.sections.{laid.id}.bend_radius",
                    "How wide are the bends, to the middle of the raceway?",
                    "tape measure, or the bender's marking",
                )
            )
    sheet.answer(
        "run.bend_radius",
        "Is every bend wide enough?",
        checks,
        lines=tuple(lines),
        unknown=tuple(unknown),
    )


def _conduit_bodies(sheet: Sheet) -> None:
    """Write whether each fitting is long enough for the wire that turns in it."""
    checks: list[Check] = []
    lines: list[Line] = []
    unknown: list[tuple[str, str, str]] = []
    for laid in sheet.case.run:
        for number, body in enumerate(laid.section.conduit_bodies, start=1):
            if value_of(body.kind) not in _PULLED:
                continue
            each, own = _body_check(sheet, laid, body, f"fitting {number} of {laid.id}")
            checks += each
            lines += [line for line in own if line not in lines]
            if any(one.outcome is Outcome.CANNOT_TELL for one in each):
                unknown.append(
                    (
                        f"circuit.sections.{laid.id}.conduit_bodies.{number}",
                        "Is it marked for the conductors, and how long is it inside?",
                        "inside the fitting, cover off: print, and tape measure",
                    )
                )
    sheet.answer(
        "run.conduit_bodies",
        "Is every fitting large enough for the wire pulled through it?",
        checks,
        lines=tuple(lines),
        unknown=tuple(unknown),
    )


def _body_check(
    sheet: Sheet, laid: Laid, body: ConduitBody, name: str
) -> tuple[list[Check], tuple[Line, ...]]:
    """Return the check of one fitting, none where its conductors are too small."""
    rule = sheet.edition.rule("conduit-body")
    size = laid.size or sheet.case.size
    trade = value_of(laid.section.trade_size)
    limit = "marked for the conductors, or long enough"
    open_ = fact_check(
        None,
        found=None,
        limit=limit,
        citation=rule.citation,
        next=f"Look inside {name}: is it marked for the conductors, how long is it?",
    )
    if size is None or trade is None:
        return [open_], ()
    needed = box_length_needed_in(
        edition=sheet.edition,
        trade_size=trade,
        size=size,
        is_straight=value_of(body.kind) in _STRAIGHT,
    )
    if needed is None:
        return [], ()
    marked = value_of(body.marked_for_conductors)
    if marked:
        passed = fact_check(
            True,
            found="marked for the conductors",
            limit=limit,
            citation=rule.citation,
            next="",
        )
        return [passed], needed.lines
    length_in = inches(body.inside_length)
    compared = check(
        found=(length_in, length_in),
        limit=(needed.amount, needed.amount),
        direction="at least",
        unit="in",
        citation=rule.citation,
        next=(
            f"Take a fitting marked for the conductors as {name}, or one at least "
            f"{length_text(needed.amount)} long inside: wire forced round a short one "
            "cuts its insulation."
        ),
    )
    saved_by_marking = marked is None and compared.outcome is Outcome.FALLS_SHORT
    if length_in is None or saved_by_marking:
        return [open_], needed.lines
    return [compared], needed.lines
