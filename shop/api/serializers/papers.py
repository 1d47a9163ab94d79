"""What is sent about papers that count no more."""

from typing import Any

from rest_framework import serializers


class ReasonIn(serializers.Serializer[Any]):
    """What is wrong with a document."""

    reason = serializers.CharField(max_length=300)
