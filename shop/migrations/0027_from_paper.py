"""When a reading was entered that stood on paper first."""

from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0026_parked"),
    ]

    operations = [
        migrations.AddField(
            model_name="reading",
            name="entered_at",
            field=models.DateTimeField(blank=True, null=True, verbose_name="entered later, from paper"),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
