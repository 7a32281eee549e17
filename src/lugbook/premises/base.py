"""What every part of the plan shares: frozen, and no key it does not know.

Modules of the plan's tables do without postponed annotations on purpose: pydantic
would compile each of some four hundred again at import. The string under a field is
read by `lugbook.premises.describe` and costs nothing at run time.
"""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, StringConstraints

from lugbook.premises.fields import Note

__all__ = ["Id", "Item", "Part"]

Id = Annotated[
    str, StringConstraints(strict=True, pattern=r"^[a-z][a-z0-9_]*$", max_length=40)
]


class Part(BaseModel):
    """A table of the plan file."""

    # A table's reader is made when first needed, so inner tables share the plan's.
    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)


class Item(Part):
    """A table that others point at by its id."""

    id: Id
    """Your own short name for it, by which other tables point here: small letters,
    digits and _. Example: `"garage_panel"`"""
    note: Note = ""
    """Anything a reader should know; it enters no calculation.
    Example: `"label hard to read"`"""
