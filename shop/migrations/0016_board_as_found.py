"""What the board of a pack as found does, and what it does without supply."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0015_pack_notes"),
    ]

    operations = [
        migrations.AddField(
            model_name="packasfound",
            name="protects",
            field=models.JSONField(blank=True, default=list, verbose_name="what the board does"),
        ),
        migrations.AddField(
            model_name="packasfound",
            name="unpowered",
            field=models.CharField(
                choices=[
                    ("unaffected", "goes on as before"),
                    ("needs_waking", "needs waking"),
                    ("locks", "locks for good"),
                    ("unknown", "not known"),
                ],
                default="unknown",
                max_length=32,
            ),
        ),
        migrations.AddConstraint(
            model_name="packasfound",
            constraint=models.CheckConstraint(
                condition=models.Q(("unpowered__in", ["unaffected", "needs_waking", "locks", "unknown"])),
                name="as_found_unpowered_known",
            ),
        ),
    ]
