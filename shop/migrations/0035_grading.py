"""Criteria of grades and what new cells read; both are only added to."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0034_tasks'),
    ]

    operations = [
        migrations.CreateModel(
            name='GradeCriteria',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveIntegerField(unique=True, verbose_name='version')),
                ('facts', models.JSONField()),
                ('reason', models.CharField(max_length=300)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'criteria of grades',
                'ordering': ['pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='criteria_changed_for_a_reason'), models.CheckConstraint(condition=models.Q(('number__gte', 1)), name='criteria_versions_from_one')],
            },
        ),
        migrations.CreateModel(
            name='NewCell',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('dc_resistance_uohm', models.PositiveIntegerField(verbose_name='DC resistance')),
                ('method', models.CharField(max_length=80)),
                ('temperature_mdegc', models.IntegerField(verbose_name='temperature')),
                ('protection', models.CharField(choices=[('none', 'none'), ('board', 'a board of its own'), ('interrupt', 'an interrupt device under the cap'), ('both', 'a board and an interrupt device'), ('unknown', 'not known')], default='unknown', max_length=32)),
                ('source', models.CharField(max_length=160)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('cell_model', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='new_cells', to='shop.cellmodel')),
            ],
            options={
                'verbose_name': 'readings of a new cell',
                'ordering': ['pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('protection__in', ['none', 'board', 'interrupt', 'both', 'unknown'])), name='new_cell_protection_known'), models.CheckConstraint(condition=models.Q(('dc_resistance_uohm__gt', 0)), name='new_cell_has_resistance')],
            },
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
