"""Duties by edition, place, connection and size, from the change table by hand."""

from __future__ import annotations

import pytest

from lugbook.codebook.edition import editions, open_edition
from lugbook.codebook.nfpa70.vehicle_supply import (
    disconnect_duty,
    ground_fault_duty,
    receptacle_is_permitted,
    receptacle_needs_vehicle_listing,
)

OLD = ("2017", "2020", "2023")


@pytest.mark.parametrize("year", OLD)
@pytest.mark.parametrize(
    ("rated_a", "required"), [(48.0, False), (60.0, False), (60.01, True), (None, None)]
)
def test_disconnect_over_60_a_until_2023(
    year: str, rated_a: float | None, required: bool | None
) -> None:
    duty = disconnect_duty(
        edition=open_edition(year), rated_a=rated_a, to_ground_v=120.0, hard_wired=True
    )
    assert duty.is_required is required


@pytest.mark.parametrize("year", OLD)
@pytest.mark.parametrize(("to_ground_v", "required"), [(150.0, False), (151.0, True)])
def test_disconnect_over_150_v_to_ground_until_2023(
    year: str, to_ground_v: float, required: bool
) -> None:
    duty = disconnect_duty(
        edition=open_edition(year),
        rated_a=32.0,
        to_ground_v=to_ground_v,
        hard_wired=True,
    )
    assert duty.is_required is required


@pytest.mark.parametrize("hard_wired", [True, False, None])
def test_disconnect_of_everything_permanent_in_2026(hard_wired: bool | None) -> None:
    duty = disconnect_duty(
        edition=open_edition("2026"),
        rated_a=16.0,
        to_ground_v=120.0,
        hard_wired=hard_wired,
    )
    assert duty.is_required is hard_wired


@pytest.mark.parametrize("year", OLD)
def test_a_plug_is_its_own_disconnect(year: str) -> None:
    duty = disconnect_duty(
        edition=open_edition(year), rated_a=64.0, to_ground_v=120.0, hard_wired=False
    )
    assert duty.is_required is False


@pytest.mark.parametrize(
    ("year", "place", "device_a", "required"),
    [
        ("2017", "outdoors", 50.0, False),
        ("2020", "outdoors", 50.0, True),
        ("2020", "outdoors", 50.01, False),
        ("2020", "outdoors", 60.0, False),
        ("2020", "garage", 50.0, False),
        ("2023", "outdoors", 50.0, True),
        ("2023", "outdoors", 60.0, False),
        ("2023", "garage", 50.0, True),
        ("2023", "accessory building", 50.0, True),
        ("2023", "indoors", 50.0, False),
        ("2023", None, 50.0, None),
        ("2023", None, 60.0, False),
        ("2023", "outdoors", None, None),
        ("2026", "outdoors", 60.0, True),
        ("2026", "garage", 100.0, True),
        ("2026", "indoors", 100.0, True),
    ],
)
def test_ground_fault_of_hard_wired_equipment(
    year: str, place: str | None, device_a: float | None, required: bool | None
) -> None:
    duty = ground_fault_duty(
        edition=open_edition(year),
        hard_wired=True,
        place=place,
        device_a=device_a,
        receptacle_a=None,
        to_ground_v=120.0,
    )
    assert duty.is_required is required
    assert duty.reason


@pytest.mark.parametrize("year", editions())
def test_ground_fault_of_a_14_50_receptacle_everywhere(year: str) -> None:
    duty = ground_fault_duty(
        edition=open_edition(year),
        hard_wired=False,
        place="indoors",
        device_a=50.0,
        receptacle_a=50.0,
        to_ground_v=120.0,
    )
    assert duty.is_required is True


@pytest.mark.parametrize(
    ("receptacle_a", "required"), [(50.0, True), (60.0, False), (None, None)]
)
def test_ground_fault_of_receptacles_was_limited_in_2017(
    receptacle_a: float | None, required: bool | None
) -> None:
    duty = ground_fault_duty(
        edition=open_edition("2017"),
        hard_wired=False,
        place="garage",
        device_a=60.0,
        receptacle_a=receptacle_a,
        to_ground_v=120.0,
    )
    assert duty.is_required is required


@pytest.mark.parametrize("year", editions())
def test_ground_fault_unknown_while_the_connection_is(year: str) -> None:
    duty = ground_fault_duty(
        edition=open_edition(year),
        hard_wired=None,
        place="garage",
        device_a=50.0,
        receptacle_a=None,
        to_ground_v=120.0,
    )
    assert duty.is_required is None


@pytest.mark.parametrize(
    ("year", "configuration", "permitted"),
    [
        *((year, "14-50", True) for year in editions()),
        *((year, "6-50", True) for year in editions()),
        *((year, "14-30", True) for year in editions()),
        *((year, "14-60", False) for year in OLD),
        ("2026", "14-60", True),
        *((year, "6-60", False) for year in OLD),
    ],
)
def test_receptacles_permitted(year: str, configuration: str, permitted: bool) -> None:
    found, line = receptacle_is_permitted(
        edition=open_edition(year), configuration=configuration
    )
    assert found is permitted
    assert line.source


@pytest.mark.parametrize(
    ("year", "rating_a", "required"),
    [
        *((year, 50.0, False) for year in OLD),
        ("2026", 30.0, True),
        ("2026", 50.0, True),
        ("2026", 60.0, True),
        ("2026", 20.0, False),
    ],
)
def test_vehicle_listing_of_receptacles_came_in_2026(
    year: str, rating_a: float, required: bool
) -> None:
    duty = receptacle_needs_vehicle_listing(
        edition=open_edition(year), rating_a=rating_a
    )
    assert duty.is_required is required
