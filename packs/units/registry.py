"""The one unit registry; quantities of two registries cannot be added, so nobody builds another."""

from typing import TYPE_CHECKING, Any, TypeAlias

import pint

from packs.units.definitions import DEFINITIONS

ureg: pint.UnitRegistry[Any] = pint.UnitRegistry(None, system="mks")
ureg.load_definitions(DEFINITIONS.splitlines())
# A pickled quantity comes back in this registry.
pint.set_application_registry(ureg)  # type: ignore[no-untyped-call]

if TYPE_CHECKING:
    Quantity: TypeAlias = pint.Quantity[Any]
else:
    Quantity = pint.Quantity
