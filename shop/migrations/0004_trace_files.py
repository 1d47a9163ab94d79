"""Tester files, column layouts, and the file a reading was taken from."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


def let_go(apps, schema_editor):
    append_only.remove(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0003_job_kinds'),
    ]

    operations = [
        migrations.CreateModel(
            name="FileLayout",
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=80, unique=True)),
                ('facts', models.JSONField()),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'column layout',
                'ordering': ['name'],
            },
        ),
        migrations.CreateModel(
            name='TraceFile',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=200, verbose_name='file name')),
                ('sha256', models.CharField(max_length=64, unique=True)),
                ('size', models.PositiveBigIntegerField()),
                ('rows', models.PositiveIntegerField()),
                ('layout_name', models.CharField(max_length=80)),
                ('layout', models.JSONField()),
                ('remarks', models.JSONField()),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('cell', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='traces', to='shop.cell')),
            ],
            options={
                'verbose_name': 'tester file',
                'ordering': ['-at', '-pk'],
            },
        ),
        migrations.AddField(
            model_name='reading',
            name='trace',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='readings', to='shop.tracefile'),
        ),
        # Adding the column may have rebuilt the table of readings without its triggers.
        migrations.RunPython(hold, let_go),
    ]
