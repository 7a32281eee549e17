"""What the circuit will warm to: points against their limits, settings side by side."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lugbook.assess.assessment import (
    Assessment,
    Forecast,
    ForecastPoint,
    SettingOutlook,
)
from lugbook.report.figures import (
    degrees_text,
    range_text,
    setting_text,
    share_text,
    watts_text,
)
from lugbook.report.paper import Column, Paper

__all__ = ["by_margin", "forecast_section", "short_name", "spread_out"]

_ROOM_FOR_TABLES = 4  # entries a list may have; fewer, and sentences must do
_FEW = 4
_POINTS = (
    Column("point", wraps=True),
    Column("middle", figures=True),
    Column("5 to 95 %"),
    Column("limit", figures=True),
    Column(""),
    Column("answer"),
)
_SETTINGS = (
    Column("setting", figures=True),
    Column("hottest point", wraps=True),
    Column("°C", figures=True),
    Column("lost, V", figures=True),
    Column("of the supply", figures=True),
    Column("heat, W", figures=True),
    Column("share", figures=True),
)


def forecast_section(
    assessment: Assessment, paper: Paper, *, most: int | None = None
) -> Iterator[str]:
    """The forecast: points with the least room, and settings compared.

    Args:
        assessment: The assessment. [-]
        paper: What it is written on. [-]
        most: How many entries there is room for; all of them if left out. [-]

    Returns:
        Lines. [-]
    """
    found = assessment.forecast
    if found is None or not found.settings:
        return
    known = by_margin(found.points)
    if not known:
        return
    at = setting_text(found.settings[-1].setting_a)
    yield ""
    if most is not None and most < _ROOM_FOR_TABLES:
        yield from _in_sentences(found, known, at, paper)
        return
    shown = known if most is None else known[:_FEW]
    yield from paper.wrap(f"What it will warm to at {at}: a forecast, not a reading")
    yield from paper.table(_POINTS, [_point_cells(each, paper) for each in shown])
    settings = found.settings if most is None else spread_out(found.settings)
    if len(settings) > 1:
        yield ""
        yield from paper.table(_SETTINGS, [_setting_cells(each) for each in settings])


def by_margin(points: Sequence[ForecastPoint]) -> tuple[ForecastPoint, ...]:
    """The points that have a limit and a temperature, the least room first.

    Args:
        points: Every point. [-]

    Returns:
        Those with a margin. [-]
    """
    known = [each for each in points if each.margin_k is not None]
    return tuple(sorted(known, key=lambda each: each.margin_k or 0.0))


def spread_out(settings: Sequence[SettingOutlook]) -> tuple[SettingOutlook, ...]:
    """A few settings from the smallest to the largest.

    Args:
        settings: Ascending. [-]

    Returns:
        At most four, the largest among them. [-]
    """
    last = len(settings) - 1
    places = sorted({round(last * part / (_FEW - 1)) for part in range(_FEW)})
    return tuple(settings[place] for place in places)


def short_name(name: str) -> str:
    """Return a point's name as a label: its section behind a comma.

    Args:
        name: Its name in words. [-]

    Returns:
        Text. [-]

    Example:
        >>> short_name("the raceway of section attic, outside")
        'raceway, attic'
    """
    plain = name.removeprefix("the ").removesuffix(", outside")
    return plain.replace(" in section ", ", ").replace(" of section ", ", ")


def _point_cells(point: ForecastPoint, paper: Paper) -> tuple[str, ...]:
    outcome = point.outcome
    return (
        short_name(point.name),
        degrees_text(point.middle_c),
        range_text(point),
        degrees_text(point.limit_c),
        paper.mark(outcome) if outcome else "",
        outcome.words if outcome else "",
    )


def _setting_cells(outlook: SettingOutlook) -> tuple[str, ...]:
    return (
        setting_text(outlook.setting_a),
        short_name(outlook.hottest_name) or "unknown",
        degrees_text(outlook.hottest_c).removesuffix(" °C"),
        "unknown" if outlook.drop_v is None else f"{outlook.drop_v:.1f}",
        share_text(outlook.drop_fraction, digits=1),
        watts_text(outlook.loss_w).removesuffix(" W"),
        share_text(outlook.heat_fraction),
    )


def _in_sentences(
    found: Forecast, known: Sequence[ForecastPoint], at: str, paper: Paper
) -> Iterator[str]:
    worst = known[0]
    words = (
        f"Forecast at {at}: {worst.name} {degrees_text(worst.middle_c)} "
        f"({range_text(worst)}), limit {degrees_text(worst.limit_c)}"
    )
    middle = found.settings[(len(found.settings) - 1) // 2]
    if middle.heat_fraction is not None and len(found.settings) > 1:
        words += (
            f". At {setting_text(middle.setting_a)} the run makes "
            f"{share_text(middle.heat_fraction)} of the heat"
        )
    yield from paper.wrap(f"{words}.")
