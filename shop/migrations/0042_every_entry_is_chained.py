"""No entry of movements and job log without its number and hash; both tables are only added to again."""

from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0041_chain_what_stands"),
    ]

    operations = [
        *(
            migrations.AlterField(model_name=model, name=name, field=field)
            for model in ("movement", "logentry")
            for name, field in (
                ("chain_number", models.PositiveBigIntegerField(editable=False, unique=True)),
                ("chain_hash", models.CharField(editable=False, max_length=64)),
            )
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
