"""Prices, quotes and the customer's answer; what a cell of a lot cost."""

import django.core.validators
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0013_fault_finding"),
    ]

    operations = [
        migrations.CreateModel(
            name="Prices",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "labour_rate",
                    models.DecimalField(
                        decimal_places=4,
                        max_digits=14,
                        validators=[django.core.validators.MinValueValidator(0)],
                        verbose_name="labour, an hour",
                    ),
                ),
                (
                    "margin_percent",
                    models.DecimalField(
                        decimal_places=2,
                        max_digits=6,
                        validators=[
                            django.core.validators.MinValueValidator(0),
                            django.core.validators.MaxValueValidator(1000),
                        ],
                        verbose_name="margin",
                    ),
                ),
                (
                    "tax_percent",
                    models.DecimalField(
                        decimal_places=2,
                        max_digits=5,
                        validators=[
                            django.core.validators.MinValueValidator(0),
                            django.core.validators.MaxValueValidator(100),
                        ],
                        verbose_name="tax",
                    ),
                ),
                (
                    "consumables",
                    models.DecimalField(
                        decimal_places=4,
                        default=0,
                        max_digits=14,
                        validators=[django.core.validators.MinValueValidator(0)],
                        verbose_name="consumables, a pack",
                    ),
                ),
                (
                    "waste_fee",
                    models.DecimalField(
                        decimal_places=4,
                        default=0,
                        max_digits=14,
                        validators=[django.core.validators.MinValueValidator(0)],
                        verbose_name="waste fee",
                    ),
                ),
                (
                    "examination_fee",
                    models.DecimalField(
                        decimal_places=4,
                        default=0,
                        max_digits=14,
                        validators=[django.core.validators.MinValueValidator(0)],
                        verbose_name="examination fee on decline",
                    ),
                ),
                (
                    "valid_days",
                    models.PositiveSmallIntegerField(
                        default=14,
                        validators=[django.core.validators.MinValueValidator(1)],
                        verbose_name="days a quote is valid",
                    ),
                ),
                (
                    "quotes_needed",
                    models.BooleanField(default=False, verbose_name="no cells are reserved without an approved quote"),
                ),
                ("at", models.DateTimeField()),
            ],
            options={
                "verbose_name": "prices",
                "ordering": ["pk"],
            },
        ),
        migrations.CreateModel(
            name="Quote",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("waiting", "waits for the customer"),
                            ("approved", "approved"),
                            ("declined", "declined"),
                            ("replaced", "replaced by a newer one"),
                        ],
                        default="waiting",
                        max_length=32,
                    ),
                ),
                ("series", models.PositiveSmallIntegerField()),
                ("parallel", models.PositiveSmallIntegerField()),
                ("expected_capacity_mah", models.DecimalField(blank=True, decimal_places=1, max_digits=10, null=True)),
                ("stays", models.CharField(max_length=400, verbose_name="what stays old")),
                ("limits_of_use", models.CharField(blank=True, max_length=400)),
                (
                    "board_unknown",
                    models.BooleanField(default=False, verbose_name="nobody knows what the board does without supply"),
                ),
                (
                    "removed",
                    models.CharField(
                        choices=[
                            ("returned", "handed back to the customer"),
                            ("taken_over", "taken over by the workshop, which may use them again after testing"),
                            ("waste", "taken over by the workshop as waste"),
                        ],
                        max_length=32,
                    ),
                ),
                ("risks", models.JSONField(blank=True, default=list)),
                (
                    "verdict",
                    models.CharField(
                        choices=[("rebuild", "rebuild it"), ("replace", "buy a new one"), ("recycle", "recycle it")],
                        max_length=32,
                    ),
                ),
                ("reasons", models.JSONField(blank=True, default=list)),
                ("currency", models.CharField(max_length=3)),
                ("lines", models.JSONField(default=list)),
                ("tax_percent", models.DecimalField(decimal_places=2, max_digits=5)),
                (
                    "tax",
                    models.DecimalField(
                        decimal_places=4,
                        max_digits=14,
                        validators=[django.core.validators.MinValueValidator(0)],
                        verbose_name="tax",
                    ),
                ),
                (
                    "total",
                    models.DecimalField(
                        decimal_places=4,
                        max_digits=14,
                        validators=[django.core.validators.MinValueValidator(0)],
                        verbose_name="total",
                    ),
                ),
                (
                    "examination_fee",
                    models.DecimalField(
                        decimal_places=4,
                        max_digits=14,
                        validators=[django.core.validators.MinValueValidator(0)],
                        verbose_name="examination fee on decline",
                    ),
                ),
                ("valid_until", models.DateField()),
                ("answered_at", models.DateTimeField(blank=True, null=True)),
                ("answered_by", models.CharField(blank=True, max_length=120, verbose_name="who answered")),
                (
                    "heard",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("signed", "signed on paper"),
                            ("spoken", "said so at the counter"),
                            ("telephone", "by telephone"),
                            ("written", "in writing"),
                        ],
                        max_length=32,
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
            },
        ),
        migrations.RemoveConstraint(
            model_name="issueddocument",
            name="document_kind_known",
        ),
        migrations.AddField(
            model_name="lot",
            name="unit_cost",
            field=models.DecimalField(
                blank=True,
                decimal_places=4,
                max_digits=14,
                null=True,
                validators=[django.core.validators.MinValueValidator(0)],
                verbose_name="cost of a cell",
            ),
        ),
        migrations.AlterField(
            model_name="issueddocument",
            name="kind",
            field=models.CharField(
                choices=[
                    ("job_card", "job card"),
                    ("test_report", "test report"),
                    ("disposal_note", "disposal note"),
                    ("hand_over", "hand-over receipt"),
                    ("health_report", "health report"),
                    ("container_label", "container label"),
                    ("quote", "quote"),
                ],
                max_length=32,
            ),
        ),
        migrations.AlterField(
            model_name="numberseries",
            name="kind",
            field=models.CharField(
                choices=[
                    ("job_card", "job card"),
                    ("test_report", "test report"),
                    ("disposal_note", "disposal note"),
                    ("hand_over", "hand-over receipt"),
                    ("health_report", "health report"),
                    ("container_label", "container label"),
                    ("quote", "quote"),
                ],
                max_length=32,
                primary_key=True,
                serialize=False,
            ),
        ),
        migrations.AddConstraint(
            model_name="issueddocument",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("kind__in", ["job_card", "test_report", "disposal_note", "hand_over", "health_report", "container_label", "quote"])
                ),
                name="document_kind_known",
            ),
        ),
        migrations.AddField(
            model_name="prices",
            name="by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="quote",
            name="cell_model",
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.cellmodel"),
        ),
        migrations.AddField(
            model_name="quote",
            name="document",
            field=models.OneToOneField(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="quote",
                to="shop.issueddocument",
            ),
        ),
        migrations.AddField(
            model_name="quote",
            name="job",
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="quotes", to="shop.job"),
        ),
        migrations.AddField(
            model_name="quote",
            name="recorded_by",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddConstraint(
            model_name="quote",
            constraint=models.CheckConstraint(
                condition=models.Q(("state__in", ["waiting", "approved", "declined", "replaced"])),
                name="quote_state_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="quote",
            constraint=models.CheckConstraint(
                condition=models.Q(("removed__in", ["returned", "taken_over", "waste"])), name="quote_removed_known"
            ),
        ),
        migrations.AddConstraint(
            model_name="quote",
            constraint=models.CheckConstraint(
                condition=models.Q(("verdict__in", ["rebuild", "replace", "recycle"])), name="quote_verdict_known"
            ),
        ),
        migrations.AddConstraint(
            model_name="quote",
            constraint=models.UniqueConstraint(
                condition=models.Q(("state", "waiting")), fields=("job",), name="one_quote_waits_per_job"
            ),
        ),
        migrations.AddConstraint(
            model_name="quote",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("state__in", ["approved", "declined"]), _negated=True),
                    models.Q(
                        ("answered_at__isnull", False),
                        ("recorded_by__isnull", False),
                        models.Q(("answered_by", ""), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="quote_answered_by_someone",
            ),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
