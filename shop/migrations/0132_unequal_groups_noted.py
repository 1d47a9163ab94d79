"""Pack notes know of groups that differ."""

from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0131_usual_minutes'),
    ]

    operations = [
        migrations.AddField(
            model_name='packnotes',
            name='counts',
            field=models.JSONField(blank=True, default=list, verbose_name='cells of each group, where they differ'),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
