"""What was sent, read by a serializer; a field nobody knows is refused, as a filter nobody knows is."""

from collections.abc import Iterator, Mapping
from typing import Any

from rest_framework import serializers

NO_SUCH_FIELD = "There is no such field here."
NO_OBJECT = "Send one JSON object, its fields by their names."


def read(takes: type[Any], data: Any) -> dict[str, Any]:
    """Return the values of what was sent.

    Raises
    ------
    ValidationError
        Something of it cannot be taken, or would be passed over without a word.
    """
    if not isinstance(data, Mapping):
        raise serializers.ValidationError({"non_field_errors": [NO_OBJECT]})
    given = takes(data=data)
    given.is_valid()
    unknown = {name: [NO_SUCH_FIELD] for name in _unknown(given, data, "")}
    if unknown or given.errors:
        raise serializers.ValidationError({**given.errors, **unknown})
    values: dict[str, Any] = given.validated_data
    return values


def _unknown(given: serializers.Serializer[Any], data: Any, above: str) -> Iterator[str]:
    """Yield the names of fields that the serializer has not, those of rows within by their place, such as rows.0.code."""
    if not isinstance(data, Mapping):
        return
    for name, value in data.items():
        path = f"{above}{name}"
        field = given.fields.get(str(name))
        if field is None:
            yield path
        elif isinstance(field, serializers.ListSerializer) and isinstance(value, list):
            child = field.child
            for place, row in enumerate(value):
                yield from _unknown(child, row, f"{path}.{place}.") if isinstance(child, serializers.Serializer) else ()
        elif isinstance(field, serializers.Serializer):
            yield from _unknown(field, value, f"{path}.")
