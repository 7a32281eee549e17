"""A meter file of any kind, read."""

from __future__ import annotations

from pathlib import Path

from lugbook.demand.espi import read_espi
from lugbook.demand.opened import Progress, opened, unusable, web_page
from lugbook.demand.series import MeterFile
from lugbook.demand.table_file import TableOptions, read_table
from lugbook.errors import InputError

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
    if stranger := _stranger(bare.lower(), str(path)):
        raise stranger
    if bare.startswith(b"<"):
        return read_espi(path, progress=progress)
    return read_table(path, options, progress=progress)


def _stranger(opening: bytes, name: str) -> InputError | None:
    """Return the refusal of a file that is plainly no meter file, by its opening."""
    if not opening:
        return unusable(name, "an empty file", "Download it again.")
    if b"<!doctype html" in opening or b"<html" in opening:
        return web_page(name)
    for signs, kind, mend in _STRANGERS:
        if opening.startswith(signs):
            return unusable(name, kind, mend)
    return None


_ASK = "Ask the utility for interval data."
_STRANGERS = (  # in small letters
    ((b"%pdf",), "a PDF document", _ASK),
    ((b"{", b"[{", b"[\n", b"[]"), "JSON", _ASK),
    ((b"\xd0\xcf\x11\xe0",), "a workbook or document of an old kind", _ASK),
    (
        (b"bzh", b"7z\xbc\xaf", b"\xfd7zxz", b"rar!"),
        "an archive that is neither zip nor gzip",
        "Unpack it and name the file inside.",
    ),
)
