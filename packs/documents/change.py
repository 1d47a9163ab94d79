"""How far a rebuilt pack is from the one its transport tests were made with."""

from dataclasses import dataclass
from decimal import Decimal, localcontext

from packs.errors import ImpossibleValue
from packs.waste import NEW_TYPE_PERCENT


@dataclass(frozen=True)
class RatingChange:
    """Change of nominal energy and nominal voltage, as shares of the old values.

    ``new_type`` says that the change alone makes a new type for the transport tests. Where it is False the change
    does not; other differences can, and a competent person judges those.
    """

    energy_share: Decimal
    voltage_share: Decimal
    new_type: bool


def rating_change(
    old_energy_mwh: Decimal, new_energy_mwh: Decimal, old_voltage_mv: Decimal, new_voltage_mv: Decimal
) -> RatingChange:
    """Compare nominal energy and voltage of a pack before and after, unrounded.

    More than 20 % change in nominal energy either way, or more than 20 % increase in nominal voltage, is a new type.

    Parameters
    ----------
    old_energy_mwh, new_energy_mwh : Decimal
        Nominal energy [mWh].
    old_voltage_mv, new_voltage_mv : Decimal
        Nominal voltage [mV].

    Raises
    ------
    ImpossibleValue
        An old value is not above zero, or a value is not finite.

    References
    ----------
    UN Manual of Tests and Criteria, 38.3.2.2 (b), as printed in a maker's test report (quoted elsewhere).

    Examples
    --------
    >>> rating_change(Decimal(400), Decimal(480), Decimal(36), Decimal("43.2")).new_type
    False
    >>> rating_change(Decimal(400), Decimal("480.1"), Decimal(36), Decimal(36)).new_type
    True
    """
    figures = (old_energy_mwh, new_energy_mwh, old_voltage_mv, new_voltage_mv)
    if not all(figure.is_finite() for figure in figures) or min(old_energy_mwh, old_voltage_mv) <= 0:
        raise ImpossibleValue("The old pack has no rated energy or voltage to compare with.")
    energy, voltage = new_energy_mwh - old_energy_mwh, new_voltage_mv - old_voltage_mv
    new_type = (
        abs(energy) * 100 > NEW_TYPE_PERCENT * old_energy_mwh or voltage * 100 > NEW_TYPE_PERCENT * old_voltage_mv
    )
    with localcontext(prec=12):
        return RatingChange(energy / old_energy_mwh, voltage / old_voltage_mv, new_type)
