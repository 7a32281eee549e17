"""The geometry of the capacity plot."""

from dataclasses import replace
from itertools import pairwise

import pytest

from lugbook.assess.assessment import CapacityRow, Interpretation
from lugbook.finding import Outcome, Working
from lugbook.web.pages.dot_plot import DotPlot, dot_plots


def _row(
    amperes: float | None, *, limit_a: float | None = 200.0, permitted: bool = True
) -> CapacityRow:
    return CapacityRow(
        method="optional",
        interpretation=Interpretation("outside", "counted"),
        permitted=permitted,
        literal=False,
        prudent=True,
        base_va=None,
        va=None,
        amperes=amperes,
        limit_a=limit_a,
        outcome=Outcome.MEETS,
        largest_exact_a=None,
        largest_setting_a=None,
        working=Working("", ()),
    )


def _plots(
    *amperes: float | None, limit_a: float | None = 200.0
) -> tuple[DotPlot, ...]:
    return dot_plots(tuple(_row(each, limit_a=limit_a) for each in amperes))


def test_there_is_a_wide_and_a_narrow_plot() -> None:
    assert [plot.kind for plot in _plots(150.0)] == ["wide", "narrow"]


def test_without_any_figure_there_is_no_plot() -> None:
    assert _plots(None, None) == ()


def test_a_row_without_a_figure_has_no_dot() -> None:
    for plot in _plots(150.0, None):
        assert len(plot.dots) == 1


@pytest.mark.parametrize(
    ("amperes", "over"), [(199.99, False), (200.0, False), (200.01, True)]
)
def test_a_dot_stands_past_the_limit_only_where_the_load_does(
    amperes: float, over: bool
) -> None:
    for plot in _plots(amperes):
        assert plot.limit_x is not None
        assert (plot.dots[0].x > plot.limit_x) is over


@pytest.mark.parametrize("outcome", list(Outcome))
def test_a_dot_is_marked_by_the_finding_and_not_by_a_comparison_of_its_own(
    outcome: Outcome,
) -> None:
    for plot in dot_plots((replace(_row(150.0), outcome=outcome),)):
        assert plot.dots[0].over is (outcome is Outcome.FALLS_SHORT)


def test_dots_stand_in_the_order_of_their_loads_and_below_each_other() -> None:
    for plot in _plots(40.0, 41.0, 199.0, 246.0, 900.0):
        assert all(one.x < other.x for one, other in pairwise(plot.dots))
        assert all(one.y < other.y for one, other in pairwise(plot.dots))


@pytest.mark.parametrize("amperes", [0.0, 1.0, 59.0, 200.0, 250.0, 399.0, 5000.0])
def test_every_dot_lies_on_an_axis_that_begins_at_nought(amperes: float) -> None:
    for plot in _plots(amperes):
        [dot] = plot.dots
        assert plot.ticks[0] == (plot.left, "0")
        assert plot.ticks[-1][0] == pytest.approx(plot.right)
        assert plot.left <= dot.x <= plot.right
        assert 2 <= len(plot.ticks) <= 10


def test_a_figure_never_lies_across_the_limit() -> None:
    # 68 units is the room kept for a figure beside its dot.
    for amperes in range(0, 400, 3):
        for plot in _plots(float(amperes), 399.0):
            dot = plot.dots[0]
            limit_x = plot.limit_x
            assert limit_x is not None
            begins = dot.text_x - 56 if dot.text_on_left else dot.text_x
            assert not begins < limit_x < begins + 56


def test_an_unknown_limit_is_not_drawn() -> None:
    for plot in _plots(150.0, limit_a=None):
        assert plot.limit_x is None
        assert plot.limit_text == ""


def test_a_method_that_is_not_permitted_keeps_its_dot_but_is_told_apart() -> None:
    rows = (_row(150.0), _row(150.0, permitted=False))
    for plot in dot_plots(rows):
        assert [dot.permitted for dot in plot.dots] == [True, False]


def test_each_method_has_one_heading_over_its_dots() -> None:
    rows = (_row(150.0), _row(160.0), replace(_row(170.0), method="standard"))
    for plot in dot_plots(rows):
        assert [each.text for each in plot.headings] == [
            "Optional method",
            "Standard method",
        ]
        assert plot.headings[0].y < plot.dots[0].y < plot.dots[1].y
        assert plot.dots[1].y < plot.headings[1].y < plot.dots[2].y


def test_existing_dwelling_is_parted_by_whether_heating_and_cooling_count() -> None:
    counted = replace(_row(150.0), method="existing")
    left_out = replace(counted, interpretation=Interpretation("outside", "not_counted"))
    for plot in dot_plots((left_out, counted)):
        assert [each.text for each in plot.headings] == [
            "Existing dwelling, heating and cooling left out",
            "Existing dwelling, heating and cooling counted",
        ]


@pytest.mark.parametrize("most_a", [215.0, 250.0, 399.0])
def test_what_the_legs_leave_open_is_a_band_from_the_least_to_the_most(
    most_a: float,
) -> None:
    row = replace(_row(210.0), span_a=(205.0, most_a))
    for plot in dot_plots((row,)):
        [dot] = plot.dots
        assert dot.range_x is not None
        assert dot.range_x[0] < dot.x < dot.range_x[1] <= plot.right
        # the figure stands clear of the band, and on the page
        assert not dot.range_x[0] < dot.text_x < dot.range_x[1]
        assert dot.text_on_left or dot.text_x + 56 <= plot.width


def test_a_band_that_ends_short_of_the_limit_keeps_its_figure_off_the_rule() -> None:
    row = replace(_row(150.0), span_a=(150.0, 195.0))
    for plot in dot_plots((row,)):
        [dot] = plot.dots
        assert plot.limit_x is not None
        assert dot.text_x > plot.limit_x or dot.text_on_left


def test_a_calculated_load_has_no_band() -> None:
    for plot in _plots(150.0):
        assert plot.dots[0].range_x is None
