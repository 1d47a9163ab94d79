"""How the cells of a pack are joined stays open where it is only tested and nobody opens it."""

from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0020_goes_back_from'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='packasfound',
            name='as_found_joint_method_known',
        ),
        migrations.AlterField(
            model_name='packasfound',
            name='joint_method',
            field=models.CharField(blank=True, choices=[('spot_weld', 'spot-welded strip'), ('bolted', 'bolted bar'), ('soldered_tab', 'soldered at the tab')], default='', max_length=32),
        ),
        migrations.AddConstraint(
            model_name='packasfound',
            constraint=models.CheckConstraint(condition=models.Q(('joint_method__in', ['', 'spot_weld', 'bolted', 'soldered_tab'])), name='as_found_joint_method_known'),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
