"""The small plot: the dot never lies about the side of the limit."""

from dataclasses import replace

import pytest

from lugbook.assess.assessment import CapacityRow, Interpretation
from lugbook.finding import Outcome, Working
from lugbook.report.capacity_plot import scale_of


def row(method, charger, hvac, amperes, outcome, largest_a, *, limit_a=200.0):
    return CapacityRow(
        method=method,
        interpretation=Interpretation(charger, hvac),
        permitted=True,
        literal=False,
        prudent=True,
        base_va=None,
        va=None,
        amperes=amperes,
        limit_a=limit_a,
        outcome=outcome,
        largest_exact_a=largest_a,
        largest_setting_a=largest_a,
        working=Working("", ()),
    )


def plotted(amperes, limit_a=200.0, span_a=None, others=()):
    one = replace(
        row(
            "optional",
            "outside",
            "counted",
            amperes,
            Outcome.MEETS,
            None,
            limit_a=limit_a,
        ),
        span_a=span_a,
    )
    return scale_of((one, *others)).line(one)


@pytest.mark.parametrize("amperes", [0.0, 40.0, 150.0, 199.0, 199.99, 200.0])
def test_a_load_within_the_limit_stands_left_of_it(amperes):
    line = plotted(amperes)
    assert line.index("•") < line.index("│")


@pytest.mark.parametrize("amperes", [200.01, 201.0, 250.0, 900.0])
def test_a_load_past_the_limit_stands_right_of_it(amperes):
    line = plotted(amperes)
    assert line.index("•") > line.index("│")


def test_every_line_and_the_axis_have_one_width_and_the_limit_one_place():
    rows = [
        row("optional", "outside", "counted", amperes, Outcome.MEETS, None)
        for amperes in (10.0, 150.0, 246.0)
    ]
    scale = scale_of(rows)
    lines = [scale.line(each) for each in rows]
    assert len({len(line) for line in (*lines, scale.axis())}) == 1
    assert len({line.index("│") for line in lines}) == 1
    assert "200" in scale.axis()


def test_what_the_leg_leaves_open_is_a_row_of_dashes_beside_the_dot():
    line = plotted(214.7, span_a=(214.7, 250.2))
    assert "•──" in line


def test_without_a_limit_nothing_is_ruled():
    assert "│" not in plotted(100.0, limit_a=None)


def test_a_row_without_a_figure_has_no_dot_but_the_limit():
    known = row("optional", "outside", "counted", 100.0, Outcome.MEETS, None)
    blank = row("measured", "outside", "counted", None, Outcome.CANNOT_TELL, None)
    line = scale_of((known, blank)).line(blank)
    assert "•" not in line
    assert "│" in line


def test_without_any_figure_there_is_no_scale():
    blank = row("measured", "outside", "counted", None, Outcome.CANNOT_TELL, None)
    assert scale_of((blank,)) is None
    assert scale_of(()) is None
