"""The price list: what is shipped says it is invented, what is faulty is named."""

from __future__ import annotations

from pathlib import Path

import pytest

from lugbook.assess import options_prices
from lugbook.assess.options_prices import parse_prices, shipped_prices
from lugbook.errors import InputError

TEXT = Path(options_prices.__file__).with_name("prices.toml").read_text("utf-8")


def test_the_list_shipped_says_that_it_is_invented():
    assert shipped_prices().invented
    assert "nvented" in shipped_prices().title


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        ('title = "Invented', 'titel = "Invented', "title"),
        ("invented = true", 'invented = "yes"', "invented"),
        ("price_per_hour = 95.0", "price_per_hour = -1", "labor.price_per_hour"),
        ("permit = 150.0", "permit = nan", "labor.permit"),
        ("permit = 150.0", "permit = true", "labor.permit"),
        ('"14 AWG", 0.18', '"14", 0.18', "conductor, row 1, size"),
        ('["EMT", "1/2", 0.75', '["EMC", "1/2", 0.75', "raceway, row 1, raceway"),
        ('["14 AWG", 0.18, "-"]', '["14 AWG", 0.18]', "conductor, row 1"),
        ('["14 AWG", 0.18, "-"]', '["14 AWG", 0.18, ""]', "aluminum_per_ft"),
        ('columns = ["insulation",', 'columns = ["letters",', "insulation.columns"),
        ('["THHN", 0.98]', '["THHN", 0]', "insulation, row 1, price_factor"),
        ("[labor]", "[labor]\nprice_per_day = 1", "labor.price_per_day"),
        ("low_fraction = 0.75", "low_fraction = 1.75", "rough"),
        ("[waste]", "[waste", "prices.toml"),
    ],
)
def test_a_fault_is_named_by_its_place(old, new, field):
    assert old in TEXT
    with pytest.raises(InputError) as caught:
        parse_prices(TEXT.replace(old, new, 1), name="prices.toml")
    assert field in str(caught.value)


def test_devices_are_priced_up_to_and_at_their_bound():
    prices = shipped_prices()
    at, over = prices.device_prices(60.0), prices.device_prices(60.5)
    assert at == (24.0, 130.0, 65.0)
    assert over == (45.0, 320.0, 120.0)
    assert prices.device_prices(126.0) is None
