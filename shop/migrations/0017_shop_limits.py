"""Limits that the shop set for itself; they are only added to."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0016_board_as_found'),
    ]

    operations = [
        migrations.CreateModel(
            name='ShopLimit',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveIntegerField(unique=True, verbose_name='number of the record')),
                ('rule_id', models.CharField(max_length=60, verbose_name='rule')),
                ('old', models.DecimalField(decimal_places=3, max_digits=16, verbose_name='number before')),
                ('new', models.DecimalField(decimal_places=3, max_digits=16, verbose_name='number after')),
                ('own', models.BooleanField(default=True, verbose_name="the shop's own")),
                ('reason', models.CharField(max_length=300)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'limits of the shop',
                'ordering': ['pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='limit_changed_for_a_reason'), models.CheckConstraint(condition=models.Q(('number__gte', 1)), name='limit_records_from_one')],
            },
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
