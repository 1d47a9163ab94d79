"""Movements and job log are chained by hash: the columns."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0037_calibration"),
    ]

    operations = [
        migrations.CreateModel(
            name="ChainHead",
            fields=[
                ("table", models.CharField(max_length=40, primary_key=True, serialize=False)),
                ("count", models.PositiveBigIntegerField(default=0)),
                ("chain_hash", models.CharField(default="0" * 64, max_length=64)),
            ],
        ),
        *(
            migrations.AddField(model_name=model, name=name, field=field)
            for model in ("movement", "logentry")
            for name, field in (
                ("chain_number", models.PositiveBigIntegerField(editable=False, null=True)),
                ("chain_hash", models.CharField(editable=False, max_length=64, null=True)),
            )
        ),
    ]
