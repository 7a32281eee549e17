from __future__ import annotations

import math

import pytest

from lugbook.errors import OutOfRange
from lugbook.physics.infrared import infrared_indication, surface_from_infrared


@pytest.mark.parametrize(("emissivity", "shown_c"), [(0.3, 34.4), (0.1, 25.0)])
def test_a_bright_lug_reads_far_too_cold_by_hand(emissivity, shown_c):
    # 60 °C lug, room 20 °C, meter at 0.95. For 0.1: 333.15^4 = 1.23186e10, 293.15^4 =
    # 7.38512e9; (0.1 x 1.23186e10 + (0.9 - 0.05) x 7.38512e9)/0.95 = 7.90451e9;
    # its fourth root is 298.18 K = 25.0 °C.
    found = infrared_indication(surface_c=60.0, reflected_c=20.0, emissivity=emissivity)
    assert found == pytest.approx(shown_c, abs=0.05)


def test_a_meter_set_to_the_surface_reads_true():
    assert infrared_indication(
        surface_c=60.0, reflected_c=20.0, emissivity=0.95
    ) == pytest.approx(60.0)


def test_a_surface_as_warm_as_the_room_reads_true_whatever_it_is():
    assert infrared_indication(
        surface_c=20.0, reflected_c=20.0, emissivity=0.05
    ) == pytest.approx(20.0)


def test_infrared_there_and_back():
    shown_c = infrared_indication(surface_c=71.0, reflected_c=25.0, emissivity=0.7)
    assert surface_from_infrared(
        indication_c=shown_c, reflected_c=25.0, emissivity=0.7
    ) == pytest.approx(71.0)


def test_bare_metal_is_refused():
    surface_from_infrared(indication_c=50.0, reflected_c=20.0, emissivity=0.5)
    with pytest.raises(OutOfRange, match="Bare metal cannot be read"):
        surface_from_infrared(indication_c=50.0, reflected_c=20.0, emissivity=0.49)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"surface_c": math.nan}, "Surface or indication is nan °C"),
        ({"reflected_c": 101.0}, "Reflected temperature is 101 °C"),
        ({"emissivity": 0.01}, "Emissivity of the surface is 0.01"),
        ({"meter_emissivity": 1.1}, "Emissivity set in the meter is 1.1"),
    ],
)
def test_what_no_surface_has_is_refused(change, message):
    arguments = {"surface_c": 60.0, "reflected_c": 20.0, "emissivity": 0.9}
    with pytest.raises(OutOfRange, match=message):
        infrared_indication(**(arguments | change))
