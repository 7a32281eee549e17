"""The few exceptions, as a tree.

LugbookError
├── InputError        what a person gave cannot be read; carries every fault found
├── OutOfRange        a formula was asked outside the range it is valid for
└── BookError         a codebook file is wrong or lacks what was asked of it
    └── MissingEntry  the table is sound but has no such entry

A house that falls short is never an exception: it is a finding.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "BookError",
    "Fault",
    "InputError",
    "LugbookError",
    "MissingEntry",
    "OutOfRange",
]


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with what a person gave.

    Args:
        field: Dotted path of the field, or the option's or file's name. [-]
        given: What was given, as text the person will recognise. [-]
        accepted: What would be accepted, with an example. [-]
        mend: What to do; empty when `accepted` says it all. [-]
        line: Line of the file, counted from 1; None where there is no file. [-]
    """

    field: str
    given: str
    accepted: str
    mend: str = ""
    line: int | None = None

    def __str__(self) -> str:
        """Return the fault as one sentence."""
        where = f"line {self.line}, " if self.line else ""
        mend = f" {self.mend}" if self.mend else ""
        return f"{where}{self.field}: {self.given}; accepted: {self.accepted}.{mend}"


class LugbookError(Exception):
    """Base of all errors this package raises on purpose."""


class InputError(LugbookError):
    """What a person gave cannot be used; `faults` holds every reason found."""

    def __init__(self, *faults: Fault) -> None:
        self.faults = faults
        super().__init__("\n".join(str(fault) for fault in faults))


class OutOfRange(LugbookError, ValueError):
    """A formula was asked outside the range it is valid for."""


class BookError(LugbookError):
    """A codebook file is wrong or lacks what was asked of it."""


class MissingEntry(BookError, LookupError):
    """The table is sound but has no such entry."""
