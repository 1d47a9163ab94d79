"""Peel samples, only added to."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0023_when_corrected"),
    ]

    operations = [
        migrations.CreateModel(
            name="PeelSample",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("machine", models.CharField(max_length=60)),
                ("schedule", models.CharField(max_length=60)),
                (
                    "pulse",
                    models.DecimalField(decimal_places=2, max_digits=8, verbose_name="pulse, as the machine counts it"),
                ),
                (
                    "strip_material",
                    models.CharField(
                        choices=[
                            ("nickel_200", "commercial nickel (99.6 %, nickel 200)"),
                            ("nickel_999", "nickel 99.9 % and more"),
                            ("plated_steel", "nickel-plated steel"),
                            ("copper", "copper"),
                            ("aluminium", "aluminium"),
                        ],
                        max_length=32,
                    ),
                ),
                ("strip_width_um", models.PositiveIntegerField()),
                ("strip_thickness_um", models.PositiveIntegerField()),
                ("end", models.CharField(choices=[("positive", "positive"), ("negative", "negative")], max_length=32)),
                (
                    "specimen",
                    models.CharField(
                        choices=[
                            ("scrap_can", "a discharged scrap can"),
                            ("plated_steel", "plated steel as thick as the can"),
                        ],
                        max_length=32,
                    ),
                ),
                (
                    "peeled",
                    models.CharField(
                        choices=[
                            ("held", "held: the strip tore, the nugget stayed"),
                            ("loose", "did not hold"),
                            ("burnt", "burnt through"),
                        ],
                        max_length=32,
                    ),
                ),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "job",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="peel_samples", to="shop.job"
                    ),
                ),
            ],
            options={
                "verbose_name": "peel sample",
                "ordering": ["pk"],
                "indexes": [models.Index(fields=["at"], name="shop_peelsa_at_ea5bef_idx")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("strip_material__in", ["nickel_200", "nickel_999", "plated_steel", "copper", "aluminium"])
                        ),
                        name="peel_sample_strip_material_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("end__in", ["positive", "negative"])), name="peel_sample_end_known"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("specimen__in", ["scrap_can", "plated_steel"])),
                        name="peel_sample_specimen_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("peeled__in", ["held", "loose", "burnt"])), name="peel_sample_outcome_known"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("machine", ""), _negated=True), models.Q(("schedule", ""), _negated=True)
                        ),
                        name="peel_sample_named",
                    ),
                    models.CheckConstraint(condition=models.Q(("pulse__gt", 0)), name="peel_sample_pulse_positive"),
                ],
            },
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
