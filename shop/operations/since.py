"""What was found and done since a try of a step that was stopped: asked for in words, and kept with the next try."""

from packs.terms import Stage
from shop.bridge import rules
from shop.errors import ShopError
from shop.models import Job, Plan, Step

LONGEST = 300
"""Signs of what is said of it."""


def require_told(job: Job, stage: Stage, since: str) -> None:
    """After a stop by overvoltage or heat, or one that asked to level or to look for a joint, another number alone does not do."""
    stop = rules.to_be_told(Step.objects.filter(job=job, stage=stage.value).last())
    if stop and not since.strip():
        raise ShopError(
            "since_missing",
            f"The try before was stopped. {stop} Say what was found and done about it since, or what was typed or "
            "measured wrongly then.",
            field="since",
        )


def require_same_board(plan: Plan, board: rules.BoardTried, since: str) -> None:
    """A board that trips at something else is another board, or it was measured wrongly before: which one is said."""
    differs = rules.other_board(plan, board)
    if differs and not since.strip():
        raise ShopError(
            "other_board",
            f"These are not the trips of the board known here: {differs}. Tick that another board goes in, or say what "
            "was measured wrongly before.",
            field="since",
        )
