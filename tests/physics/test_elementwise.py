from __future__ import annotations

import math
import subprocess
import sys

import numpy as np
import pytest

from lugbook.errors import OutOfRange
from lugbook.physics.elementwise import bisect, every, exp, log, require_between, where


def test_floats_and_arrays_have_the_same_logarithm_and_power():
    numbers = np.array([0.5, 1.0, 7.0])
    assert log(numbers) == pytest.approx([math.log(each) for each in numbers])
    assert exp(numbers) == pytest.approx([math.exp(each) for each in numbers])


def test_where_chooses_for_one_and_for_many():
    assert where(True, 1.0, 2.0) == 1.0
    assert where(False, 1.0, 2.0) == 2.0
    assert list(where(np.array([True, False]), 1.0, 2.0)) == [1.0, 2.0]


def test_every_asks_each_element():
    assert every(np.array([True, True]))
    assert not every(np.array([True, False]))
    assert every(True)
    assert not every(False)


def test_bisect_finds_many_roots_at_once():
    squares = np.array([4.0, 9.0, 2.0])
    roots = bisect(lambda side: side * side - squares, np.zeros(3), np.full(3, 10.0))
    assert roots == pytest.approx([2.0, 3.0, math.sqrt(2.0)], abs=1e-9)


@pytest.mark.parametrize("given", [10.0, 20.0, 30.0])
def test_limits_of_a_range_belong_to_it(given):
    require_between("Length", given, 10.0, 30.0, "m")


@pytest.mark.parametrize("given", [9.999, 30.001, math.nan, math.inf])
def test_what_is_outside_is_named_with_unit_and_range(given):
    with pytest.raises(OutOfRange, match=r"Length is .* m; accepted: 10 to 30 m\. M"):
        require_between("Length", given, 10.0, 30.0, "m", "Mend it.")


def test_a_share_has_no_unit_in_its_message():
    with pytest.raises(OutOfRange, match=r"Share is 2; accepted: 0 to 1\.$"):
        require_between("Share", 2.0, 0.0, 1.0, "")


def test_the_plain_path_never_imports_numpy():
    program = (
        "import sys\n"
        "from lugbook.physics.panel_heating import panel_forecast\n"
        "from lugbook.physics.conductor_transient import two_node_response\n"
        "from lugbook.physics import breaker_rating, infrared\n"
        "panel_forecast(point='breaker-lug', current_a=80.0, breaker_rating_a=100.0,\n"
        "    conductor_w_per_m=4.75, ambient_c=20.0, joint_times=10.0)\n"
        "assert 'numpy' not in sys.modules\n"
    )
    subprocess.run([sys.executable, "-c", program], check=True, timeout=60)
