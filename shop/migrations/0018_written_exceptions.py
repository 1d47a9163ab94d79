"""Written exceptions and their withdrawals; both are only added to."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0017_shop_limits'),
    ]

    operations = [
        migrations.CreateModel(
            name='WrittenException',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('rule_id', models.CharField(max_length=60, verbose_name='rule')),
                ('reason', models.CharField(max_length=400)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='exceptions', to='shop.job')),
            ],
            options={
                'verbose_name': 'written exception',
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='ExceptionWithdrawal',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('reason', models.CharField(max_length=400)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('exception', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='withdrawal', to='shop.writtenexception')),
            ],
            options={
                'verbose_name': 'withdrawals of exceptions',
                'ordering': ['pk'],
            },
        ),
        migrations.AddConstraint(
            model_name='writtenexception',
            constraint=models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='exception_has_a_reason'),
        ),
        migrations.AddConstraint(
            model_name='exceptionwithdrawal',
            constraint=models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='withdrawal_has_a_reason'),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
