"""What kinds of place may hold, as the owner entered it; only added to."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0054_picture_of_the_print'),
    ]

    operations = [
        migrations.CreateModel(
            name='AreaLimit',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('area', models.CharField(choices=[('stock', 'stock'), ('customer_packs', "customers' packs"), ('half_built', 'half-built packs'), ('charging', 'charging'), ('quarantine', 'quarantine'), ('waste', 'waste')], max_length=32)),
                ('energy_mwh', models.PositiveBigIntegerField(blank=True, null=True)),
                ('mass_mg', models.PositiveBigIntegerField(blank=True, null=True)),
                ('volume_mm3', models.PositiveBigIntegerField(blank=True, null=True)),
                ('said_by', models.CharField(max_length=300, verbose_name='where the limit comes from')),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'limits of a place',
                'ordering': ['pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('area__in', ['stock', 'customer_packs', 'half_built', 'charging', 'quarantine', 'waste'])), name='area_limit_area_known'), models.CheckConstraint(condition=models.Q(('said_by', ''), _negated=True), name='area_limit_says_where_from')],
            },
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
