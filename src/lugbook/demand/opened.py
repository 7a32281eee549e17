"""Meter files opened within limits: plain, gzip or zip; never more than is safe.

A file that claims to be small and unpacks to gigabytes is stopped at the limit, not
after it.
"""

from __future__ import annotations

import gzip
import hashlib
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from lugbook.errors import Fault, InputError

__all__ = [
    "LARGEST_BYTES",
    "Progress",
    "chunks",
    "file_hash",
    "opened",
    "unusable",
    "web_page",
]

LARGEST_BYTES = 50_000_000  # trust.md trap 11: our own decision, ten years at 15 min
CHUNK_BYTES = 1 << 18
_GZIP = b"\x1f\x8b"
_ZIPS = (b"PK\x03\x04", b"PK\x05\x06")  # the second is one without a file in it
_ZIP64 = b"PK\x06\x07"  # points at a list of files that may be larger than this
_LONGEST_END, _LONGEST_LIST = 22 + 65_535, 1_000_000  # bytes; 1 MB names 10,000 files
_PACKINGS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_SPLIT = "Ask for fewer years at a time."
_MEMBERS = (".xml", ".csv", ".txt", ".tsv")

Progress = Callable[[int, int], None]
"""Called with the bytes of the file that were read, and with all of them."""


def unusable(
    name: str, given: str, mend: str = "", line: int | None = None
) -> InputError:
    """The refusal of a meter file in one sentence.

    Args:
        name: Name of the file. [-]
        given: What is wrong with it. [-]
        mend: What to do. [-]
        line: Line of the file. [-]

    Returns:
        The error, to be raised. [-]
    """
    accepted = "interval data as ESPI XML, or a table parted by commas"
    return InputError(Fault(name, given, accepted, mend, line))


def web_page(name: str) -> InputError:
    """The refusal of a web page that was saved in place of a meter file.

    Args:
        name: Name of the file. [-]

    Returns:
        The error, to be raised. [-]
    """
    mend = "Log in to the utility's site and download the file again."
    return unusable(name, "a web page, not a meter file", mend)


def file_hash(path: Path) -> str:
    """The SHA-256 of a file as it lies there.

    Args:
        path: The file. [-]

    Returns:
        Hexadecimal digits. [-]
    """
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


@contextmanager
def opened(path: Path) -> Iterator[IO[bytes]]:
    """Open a meter file, unpacked.

    Args:
        path: The file. [-]

    Yields:
        A stream of its bytes; `chunks` holds it to the limit. [-]

    Raises:
        InputError: It cannot be opened, or is no single file inside a zip.
    """
    name = str(path)
    try:
        if not path.exists():
            raise unusable(name, "no such file", "Check its name and folder.")
        if not path.is_file():
            raise unusable(name, "not a file", "Name the file inside it.")
        if path.stat().st_size > LARGEST_BYTES:
            raise unusable(name, f"larger than {LARGEST_BYTES // 10**6} MB", _SPLIT)
        with path.open("rb") as raw:
            opening = raw.read(4)
            raw.seek(0)
            if opening.startswith(_GZIP):
                with gzip.open(raw) as packed:
                    _refuse_packed_twice(packed.peek(4), name)
                    yield packed  # type: ignore[misc]
            elif opening in _ZIPS:
                _refuse_crowded(raw, name)
                with (
                    zipfile.ZipFile(raw) as archive,
                    archive.open(_member(archive, name)) as member,
                ):
                    _refuse_packed_twice(member.peek(4), name)  # type: ignore[attr-defined]
                    yield member
            else:
                yield raw
    except _DAMAGE as error:
        mend = "Download it again."
        raise unusable(name, f"damaged archive ({error})", mend) from error
    except OSError as error:
        said = error.strerror or str(error)
        raise unusable(
            name, f"cannot be read ({said})", "Check that you may open it."
        ) from error
    except RuntimeError as error:  # zipfile's word for a password
        if "password" not in str(error):
            raise
        mend = "Unpack it with the password and name the file inside."
        raise unusable(name, "the zip is locked by a password", mend) from error


_DAMAGE = (
    gzip.BadGzipFile,
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    EOFError,
    NotImplementedError,
    UnicodeDecodeError,
)


def _refuse_packed_twice(opening: bytes, name: str) -> None:
    if opening.startswith((_GZIP, *_ZIPS)):
        raise unusable(name, "an archive within an archive", "Unpack it once.")


def _refuse_crowded(raw: IO[bytes], name: str) -> None:
    """Refuse a zip whose list of files alone would fill the memory."""
    raw.seek(max(0, raw.seek(0, 2) - _LONGEST_END))
    tail = raw.read()
    raw.seek(0)
    place = tail.rfind(_ZIPS[1])
    if place < 0 or len(tail) < place + 16:
        return  # no zip at all, as will be found
    (length,) = struct.unpack_from("<L", tail, place + 12)
    if length > _LONGEST_LIST or _ZIP64 in tail[max(0, place - 20) : place]:
        mend = "Unpack it and name the file that is meant."
        raise unusable(name, "the zip holds far too many files", mend)


def _member(archive: zipfile.ZipFile, name: str) -> zipfile.ZipInfo:
    members = archive.infolist()
    if any(member.filename == "[Content_Types].xml" for member in members):
        mend = "Save the sheet as CSV."
        raise unusable(name, "a workbook of a spreadsheet or a document", mend)
    fitting = [
        member
        for member in members
        if not member.is_dir()
        and member.filename.lower().endswith(_MEMBERS)
        and not member.filename.startswith("__MACOSX/")
    ]
    if len(fitting) == 1:
        if fitting[0].compress_type not in _PACKINGS:
            mend = "Unpack it and name the file inside."
            raise unusable(name, "the zip is packed in an unusual way", mend)
        return fitting[0]
    if not fitting:
        mend = "Unpack it and name the file that is meant."
        raise unusable(name, "the zip holds no .xml and no .csv file", mend)
    held = ", ".join(_printable(member.filename) for member in fitting[:5])
    raise unusable(
        name,
        f"the zip holds {len(fitting)} files ({held})",
        "Unpack it and name the one that is meant.",
    )


def _printable(text: str) -> str:
    """Return a name from within an archive, shortened and safe on a terminal."""
    return "".join(each if each.isprintable() else "?" for each in text)[:60]


def chunks(
    stream: IO[bytes], name: str, progress: Progress | None = None, whole: int = 0
) -> Iterator[bytes]:
    """Yield the bytes of a stream, refusing more than the limit.

    Args:
        stream: The opened file. [-]
        name: Its name. [-]
        progress: Told how far the reading is. [-]
        whole: Bytes of the file on disk. [-]

    Yields:
        Pieces of at most a quarter of a megabyte. [-]

    Raises:
        InputError: There are more bytes than the limit.
    """
    read = 0
    while piece := stream.read(CHUNK_BYTES):
        read += len(piece)
        if read > LARGEST_BYTES:
            raise unusable(name, f"unpacks to over {LARGEST_BYTES // 10**6} MB", _SPLIT)
        yield piece
        if progress:
            progress(min(read, whole), whole)
