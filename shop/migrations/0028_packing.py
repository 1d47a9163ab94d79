"""How the round cells of a target pack stand."""

from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0027_from_paper"),
    ]

    operations = [
        migrations.AddField(
            model_name="plan",
            name="packing",
            field=models.CharField(
                choices=[("rows", "in rows"), ("nested", "nested, every second column half a pitch lower")],
                default="rows",
                max_length=32,
            ),
        ),
        migrations.AddConstraint(
            model_name="plan",
            constraint=models.CheckConstraint(
                condition=models.Q(("packing__in", ["rows", "nested"])), name="plan_packing_known"
            ),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
