"""Columns of a plain table, kept as the bytes of the file until somebody reads them.

A record of minutes is half a million rows a year. Where every row is alike and no quote
hides a delimiter, its cells are found all at once and read lane by lane: the first
letter of every cell, then the second. Whatever is not so plain goes the careful way,
row by row, and comes out the same.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any, overload

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from lugbook.demand.series import Floats, Integers

    Letters = NDArray[np.uint8]

__all__ = ["ByteColumn", "byte_columns"]

_ZERO = 48
_LF, _CR, _QUOTE, _MINUS, _POINT = 10, 13, 34, 45, 46
# Digits up to here and a power of ten up to 1e15 are exact in a float, and so is the
# rounding of their quotient: the same number that reading the text gives.
_MOST_DIGITS = 15


class ByteColumn(Sequence[str]):
    """A column of cells in the bytes of a file.

    Args:
        letters: The bytes. [-]
        starts: Where each cell starts. [-]
        ends: Where each ends. [-]
    """

    __slots__ = ("_ends", "_letters", "_starts")

    def __init__(self, letters: Letters, starts: Integers, ends: Integers) -> None:
        self._letters, self._starts, self._ends = letters, starts, ends

    def __len__(self) -> int:
        """Return how many cells there are."""
        return len(self._starts)

    @overload
    def __getitem__(self, place: int) -> str: ...
    @overload
    def __getitem__(self, place: slice) -> ByteColumn: ...
    def __getitem__(self, place: int | slice) -> str | ByteColumn:
        """Return a cell as text, or some of the cells."""
        if isinstance(place, slice):
            return ByteColumn(self._letters, self._starts[place], self._ends[place])
        cell = self._letters[self._starts[place] : self._ends[place]]
        return cell.tobytes().decode("ascii")

    def __iter__(self) -> Iterator[str]:
        """Yield the cells as text."""
        text = self._letters.tobytes().decode("ascii")
        bounds = zip(self._starts.tolist(), self._ends.tolist(), strict=True)
        return (text[start:end] for start, end in bounds)

    def width(self) -> int:
        """Return the length all cells have; 0 where they differ."""
        lengths = self._ends - self._starts
        first = int(lengths[0])
        return first if bool((lengths == first).all()) else 0

    def lane(self, place: int) -> Letters:
        """Return the letter at a place of every cell, all being long enough.

        Args:
            place: The place, from 0. [-]

        Returns:
            The letters. [-]
        """
        return self._letters[place:][self._starts]

    def floats(self) -> Floats | None:
        """Return the cells as numbers; None where one is not a plain decimal.

        Cells of one length are read together, so that no lane has to be masked.
        """
        import numpy as np

        lengths = self._ends - self._starts
        longest = int(lengths.max())
        if int(lengths.min()) < 1 or longest > _MOST_DIGITS + 1:
            return None
        found = np.empty(len(lengths))
        for length in np.flatnonzero(np.bincount(lengths)).tolist():
            places = np.flatnonzero(lengths == length)
            alike = self._of_length(places, length)
            if alike is None:
                return None
            found[places] = alike
        return found

    def _of_length(self, places: Integers, length: int) -> Floats | None:
        """Return cells of one length as numbers, None where one is no decimal."""
        import numpy as np

        starts = self._starts[places]
        # Nine digits fit 32 bits, which are added in half the time.
        kind: Any = np.int32 if length <= 9 else np.int64
        digits: Any = np.zeros(len(places), dtype=kind)
        point, first = -1, 0
        for place in range(length):
            letters = self._letters[place:][starts]
            values = letters - np.uint8(_ZERO)
            if values.max() < 10:
                digits *= kind(10)
                digits += values
            elif point < 0 and bool((letters == _POINT).all()):
                point = place
            elif place == 0 and bool((letters == _MINUS).all()):
                first = 1
            else:
                return self._split(places, letters, length)
        decimals = length - 1 - point if point >= 0 else 0
        if length - first - (point >= 0) < 1:
            return None  # a point or a minus without a digit
        found: Floats = digits / 10.0**decimals
        return -found if first else found

    def _split(self, places: Integers, letters: Letters, length: int) -> Floats | None:
        """Return cells of one length whose points stand in different places."""
        import numpy as np

        mark = _POINT if bool((letters == _POINT).any()) else _MINUS
        marked = letters == mark
        if bool(marked.all()) or not bool(marked.any()):
            return None
        found = np.empty(len(places))
        for part in (marked, ~marked):
            alike = self._of_length(places[part], length)
            if alike is None:
                return None
            found[part] = alike
        return found


def byte_columns(
    raw: bytes, first: int, delimiter: str, count: int
) -> list[ByteColumn] | None:
    """The columns of a file whose rows are all alike.

    Args:
        raw: The file, nothing but ASCII. [-]
        first: Where its rows start. [-]
        delimiter: What parts the cells. [-]
        count: How many cells a row has. [-]

    Returns:
        The columns; None where a row is not like the others. [-]
    """
    import numpy as np

    if count < 2:
        return None
    letters = np.frombuffer(raw, dtype=np.uint8)[first:]
    stop = len(letters)
    while stop and letters[stop - 1] in (_LF, _CR):
        stop -= 1
    if not stop:
        return None
    body, mark = letters[:stop], ord(delimiter)
    apart = np.append(np.flatnonzero((body == mark) | (body == _LF)), stop)
    if len(apart) % count:
        return None
    by_row = apart.reshape(-1, count)
    if bool((letters[by_row[:, :-1]] != mark).any()):
        return None
    ends = np.ascontiguousarray(by_row[:, -1])
    if bool((letters[ends[:-1]] != _LF).any()):
        return None
    starts = np.append(0, ends[:-1] + 1)
    if raw.find(b"\r", first) >= 0:
        before = letters[np.maximum(ends[:-1] - 1, 0)] == _CR
        held = raw.count(b"\r", first, first + stop)
        if not bool(before.all()) or held != len(before):
            return None
        ends = ends - np.append(np.ones(len(before), dtype=np.int64), 0)
    firsts = [starts, *(by_row[:, place] + 1 for place in range(count - 1))]
    lasts = [*(by_row[:, place] for place in range(count - 1)), ends]
    columns = [
        (np.ascontiguousarray(start), np.ascontiguousarray(end))
        for start, end in zip(firsts, lasts, strict=True)
    ]
    if raw.find(b'"', first) >= 0:
        quotes = raw.count(b'"', first, first + stop)
        bare = [_unquoted(letters, start, end) for start, end in columns]
        if 2 * sum(count for _, _, count in bare) != quotes:
            return None
        columns = [(start, end) for start, end, _ in bare]
    return [ByteColumn(letters, start, end) for start, end in columns]


def _unquoted(
    letters: Letters, starts: Integers, ends: Integers
) -> tuple[Integers, Integers, int]:
    """Return cells less a quote before and behind them, and how many had these.

    A quote on one side only is of a cell that holds a delimiter or a line's end; it is
    left where it is, and the count of quotes shows it.
    """
    import numpy as np

    inside = np.minimum(starts, len(letters) - 1)
    quoted = (letters[inside] == _QUOTE) & (letters[ends - 1] == _QUOTE)
    quoted &= ends - starts >= 2
    return starts + quoted, ends - quoted, int(quoted.sum())
