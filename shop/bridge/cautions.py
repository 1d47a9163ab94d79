"""What to say before a stage's work."""

from collections.abc import Sequence

from packs.cautions import Caution, cautions
from packs.terms import Stage

HIGH_VOLTAGE_MV = 60_000
"""Above this direct voltage a pack is for qualified people only; thresholds differ by place (common practice)."""


def for_stage(
    stage: Stage, *, highest_mv: int = 0, route: Sequence[Stage] = (), part_stays: bool = False
) -> tuple[Caution, ...]:
    """Return the cautions of a stage; ``highest_mv`` is the highest voltage of the pack, ``route`` the job's stages.

    ``part_stays`` says that groups of the old pack stay beside the work.
    """
    return cautions(stage, high_voltage=highest_mv > HIGH_VOLTAGE_MV, route=route, part_stays=part_stays)
