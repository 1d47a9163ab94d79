"""What stands in movements and job log is chained in the order in which it was written."""

from django.db import migrations

from shop import append_only, chaining

AT_ONCE = 2000


def chain(apps, schema_editor):
    append_only.remove(schema_editor.connection)
    for name in ("Movement", "LogEntry"):
        model = apps.get_model("shop", name)
        table = model._meta.db_table
        number, chained = 0, chaining.FIRST
        while rows := list(model.objects.filter(chain_number=None).order_by("pk")[:AT_ONCE]):
            contents = (chaining.content(table, row) for row in rows)
            for row, (number, chained) in zip(rows, chaining.links(chained, number, contents), strict=True):
                row.chain_number, row.chain_hash = number, chained
            model.objects.bulk_update(rows, ["chain_number", "chain_hash"], batch_size=200)
        apps.get_model("shop", "ChainHead").objects.update_or_create(
            table=table, defaults={"count": number, "chain_hash": chained}
        )


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0040_chained_entries"),
    ]

    operations = [
        migrations.RunPython(chain, migrations.RunPython.noop),
    ]
