"""A meter file of any kind, read."""

from __future__ import annotations

from pathlib import Path

from lugbook.demand.espi import read_espi
from lugbook.demand.opened import Progress, opened
from lugbook.demand.series import MeterFile
from lugbook.demand.table_file import TableOptions, read_table

__all__ = ["read_meter_file"]


def read_meter_file(
    path: Path,
    options: TableOptions | None = None,
    *,
    progress: Progress | None = None,
) -> MeterFile:
    """The series of a meter file: ESPI XML, or a table.

    Args:
        path: The file, plain or packed by gzip or zip. [-]
        options: What a person says of it, should it be a table. [-]
        progress: Told how far the reading is. [-]

    Returns:
        Its series. [-]

    Raises:
        InputError: It cannot be used.
    """
    with opened(path) as stream:
        opening = stream.read(512)
    # A mark of byte order may stand first, and UTF-16 has a zero beside each letter.
    bare = opening.lstrip(b"\xef\xbb\xbf\xff\xfe").replace(b"\0", b"").lstrip()
    if bare.startswith(b"<"):
        return read_espi(path, progress=progress)
    return read_table(path, options, progress=progress)
