"""A cell model that is barred from new use, and a password that opens the door once."""

from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

from shop import append_only


def _hold(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0021_joints_of_a_closed_pack"),
    ]

    operations = [
        migrations.AddField(
            model_name="cellmodel",
            name="barred_at",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="cellmodel",
            name="barred_why",
            field=models.CharField(blank=True, max_length=200),
        ),
        migrations.AddField(
            model_name="user",
            name="password_once",
            field=models.BooleanField(default=False, verbose_name="password is to be changed at the next sign-in"),
        ),
        migrations.RunPython(_hold, migrations.RunPython.noop),
    ]
