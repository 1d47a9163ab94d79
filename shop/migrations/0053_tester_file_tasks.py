"""Reading of several tester files as long work."""

from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0052_test_bench_channels'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='task',
            name='task_kind_known',
        ),
        migrations.AlterField(
            model_name='task',
            name='kind',
            field=models.CharField(choices=[('matching', 'search for better groups'), ('tester_files', 'reading of tester files')], max_length=32),
        ),
        migrations.AddConstraint(
            model_name='task',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['matching', 'tester_files'])), name='task_kind_known'),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
