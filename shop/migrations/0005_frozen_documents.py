"""Issued documents are held by the database too."""

from django.db import migrations

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ("shop", "0004_trace_files"),
    ]

    operations = [
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
