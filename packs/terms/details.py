"""What an opened pack shows besides its cells: what kept water out, and what sits on its cells."""

from packs.terms.term import Term


class Sealing(Term):
    """What kept water out of a case, as it was found."""

    NONE = "none", "nothing was there"
    GASKET = "gasket", "a gasket"
    SEALANT = "sealant", "sealant or glue all around"
    POTTED = "potted", "the inside is potted"
    BROKEN = "broken", "a seal that was broken already"
    UNKNOWN = "unknown", "not known"


class ContactKind(Term):
    """What sits on the cells or leads out of the pack beside the load."""

    SENSOR = "sensor", "temperature sensor"
    CUT_OFF = "cut_off", "thermal cut-off"
    IDENTIFICATION = "identification", "identification contact"
    OTHER = "other", "another contact"
