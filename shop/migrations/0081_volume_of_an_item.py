"""An unopened pack takes up room: its outer volume."""

from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0090_plan_limits'),
    ]

    operations = [
        migrations.AddField(
            model_name='item',
            name='volume_mm3',
            field=models.PositiveBigIntegerField(blank=True, null=True, verbose_name='outer volume'),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
