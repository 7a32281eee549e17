"""Which rows and which columns of a table are the house's."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from lugbook.demand.opened import unusable
from lugbook.demand.table_header import Amount, unit_of
from lugbook.demand.table_numbers import numbers
from lugbook.demand.table_state import ESTIMATED, Table, shown

if TYPE_CHECKING:
    from lugbook.demand.series import Floats, Integers

__all__ = ["MOST_METERS", "chosen_columns", "parts_of", "parts_summed", "with_notes"]

_METER_TITLE = re.compile(
    r"meter( ?(id|no|number|#))?|esi ?id|(usage|service|supply|delivery) ?point( ?id)?"
    r"|premise( ?id)?|service( ?(id|agreement))?|account( ?(id|no|number|#))?|nmi|mpan",
    re.IGNORECASE,
)
_FORWARD_CELL = re.compile(
    r"consum|deliver|import|usage|from.grid|forward|load", re.IGNORECASE
)
_REVERSE_CELL = re.compile(
    r"generat|surplus|receiv|export|to.grid|reverse|return|produc", re.IGNORECASE
)
_ELECTRIC = re.compile(r"elec", re.IGNORECASE)
_OTHER_SERVICE = re.compile(r"gas|water|therm|steam|propane", re.IGNORECASE)
MOST_DIRECTIONS = 4  # different words for which way the energy flows
MOST_METERS = 20  # of one customer; more different cells are no names of meters
_FLAG_TITLE = re.compile(
    r"(?<![a-z])est|actual|quality|status|flag|read.?type|indicator", re.I
)
_ESTIMATED = re.compile(
    r"\b(e|est\w*|interpolat\w*|projected|substitut\w*|calculated)\b", re.IGNORECASE
)
_NOT_ESTIMATED = re.compile(r"\b(not|non|no)[ -]?est", re.IGNORECASE)
_YES = ("y", "yes", "true", "1")
_KINDS = ("energy", "power", "", "current")


def parts_of(table: Table) -> Iterator[Table]:
    """A table for each meter, and for each direction of flow.

    Args:
        table: The table. [-]

    Yields:
        One after another. [-]

    Raises:
        InputError: No row is of electricity that is drawn.
    """
    keep = _electric_rows(table)
    if keep is not None:
        table.cells = [[column[index] for index in keep] for column in table.cells]
    direction = _direction_column(table)
    if direction is not None:
        amounts = tuple(
            each for each in table.columns.amounts if each.index != direction
        )
        columns = replace(table.columns, amounts=amounts)
        table.header = replace(table.header, columns=columns)
    meter = _meter_column(table)
    if direction is None and meter is None:
        yield table
        return
    used = {table.header.titles[at] for at in (direction, meter) if at is not None}
    table.left_out[:] = [
        each
        for each in table.left_out
        if each.what not in {f'column "{shown(title)}"' for title in used}
    ]
    rows: dict[tuple[str, bool], list[int]] = {}
    for index in range(len(table.cells[0])):
        point = table.cells[meter][index].strip() if meter is not None else "1"
        flow = table.cells[direction][index] if direction is not None else ""
        is_reverse = bool(_REVERSE_CELL.search(flow))
        rows.setdefault((point, is_reverse), []).append(index)
    if direction is not None:
        # The unit may stand beside the direction, as in "Import (kW)".
        table.units_in_cells |= {
            match[0]
            for kind in set(table.cells[direction])
            if (match := re.search(r"\b[kM]?Wh?\b", kind))
        }
    if all(is_reverse for _, is_reverse in rows):
        raise unusable(
            table.name, "only what flows to the grid, not what the house draws"
        )
    for (point, is_reverse), places in rows.items():
        cells: list[Sequence[str]] = [
            [column[place] for place in places] for column in table.cells
        ]
        yield replace(table, cells=cells, point=shown(point), is_reverse=is_reverse)


def _direction_column(table: Table) -> int | None:
    """Return the column whose cells say which way the energy flows."""
    used = {at for role, at in table.columns.times.items() if role != "type"}
    for place, cells in enumerate(table.cells):
        if place in used or place in table.columns.wide:
            continue
        if not re.search("[A-Za-z]", cells[0]):
            continue
        if len(set(cells[:500])) > MOST_DIRECTIONS:
            continue
        kinds = {cell.strip() for cell in set(cells)} - {""}
        reverse = {kind for kind in kinds if _REVERSE_CELL.search(kind)}
        if (
            len(kinds) <= MOST_DIRECTIONS
            and reverse
            and all(_FORWARD_CELL.search(kind) for kind in kinds - reverse)
        ):
            return place
    return None


def _meter_column(table: Table) -> int | None:
    """Return the column that tells one meter from another, where there are several."""
    for place, title in enumerate(table.header.titles):
        plain = " ".join(title.replace("_", " ").split())
        if not _METER_TITLE.fullmatch(plain) or place in table.columns.wide:
            continue
        if any(amount.index == place for amount in table.columns.amounts):
            continue
        if 1 < len(set(table.cells[place])) <= MOST_METERS:
            return place
    return None


def _electric_rows(table: Table) -> list[int] | None:
    """Return the rows of electricity where the table holds others; None for all."""
    keep: set[int] | None = None
    for role in ("type", "unit"):
        place = table.columns.times.get(role)
        if place is None:
            continue
        cells = table.cells[place]
        kinds = set(cells)
        if role == "type":
            out = {kind for kind in kinds if _OTHER_SERVICE.search(kind)}
            out -= {kind for kind in out if _ELECTRIC.search(kind)}
        else:
            out = {kind for kind in kinds if kind.strip() and not unit_of(kind)[0]}
        if out:
            rows = {index for index, cell in enumerate(cells) if cell not in out}
            keep = rows if keep is None else keep & rows
            table.leave_out(
                f"{len(cells) - len(rows)} rows", f"{', '.join(sorted(out))[:60]}"
            )
    if keep is not None and not keep:
        raise unusable(table.name, "no row of electricity")
    return None if keep is None else sorted(keep)


def chosen_columns(table: Table) -> list[Amount]:
    """The columns to read: two legs, or the whole, with what flows back.

    Args:
        table: The table. [-]

    Returns:
        The columns to read. [-]

    Raises:
        InputError: None shows what the house draws.
    """
    amounts = list(table.columns.amounts)
    forward = [amount for amount in amounts if not amount.reverse]
    reverse = [amount for amount in amounts if amount.reverse][:1]
    if table.options.column is not None:
        return _named(table, amounts, table.options.column)
    if not forward:
        raise unusable(
            table.name, "only what flows to the grid, not what the house draws"
        )
    if pair := _leg_pair(table, forward):
        _leave_out_columns(table, amounts, pair)
        return pair
    ranked = sorted(forward, key=_rank)
    best = ranked[0]
    if best.part:
        chosen = [each for each in ranked if each.part and each.kind == best.kind]
    else:
        chosen = [best]
        rivals = [each for each in ranked[1:] if _rank(each) == _rank(best)]
        if rivals:
            chosen = [_largest(table, [best, *rivals])]
            others = ", ".join(f'"{each.title}"' for each in (best, *rivals)[:6])
            table.say(
                "columns",
                f'"{chosen[0].title}" was taken for the house, of {others}, since it '
                "holds most",
                '--column "HEADING"',
                asks=True,
            )
    chosen += reverse
    _leave_out_columns(table, amounts, chosen)
    return chosen


def _rank(amount: Amount) -> tuple[bool, bool, bool, bool, int, bool]:
    """Return how little a column looks like the whole house's."""
    return (
        amount.part,
        amount.net,
        amount.counter,
        bool(amount.leg),
        _KINDS.index(amount.kind),
        not amount.whole,
    )


def _named(table: Table, amounts: Sequence[Amount], title: str) -> list[Amount]:
    """Return the column that a person named."""
    named = [each for each in amounts if each.title.lower() == title.strip().lower()]
    if not named:
        held = ", ".join(f'"{each.title}"' for each in amounts)
        raise unusable(table.name, f'no column of amounts "{title}"; there are {held}')
    _leave_out_columns(table, amounts, named)
    table.say("columns", f'"{named[0].title}", as you said')
    return named


def _largest(table: Table, amounts: Sequence[Amount]) -> Amount:
    """Return the column that holds most: none is more than the whole."""
    import numpy as np

    def total(amount: Amount) -> float:
        found = numbers(table.cells[amount.index], delimiter=table.header.delimiter)
        return float(np.nansum(found.amounts)) * amount.factor

    return max(amounts, key=total)


def _leg_pair(table: Table, forward: Sequence[Amount]) -> list[Amount]:
    """Return the columns of both legs, where each has one of the same kind."""
    legs = [amount for amount in forward if amount.leg]
    if {amount.leg for amount in legs} >= {"A", "B", "C"}:
        raise unusable(
            table.name,
            "three phases; a house of 120/240 V has two legs",
            "Name the column of the whole by --column, if there is one."
            if len(legs) < len(forward)
            else "",
        )
    for kind in ("power", "energy", "", "current"):
        of_kind = [each for each in legs if each.kind == kind]
        if {each.leg for each in of_kind} == {"A", "B"}:
            of_kind.sort(key=_rank)
            return [next(each for each in of_kind if each.leg == leg) for leg in "AB"]
    return []


def _leave_out_columns(
    table: Table, amounts: Sequence[Amount], kept: Sequence[Amount]
) -> None:
    for amount in amounts:
        if amount not in kept:
            table.leave_out(f'column "{amount.title}"', "another column was taken")


def parts_summed(
    table: Table, found: list[tuple[Amount, Floats]]
) -> list[tuple[Amount, Floats]]:
    """The amounts of one use at several prices added up.

    Args:
        table: The table. [-]
        found: The columns with their numbers. [-]

    Returns:
        The same, parts of one use added up. [-]
    """
    import numpy as np

    parts = [(amount, column) for amount, column in found if amount.part]
    if len(parts) < 2:
        return found
    columns = np.stack([column for _, column in parts])
    total = np.where(np.isnan(columns).all(axis=0), np.nan, np.nansum(columns, axis=0))
    title = " + ".join(amount.title for amount, _ in parts)
    table.say("columns", f'"{title}" added up to the whole')
    others = [each for each in found if not each[0].part]
    return [(replace(parts[0][0], title=title), total), *others]


def with_notes(table: Table, quality: Integers) -> Integers:
    """The quality with what a column of notes says of estimates.

    Args:
        table: The table. [-]
        quality: Codes of quality. [-]

    Returns:
        The codes, with what columns of notes say of estimates. [-]
    """
    import numpy as np

    for place in _note_columns(table):
        title = table.header.titles[place].strip().lower()
        cells = table.cells[place]
        codes: dict[str, int] = {}
        for cell in set(cells):
            said = _ESTIMATED.search(cell) and not _NOT_ESTIMATED.search(cell)
            if title.startswith("estimat") and cell.strip().lower() in _YES:
                said = True
            codes[cell] = ESTIMATED if said else -1
        if any(code >= 0 for code in codes.values()):
            noted = np.array([codes[cell] for cell in cells], dtype=np.int64)
            quality = np.where(noted >= 0, noted, quality)
    return quality


def _note_columns(table: Table) -> list[int]:
    """Return the columns that may say of a reading that it is an estimate."""
    place = table.columns.times.get("note")
    amounts = {amount.index for amount in table.columns.amounts}
    not_times = ("note", "type")
    used = {at for role, at in table.columns.times.items() if role not in not_times}
    flags = [
        index
        for index, title in enumerate(table.header.titles)
        if _FLAG_TITLE.search(title)
        and index not in used
        and index not in amounts
        and index not in table.columns.wide
    ]
    return flags if place is None or place in flags else [place, *flags]
