"""People of the workshop, customers, and the devices they bring."""

from functools import cached_property

from django.contrib.auth.models import AbstractUser
from django.db import models

from packs.terms import Chemistry, DeviceClass, Role

from .base import one_of, term_field


class User(AbstractUser):
    """A person who works in the shop. ``password_once`` is a password that somebody else knows."""

    password_once = models.BooleanField("password is to be changed at the next sign-in", default=False)

    @cached_property
    def roles(self) -> frozenset[Role]:
        """What this person may do, read once per request."""
        return frozenset(Role(holding.role) for holding in self.holdings.all())

    def holds(self, *roles: Role) -> bool:
        """Whether this person holds any of the roles."""
        return not self.roles.isdisjoint(roles)

    def __str__(self) -> str:
        return self.get_full_name() or self.username


class RoleHolding(models.Model):
    """One role that one person holds."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="holdings")
    role = term_field(Role)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["user", "role"], name="role_held_once"),
            one_of("role", Role, "role_known"),
        ]

    def __str__(self) -> str:
        return f"{self.user}: {self.role}"


class Customer(models.Model):
    """Who brings a device and gets it back. One row can stand for the shop itself: what it builds for its stock."""

    name = models.CharField(max_length=120)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    is_shop = models.BooleanField("the shop itself", default=False)
    created_at = models.DateTimeField()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.CheckConstraint(condition=~models.Q(name=""), name="customer_has_name"),
            models.UniqueConstraint(fields=["is_shop"], condition=models.Q(is_shop=True), name="one_shop_itself"),
        ]

    def __str__(self) -> str:
        return self.name


class Device(models.Model):
    """A customer's device and what its nameplate says."""

    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="devices")
    maker = models.CharField(max_length=80, blank=True)
    model = models.CharField(max_length=80)
    serial = models.CharField("serial number", max_length=80, blank=True)
    device_class = term_field(DeviceClass)
    rated_voltage_mv = models.PositiveIntegerField(null=True, blank=True)
    rated_capacity_mah = models.DecimalField(max_digits=10, decimal_places=1, null=True, blank=True)
    charger_voltage_mv = models.PositiveIntegerField(null=True, blank=True)
    chemistry = term_field(Chemistry, default=Chemistry.UNKNOWN.value, help_text="as printed on the pack")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=~models.Q(model=""), name="device_has_model"),
            one_of("device_class", DeviceClass, "device_class_known"),
            one_of("chemistry", Chemistry, "device_chemistry_known"),
        ]

    def __str__(self) -> str:
        return " ".join(part for part in (self.maker, self.model) if part)
