"""How a charger's voltage became known, and how a charged pack travels."""

from packs.terms.term import Term


class ChargerRead(Term):
    """Where the voltage of a charger is from; some give nothing until a pack is connected."""

    NO_LOAD = "no_load", "measured, no load"
    LABEL = "label", "from its label"
    LOADED = "loaded", "measured, under load"
    SILENT = "silent", "gives nothing until connected"


class Travels(Term):
    """How a pack leaves the shop."""

    TAKEN = "taken", "taken along by its owner"
    ROAD = "road", "sent by road"
    SEA = "sea", "sent by sea"
    AIR = "air", "sent by air"


class Port(Term):
    """What kind of outlet a pack has, where a standard names its window."""

    USB_A = "usb_a", "USB, type A"
    USB_C = "usb_c", "USB, type C"
