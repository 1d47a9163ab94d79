"""A quote may recommend to see to the board or another part first."""

from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0081_print_of_bought_cells'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='quote',
            name='quote_verdict_known',
        ),
        migrations.AlterField(
            model_name='quote',
            name='verdict',
            field=models.CharField(choices=[('rebuild', 'rebuild it'), ('repair', 'repair it'), ('charge_first', 'charge it, supervised, before anything is replaced'), ('board_first', 'see to the board before anything is replaced'), ('mend', 'mend what was found, and keep the cells'), ('replace', 'buy a new one'), ('recycle', 'recycle it')], max_length=32),
        ),
        migrations.AddConstraint(
            model_name='quote',
            constraint=models.CheckConstraint(condition=models.Q(('verdict__in', ['rebuild', 'repair', 'charge_first', 'board_first', 'mend', 'replace', 'recycle'])), name='quote_verdict_known'),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
