import pytest

from lugbook.codebook.control_pilot import pilot_current_a, pilot_duty_fraction
from lugbook.codebook.edition import open_edition
from lugbook.errors import OutOfRange

BOOK = open_edition("2026", book="product_limits")
# By hand: 0.6 A a percent up to 85 %, above it 2.5 A × (percent − 64). The ends, 6 A
# at 10 % and 80 A at 96 %, stand on an equipment maker's support page.
PAIRS = [(0.10, 6.0), (0.50, 30.0), (0.80, 48.0), (0.85, 51.0), (0.90, 65.0)]
PAIRS += [(0.96, 80.0)]


@pytest.mark.parametrize(("duty", "current_a"), PAIRS)
def test_a_duty_cycle_stands_for_its_current(duty, current_a):
    found = pilot_current_a(limits=BOOK, duty_fraction=duty)
    assert found.amount == pytest.approx(current_a, rel=1e-12)


@pytest.mark.parametrize(("duty", "current_a"), PAIRS)
def test_and_back(duty, current_a):
    found = pilot_duty_fraction(limits=BOOK, current_a=current_a)
    assert found.amount == pytest.approx(duty, rel=1e-12)


@pytest.mark.parametrize("duty", [0.0999, 0.9601, float("nan")])
def test_a_duty_that_stands_for_no_current_is_refused(duty):
    with pytest.raises(OutOfRange, match="stands for no current"):
        pilot_current_a(limits=BOOK, duty_fraction=duty)


@pytest.mark.parametrize("current_a", [5.99, 80.01, float("nan")])
def test_a_current_that_no_duty_stands_for_is_refused(current_a):
    with pytest.raises(OutOfRange, match="no pilot duty"):
        pilot_duty_fraction(limits=BOOK, current_a=current_a)
