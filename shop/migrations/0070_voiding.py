"""Papers that were made void or replaced, and the hashes that papers and files are found by."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0060_area_limits'),
    ]

    operations = [
        migrations.CreateModel(
            name='Voiding',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('reason', models.CharField(max_length=300)),
                ('at', models.DateTimeField()),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.AddIndex(
            model_name='issueddocument',
            index=models.Index(fields=['content_sha256'], name='document_by_content'),
        ),
        migrations.AddIndex(
            model_name='issueddocument',
            index=models.Index(fields=['pdf_sha256'], name='document_by_bytes'),
        ),
        migrations.AddField(
            model_name='voiding',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='voiding',
            name='document',
            field=models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='voiding', to='shop.issueddocument'),
        ),
        migrations.AddField(
            model_name='voiding',
            name='replaced_by',
            field=models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='replacing', to='shop.issueddocument'),
        ),
        migrations.AddConstraint(
            model_name='voiding',
            constraint=models.CheckConstraint(condition=models.Q(('replaced_by__isnull', True), models.Q(('replaced_by', models.F('document')), _negated=True), _connector='OR'), name='voiding_by_another_document'),
        ),
        migrations.AddConstraint(
            model_name='voiding',
            constraint=models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='voiding_has_reason'),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
