"""Invented tables of interval data, shaped as utilities and loggers write them."""

from datetime import datetime, timedelta

FIRST = datetime(2025, 6, 2)
PEAK_KW = 4.8


def usage_kwh(count, minutes=15):
    """Return an invented house: nights, breakfast, supper, and one peak at noon."""
    found = []
    for place in range(count):
        hour = place * minutes % 1440 / 60
        kw = 0.4 + 0.013 * (place % 7)
        if 17 <= hour < 21:
            kw += 2.5
        elif 6 <= hour < 9:
            kw += 0.6
        if place == count // 2:
            kw = PEAK_KW
        found.append(round(kw * minutes / 60, 3))
    return found


def times(count, minutes=15, form="%Y-%m-%d %H:%M", first=FIRST):
    """Return the starts of as many intervals."""
    return [
        (first + timedelta(minutes=minutes * place)).strftime(form)
        for place in range(count)
    ]


def table(head, rows, *, by=",", end="\n"):
    """Return a table as text."""
    return end.join([head, *(by.join(map(str, row)) for row in rows)]) + end


def plain(count=96):
    """Return a day of quarter hours as the plainest table."""
    return table("Timestamp,kWh", zip(times(count), usage_kwh(count), strict=True))
