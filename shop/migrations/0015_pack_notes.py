"""The shop's book per pack model; labour times are only added to."""

import django.core.validators
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0014_quotes"),
    ]

    operations = [
        migrations.CreateModel(
            name="PackNotes",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.CharField(max_length=170, unique=True)),
                ("maker", models.CharField(blank=True, max_length=80)),
                ("model", models.CharField(max_length=80)),
                (
                    "opens",
                    models.CharField(
                        choices=[
                            ("screws", "screws"),
                            ("clips", "clips"),
                            ("glue", "glued seam"),
                            ("weld", "welded seam"),
                            ("potted", "potted: it cannot be opened without harming cells"),
                            ("unknown", "not known yet"),
                        ],
                        default="unknown",
                        max_length=32,
                    ),
                ),
                ("opening", models.CharField(blank=True, max_length=400, verbose_name="how it opens")),
                (
                    "series",
                    models.PositiveSmallIntegerField(
                        blank=True, null=True, validators=[django.core.validators.MinValueValidator(1)]
                    ),
                ),
                (
                    "parallel",
                    models.PositiveSmallIntegerField(
                        blank=True, null=True, validators=[django.core.validators.MinValueValidator(1)]
                    ),
                ),
                ("strips", models.CharField(blank=True, max_length=200, verbose_name="strips and leads")),
                ("board", models.CharField(blank=True, max_length=400, verbose_name="what the board does")),
                (
                    "sensor_ohm",
                    models.DecimalField(
                        blank=True,
                        decimal_places=3,
                        max_digits=12,
                        null=True,
                        validators=[django.core.validators.MinValueValidator(0)],
                        verbose_name="sensor at 25 °C",
                    ),
                ),
                ("usual_fault", models.CharField(blank=True, max_length=400)),
                ("written_at", models.DateTimeField()),
                (
                    "cell_model",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.cellmodel",
                    ),
                ),
                (
                    "written_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "ordering": ["key"],
            },
        ),
        migrations.CreateModel(
            name="PackTime",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("minutes", models.PositiveIntegerField(validators=[django.core.validators.MinValueValidator(1)])),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "job",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="times", to="shop.job"),
                ),
                (
                    "notes",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="times", to="shop.packnotes"
                    ),
                ),
            ],
            options={
                "verbose_name": "labour time",
                "ordering": ["pk"],
            },
        ),
        migrations.AddConstraint(
            model_name="packnotes",
            constraint=models.CheckConstraint(
                condition=models.Q(("opens__in", ["screws", "clips", "glue", "weld", "potted", "unknown"])),
                name="pack_notes_opening_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="packnotes",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("parallel__isnull", True), ("series__isnull", True)),
                    models.Q(("parallel__isnull", False), ("series__isnull", False)),
                    _connector="OR",
                ),
                name="pack_notes_arrangement_whole",
            ),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
