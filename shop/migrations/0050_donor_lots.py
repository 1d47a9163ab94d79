"""Donor lots: evidence of history, signatures, orders of facilities, and what the place says of powered mobility."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0043_incidents'),
    ]

    operations = [
        migrations.CreateModel(
            name='FacilityOrder',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('facility', models.CharField(max_length=160)),
                ('reference', models.CharField(max_length=80, verbose_name='number or date of the order')),
                ('ordered_cells', models.CharField(max_length=120, verbose_name='cells as ordered')),
                ('at', models.DateTimeField()),
            ],
            options={
                'verbose_name': 'orders of facilities',
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='LotHistory',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('donor_pack', models.CharField(blank=True, max_length=160, verbose_name='donor pack')),
                ('date_code', models.CharField(blank=True, max_length=40)),
                ('cycle_count', models.PositiveIntegerField(blank=True, null=True, verbose_name='cycles as read out')),
                ('condition', models.CharField(blank=True, max_length=300, verbose_name='condition of the donor pack')),
                ('at', models.DateTimeField()),
            ],
            options={
                'verbose_name': 'history of lots',
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='LotSignature',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('device_classes', models.JSONField(blank=True, default=list)),
                ('reason', models.CharField(blank=True, max_length=300, verbose_name='what it rests on')),
                ('at', models.DateTimeField()),
            ],
            options={
                'verbose_name': 'signatures of lots',
                'ordering': ['pk'],
            },
        ),
        migrations.AddField(
            model_name='workshopsettings',
            name='reclaimed_in_mobility',
            field=models.CharField(choices=[('allowed', 'allowed here'), ('forbidden', 'forbidden here'), ('unknown', 'not known yet')], default='unknown', max_length=32, verbose_name='reclaimed cells in powered mobility'),
        ),
        migrations.AddConstraint(
            model_name='workshopsettings',
            constraint=models.CheckConstraint(condition=models.Q(('reclaimed_in_mobility__in', ['allowed', 'forbidden', 'unknown'])), name='settings_mobility_known'),
        ),
        migrations.AddField(
            model_name='facilityorder',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='facilityorder',
            name='job',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='facility_orders', to='shop.job'),
        ),
        migrations.AddField(
            model_name='lothistory',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='lothistory',
            name='lot',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='histories', to='shop.lot'),
        ),
        migrations.AddField(
            model_name='lotsignature',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='lotsignature',
            name='lot',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='signatures', to='shop.lot'),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
