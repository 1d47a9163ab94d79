"""What the operations on photographs take besides the files themselves."""

from rest_framework import serializers

from shop.models import Photograph

from .fields import Versioned


class WithdrawPhotographIn(Versioned):
    """A photograph that is not shown any more, and why."""

    photograph = serializers.PrimaryKeyRelatedField(queryset=Photograph.objects.all())
    reason = serializers.CharField(max_length=200)
