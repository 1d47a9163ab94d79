"""When a correction was written, beside when the reading itself was taken."""

from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

from shop import append_only


def _hold(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0022_put_right"),
    ]

    operations = [
        migrations.AddField(
            model_name="reading",
            name="written_at",
            field=models.DateTimeField(blank=True, null=True, verbose_name="when a correction was written"),
        ),
        migrations.RunPython(_hold, migrations.RunPython.noop),
    ]
