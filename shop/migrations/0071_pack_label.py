"""The label of a pack is issued like any other paper."""

from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0070_voiding'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='issueddocument',
            name='document_kind_known',
        ),
        migrations.AlterField(
            model_name='issueddocument',
            name='kind',
            field=models.CharField(choices=[('job_card', 'job card'), ('test_report', 'test report'), ('disposal_note', 'disposal note'), ('hand_over', 'hand-over receipt'), ('health_report', 'health report'), ('container_label', 'container label'), ('quote', 'quote'), ('pack_label', 'pack label')], max_length=32),
        ),
        migrations.AlterField(
            model_name='numberseries',
            name='kind',
            field=models.CharField(choices=[('job_card', 'job card'), ('test_report', 'test report'), ('disposal_note', 'disposal note'), ('hand_over', 'hand-over receipt'), ('health_report', 'health report'), ('container_label', 'container label'), ('quote', 'quote'), ('pack_label', 'pack label')], max_length=32, primary_key=True, serialize=False),
        ),
        migrations.AddConstraint(
            model_name='issueddocument',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['job_card', 'test_report', 'disposal_note', 'hand_over', 'health_report', 'container_label', 'quote', 'pack_label'])), name='document_kind_known'),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
