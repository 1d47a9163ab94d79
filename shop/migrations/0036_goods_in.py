"""Goods in: checks of lots, and lots that are held as suspect."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0035_grading'),
    ]

    operations = [
        migrations.AddField(
            model_name='lot',
            name='held_why',
            field=models.CharField(blank=True, default='', max_length=400, verbose_name='held as suspect'),
        ),
        migrations.CreateModel(
            name='LotCheck',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('invoice', models.CharField(blank=True, max_length=80)),
                ('date_code', models.CharField(blank=True, max_length=40)),
                ('transport_summary', models.CharField(blank=True, max_length=160, verbose_name='transport test summary')),
                ('sample', models.CharField(blank=True, max_length=160, verbose_name='cells of the sample')),
                ('mass_mg', models.PositiveIntegerField(blank=True, null=True, verbose_name='mass')),
                ('diameter_um', models.PositiveIntegerField(blank=True, null=True, verbose_name='diameter or thickness')),
                ('height_um', models.PositiveIntegerField(blank=True, null=True, verbose_name='height')),
                ('capacity_mah', models.DecimalField(blank=True, decimal_places=1, max_digits=10, null=True, verbose_name='capacity')),
                ('dc_resistance_uohm', models.PositiveIntegerField(blank=True, null=True, verbose_name='DC resistance')),
                ('doubts', models.JSONField(blank=True, default=list)),
                ('release', models.CharField(blank=True, max_length=300, verbose_name='why it is used all the same')),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='checks', to='shop.lot')),
            ],
            options={
                'verbose_name': 'goods in',
                'ordering': ['pk'],
            },
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
