"""Test data with fixed values. People, models and stock of an invented workshop."""

from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import factory

from packs.terms import (
    CellFormat,
    Chemistry,
    Condition,
    DeviceClass,
    LotOrigin,
    Measure,
    Owner,
    Place,
    Role,
    Terminals,
)
from shop import models

MORNING = datetime(2026, 11, 24, 8, 0, tzinfo=UTC)


class UserFactory(factory.django.DjangoModelFactory[models.User]):
    """A person who holds the roles given by ``roles`` (a technician where none are)."""

    class Meta:
        model = models.User
        django_get_or_create = ("username",)
        skip_postgeneration_save = True

    username = factory.Sequence(lambda n: f"person{n}")
    first_name = factory.LazyAttribute(lambda user: user.username.capitalize())

    @factory.post_generation
    def roles(self: models.User, create: bool, extracted: tuple[Role, ...] | None, **kwargs: Any) -> None:
        for role in extracted or (Role.TECHNICIAN,):
            models.RoleHolding.objects.get_or_create(user=self, role=role.value)


class SettingsFactory(factory.django.DjangoModelFactory[models.WorkshopSettings]):
    class Meta:
        model = models.WorkshopSettings

    name = "Lindenhof Cell Works"
    address = "Mill Lane 4, Oberau"
    emergency_number = "112"
    jurisdiction = "eu"
    currency = "EUR"
    at = MORNING
    by = factory.SubFactory(UserFactory, username="owner", roles=(Role.OWNER,))


class CellModelFactory(factory.django.DjangoModelFactory[models.CellModel]):
    class Meta:
        model = models.CellModel
        django_get_or_create = ("name",)

    name = "Round 2.6"
    chemistry = Chemistry.NMC.value
    cell_format = CellFormat.ROUND.value
    terminals = Terminals.OPPOSITE_ENDS.value
    rated_capacity_mah = Decimal("2600.0")
    nominal_voltage_mv = 3600
    charge_limit_mv = 4200
    end_of_discharge_mv = 3000
    max_charge_current_ma = 2600
    max_discharge_current_ma = 5200
    diameter_um = 18300
    height_um = 65200
    mass_mg = 46000
    data_sheet = "invented data sheet"


class LotFactory(factory.django.DjangoModelFactory[models.Lot]):
    class Meta:
        model = models.Lot
        django_get_or_create = ("code",)

    code = "L1"
    cell_model = factory.SubFactory(CellModelFactory)
    origin = LotOrigin.BOUGHT.value
    owner = Owner.SHOP.value
    supplier = "Brook Trading"
    received_on = date(2026, 11, 2)


class CellFactory(factory.django.DjangoModelFactory[models.Cell]):
    """A cell in stock with its first movement and the readings given by ``readings``."""

    class Meta:
        model = models.Cell
        skip_postgeneration_save = True

    code = factory.Sequence(lambda n: f"C{n:04d}")
    lot = factory.SubFactory(LotFactory)
    condition = Condition.INTACT.value
    place = Place.STOCK.value

    @factory.post_generation
    def readings(self: models.Cell, create: bool, extracted: dict[Measure, Any] | None, **kwargs: Any) -> None:
        by = UserFactory(username="technician")
        models.Movement.objects.create(cell=self, to_place=self.place, at=MORNING, by=by)
        values = TESTED if extracted is None else extracted
        for measure, value in values.items():
            models.Reading.objects.create(
                cell=self,
                measure=measure.value,
                value=Decimal(str(value)),
                method="DC pulse 10 s" if measure is Measure.DC_RESISTANCE else "",
                measured_at=MORNING,
                by=by,
            )


TESTED = {Measure.CAPACITY: 2550, Measure.DC_RESISTANCE: 40000, Measure.REST_VOLTAGE: 3620}


class CustomerFactory(factory.django.DjangoModelFactory[models.Customer]):
    class Meta:
        model = models.Customer

    name = "Ida Moor"
    created_at = MORNING


class DeviceFactory(factory.django.DjangoModelFactory[models.Device]):
    class Meta:
        model = models.Device

    customer = factory.SubFactory(CustomerFactory)
    model = "Garden pump GP-3"
    device_class = DeviceClass.TOOL.value
