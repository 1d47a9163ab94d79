"""Incidents, releases after them, and the emergency text; all are only added to."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0042_every_entry_is_chained'),
    ]

    operations = [
        migrations.CreateModel(
            name='EmergencyText',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('text', models.TextField(max_length=4000)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'emergency text',
                'ordering': ['-pk'],
            },
        ),
        migrations.CreateModel(
            name='Incident',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('heat', 'heat'), ('venting', 'gas or smoke came out'), ('fire', 'fire'), ('pierced', 'a can was pierced'), ('first_aid', 'somebody needed first aid')], max_length=32)),
                ('happened', models.CharField(max_length=1000, verbose_name='what happened')),
                ('people', models.CharField(blank=True, max_length=200, verbose_name='who was there')),
                ('moved', models.CharField(blank=True, max_length=400, verbose_name='what was moved, and where')),
                ('welder', models.CharField(blank=True, max_length=60)),
                ('charger', models.CharField(blank=True, max_length=60)),
                ('happened_at', models.DateTimeField()),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('job', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='incidents', to='shop.job')),
            ],
            options={
                'verbose_name': 'incident',
                'ordering': ['-pk'],
            },
        ),
        migrations.CreateModel(
            name='IncidentRelease',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('findings', models.CharField(max_length=1000)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('incident', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='release', to='shop.incident')),
            ],
            options={
                'verbose_name': 'releases after incidents',
            },
        ),
        migrations.AddConstraint(
            model_name='incident',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['heat', 'venting', 'fire', 'pierced', 'first_aid'])), name='incident_kind_known'),
        ),
        migrations.AddConstraint(
            model_name='incident',
            constraint=models.CheckConstraint(condition=models.Q(('happened', ''), _negated=True), name='incident_says_what_happened'),
        ),
        migrations.AddConstraint(
            model_name='incidentrelease',
            constraint=models.CheckConstraint(condition=models.Q(('findings', ''), _negated=True), name='release_has_findings'),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
