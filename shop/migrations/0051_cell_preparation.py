"""What was done to cells before they are joined again."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0050_donor_lots'),
    ]

    operations = [
        migrations.CreateModel(
            name='CellPreparation',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('tabs', models.CharField(choices=[('none', 'there were none'), ('removed', 'removed'), ('kept', 'kept, to be joined by them')], max_length=32)),
                ('stubs', models.CharField(choices=[('none', 'there were none'), ('ground', 'ground flat, without heat'), ('left', 'left as they are')], max_length=32)),
                ('wrapper', models.CharField(choices=[('intact', 'intact'), ('replaced', 'replaced'), ('none', 'this kind of cell has none')], max_length=32)),
                ('insulator', models.CharField(choices=[('intact', 'intact'), ('replaced', 'replaced'), ('none', 'this kind of cell has none')], max_length=32)),
                ('printed', models.CharField(blank=True, max_length=160, verbose_name='printed on the old wrap')),
                ('photographed', models.BooleanField(default=False, verbose_name='the old print was photographed')),
                ('note', models.CharField(blank=True, max_length=200)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('cell', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='preparations', to='shop.cell')),
            ],
            options={
                'verbose_name': 'preparations of cells',
                'ordering': ['pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('tabs__in', ['none', 'removed', 'kept'])), name='preparation_tabs_known'), models.CheckConstraint(condition=models.Q(('stubs__in', ['none', 'ground', 'left'])), name='preparation_stubs_known'), models.CheckConstraint(condition=models.Q(('wrapper__in', ['intact', 'replaced', 'none'])), name='preparation_wrapper_known'), models.CheckConstraint(condition=models.Q(('insulator__in', ['intact', 'replaced', 'none'])), name='preparation_insulator_known'), models.CheckConstraint(condition=models.Q(models.Q(('wrapper', 'replaced'), _negated=True), models.Q(models.Q(('printed', ''), _negated=True), ('photographed', True)), _connector='OR'), name='preparation_print_moved', violation_error_message='What stood on the old wrap is photographed and moves to the new one.')],
            },
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
