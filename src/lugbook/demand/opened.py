"""Meter files opened within limits: plain, gzip or zip; never more than is safe.

A file that claims to be small and unpacks to gigabytes is stopped at the limit, not
after it.
"""

from __future__ import annotations

import gzip
import hashlib
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from lugbook.errors import Fault, InputError

__all__ = ["LARGEST_BYTES", "Progress", "chunks", "file_hash", "opened", "unusable"]

LARGEST_BYTES = 50_000_000  # trust.md trap 11: our own decision, ten years at 15 min
CHUNK_BYTES = 1 << 18
_GZIP = b"\x1f\x8b"
_ZIP = b"PK\x03\x04"
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
            raise unusable(name, "no such file")
        if not path.is_file():
            raise unusable(name, "not a file")
        if path.stat().st_size > LARGEST_BYTES:
            raise unusable(name, f"larger than {LARGEST_BYTES // 10**6} MB")
        with path.open("rb") as raw:
            opening = raw.read(4)
            raw.seek(0)
            if opening.startswith(_GZIP):
                with gzip.open(raw) as packed:
                    yield packed  # type: ignore[misc]
            elif opening == _ZIP:
                with (
                    zipfile.ZipFile(raw) as archive,
                    archive.open(_member(archive, name)) as member,
                ):
                    yield member
            else:
                yield raw
    except OSError as error:
        said = error.strerror or str(error)
        raise unusable(name, f"cannot be read ({said})") from error
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError) as error:
        raise unusable(name, f"damaged archive ({error})") from error
    except RuntimeError as error:  # zipfile's word for a password
        if "password" not in str(error):
            raise
        raise unusable(name, "the zip is locked by a password") from error


def _member(archive: zipfile.ZipFile, name: str) -> zipfile.ZipInfo:
    fitting = [
        member
        for member in archive.infolist()
        if not member.is_dir()
        and member.filename.lower().endswith(_MEMBERS)
        and not member.filename.startswith("__MACOSX/")
    ]
    if len(fitting) == 1:
        return fitting[0]
    if not fitting:
        raise unusable(name, "the zip holds no .xml and no .csv file")
    held = ", ".join(member.filename for member in fitting[:5])
    raise unusable(
        name,
        f"the zip holds {len(fitting)} files ({held})",
        "Unpack it and name the one that is meant.",
    )


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
            raise unusable(name, f"unpacks to over {LARGEST_BYTES // 10**6} MB")
        yield piece
        if progress:
            progress(min(read, whole), whole)
