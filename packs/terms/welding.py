"""What a peel sample is made on, and what comes of it."""

from packs.terms.term import Term


class Specimen(Term):
    """What a peel sample is welded to; never a charged cell."""

    SCRAP_CAN = "scrap_can", "a discharged scrap can"
    PLATED_STEEL = "plated_steel", "plated steel as thick as the can"


class Peeled(Term):
    """What a weld did when its strip was peeled off."""

    HELD = "held", "held: the strip tore, the nugget stayed"
    LOOSE = "loose", "did not hold"
    BURNT = "burnt", "burnt through"
