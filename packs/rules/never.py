"""Why some rules allow no written exception. Common practice, no source."""

FIRE = "it can set a pack on fire"
UNMEASURED = "what was not measured cannot be answered for"
SHOCK = "it can kill or burn whoever works on the pack"
USER = "it can hurt who uses the device, or what is plugged into it"
BOOK = "the book would no longer say where everything is"
CARRIAGE = "rules of carriage set it, not the shop"
PAPER = "who gets the pack, or the waste, needs the paper"
