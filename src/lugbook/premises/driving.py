"""How the cars are used, and what energy costs when."""

from typing import Literal

from lugbook.premises.base import Item, Part
from lugbook.premises.fields import (
    Amperes,
    Clock,
    Count,
    Energy,
    EnergyPerDistance,
    Factor,
    Money,
    Note,
    Percent,
    Power,
    TravelDistance,
    YesNo,
)

__all__ = ["Car", "Tariff", "TariffWindow"]

Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]


class Car(Item):
    """A car and its days."""

    name: Note = ""
    """What you call it. Example: `"electric delivery van (invented)"`"""
    onboard_power: Power = None
    """Most the car itself takes from a 240 V charger. Look: car's manual, onboard
    charger. Example: `"11.5 kW"`"""
    onboard_current: Amperes = None
    """The same as a current, where the manual gives amperes. Look: car's manual.
    Example: `"48 A"`"""
    battery: Energy = None
    """Usable energy of its battery. Look: car's manual. Example: `"75 kWh"`"""
    distance_per_day: TravelDistance = None
    """Miles or kilometres on an ordinary day. Look: odometer over a week.
    Example: `"40 mi"`"""
    long_day_distance: TravelDistance = None
    """Distance on a long day that must still be ready next morning. Look: diary.
    Example: `"150 mi"`"""
    long_days_per_year: Count = None
    """How many such days a year has. Look: diary. Example: `12`"""
    energy_per_distance: EnergyPerDistance = None
    """Energy used for each mile or kilometre. Look: trip computer, or energy bought
    over distance driven. Example: `"0.30 kWh/mi"`"""
    measured_at: Literal["wall", "car"] | None = None
    """Whether that energy was measured at the wall, losses included, or by the car.
    Look: where you read it. Example: `"car"`"""
    charging_efficiency: Percent = None
    """Share of the wall's energy that reaches the battery. Look: wall energy against
    the car's. Example: `"90 %"`"""
    winter_factor: Factor = None
    """How many times the ordinary energy the coldest weeks take. Look: trip computer in
    winter. Example: `1.4`"""
    winter_weeks: Count = None
    """How many weeks a year that factor holds, about the middle of January. Look:
    when you scrape ice, or a weather record. Example: `12`"""
    home_at: Clock = None
    """When the car is usually plugged in. Look: habit. Example: `"18:30"`"""
    leaves_at: Clock = None
    """When it must be ready. Look: habit. Example: `"06:00"`"""
    days: tuple[Weekday, ...] = ()
    """Days on which it drives. Look: habit.
    Example: `["mon", "tue", "wed", "thu", "fri"]`"""
    mornings_missed_accepted: Count = None
    """How many mornings a year it may leave short of full. Look: yourself. Example: `2`
    """
    ventilation_required: YesNo = None
    """Whether the car's manual asks for ventilation while it charges indoors. Look:
    car's manual. Example: `false`"""


class TariffWindow(Part):
    """A time of day with its own price."""

    starts: Clock = None
    """When the price begins. Look: the utility's tariff sheet. Example: `"23:00"`"""
    ends: Clock = None
    """When it ends; earlier than `starts` means the next day. Look: tariff sheet.
    Example: `"07:00"`"""
    days: tuple[Weekday, ...] = ()
    """Days on which it applies; left out means every day. Look: tariff sheet.
    Example: `["sat", "sun"]`"""
    price_per_kwh: Money = None
    """Price of a kilowatt-hour in it. Look: tariff sheet. Example: `0.09`"""


class Tariff(Part):
    """What energy costs."""

    currency: Note = "USD"
    """Currency of the prices. Example: `"USD"`"""
    price_per_kwh: Money = None
    """Price of a kilowatt-hour outside all windows. Look: bill. Example: `0.17`"""
    windows: tuple[TariffWindow, ...] = ()
    """Times of day with prices of their own."""
    demand_price_per_kw: Money = None
    """Price a month for each kilowatt of the highest demand, where the tariff has one.
    Look: bill. Example: `9.5`"""
