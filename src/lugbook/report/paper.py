"""Plain text laid out for a terminal: its width, its characters, ruled tables.

No colour and no control sequence is ever written, so what is read does not depend
on the terminal, and what a plan holds cannot steer it.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lugbook.finding import Outcome

__all__ = ["LARGEST_WIDTH", "LEAST_WIDTH", "Column", "Paper", "cells"]

LARGEST_WIDTH = 100  # longer lines are hard to read
LEAST_WIDTH = 40
_LEAST_COLUMN = 8  # narrower, and every word of it is cut

# A figure and its unit stay on one line.
_TIED = re.compile(r"(?<=\d) (?=(?:kVA|VA|kW|W|kA|A|V|AWG|kcmil|ft|in|m|K|°)(?!\w))")
# Control characters and the marks that turn the direction of writing.
_STEERING = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]")
_SPACES = re.compile(r"[ \t\r\n]+")

# The limit is a rule; the dot stands where the found amount does.
_MARKS = {
    Outcome.MEETS: "• │ ",
    Outcome.NARROW: " •│ ",
    Outcome.FALLS_SHORT: "  │•",
    Outcome.CANNOT_TELL: "  │ ",
    Outcome.NOT_REQUIRED: "  ┊ ",
}
_PLAIN_CHARACTERS = str.maketrans(
    {
        "•": "o",
        "│": "|",
        "┊": ":",
        "─": "-",
        "·": "-",
        "×": "x",
        "÷": "/",
        "−": "-",
        "–": "-",
        "—": "-",
        "√": "sqrt",
        "≤": "<=",
        "≥": ">=",
        "°": "deg ",
        "²": "2",
        "³": "3",
        "½": "1/2",
        "Ω": "ohm",
        "µ": "u",
        "Δ": "d",
        "…": "...",
        "’": "'",
        "‘": "'",
        "“": '"',
        "”": '"',
        "§": "s. ",
    }
)


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a ruled table.

    Args:
        title: What stands above it; empty for none. [-]
        figures: Whether its cells line up on their decimal point. [-]
        wraps: Whether its cells may be broken into several lines. [-]
        drawn: Whether its cells are drawn, so that every space in them counts. [-]
    """

    title: str
    figures: bool = False
    wraps: bool = False
    drawn: bool = False


def cells(text: str) -> int:
    """Return the number of character cells a text takes on a terminal.

    Args:
        text: One line. [-]

    Returns:
        Cells: two for wide characters, none for marks on the one before. [-]

    Example:
        >>> cells("200 A"), cells("陶芸家")
        (5, 6)
    """
    return sum(map(_cells_of, text))


def _cells_of(character: str) -> int:
    if character.isascii():
        return 1
    if unicodedata.category(character) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if unicodedata.east_asian_width(character) in ("W", "F") else 1


@dataclass(frozen=True, slots=True)
class Paper:
    """What is written on: its size and the characters that can be shown.

    Args:
        width: Character cells in a line. [-]
        encoding: Encoding of the stream written to. [-]
        height: Lines a person sees at once. [-]
    """

    width: int = 80
    encoding: str = "utf-8"
    height: int = 40

    def fit(self, text: str) -> str:
        """Return the text in characters this paper can show, none of them steering.

        Args:
            text: Any text. [-]

        Returns:
            The text on one line. [-]

        Example:
            >>> Paper(encoding="ascii").fit("35 lbf·in at 52 °C")
            '35 lbf-in at 52 deg C'
        """
        shown = _STEERING.sub("?", _SPACES.sub(" ", text))
        if self._shows(shown):
            return shown
        shown = shown.translate(_PLAIN_CHARACTERS)
        return shown.encode(self.encoding, "replace").decode(self.encoding)

    def _shows(self, text: str) -> bool:
        try:
            text.encode(self.encoding)
        except (UnicodeEncodeError, LookupError):
            return False
        return True

    def mark(self, outcome: Outcome) -> str:
        """Return the mark of an outcome, four cells wide.

        Args:
            outcome: The outcome. [-]

        Returns:
            A limit rule with a dot before it, touching it, past it, or none. [-]
        """
        # Judged together: marks of two alphabets on one page would not compare.
        marks = _MARKS[outcome]
        if self._shows("".join(_MARKS.values())):
            return marks
        return marks.translate(_PLAIN_CHARACTERS)

    def rule(self, width: int | None = None) -> str:
        """Return a thin ruled line.

        Args:
            width: Its length, the paper's width if left out. [-]

        Returns:
            The line. [-]
        """
        return self.fit("─") * (self.width if width is None else width)

    def wrap(self, text: str, *, first: str = "", rest: str = "") -> list[str]:
        """Return a text as lines no wider than the paper.

        Args:
            text: The text; its own line ends count as spaces. [-]
            first: What stands before the first line, taken as it is. [-]
            rest: What stands before the others, taken as it is. [-]

        Returns:
            Lines, at least one. [-]

        Example:
            >>> Paper(width=40).wrap("the breaker of the charger is 100 A", first="- ")
            ['- the breaker of the charger is 100 A']
        """
        room = max(8, self.width - max(cells(first), cells(rest)))
        broken = list(_broken(self.fit(text), room)) or [""]
        lines = [first + broken[0], *(rest + line for line in broken[1:])]
        return [line.rstrip() for line in lines]

    def table(
        self,
        columns: Sequence[Column],
        rows: Sequence[Sequence[str]],
        *,
        indent: str = "",
    ) -> list[str]:
        """Return a table under thin rules, its wrapping columns made to fit.

        Where even that is too wide, each row becomes a sentence; columns without a
        title, which only repeat another, are then left out.

        Args:
            columns: The columns. [-]
            rows: Cells as text; a line end in a cell is kept. [-]
            indent: What stands before each line. [-]

        Returns:
            Lines. [-]
        """
        titles = [
            self._drawn(column.title) if column.drawn else self.fit(column.title)
            for column in columns
        ]
        body = [
            [
                self._drawn(cell) if column.drawn else self._cell(cell)
                for column, cell in zip(columns, row, strict=True)
            ]
            for row in rows
        ]
        for index, column in enumerate(columns):
            if column.figures:
                _line_up(body, index)
        widths = self._widths(columns, titles, body, cells(indent))
        if cells(indent) + sum(widths) + 2 * (len(widths) - 1) > self.width:
            return self._sentences(titles, body, indent)
        lines = []
        if any(titles):
            lines = self._row(columns, titles, widths)
            lines.append(self.rule(sum(widths) + 2 * (len(widths) - 1)))
        for row in body:
            lines += self._row(columns, row, widths)
        return [(indent + line).rstrip() for line in lines]

    def _sentences(
        self, titles: Sequence[str], body: Sequence[Sequence[str]], indent: str
    ) -> list[str]:
        lines = []
        for name, *row in body:
            parts = [
                f"{title} {text.strip()}"
                for title, text in zip(titles[1:], row, strict=True)
                if title and text.strip()
            ]
            lines += self.wrap(
                f"{name}: {'; '.join(parts)}", first=indent, rest=f"{indent}  "
            )
        return lines

    def _drawn(self, text: str) -> str:
        return "".join(" " if each == " " else self.fit(each) for each in text)

    def _cell(self, text: str) -> str:
        return "\n".join(self.fit(line) for line in text.split("\n"))

    def _widths(
        self,
        columns: Sequence[Column],
        titles: Sequence[str],
        body: Sequence[Sequence[str]],
        indent: int,
    ) -> list[int]:
        """Return widths: natural ones, then the widest wrapping column gives way."""
        widths = [
            max(
                cells(line)
                for text in (titles[index], *(row[index] for row in body))
                for line in text.split("\n")
            )
            for index in range(len(columns))
        ]
        room = self.width - indent - 2 * (len(columns) - 1)
        giving = [index for index, column in enumerate(columns) if column.wraps]
        while giving and sum(widths) > room:
            widest = max(giving, key=widths.__getitem__)
            if widths[widest] <= _LEAST_COLUMN:
                break
            widths[widest] -= 1
        return widths

    def _row(
        self, columns: Sequence[Column], row: Sequence[str], widths: Sequence[int]
    ) -> list[str]:
        stacks = [
            [
                piece
                for line in text.split("\n")
                for piece in (list(_broken(line, width)) or [""])
            ]
            if column.wraps
            else [text]
            for column, text, width in zip(columns, row, widths, strict=True)
        ]
        return [
            "  ".join(
                _padded(
                    stack[level] if level < len(stack) else "",
                    width,
                    to_the_right=column.figures,
                )
                for column, stack, width in zip(columns, stacks, widths, strict=True)
            )
            for level in range(max(map(len, stacks)))
        ]


def _padded(text: str, width: int, *, to_the_right: bool) -> str:
    blank = " " * max(0, width - cells(text))
    return blank + text if to_the_right else text + blank


def _line_up(body: list[list[str]], index: int) -> None:
    """Pad figures behind the decimal point so that the points stand in one line."""

    def tail(text: str) -> int:
        return len(text) - text.index(".") if "." in text else 0

    longest = max((tail(row[index]) for row in body), default=0)
    for row in body:
        if row[index][-1:].isdigit():
            row[index] += " " * (longest - tail(row[index]))


def _broken(text: str, room: int) -> Iterator[str]:
    """Yield the lines of a text, broken at spaces, and within a word past the room."""
    line = ""
    for word in _TIED.sub("\N{NO-BREAK SPACE}", text).split(" "):
        if not word:
            continue
        if line and cells(line) + 1 + cells(word) <= room:
            line += f" {word}"
            continue
        if line:
            yield _untied(line)
        *full, line = _cut(word, room)
        yield from map(_untied, full)
    if line:
        yield _untied(line)


def _untied(line: str) -> str:
    return line.replace("\N{NO-BREAK SPACE}", " ")


def _cut(word: str, room: int) -> list[str]:
    """Return a word in pieces that fit, cut behind a dot or dash where there is one."""
    pieces = [""]
    for character in word:
        if cells(pieces[-1]) + _cells_of(character) > room:
            joint = max(map(pieces[-1].rfind, "._/-")) + 1
            at = joint if joint > len(pieces[-1]) // 3 else len(pieces[-1])
            pieces[-1:] = [pieces[-1][:at], pieces[-1][at:]]
        pieces[-1] += character
    return pieces
