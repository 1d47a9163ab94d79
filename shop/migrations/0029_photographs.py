"""Photographs of a job and their withdrawals, only added to."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0028_packing"),
    ]

    operations = [
        migrations.CreateModel(
            name="Photograph",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "stage",
                    models.CharField(
                        choices=[
                            ("take_in", "Take in"),
                            ("examine", "Examine"),
                            ("test_pack", "Test the pack"),
                            ("target", "State the target pack"),
                            ("match", "Match cells"),
                            ("dismantle", "Dismantle"),
                            ("place", "Place the cells"),
                            ("measure", "Measure before joining"),
                            ("join", "Join"),
                            ("ladder", "Check the taps"),
                            ("housing", "Close the housing"),
                            ("first_charge", "First charge"),
                            ("final_test", "Final test"),
                            ("removed", "Removed items"),
                            ("into_stock", "Into stock"),
                            ("hand_over", "Hand over"),
                        ],
                        max_length=32,
                    ),
                ),
                ("shows", models.CharField(max_length=160, verbose_name="what it shows")),
                ("sha256", models.CharField(max_length=64)),
                ("size", models.PositiveIntegerField()),
                ("width", models.PositiveIntegerField()),
                ("height", models.PositiveIntegerField()),
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
                        on_delete=django.db.models.deletion.PROTECT, related_name="photographs", to="shop.job"
                    ),
                ),
            ],
            options={
                "verbose_name": "photograph",
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "stage__in",
                                [
                                    "take_in",
                                    "examine",
                                    "test_pack",
                                    "target",
                                    "match",
                                    "dismantle",
                                    "place",
                                    "measure",
                                    "join",
                                    "ladder",
                                    "housing",
                                    "first_charge",
                                    "final_test",
                                    "removed",
                                    "into_stock",
                                    "hand_over",
                                ],
                            )
                        ),
                        name="photograph_stage_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("shows", ""), _negated=True), name="photograph_shows_something"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("height__gt", 0), ("size__gt", 0), ("width__gt", 0)),
                        name="photograph_has_size",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PhotographWithdrawal",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("reason", models.CharField(max_length=200)),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "photograph",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="withdrawal", to="shop.photograph"
                    ),
                ),
            ],
            options={
                "verbose_name": "withdrawal of a photograph",
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("reason", ""), _negated=True), name="photograph_withdrawn_for_reason"
                    )
                ],
            },
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
