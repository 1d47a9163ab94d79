"""What stands in the book: whose it is, in what condition, where, and what was measured."""

from packs.terms.term import Term


class Owner(Term):
    """Whose a lot or the removed cells are."""

    SHOP = "shop", "the shop"
    CUSTOMER = "customer", "the customer"


class LotOrigin(Term):
    """How cells came in."""

    BOUGHT = "bought", "bought"
    DONOR = "donor", "taken from a donor pack"


class Condition(Term):
    """State of a cell or item for handling, transport and waste."""

    INTACT = "intact", "intact"
    DAMAGED = "damaged", "damaged or defective"
    REACTIVE = "reactive", "liable to react"


class Place(Term):
    """Where a cell or item stands. Every one that came in stands in exactly one of these."""

    COUNTER = "counter", "counter"
    OUTSIDE = "outside", "outside, apart"
    BENCH = "bench", "bench"
    STOCK = "stock", "stock"
    QUARANTINE = "quarantine", "quarantine"
    PACK = "pack", "in a pack"
    CONTAINER = "container", "in a waste container"
    CUSTOMER = "customer", "with the customer"
    CONSIGNED = "consigned", "handed to a carrier"


class Area(Term):
    """Kinds of place for which insurer and fire code name limits."""

    STOCK = "stock", "stock"
    CUSTOMER_PACKS = "customer_packs", "customers' packs"
    HALF_BUILT = "half_built", "half-built packs"
    CHARGING = "charging", "charging"
    QUARANTINE = "quarantine", "quarantine"
    WASTE = "waste", "waste"


class Bulk(Term):
    """What of batteries a place is limited by, under the name of its column."""

    ENERGY = "energy_mwh", "energy"
    MASS = "mass_mg", "mass"
    VOLUME = "volume_mm3", "volume"


class Contents(Term):
    """What a waste container is for."""

    CELLS = "cells", "cells and packs"
    BOARDS = "boards", "boards and other parts"
    CONTAMINATED = "contaminated", "contaminated absorbent and gloves"


class Mode(Term):
    """How a consignment travels."""

    ROAD = "road", "by road"
    RAIL = "rail", "by rail"
    SEA = "sea", "by sea"
    AIR = "air", "by air"


class Measure(Term):
    """What a reading measures, with the unit it is stored in."""

    CAPACITY = "capacity_mah", "capacity"
    ENERGY = "energy_mwh", "energy"
    VOLTAGE = "voltage_mv", "voltage"
    REST_VOLTAGE = "rest_voltage_mv", "rest voltage"
    CURRENT = "current_ma", "current"
    DC_RESISTANCE = "dc_resistance_uohm", "DC resistance"
    AC_RESISTANCE = "ac_resistance_uohm", "1 kHz resistance"
    CONTACT_RESISTANCE = "contact_resistance_uohm", "contact resistance"
    INSULATION = "insulation_kohm", "insulation resistance"
    SELF_DISCHARGE = "self_discharge_uv_per_day", "self-discharge"
    TEMPERATURE = "temperature_mdegc", "temperature"
    MASS = "mass_mg", "mass"
    TORQUE = "torque_mnm", "torque"
    COUNT = "count", "count"
