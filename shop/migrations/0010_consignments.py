"""Containers that left before there were consignments get one each, and damaged things their own inner packaging."""

from django.db import migrations

NOT_WRITTEN_DOWN = "not written down"


def consignments(apps, schema_editor):
    Container, Consignment = apps.get_model("shop", "Container"), apps.get_model("shop", "Consignment")
    for number, row in enumerate(Container.objects.exclude(consigned_at=None).order_by("consigned_at", "pk"), start=1):
        last = row.movements.order_by("-pk").first()
        row.consignment = Consignment.objects.create(
            number=number,
            carrier=row.carrier,
            receiver=row.receiver,
            handed_over_by=NOT_WRITTEN_DOWN,
            taken_by=NOT_WRITTEN_DOWN,
            left_at=row.consigned_at,
            by=last.by,
        )
        row.closed_at, row.closed_by = row.consigned_at, last.by
        row.save()


def inner_packagings(apps, schema_editor):
    Movement, InnerPackaging = apps.get_model("shop", "Movement"), apps.get_model("shop", "InnerPackaging")
    into = Movement.objects.filter(to_place="container", container__condition="damaged").order_by("pk")
    numbers = {}
    for move in into.select_related("container"):
        numbers[move.container_id] = numbers.get(move.container_id, 0) + 1
        InnerPackaging.objects.create(
            container=move.container,
            number=numbers[move.container_id],
            cell_id=move.cell_id,
            item_id=move.item_id,
            casing_closed=False,
            packed_at=move.at,
            packed_by_id=move.by_id,
        )


class Migration(migrations.Migration):
    dependencies = [("shop", "0009_waste_containers")]
    operations = [
        migrations.RunPython(consignments, migrations.RunPython.noop),
        migrations.RunPython(inner_packagings, migrations.RunPython.noop),
    ]
