"""Append-only tables are held by triggers, whatever door a change comes through."""

from django.db import migrations

from shop import append_only


def forwards(apps, schema_editor):
    append_only.install(schema_editor.connection)


def backwards(apps, schema_editor):
    append_only.remove(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [("shop", "0001_initial")]
    operations = [migrations.RunPython(forwards, backwards)]
