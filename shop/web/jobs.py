"""Fetching the job a page is about."""

from django.shortcuts import get_object_or_404

from shop.models import Job


def get_job(number: int) -> Job:
    """Return the job with this number, device and customer along, or answer 404."""
    return get_object_or_404(Job.objects.with_device(), number=number)
