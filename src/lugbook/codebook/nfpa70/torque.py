"""Tightening torque by the book's own tables, where nothing is printed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lugbook.codebook.edition import Edition
from lugbook.finding import Citation, Line
from lugbook.quantities import CONDUCTOR_SIZES, Quantity, read

__all__ = ["DefaultTorque", "default_torques", "must_tool_be_calibrated"]

# A size across flats is a name: 3/16 in and 5 mm differ by 0.24 mm and do not fit.
_SAME_SIZE_M = 0.0001
_SLOTTED = {
    "slotted_narrow_torque_lbf_in": "slot up to 0.047 in wide and 1/4 in long",
    "slotted_wide_torque_lbf_in": "slot wider or longer than that",
}
_SMALL_SLOTTED = {
    "slot_width_under_0_047_in_torque_lbf_in": "slot under 0.047 in wide",
    "slot_width_from_0_047_in_torque_lbf_in": "slot from 0.047 in wide",
}
_HEX = {
    "hex_split_bolt_torque_lbf_in": "split-bolt connector",
    "hex_other_torque_lbf_in": "any other connector",
}
_LARGEST_SMALL_SCREW = "8 AWG"


@dataclass(frozen=True, slots=True)
class DefaultTorque:
    """One torque the tables give for a screw.

    Args:
        screw: The screw or connector it is for, in words. [-]
        torque_n_m: The torque. [N·m]
        citation: Where it is printed. [-]
        line: Line for the working, in the table's own unit. [-]
    """

    screw: str
    torque_n_m: float
    citation: Citation
    line: Line


def default_torques(
    *,
    edition: Edition,
    kind: str | None,
    size: str | None,
    across_flats_m: float | None,
    split_bolt: bool,
) -> tuple[DefaultTorque, ...]:
    """Which torques does the book give where equipment and instructions are silent?

    Several where the tables ask for what is not known of the screw: the width of its
    slot, or whether it is a split bolt.

    Args:
        edition: Edition of the rules. [-]
        kind: How the screw is driven: "slotted screw", "hex socket", "hex head"; None
            if not known. [-]
        size: Size of the conductor in it; None if not known. [-]
        across_flats_m: Size of a hexagon socket. [m]
        split_bolt: Whether it may be a split bolt, as a splice may. [-]

    Returns:
        Torques, the smallest first; none where the tables do not reach. [-]

    Rule:
        table torque-screw, table torque-small-slotted, table torque-hex

    Checked by:
        tests/codebook/test_torque.py, with published examples

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> found = default_torques(edition=open_edition("2023"), kind="hex socket",
        ...     size=None, across_flats_m=0.0254 * 3 / 16, split_bolt=False)
        >>> [(each.line.amount, each.line.unit) for each in found]
        [(120.0, 'lbf·in')]
    """
    found: Iterator[DefaultTorque] = iter(())
    if kind == "hex socket":
        found = _of_socket(edition, across_flats_m)
    elif kind == "slotted screw":
        found = _of_slot(edition, size)
    elif kind == "hex head":
        columns = _HEX if split_bolt else dict(list(_HEX.items())[1:])
        found = _by_size(edition, size, columns)
    by_torque = {each.torque_n_m: each for each in found}
    return tuple(by_torque[torque_n_m] for torque_n_m in sorted(by_torque))


def must_tool_be_calibrated(*, edition: Edition) -> bool:
    """Must a printed torque be reached with a calibrated tool, or by approved means?

    Args:
        edition: Edition of the rules. [-]

    Returns:
        Whether a calibrated tool is asked for by name. [-]

    Rule:
        torque-means

    Checked by:
        tests/codebook/test_torque.py
    """
    return edition.rule("torque-means").text("variant") == "calibrated-tool"


def _of_socket(
    edition: Edition, across_flats_m: float | None
) -> Iterator[DefaultTorque]:
    if across_flats_m is None:
        return
    table = edition.table("torque-hex")
    for row in table.rows:
        width_m = read(f"{row[0]} in", Quantity.LENGTH, field=table.name).amount
        if abs(width_m - across_flats_m) < _SAME_SIZE_M:
            screw = f"hexagon socket {row[0]} in"
            yield _torque(float(row[1]), screw, table.cite(row))


def _of_slot(edition: Edition, size: str | None) -> Iterator[DefaultTorque]:
    yield from _by_size(edition, size, _SLOTTED)
    if size is None or _rank(size) > _rank(_LARGEST_SMALL_SCREW):
        return
    table = edition.table("torque-small-slotted")
    for row in table.rows:
        for column, words in _SMALL_SLOTTED.items():
            torque_lbf_in = table.cell(row, column)
            if torque_lbf_in is not None:
                screw = f"screw smaller than No. 10, slot {row[0]} in long, {words}"
                yield _torque(torque_lbf_in, screw, table.cite(row))


def _by_size(
    edition: Edition, size: str | None, columns: dict[str, str]
) -> Iterator[DefaultTorque]:
    table = edition.table("torque-screw")
    for row in table.rows:
        if row[0] != size:
            continue
        for column, words in columns.items():
            torque_lbf_in = table.cell(row, column)
            if torque_lbf_in is not None:
                yield _torque(torque_lbf_in, f"{size}, {words}", table.cite(row))


def _torque(torque_lbf_in: float, screw: str, source: Citation) -> DefaultTorque:
    printed = f"{torque_lbf_in:g} lbf·in"
    return DefaultTorque(
        screw=screw,
        torque_n_m=read(printed, Quantity.TORQUE, field=source.locator).amount,
        citation=source,
        line=Line(
            f"torque where none is printed: {screw}",
            torque_lbf_in,
            "lbf·in",
            source=source,
        ),
    )


def _rank(size: str) -> int:
    return CONDUCTOR_SIZES.index(size)
