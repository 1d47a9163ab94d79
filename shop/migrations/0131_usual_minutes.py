"""The minutes that a usual pack takes may be stated with the prices."""

from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0130_quote_verdicts'),
    ]

    operations = [
        migrations.AddField(
            model_name='prices',
            name='labour_minutes',
            field=models.PositiveIntegerField(blank=True, null=True, verbose_name='labour of a usual pack, in minutes'),
        ),
        migrations.AddField(
            model_name='prices',
            name='test_minutes',
            field=models.PositiveIntegerField(blank=True, null=True, verbose_name='testing of a usual pack, in minutes'),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
