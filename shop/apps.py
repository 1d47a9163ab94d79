"""The shop as a Django app."""

from django.apps import AppConfig


class ShopConfig(AppConfig):
    """One app holds the whole workshop."""

    name = "shop"
    verbose_name = "Workshop"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Register the checks of the machine."""
        from shop import checks  # noqa: F401
