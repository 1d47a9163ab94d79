"""What else an opened pack shows, only added to; and how many cells each group has, where they differ."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0029_photographs"),
    ]

    operations = [
        migrations.AddField(
            model_name="packasfound",
            name="counts",
            field=models.JSONField(blank=True, default=list, verbose_name="cells of each group, where they differ"),
        ),
        migrations.CreateModel(
            name="PackDetails",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
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
                (
                    "sealing",
                    models.CharField(
                        choices=[
                            ("none", "nothing was there"),
                            ("gasket", "a gasket"),
                            ("sealant", "sealant or glue all around"),
                            ("potted", "the inside is potted"),
                            ("broken", "a seal that was broken already"),
                            ("unknown", "not known"),
                        ],
                        default="unknown",
                        max_length=32,
                    ),
                ),
                ("ip_code", models.CharField(blank=True, max_length=6, verbose_name="protection marked on it")),
                ("metal", models.BooleanField(blank=True, null=True, verbose_name="metal that can be touched")),
                (
                    "insulation_kohm",
                    models.DecimalField(
                        blank=True, decimal_places=3, max_digits=14, null=True, verbose_name="insulation to that metal"
                    ),
                ),
                (
                    "insulation_test_mv",
                    models.PositiveIntegerField(blank=True, null=True, verbose_name="voltage of that test"),
                ),
                (
                    "board_overcharge_mv",
                    models.PositiveIntegerField(blank=True, null=True, verbose_name="overcharge trip of a group"),
                ),
                (
                    "board_undervoltage_mv",
                    models.PositiveIntegerField(blank=True, null=True, verbose_name="undervoltage trip of a group"),
                ),
                ("board_current_ma", models.PositiveIntegerField(blank=True, null=True, verbose_name="load trip")),
                ("contacts", models.JSONField(blank=True, default=list)),
                ("findings", models.JSONField(blank=True, default=list)),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "instrument",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.instrument",
                    ),
                ),
                (
                    "job",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="details", to="shop.job"
                    ),
                ),
            ],
            options={
                "verbose_name": "details of a pack",
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("opens__in", ["screws", "clips", "glue", "weld", "potted", "unknown"])),
                        name="details_opening_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("sealing__in", ["none", "gasket", "sealant", "potted", "broken", "unknown"])
                        ),
                        name="details_sealing_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("insulation_kohm__isnull", True), ("insulation_kohm__gte", 0), _connector="OR"
                        ),
                        name="details_insulation_possible",
                    ),
                ],
            },
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
