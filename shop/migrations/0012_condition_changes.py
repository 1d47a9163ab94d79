"""Every change of a cell's condition is one entry, held by the database too."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0011_leaving_closed'),
    ]

    operations = [
        migrations.CreateModel(
            name='ConditionChange',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('before', models.CharField(choices=[('intact', 'intact'), ('damaged', 'damaged or defective'), ('reactive', 'liable to react')], max_length=32)),
                ('after', models.CharField(choices=[('intact', 'intact'), ('damaged', 'damaged or defective'), ('reactive', 'liable to react')], max_length=32)),
                ('reason', models.CharField(max_length=300)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('cell', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='condition_changes', to='shop.cell')),
                ('reading', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='shop.reading')),
            ],
            options={
                'verbose_name': 'change of condition',
                'ordering': ['pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('before__in', ['intact', 'damaged', 'reactive'])), name='condition_before_known'), models.CheckConstraint(condition=models.Q(('after__in', ['intact', 'damaged', 'reactive'])), name='condition_after_known'), models.CheckConstraint(condition=models.Q(('before', models.F('after')), _negated=True), name='condition_does_change'), models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='condition_change_has_reason')],
            },
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
