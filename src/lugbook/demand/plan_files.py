"""The meter files a plan names, read once and told as evidence.

A path in a plan is inside the plan's own folder, or whole from the root: a plan that
came from somebody else cannot reach up into other folders unseen. No request of a
page chooses a path; only the plan does.
"""

from __future__ import annotations

import os
import sys
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from lugbook.demand.cache import cached_demand
from lugbook.errors import InputError
from lugbook.premises.evidence import MeterFileEntry
from lugbook.premises.plan import Plan
from lugbook.readings.evidence import MeterRecord, UnreadFile

if TYPE_CHECKING:
    from lugbook.demand.cleaning import Record

__all__ = ["cache_folder", "longest_record", "meter_records"]


def meter_records(
    plan: Plan, folder: Path | None, *, cache: Path | None = None
) -> tuple[tuple[MeterRecord, ...], tuple[UnreadFile, ...]]:
    """What the meter files of a plan show.

    Args:
        plan: The house. [-]
        folder: Folder of the plan file; None where the plan came from no file. [-]
        cache: Where summaries are kept; None to keep none. [-]

    Returns:
        A record for each file, and those that could not be used. [-]
    """
    records: list[MeterRecord] = []
    unread: list[UnreadFile] = []
    for entry in plan.meter_files:
        found = _looked_at(entry, folder, cache)
        if isinstance(found, MeterRecord):
            records.append(found)
        else:
            unread.append(UnreadFile(entry.path, found))
    return tuple(records), tuple(unread)


def longest_record(
    plan: Plan, folder: Path | None
) -> tuple[tuple[str, Record] | None, tuple[UnreadFile, ...]]:
    """The longest cleaned record that a plan's meter files hold, every reading of it.

    Args:
        plan: The house. [-]
        folder: Folder of the plan file; None where the plan came from no file. [-]

    Returns:
        Path as stated and record, None where none can be used; and those files that
        cannot. [-]
    """
    found: list[tuple[str, Record]] = []
    unread: list[UnreadFile] = []
    for entry in plan.meter_files:
        try:
            path = _placed(entry.path, folder)
            if isinstance(path, str):
                unread.append(UnreadFile(entry.path, path))
            else:
                found.append((entry.path, _cleaned(entry, path)))
        except InputError as error:
            unread.append(UnreadFile(entry.path, _why(error)))
        except (OSError, ValueError) as error:
            unread.append(UnreadFile(entry.path, f"it cannot be found ({error})"))
    longest = max(found, key=lambda each: each[1].covered_s, default=None)
    return longest, tuple(unread)


def _cleaned(entry: MeterFileEntry, path: Path) -> Record:
    from lugbook.demand.cleaning import cleaned
    from lugbook.demand.clock import open_zone
    from lugbook.demand.read import read_meter_file
    from lugbook.demand.table_file import TableOptions

    zone = open_zone(entry.zone) if entry.zone else None
    options = TableOptions(
        zone=zone,
        unit=entry.unit or None,
        day_first=entry.day_first.value if entry.day_first else None,
        interval_s=round(entry.interval.value) if entry.interval else None,
        leg_v=entry.leg_voltage.value if entry.leg_voltage else None,
    )
    return cleaned(read_meter_file(path, options), point=entry.point or None, zone=zone)


def cache_folder() -> Path | None:
    """Where this person's summaries are kept, by the usual rule of the platform.

    Returns:
        The folder, which may not exist yet; None where there is no place. [-]
    """
    try:
        home = Path.home()
    except RuntimeError:  # a user without a home
        return None
    if sys.platform == "darwin":
        return home / "Library" / "Caches" / "lugbook"
    if sys.platform == "win32":
        local = os.environ.get("LOCALAPPDATA")
        return Path(local or home / "AppData" / "Local") / "lugbook" / "Cache"
    named = Path(os.environ.get("XDG_CACHE_HOME", ""))
    # The XDG rule: a path that is not whole is passed over.
    return (named if named.is_absolute() else home / ".cache") / "lugbook"


def _looked_at(
    entry: MeterFileEntry, folder: Path | None, cache: Path | None
) -> MeterRecord | str:
    """Return the record of a file, or why there is none."""
    try:
        path = _placed(entry.path, folder)
        if isinstance(path, str):
            return path
        status = path.stat() if path.is_file() else None
    except (OSError, ValueError) as error:  # a null character is no path at all
        return f"it cannot be found ({getattr(error, 'strerror', None) or error})"
    if status is None:
        return f"there is no such file in {path.parent.name or path.parent}"
    return _read(entry, path, (status.st_size, status.st_mtime_ns), cache)


def _placed(given: str, folder: Path | None) -> Path | str:
    """Return where a path of a plan leads, or why it is not followed."""
    path = Path(given)
    if path.is_absolute():
        return path
    if folder is None:
        return "the plan did not come from a file, so its path leads nowhere"
    inside, whole = folder.resolve(), (folder / path).resolve()
    if not whole.is_relative_to(inside):
        return (
            "its path leads out of the plan's folder: move the file beside the plan, "
            "or write the whole path from the root"
        )
    return whole


# A what-if asks for the same evidence hundreds of times; the stamp tells a change.
@lru_cache(maxsize=64)
def _read(
    entry: MeterFileEntry, path: Path, stamp: tuple[int, int], cache: Path | None
) -> MeterRecord | str:
    del stamp
    try:
        summary = cached_demand(
            path,
            cache,
            zone=entry.zone or None,
            point=entry.point or None,
            unit=entry.unit or None,
            day_first=entry.day_first.value if entry.day_first else None,
            interval_s=round(entry.interval.value) if entry.interval else None,
            leg_v=entry.leg_voltage.value if entry.leg_voltage else None,
            column=entry.column or None,
            times_end=entry.times_end.value if entry.times_end else None,
        )
    except InputError as error:
        return _why(error)
    return summary.as_record(entry.path)


def _why(error: InputError) -> str:
    """Return why a file cannot be used, as part of a sentence."""
    return "; ".join(
        f"{fault.given}; accepted: {fault.accepted}"
        + f". {fault.mend}" * bool(fault.mend)
        for fault in error.faults
    ).rstrip(".")
