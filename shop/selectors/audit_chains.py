"""Whether movements and job log are what was written, entry by entry, in the order in which it was written."""

from collections.abc import Iterator

from shop import chaining
from shop.models import Chained, ChainHead, LogEntry, Movement

CHAINED: dict[str, tuple[type[Chained], str]] = {
    "shop_movement": (Movement, "movements"),
    "shop_logentry": (LogEntry, "job log"),
}


def differences() -> Iterator[str]:
    """Yield one sentence for each entry that was changed, is missing or stands out of its order."""
    for table, (model, name) in CHAINED.items():
        yield from _chain(model, table, name)


def heads() -> Iterator[str]:
    """Yield how far each chain goes and its last hash, to be written down outside of the shop's own records."""
    for head in ChainHead.objects.filter(table__in=CHAINED).order_by("table"):
        yield f"{CHAINED[head.table][1]}: {head.count} entries, the last one {head.chain_hash}"


def _chain(model: type[Chained], table: str, name: str) -> Iterator[str]:
    number, before, last_key = 0, chaining.FIRST, 0
    columns = ("pk", "chain_number", "chain_hash", *chaining.CONTENT[table])
    for key, own_number, own_hash, *values in model.objects.order_by("chain_number").values_list(*columns).iterator():
        if own_number != number + 1:
            yield f"{name}: {_missing(number + 1, own_number - 1)}"
        elif own_hash != chaining.link(before, own_number, dict(zip(chaining.CONTENT[table], values, strict=True))):
            yield f"{name}: entry {own_number} is not what was written, or does not follow the entry before it"
        elif key < last_key:
            yield f"{name}: entry {own_number} stands out of its order"
        number, before, last_key = own_number, own_hash, max(key, last_key)
    yield from _end(name, table, number, before)


def _end(name: str, table: str, number: int, last_hash: str) -> Iterator[str]:
    """The head says how many entries there are, so that one cannot be cut off the end unseen."""
    head = ChainHead.objects.filter(pk=table).first() or ChainHead(table=table)
    if head.count > number:
        yield f"{name}: {_missing(number + 1, head.count)}"
    elif head.count < number:
        yield f"{name}: {number} entries stand there, {head.count} were written"
    elif head.chain_hash != last_hash:
        yield f"{name}: the last entry is not the one that was written last"


def _missing(first: int, last: int) -> str:
    return f"entry {first} is missing" if first == last else f"entries {first} to {last} are missing"
