"""Waste containers, inner packagings and consignments: every difference between what they say and where things are."""

from collections.abc import Iterator

from packs.terms import Condition, Contents, Place
from shop.models import Cell, Consignment, Container, InnerPackaging, Item


def differences() -> Iterator[str]:
    """Yield one sentence for each thing that does not add up."""
    yield from _inner_packagings()
    yield from _containers()
    yield from _consignments()


def _inner_packagings() -> Iterator[str]:
    """Each damaged cell or pack in a container has an inner packaging of its own there, and no other thing has one."""
    known = {
        (row.cell_id, row.item_id): row
        for row in InnerPackaging.objects.select_related("container", "cell", "item").order_by("pk")
    }
    for model in (Cell, Item):
        inside = model.objects.filter(container__condition=Condition.DAMAGED.value, container__contents="cells")
        for thing in inside.select_related("container").order_by("pk"):
            packaging = known.pop((thing.pk, None) if model is Cell else (None, thing.pk), None)
            if packaging is None:
                yield f"{thing} in container {thing.container} has no inner packaging"
            elif packaging.container_id != thing.container_id:
                yield f"{thing} is in container {thing.container}, its inner packaging in {packaging.container}"
    for packaging in known.values():
        yield f"{packaging} holds {packaging.cell or packaging.item}, which is not in that container"


def _containers() -> Iterator[str]:
    """A container and what is in it leave together: in one consignment, at one moment, after it was closed."""
    for container in Container.objects.select_related("consignment").order_by("code"):
        due = Place.CONTAINER if container.consigned_at is None else Place.CONSIGNED
        for thing in [*container.cells.all(), *container.items.all()]:
            if thing.place != due:
                yield f"{thing} of container {container} should be in {due}, it is in {thing.place}"
            if (is_what := _misfit(thing, container)) is not None:
                yield f"{thing} is {is_what}, container {container} takes what is {container.takes}"
        if container.consignment and container.consigned_at != container.consignment.left_at:
            yield f"container {container} left at another moment than consignment {container.consignment}"


def _consignments() -> Iterator[str]:
    """Consignments are numbered 1, 2, 3 ... and each took a container."""
    for consignment in Consignment.objects.filter(containers=None):
        yield f"consignment {consignment} took no container"
    numbers = list(Consignment.objects.order_by("number").values_list("number", flat=True))
    if numbers != list(range(1, len(numbers) + 1)):
        yield f"consignments are numbered {numbers}"


def _misfit(thing: Cell | Item, container: Container) -> str | None:
    """Return what a thing is, where its container is not for that."""
    contents = thing.contents if isinstance(thing, Item) else Contents.CELLS
    if contents != container.contents:
        return contents.label
    if container.holds_cells and thing.condition != container.condition:
        return str(Condition(thing.condition).label)
    return None
