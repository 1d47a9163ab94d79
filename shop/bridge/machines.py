"""Welders and chargers by the names that the book has for them."""

from packs.terms import Stage
from shop.models import Channel, PeelSample, Step, TesterToken

CHARGED_WITH = "charged with "
"""What stands before the name of a charger that is kept with a first charge."""


def names(of: str) -> set[str]:
    """Return the names of all welders that a sample names, or of all chargers that a first charge names, and testers."""
    if of == "welder":
        return set(PeelSample.objects.values_list("machine", flat=True))
    charged = Step.objects.filter(stage=Stage.FIRST_CHARGE.value)
    said = [words for confirmed in charged.values_list("confirmed", flat=True) for words in confirmed]
    testers = TesterToken.objects.values_list("name", "instrument__name")
    channels = Channel.objects.select_related("instrument")
    charged_with = {words.removeprefix(CHARGED_WITH) for words in said if words.startswith(CHARGED_WITH)}
    of_channels = {name for channel in channels for name in (str(channel), channel.instrument.name)}
    return charged_with | of_channels | {name for names in testers for name in names}
