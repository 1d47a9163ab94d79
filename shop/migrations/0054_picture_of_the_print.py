"""The photograph of an old wrap stands with what was done to its cell."""

from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0053_tester_file_tasks'),
    ]

    operations = [
        migrations.AddField(
            model_name='cellpreparation',
            name='picture_sha256',
            field=models.CharField(blank=True, default='', max_length=64, verbose_name='photograph of the old print'),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
