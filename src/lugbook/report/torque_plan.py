"""The terminal plan: the path as a drawing, its clamps numbered as on the sheet.

Symbols after IEEE 315: an open circle is a terminal, an arc a breaker's pole, a slant
a switch. It is drawn in the colour of the text around it, so it follows a page's
theme; alone it brings its own, dark where the reader's screen is, ink on white in
print.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from textwrap import wrap
from xml.sax.saxutils import escape

from lugbook.assess.torque import TorqueSheet, TorqueTerminal
from lugbook.quantities import Quantity, show

__all__ = ["torque_plan"]

_COLUMN_X = {"leg A": 146.0, "leg B": 216.0, "neutral": 286.0, "ground": 350.0}
_LEGS = ("leg A", "leg B")
_LEFT, _RIGHT = 24.0, 404.0
_LIST_X, _WIDTH = 440.0, 820.0
_TOP, _ROW, _GAP = 40.0, 62.0, 34.0
_NOTE = 21.0
_NAME_CHARACTERS = 14  # what fits beside the legs
_STYLE = (
    "svg{color:#211c15;background:#fbf6ec}"
    "@media (prefers-color-scheme:dark){svg{color:#f0e7d8;background:#221e19}}"
    "@media print{svg{color:#000;background:#fff}}"
)


@dataclass(slots=True)
class _Row:
    """Clamps drawn beside each other, by the conductor they hold."""

    at: str
    y: float = 0.0
    cells: dict[str, TorqueTerminal] = field(default_factory=dict)


@dataclass(slots=True)
class _Box:
    """A piece of equipment with its rows of clamps."""

    name: str
    top: float = 0.0
    rows: list[_Row] = field(default_factory=list)

    @property
    def bottom(self) -> float:
        return self.top + _ROW * len(self.rows) + 6


def torque_plan(sheet: TorqueSheet, *, alone: bool = True) -> str:
    """The terminal plan of a sheet, with its list of keynotes.

    Args:
        sheet: The sheet. [-]
        alone: Whether it brings its own colours, for a file of its own. [-]

    Returns:
        An SVG element. [-]
    """
    boxes = _laid_out(sheet.terminals)
    list_bottom = _TOP + _NOTE * 2 * len(sheet.terminals)
    height = max(boxes[-1].bottom if boxes else 0.0, list_bottom) + 20
    style = f"<style>{_STYLE}</style>" if alone else ""
    title = "Terminal plan: " + ", ".join(
        f"{each.number} {each.name}" for each in sheet.terminals
    )
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="terminal-plan" '
        f'viewBox="0 0 {_WIDTH:g} {height:g}" role="img" fill="none" '
        'stroke="currentColor" font-family="Source Sans, Helvetica, sans-serif" '
        f'font-size="14" aria-label="{escape(title, {chr(34): "&quot;"})}">{style}',
        *(_head(conductor, x) for conductor, x in _COLUMN_X.items()),
        *_conductors(boxes),
    ]
    for box in boxes:
        parts += _drawn(box)
    parts += _keynotes(sheet.terminals)
    return "\n".join((*parts, "</svg>"))


def _laid_out(terminals: Sequence[TorqueTerminal]) -> list[_Box]:
    """Return the boxes down the path; what is grounded joins the box it is in."""
    boxes: list[_Box] = []
    for terminal in terminals:
        grounded = _conductor(terminal) in ("ground", "neutral")
        box = next((b for b in reversed(boxes) if b.name == terminal.equipment), None)
        if box is None or (not grounded and box is not boxes[-1]):
            box = _Box(terminal.equipment)
            boxes.append(box)
        _row_for(box, terminal, grounded).cells[_conductor(terminal)] = terminal
    y = _TOP
    for box in boxes:
        box.top = y
        for index, row in enumerate(box.rows):
            row.y = y + _ROW * index + _ROW / 2 + 8
        y = box.bottom + _GAP
    return boxes


def _row_for(box: _Box, terminal: TorqueTerminal, grounded: bool) -> _Row:
    conductor = _conductor(terminal)
    for row in reversed(box.rows):
        if (grounded or row.at == terminal.at) and conductor not in row.cells:
            return row
        if not grounded:
            break
    box.rows.append(_Row(terminal.at))
    return box.rows[-1]


def _conductor(terminal: TorqueTerminal) -> str:
    if terminal.on in _COLUMN_X:
        return terminal.on
    return "ground" if "ground" in terminal.on else "leg A"


def _head(conductor: str, x: float) -> str:
    return _text(x, 22, conductor, anchor="middle")


def _drawn(box: _Box) -> Iterator[str]:
    height = box.bottom - box.top
    yield (
        f'<rect x="{_LEFT:g}" y="{box.top:g}" width="{_RIGHT - _LEFT:g}" '
        f'height="{height:g}" stroke-width="1" stroke-dasharray="7 4"/>'
    )
    for index, words in enumerate(wrap(box.name.replace("_", " "), _NAME_CHARACTERS)):
        yield _text(_LEFT + 6, box.top + 16 + 14 * index, words, size=12)
    for row in box.rows:
        for conductor, terminal in row.cells.items():
            x = _COLUMN_X[conductor]
            yield f'<circle cx="{x:g}" cy="{row.y:g}" r="4.5" stroke-width="1.6"/>'
            yield (
                f'<path d="M{x + 3.5:g} {row.y - 3:g}L{x + 15:g} {row.y - 9:g}" '
                'stroke-width="0.8"/>'
            )
            yield _balloon(x + 29, row.y - 13, terminal)


def _conductors(boxes: Sequence[_Box]) -> Iterator[str]:
    """Yield the lines between clamps of one conductor, with what breaks them."""
    for conductor, x in _COLUMN_X.items():
        held = [
            (box, row) for box in boxes for row in box.rows if conductor in row.cells
        ]
        for (box, row), (next_box, next_row) in pairwise(held):
            inside = box is next_box and conductor in _LEGS
            yield from _line(x, row, next_row, inside)


def _line(x: float, row: _Row, next_row: _Row, inside: bool) -> Iterator[str]:
    top, bottom = row.y + 4.5, next_row.y - 4.5
    dash = ' stroke-dasharray="3 3"' if x == _COLUMN_X["ground"] else ""
    if not inside or next_row.at not in ("overcurrent device", "disconnect load"):
        yield f'<path d="M{x:g} {top:g}V{bottom:g}" stroke-width="2"{dash}/>'
        return
    middle = (top + bottom) / 2
    above, below = middle - 9, middle + 9
    yield f'<path d="M{x:g} {top:g}V{above:g}M{x:g} {below:g}V{bottom:g}" '
    yield 'stroke-width="2"/>'
    if next_row.at == "overcurrent device":
        yield (
            f'<path d="M{x:g} {above:g}A10 10 0 0 0 {x:g} {below:g}" stroke-width="2"/>'
        )
    else:
        yield (
            f'<path d="M{x:g} {below:g}L{x - 10:g} {above + 1:g}" stroke-width="2"/>'
        )


def _balloon(x: float, y: float, terminal: TorqueTerminal) -> str:
    radii = (14, 17) if terminal.live else (14,)
    rings = "".join(
        f'<circle cx="{x:g}" cy="{y:g}" r="{radius}" stroke-width="1.2"/>'
        for radius in radii
    )
    return rings + _text(
        x, y + 4.5, terminal.number, size=12, anchor="middle", bold=True
    )


def _keynotes(terminals: Sequence[TorqueTerminal]) -> Iterator[str]:
    yield _text(_LIST_X, 22, "Keynotes", bold=True)
    for index, terminal in enumerate(terminals):
        y = _TOP + 2 * _NOTE * index + 8
        yield _text(_LIST_X, y + 4, terminal.number, bold=True)
        yield _text(_LIST_X + 38, y + 4, terminal.name.replace("_", " "))
        yield _text(_LIST_X + 38, y + 21, _said(terminal), size=12)


def _said(terminal: TorqueTerminal) -> str:
    if terminal.live:
        return "double ring: not by you while live"
    if terminal.target_n_m is None:
        return "torque not known: read it first"
    target = show(terminal.target_n_m, Quantity.TORQUE, terminal.unit)
    if terminal.citation is None:
        return f"{target}, printed"
    return f"{target}, by {terminal.citation.locator}"


def _text(
    x: float,
    y: float,
    words: str,
    *,
    size: int = 14,
    anchor: str = "start",
    bold: bool = False,
) -> str:
    weight = ' font-weight="600"' if bold else ""
    return (
        f'<text x="{x:g}" y="{y:g}" fill="currentColor" stroke="none" '
        f'font-size="{size}" text-anchor="{anchor}"{weight}>{escape(words)}</text>'
    )
