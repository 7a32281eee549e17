"""Makes the demo's year of quarter hours; everything in it is invented.

A small model of the potter's house, drawn with a fixed seed: what is always on,
cooking, dryer, water heater, cooling in summer, the furnace's blower in winter, and
the kiln on two nights a week. No house was measured for it.

    python tools/make_demo_year.py
"""

from __future__ import annotations

import gzip
import sys
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

OUTPUT = (
    Path(__file__).resolve().parent.parent
    / "examples"
    / "potters_house"
    / "year-of-quarter-hours.xml.gz"
)
SEED = 1920  # the house's floor area, ft²
ZONE = ZoneInfo("America/Chicago")
FIRST_DAY = datetime(2025, 11, 1, tzinfo=ZONE)
AFTER = datetime(2026, 11, 1, tzinfo=ZONE)
INTERVAL_S = 900

# As in examples/potters_house/plan.toml.
KILN_W = 11_520.0
COOLING_W = 4_320.0  # 18 A at 240 V
WATER_HEATER_W = 4_500.0
WATER_COMPRESSOR_W = 550.0
DRYER_W = 5_000.0
RANGE_W = 12_000.0
BLOWER_W = 600.0
DISHWASHER_W = 1_200.0
KILN_NIGHTS = (1, 4)  # Tuesday and Friday

Floats = NDArray[np.float64]


def year_wh() -> tuple[int, NDArray[np.int64]]:
    """Return the first moment and the energy of each quarter hour."""
    draw = np.random.default_rng(SEED)
    first_s, after_s = int(FIRST_DAY.timestamp()), int(AFTER.timestamp())
    count = (after_s - first_s) // INTERVAL_S
    moments = [
        datetime.fromtimestamp(first_s + place * INTERVAL_S, ZONE)
        for place in range(count)
    ]
    hour = np.array([each.hour + each.minute / 60 for each in moments])
    day = np.array([(each.date() - FIRST_DAY.date()).days for each in moments])
    of_year = np.array([each.timetuple().tm_yday for each in moments])
    days = int(day.max()) + 1
    outdoors_c = _outdoors_c(draw, hour, day, of_year, days)
    power_w = _always_on(draw, hour, count)
    power_w += _heating_and_cooling(draw, outdoors_c)
    for number in range(days):
        _add_day(draw, power_w, np.flatnonzero(day == number), moments)
    return first_s, np.rint(power_w * INTERVAL_S / 3600).astype(np.int64)


def _outdoors_c(
    draw: np.random.Generator,
    hour: Floats,
    day: NDArray[np.int64],
    of_year: NDArray[np.int64],
    days: int,
) -> Floats:
    """Return an invented outdoor temperature: a year, a day, and weather."""
    weather = np.zeros(days)
    for number in range(1, days):
        weather[number] = 0.75 * weather[number - 1] + draw.normal(0.0, 2.4)
    yearly = 11.0 - 14.5 * np.cos(2 * np.pi * (of_year - 20) / 365)
    daily = 5.0 * np.cos(2 * np.pi * (hour - 15.5) / 24)
    mild: Floats = yearly + daily + weather[day]
    return mild


def _always_on(draw: np.random.Generator, hour: Floats, count: int) -> Floats:
    """Return lights, refrigerator and what is plugged in."""
    evening = 450 * np.exp(-(((hour - 20.5) / 2.3) ** 2))
    morning = 300 * np.exp(-(((hour - 7.0) / 1.2) ** 2))
    jitter = draw.gamma(2.0, 45.0, count)
    total: Floats = 190 + evening + morning + jitter
    return total


def _heating_and_cooling(draw: np.random.Generator, outdoors_c: Floats) -> Floats:
    """Return the compressor's and the blower's share of each quarter hour."""
    cooling = np.clip((outdoors_c - 22.0) / 9.0, 0.0, 1.0)
    heating = np.clip((15.0 - outdoors_c) / 33.0, 0.0, 1.0)
    shaken = draw.uniform(0.75, 1.25, len(outdoors_c))
    compressor: Floats = np.clip(cooling * shaken, 0.0, 1.0) * COOLING_W
    return compressor + np.clip((cooling + heating) * shaken, 0.0, 1.0) * BLOWER_W


def _add_day(
    draw: np.random.Generator,
    power_w: Floats,
    places: NDArray[np.int64],
    moments: list[datetime],
) -> None:
    """Add what is switched on by hand, or by a tank that has gone cold, on one day."""
    first = moments[int(places[0])]
    weekend = first.weekday() >= 5
    _run(draw, power_w, places, 17.0 + draw.normal(1.1, 0.5), 0.75, 0.55 * RANGE_W)
    if draw.random() < 0.4:
        _run(draw, power_w, places, 7.0 + draw.normal(0, 0.4), 0.25, 0.2 * RANGE_W)
    if draw.random() < (0.75 if weekend else 0.5):
        at = draw.uniform(10, 17) if weekend else draw.uniform(17.5, 21)
        _run(draw, power_w, places, at, 0.9, 0.95 * DRYER_W)
    if draw.random() < 0.8:
        _run(draw, power_w, places, 19.5 + draw.normal(0, 0.7), 0.5, DISHWASHER_W)
    for at in (7.0, 18.5 + draw.normal(0, 0.6), 21.0):
        _run(draw, power_w, places, at, 2.0, WATER_COMPRESSOR_W)
        if draw.random() < 0.4:
            _run(draw, power_w, places, at, draw.uniform(0.4, 1.0), WATER_HEATER_W)
    if first.weekday() in KILN_NIGHTS:
        _fire(draw, power_w, places)


def _fire(
    draw: np.random.Generator, power_w: Floats, places: NDArray[np.int64]
) -> None:
    """Add a firing: elements cycle while it climbs, then stay on to the end."""
    hours = draw.uniform(6.0, 9.0)
    start = int(places[0]) + round(draw.uniform(17.5, 20.0) * 4)
    count = round(hours * 4)
    climb = np.linspace(0.55, 1.15, count)
    duty = np.clip(climb + draw.normal(0, 0.04, count), 0.3, 1.0)
    end = min(start + count, len(power_w))
    power_w[start:end] += KILN_W * duty[: end - start]


def _run(
    draw: np.random.Generator,
    power_w: Floats,
    places: NDArray[np.int64],
    at_hour: float,
    hours: float,
    watts: float,
) -> None:
    """Add a run of an appliance, its first and last quarter hour only in part."""
    start = int(places[0]) + max(0.0, at_hour) * 4
    end = start + hours * 4 * draw.uniform(0.8, 1.2)
    for place in range(int(start), min(int(end) + 1, len(power_w))):
        share = min(place + 1, end) - max(place, start)
        power_w[place] += watts * max(0.0, share)


def feed_text(first_s: int, energy_wh: NDArray[np.int64]) -> str:
    """Return the year as a ESPI feed, a block for each local day."""
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        "<!-- Invented: made by tools/make_demo_year.py, no house was measured. -->",
        '<feed xmlns="http://www.w3.org/2005/Atom">',
        "<title>The potter's house (invented)</title>",
        _entry(
            "invented/UsagePoint/1",
            "invented/UsagePoint",
            "<UsagePoint {}><ServiceCategory><kind>0</kind></ServiceCategory>"
            "</UsagePoint>",
            ("invented/UsagePoint/1/MeterReading", "invented/LocalTimeParameters/1"),
        ),
        _entry(
            "invented/LocalTimeParameters/1",
            "",
            "<LocalTimeParameters {}><dstEndRule>B40E2000</dstEndRule>"
            "<dstOffset>3600</dstOffset><dstStartRule>360E2000</dstStartRule>"
            "<tzOffset>-21600</tzOffset></LocalTimeParameters>",
        ),
        _entry(
            "invented/UsagePoint/1/MeterReading/1",
            "invented/UsagePoint/1/MeterReading",
            "<MeterReading {}/>",
            (
                "invented/UsagePoint/1/MeterReading/1/IntervalBlock",
                "invented/ReadingType/1",
            ),
        ),
        _entry(
            "invented/ReadingType/1",
            "",
            "<ReadingType {}><accumulationBehaviour>4</accumulationBehaviour>"
            "<commodity>1</commodity><dataQualifier>12</dataQualifier>"
            "<flowDirection>1</flowDirection><intervalLength>900</intervalLength>"
            "<kind>12</kind><powerOfTenMultiplier>0</powerOfTenMultiplier>"
            "<uom>72</uom></ReadingType>",
        ),
    ]
    place, number = 0, 0
    day = FIRST_DAY
    while place < len(energy_wh):
        number += 1
        day = (FIRST_DAY.replace(tzinfo=None) + timedelta(days=number)).replace(
            tzinfo=ZONE
        )
        end = min((int(day.timestamp()) - first_s) // INTERVAL_S, len(energy_wh))
        lines.append(_block(number, first_s, place, energy_wh[place:end]))
        place = end
    return "\n".join((*lines, "</feed>", ""))


def _block(number: int, first_s: int, place: int, energy_wh: NDArray[np.int64]) -> str:
    start_s = first_s + place * INTERVAL_S
    readings = "\n".join(
        f"<IntervalReading><timePeriod><duration>{INTERVAL_S}</duration>"
        f"<start>{start_s + at * INTERVAL_S}</start></timePeriod>"
        f"<value>{energy}</value></IntervalReading>"
        for at, energy in enumerate(energy_wh.tolist())
    )
    blocks = "invented/UsagePoint/1/MeterReading/1/IntervalBlock"
    whole_s = len(energy_wh) * INTERVAL_S
    return _entry(
        f"{blocks}/{number}",
        blocks,
        f"<IntervalBlock {{}}><interval><duration>{whole_s}</duration>"
        f"<start>{start_s}</start></interval>\n{readings}\n</IntervalBlock>",
    )


def _entry(own: str, up: str, body: str, related: tuple[str, ...] = ()) -> str:
    links = f'<link rel="self" href="{own}"/>'
    links += f'<link rel="up" href="{up}"/>' if up else ""
    links += "".join(f'<link rel="related" href="{each}"/>' for each in related)
    payload = body.format('xmlns="http://naesb.org/espi"')
    return f"<entry><id>urn:{own}</id>{links}<content>{payload}</content></entry>"


def main() -> int:
    """Write the year, and print what anyone can check in it."""
    first_s, energy_wh = year_wh()
    packed = gzip.compress(feed_text(first_s, energy_wh).encode(), 9, mtime=0)
    OUTPUT.write_bytes(packed)
    highest_kw = float(energy_wh.max()) * 3600 / INTERVAL_S / 1000
    print(
        f"{OUTPUT.name}: {len(energy_wh):,} quarter hours, "
        f"{float(energy_wh.sum()) / 1000:,.0f} kWh, highest {highest_kw:.2f} kW, "
        f"{len(packed):,} bytes"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
