"""What is asked at the counter: the device and its danger signs."""

from packs.terms.term import Term


class DeviceClass(Term):
    """What the device is used for; decides which cells it may get."""

    MEDICAL = "medical", "medical device"
    LIGHT_VEHICLE = "light_vehicle", "light electric vehicle"
    TOOL = "tool", "tool"
    POWER_BANK = "power_bank", "power bank"
    OTHER = "other", "other device"


class DangerSign(Term):
    """What is asked before a pack crosses the door."""

    HOT = "hot", "hot to the touch"
    SMOKE = "smoke", "smoke or vapour"
    HISSING = "hissing", "hissing or crackling"
    SWELLING = "swelling", "swollen or bulging"
    LEAK = "leak", "leaking"
    SMELL = "smell", "sweet or solvent smell"
    DROPPED = "dropped", "dropped, crushed or dented"
    WATER = "water", "has been in water"
    NO_SIGN_OF_LIFE = "no_sign_of_life", "no sign of life"
    UNKNOWN_HISTORY = "unknown_history", "history not known"


RED_SIGNS = frozenset(
    {DangerSign.HOT, DangerSign.SMOKE, DangerSign.HISSING, DangerSign.SWELLING, DangerSign.LEAK, DangerSign.SMELL}
)
AMBER_SIGNS = frozenset(DangerSign) - RED_SIGNS


class DangerLevel(Term):
    """What the danger signs add up to: clear comes in, amber goes to a separate bench, red stays outside."""

    CLEAR = "clear", "no danger sign"
    AMBER = "amber", "amber: separate bench"
    RED = "red", "red: stays outside"
