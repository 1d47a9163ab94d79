"""What the groups themselves resist, from what they lose between rest and the stated load."""

from collections.abc import Mapping, Sequence

from packs.faultfinding.model import PackModel
from packs.faultfinding.readings import Reading
from packs.faultfinding.sags import losses
from packs.units import Quantity


def group_resistances(model: PackModel, readings: Sequence[Reading]) -> Mapping[int, Quantity]:
    """Return the DC resistance [mΩ] of every group that was read on its own terminals, at rest and under load [V].

    Between them lies no joint. The last reading of each counts; how long the load was drawn is not known, so that it
    compares groups of one pack and is no figure of a data sheet.

    References
    ----------
    Ohm's law: R = (U at rest − U under load) / I.

    Examples
    --------
    >>> from packs.faultfinding.measurements import ends
    >>> from packs.faultfinding.readings import Circumstance, Place
    >>> from packs.terms import Chemistry
    >>> from packs.units import ureg
    >>> one = PackModel(1, Chemistry.NMC, ureg.Quantity(20, "mΩ"), ureg.Quantity(5, "A"), ureg.Quantity(3, "V"))
    >>> rest, load = (
    ...     Reading(*ends(Place.GROUP, 1), circumstance, ureg.Quantity(volts, "V"))
    ...     for circumstance, volts in ((Circumstance.REST, 3.7), (Circumstance.LOAD, 3.58))
    ... )
    >>> f"{group_resistances(one, [rest, load])[1]:.1f~P}"
    '24.0 mΩ'
    """
    return {group: (lost / model.load).to("mohm") for group, lost in losses(model, readings).items()}
