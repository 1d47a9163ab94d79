"""Papers to plain JSON values and back, without losing a digit."""

from dataclasses import fields, is_dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum
from functools import cache
from types import NoneType, UnionType
from typing import Any, TypeAlias, Union, get_args, get_origin, get_type_hints

from packs.documents.container_label import ContainerLabel
from packs.documents.disposal_note import DisposalNote
from packs.documents.hand_over import HandOverReceipt
from packs.documents.health_report import HealthReport
from packs.documents.job_card import JobCard
from packs.documents.pack_label import PackLabel
from packs.documents.quote import Quote
from packs.documents.test_report import TestReport
from packs.errors import ImpossibleValue
from packs.terms import DocumentKind

Document: TypeAlias = (
    JobCard | TestReport | DisposalNote | ContainerLabel | HandOverReceipt | HealthReport | Quote | PackLabel
)

_CLASSES: dict[DocumentKind, type[Document]] = {
    DocumentKind.JOB_CARD: JobCard,
    DocumentKind.TEST_REPORT: TestReport,
    DocumentKind.DISPOSAL_NOTE: DisposalNote,
    DocumentKind.CONTAINER_LABEL: ContainerLabel,
    DocumentKind.HAND_OVER: HandOverReceipt,
    DocumentKind.HEALTH_REPORT: HealthReport,
    DocumentKind.QUOTE: Quote,
    DocumentKind.PACK_LABEL: PackLabel,
}


def freeze(document: Document) -> dict[str, Any]:
    """Return a paper as values that JSON can hold: decimals and moments as text, words of the trade as they are stored.

    Numbers stay in the units that their names end in, such as [mAh] and [mWh].

    Raises
    ------
    ImpossibleValue
        A value has no exact text, such as a float.
    """
    frozen: dict[str, Any] = _plain(document)
    return frozen


def thaw(content: dict[str, Any]) -> Document:
    """Return the paper that was frozen; a field that an older paper lacks takes its default.

    Numbers stay in the units that their names end in, such as [mAh] and [mWh].

    Raises
    ------
    ImpossibleValue
        The content is no paper of this shop.
    """
    try:
        document: Document = _built(_CLASSES[DocumentKind(content["heading"]["kind"])], content)
    except (KeyError, TypeError, ValueError, ArithmeticError) as error:
        raise ImpossibleValue(f"This is no paper that can be read: {error!r}.") from error
    return document


def _plain(value: Any) -> Any:
    if is_dataclass(value):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple):
        return [_plain(part) for part in value]
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, StrEnum):
        return value.value
    if value is None or isinstance(value, str | bool | int):
        return value
    raise ImpossibleValue(f"{value!r} cannot be frozen without losing something.")


def _built(wanted: Any, value: Any) -> Any:
    if get_origin(wanted) in (Union, UnionType):
        return None if value is None else _built(_one_of(wanted), value)
    if get_origin(wanted) is tuple:
        return _tuple(get_args(wanted), value)
    if isinstance(wanted, type) and is_dataclass(wanted):
        hints = _hints(wanted)
        return wanted(**{name: _built(hints[name], part) for name, part in value.items()})
    if wanted in (datetime, date):
        return wanted.fromisoformat(value)
    return wanted(value)


def _tuple(parts: tuple[Any, ...], value: list[Any]) -> tuple[Any, ...]:
    if parts[-1] is Ellipsis:
        return tuple(_built(parts[0], part) for part in value)
    return tuple(_built(part, each) for part, each in zip(parts, value, strict=True))


def _one_of(wanted: Any) -> Any:
    """Return the type of an optional field."""
    (only,) = (part for part in get_args(wanted) if part is not NoneType)
    return only


@cache
def _hints(wanted: type) -> dict[str, Any]:
    return get_type_hints(wanted)
