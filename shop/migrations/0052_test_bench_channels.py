"""Channels of testers with their check cells, what is in them and waits, and the day a job is promised for."""

import django.core.validators
import django.db.models.deletion
from decimal import Decimal
from django.conf import settings
from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0051_cell_preparation'),
    ]

    operations = [
        migrations.AddField(
            model_name='job',
            name='promised_on',
            field=models.DateField(blank=True, null=True, verbose_name='promised for'),
        ),
        migrations.CreateModel(
            name='Channel',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=20, verbose_name='channel')),
                ('offset_uv', models.IntegerField(default=0, verbose_name='offset')),
                ('check_every_d', models.PositiveSmallIntegerField(default=7, verbose_name='check cell read every')),
                ('hour_cost', models.DecimalField(decimal_places=4, default=Decimal('0'), max_digits=14, validators=[django.core.validators.MinValueValidator(0)], verbose_name='cost of an hour')),
                ('handling_min', models.PositiveSmallIntegerField(default=0, verbose_name='minutes of handling for each cell')),
                ('instrument', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='channels', to='shop.instrument')),
            ],
            options={
                'ordering': ['instrument__name', 'name'],
            },
        ),
        migrations.CreateModel(
            name='ChannelRun',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('state', models.CharField(choices=[('waiting', 'waiting for a channel'), ('running', 'in a channel'), ('passed', 'passed'), ('rejected', 'rejected'), ('called_off', 'called off')], default='waiting', max_length=32)),
                ('queued_at', models.DateTimeField()),
                ('began_at', models.DateTimeField(blank=True, null=True)),
                ('due_at', models.DateTimeField(blank=True, null=True, verbose_name='expected to end')),
                ('ended_at', models.DateTimeField(blank=True, null=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('cell', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='runs', to='shop.cell')),
                ('channel', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='runs', to='shop.channel')),
                ('job', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='runs', to='shop.job')),
            ],
            options={
                'ordering': ['queued_at', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='CheckCell',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('capacity_mah', models.DecimalField(decimal_places=1, max_digits=10, verbose_name='capacity as it is known')),
                ('conditions', models.CharField(max_length=120, verbose_name='how it is known')),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('cell', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='check_cells', to='shop.cell')),
            ],
            options={
                'verbose_name': 'check cells',
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='CheckReading',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('capacity_mah', models.DecimalField(decimal_places=1, max_digits=10, verbose_name='capacity as read')),
                ('agrees', models.BooleanField(verbose_name='reads true')),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('channel', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='checks', to='shop.channel')),
                ('check_cell', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='readings', to='shop.checkcell')),
            ],
            options={
                'verbose_name': 'check readings',
                'ordering': ['at', 'pk'],
            },
        ),
        migrations.AddConstraint(
            model_name='channel',
            constraint=models.UniqueConstraint(fields=('instrument', 'name'), name='channel_named_once'),
        ),
        migrations.AddConstraint(
            model_name='channel',
            constraint=models.CheckConstraint(condition=models.Q(('check_every_d__gt', 0)), name='channel_is_checked'),
        ),
        migrations.AddConstraint(
            model_name='channelrun',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['waiting', 'running', 'passed', 'rejected', 'called_off'])), name='run_state_known'),
        ),
        migrations.AddConstraint(
            model_name='channelrun',
            constraint=models.UniqueConstraint(condition=models.Q(('state', 'running')), fields=('channel',), name='channel_holds_one_cell'),
        ),
        migrations.AddConstraint(
            model_name='channelrun',
            constraint=models.UniqueConstraint(condition=models.Q(('state__in', ['waiting', 'running'])), fields=('cell',), name='cell_is_tested_once_at_a_time'),
        ),
        migrations.AddConstraint(
            model_name='channelrun',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'running'), _negated=True), models.Q(('began_at__isnull', False), ('channel__isnull', False), ('due_at__isnull', False), ('ended_at__isnull', True)), _connector='OR'), name='run_in_a_channel_has_times'),
        ),
        migrations.AddConstraint(
            model_name='checkcell',
            constraint=models.CheckConstraint(condition=models.Q(('capacity_mah__gt', 0)), name='check_cell_has_capacity'),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
