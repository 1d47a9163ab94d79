"""Where a half-built pack is parked."""

from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0025_charger_and_board"),
    ]

    operations = [
        migrations.AddField(
            model_name="job",
            name="parked_in",
            field=models.CharField(blank=True, max_length=80, verbose_name="where it is parked half-built"),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
