"""Goods in keep a photograph of what is printed on the cells."""

from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0081_check_cell_of_the_day'),
    ]

    operations = [
        migrations.AddField(
            model_name='lotcheck',
            name='picture_sha256',
            field=models.CharField(blank=True, default='', max_length=64, verbose_name='photograph of the print'),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
