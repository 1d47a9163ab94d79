"""What to say before a stage's work."""

from collections.abc import Sequence

from packs.cautions import Caution, cautions, pierced, preparing, while_searching
from packs.terms import JointMethod, Stage, Unpowered
from shop.models import Job, PackAsFound

HIGH_VOLTAGE_MV = 60_000
"""Above this direct voltage a pack is for qualified people only; thresholds differ by place (common practice)."""


def for_stage(
    stage: Stage,
    *,
    highest_mv: int = 0,
    route: Sequence[Stage] = (),
    unpowered: Unpowered = Unpowered.UNKNOWN,
    part_stays: bool = False,
    joint_method: str = "",
) -> tuple[Caution, ...]:
    """Return the cautions of a stage; ``highest_mv`` is the highest voltage of the pack, ``route`` the job's stages.

    ``unpowered`` is what the board does once it was without supply; ``part_stays`` says that groups of the old pack
    stay beside the work; ``joint_method`` how the cells are joined, where that is known.
    """
    high = highest_mv > HIGH_VOLTAGE_MV
    method = JointMethod(joint_method) if joint_method else None
    return cautions(
        stage, high_voltage=high, route=route, unpowered=unpowered, part_stays=part_stays, joint_method=method
    )


def at_a_pierced_can(*, highest_mv: int, part_stays: bool) -> tuple[Caution, ...]:
    """Return what to say first where a can of a half-built pack was pierced."""
    return pierced(high_voltage=highest_mv > HIGH_VOLTAGE_MV, part_stays=part_stays)


def at_a_search(*, highest_mv: int, charger: bool) -> tuple[Caution, ...]:
    """Return what to say where a load is drawn while a fault is looked for, with the ``charger`` or without."""
    return while_searching(charger=charger, high_voltage=highest_mv > HIGH_VOLTAGE_MV)


def for_preparing() -> tuple[Caution, ...]:
    """Return what to say before cells that were in a pack are ground and wrapped anew."""
    return preparing()


def board_of(job: Job) -> Unpowered:
    """Return what was written down of the board of a job's pack, as it was found."""
    found = PackAsFound.objects.filter(job=job).values_list("unpowered", flat=True).first()
    return Unpowered(found) if found else Unpowered.UNKNOWN
