"""What an infrared meter shows of a surface that is not as black as it is set for."""

from __future__ import annotations

from lugbook.physics.elementwise import require_between

__all__ = ["infrared_indication", "surface_from_infrared"]

_KELVIN = 273.15


def infrared_indication(
    *,
    surface_c: float,
    reflected_c: float,
    emissivity: float,
    meter_emissivity: float = 0.95,
) -> float:
    """Temperature that an infrared meter shows.

    The meter receives the surface's own radiation and the room's, reflected; it
    subtracts what its own setting says is reflected.

    Args:
        surface_c: True temperature of the surface. [°C]
        reflected_c: Temperature of what the surface mirrors. [°C]
        emissivity: Emissivity of the surface. [-]
        meter_emissivity: Emissivity set in the meter. [-]

    Returns:
        Indication. [°C]

    Raises:
        OutOfRange: Emissivity outside 0.02 to 1, or a temperature outside -40 to
            500 °C.

    Valid for:
        The fourth-power law over the whole spectrum; real meters see 8 to 14 µm and
        deviate by a few tenths of the difference to the room.

    Source:
        Stefan-Boltzmann law with reflection (textbook radiometry)

    Checked by:
        test_a_bright_lug_reads_far_too_cold_by_hand

    Example:
        >>> round(infrared_indication(surface_c=60.0, reflected_c=20.0,
        ...     emissivity=0.1), 1)
        25.0
    """
    _require(surface_c, reflected_c, emissivity, meter_emissivity)
    surface, room = (surface_c + _KELVIN) ** 4, (reflected_c + _KELVIN) ** 4
    received = emissivity * surface + (1.0 - emissivity) * room
    shown: float = (
        (received - (1.0 - meter_emissivity) * room) / meter_emissivity
    ) ** 0.25
    return shown - _KELVIN


def surface_from_infrared(
    *,
    indication_c: float,
    reflected_c: float,
    emissivity: float,
    meter_emissivity: float = 0.95,
) -> float:
    """True surface temperature behind an infrared indication.

    Args:
        indication_c: What the meter shows. [°C]
        reflected_c: Temperature of what the surface mirrors. [°C]
        emissivity: Emissivity of the surface. [-]
        meter_emissivity: Emissivity set in the meter. [-]

    Returns:
        Temperature of the surface. [°C]

    Raises:
        OutOfRange: Emissivity of the surface under 0.5: on bare metal the answer rests
            on a guess, so it is refused. Read the insulation beside it.

    Valid for:
        As `infrared_indication`, emissivity 0.5 to 1.

    Source:
        As `infrared_indication`

    Checked by:
        test_infrared_there_and_back
        test_bare_metal_is_refused

    Example:
        >>> round(surface_from_infrared(indication_c=58.0, reflected_c=20.0,
        ...     emissivity=0.9), 1)
        59.8
    """
    require_between(
        "Emissivity of the surface", emissivity, 0.5, 1.0, "",
        "Bare metal cannot be read; read the insulation beside it, or tape put on "
        "while it was dead.",
    )  # fmt: skip
    _require(indication_c, reflected_c, emissivity, meter_emissivity)
    shown, room = (indication_c + _KELVIN) ** 4, (reflected_c + _KELVIN) ** 4
    received = meter_emissivity * shown + (1.0 - meter_emissivity) * room
    surface: float = ((received - (1.0 - emissivity) * room) / emissivity) ** 0.25
    return surface - _KELVIN


def _require(
    surface_c: float, reflected_c: float, emissivity: float, meter_emissivity: float
) -> None:
    require_between("Surface or indication", surface_c, -40.0, 500.0, "°C")
    require_between("Reflected temperature", reflected_c, -80.0, 100.0, "°C")
    require_between("Emissivity of the surface", emissivity, 0.02, 1.0, "")
    require_between("Emissivity set in the meter", meter_emissivity, 0.1, 1.0, "")
