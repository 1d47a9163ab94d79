"""Fault finding begun anew after a repair, and what strip and wire cost a metre."""

import django.core.validators
from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0030_pack_details"),
    ]

    operations = [
        migrations.AddField(
            model_name="faultsearch",
            name="repaired",
            field=models.CharField(blank=True, max_length=200, verbose_name="what was repaired before it"),
        ),
        migrations.AddField(
            model_name="faultsearch",
            name="search",
            field=models.PositiveSmallIntegerField(default=1, verbose_name="number of the search"),
        ),
        migrations.AddField(
            model_name="prices",
            name="strip_metre",
            field=models.DecimalField(
                decimal_places=4,
                default=0,
                max_digits=14,
                validators=[django.core.validators.MinValueValidator(0)],
                verbose_name="strip, a metre",
            ),
        ),
        migrations.AddField(
            model_name="prices",
            name="wire_metre",
            field=models.DecimalField(
                decimal_places=4,
                default=0,
                max_digits=14,
                validators=[django.core.validators.MinValueValidator(0)],
                verbose_name="wire, a metre",
            ),
        ),
        migrations.AddField(
            model_name="probereading",
            name="search",
            field=models.PositiveSmallIntegerField(default=1, verbose_name="number of the search"),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
