"""A nameplate as it is compared: what differs in capitals and spaces only is one pack model."""


def key_of(maker: str, model: str) -> str:
    """Return maker and model in small letters with single spaces."""
    return "|".join(" ".join(part.split()).casefold() for part in (maker, model))
