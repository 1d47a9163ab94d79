"""A check cell that was read beside cells at another temperature says nothing of its channel."""

from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0081_volume_of_an_item'),
    ]

    operations = [
        migrations.AlterField(
            model_name='checkreading',
            name='agrees',
            field=models.BooleanField(blank=True, null=True, verbose_name='reads true'),
        ),
        migrations.AddField(
            model_name='checkreading',
            name='temperature_mdegc',
            field=models.IntegerField(blank=True, null=True, verbose_name='read beside cells at'),
        ),
        migrations.AddConstraint(
            model_name='checkreading',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('agrees__isnull', True), ('temperature_mdegc__isnull', False)), models.Q(('agrees__isnull', False), ('temperature_mdegc__isnull', True)), _connector='OR'), name='check_reading_of_channel_or_of_day'),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
