"""Summaries of meter files kept by the file's hash, so that none is read twice."""

from __future__ import annotations

import json
import os
import tempfile
from dataclasses import asdict, fields
from hashlib import sha256
from pathlib import Path
from typing import Any

from lugbook.demand.opened import file_hash
from lugbook.demand.series import LeftOut, Statement
from lugbook.demand.summary import DemandSummary, SlotOfDay, WeekOfDemand, demand_of

__all__ = ["cached_demand"]

FORM = 2  # changed whenever a summary would come out otherwise
_NESTED = {
    "by_clock": SlotOfDay,
    "worst_weeks": WeekOfDemand,
    "statements": Statement,
    "left_out": LeftOut,
}


def cached_demand(
    path: Path,
    folder: Path | None,
    *,
    zone: str | None = None,
    point: str | None = None,
    unit: str | None = None,
    day_first: bool | None = None,
    interval_s: int | None = None,
    leg_v: float | None = None,
    column: str | None = None,
    times_end: bool | None = None,
) -> DemandSummary:
    """What a meter file says of demand, from the cache where it was read before.

    Args:
        path: The file. [-]
        folder: Where summaries are kept; made when missing; None to keep none. [-]
        zone: Time zone of the house. [-]
        point: Usage point to take. [-]
        unit: Unit of a table's amounts. [-]
        day_first: Whether a table's dates give the day before the month. [-]
        interval_s: Interval of a table's rows. [s]
        leg_v: Voltage from leg to neutral, where a table holds amperes. [V]
        column: Heading of a table's column of amounts. [-]
        times_end: Whether a table's times are the ends of its intervals. [-]

    Returns:
        The summary. [-]

    Raises:
        InputError: The file cannot be used.
    """
    from lugbook.demand.clock import open_zone
    from lugbook.demand.opened import unusable

    clock = open_zone(zone) if zone else None
    kept = None
    if folder is not None:
        try:
            if not path.is_file():
                raise unusable(str(path), "no such file")
            said = [unit, day_first, interval_s, leg_v, column, times_end]
            asked = json.dumps([FORM, file_hash(path), path.name, zone, point, *said])
        except OSError as error:
            because = error.strerror or str(error)
            raise unusable(str(path), f"cannot be read ({because})") from error
        kept = folder / f"demand-{sha256(asked.encode()).hexdigest()[:32]}.json"
        if (found := _read(kept)) is not None:
            return found
    # Read only where nothing is kept: it needs arrays.
    from lugbook.demand.table_file import TableOptions

    options = TableOptions(
        zone=clock,
        unit=unit,
        interval_s=interval_s,
        day_first=day_first,
        leg_v=leg_v,
    )
    summary = demand_of(path, options, zone=clock, point=point)
    if kept is not None:
        _write(kept, summary)
    return summary


def _read(kept: Path) -> DemandSummary | None:
    """Return a kept summary; None where there is none, or not one of ours."""
    try:
        held: dict[str, Any] = json.loads(kept.read_text(encoding="utf-8"))
        for name, kind in _NESTED.items():
            held[name] = tuple(kind(**each) for each in held[name])
        held["load_duration"] = tuple(map(tuple, held["load_duration"]))
        if set(held) != {field.name for field in fields(DemandSummary)}:
            return None
        return DemandSummary(**held)
    except (OSError, ValueError, TypeError, KeyError):
        return None


def _write(kept: Path, summary: DemandSummary) -> None:
    """Write whole or not at all; a cache that cannot be written is no fault.

    What a house draws by the hour tells when nobody is home: for its owner only.
    """
    try:
        kept.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(
            "w", dir=kept.parent, delete=False, encoding="utf-8"
        ) as file:
            json.dump(asdict(summary), file, allow_nan=False)
        os.replace(file.name, kept)
    except OSError:
        return
