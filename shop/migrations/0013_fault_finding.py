"""What a fault is looked for with; readings between two points are only added to."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0012_condition_changes"),
    ]

    operations = [
        migrations.CreateModel(
            name="FaultSearch",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("series", models.PositiveSmallIntegerField(verbose_name="groups in series")),
                (
                    "chemistry",
                    models.CharField(
                        choices=[
                            ("lco", "lithium cobalt oxide (LCO)"),
                            ("nmc", "lithium nickel manganese cobalt oxide (NMC)"),
                            ("nca", "lithium nickel cobalt aluminium oxide (NCA)"),
                            ("lmo", "lithium manganese oxide (LMO)"),
                            ("lfp", "lithium iron phosphate (LFP)"),
                            ("lto", "lithium titanate (LTO)"),
                            ("nimh", "nickel-metal hydride (NiMH)"),
                            ("nicd", "nickel-cadmium (NiCd)"),
                            ("unknown", "not known yet"),
                        ],
                        max_length=32,
                    ),
                ),
                (
                    "group_resistance_uohm",
                    models.PositiveIntegerField(blank=True, null=True, verbose_name="DC resistance of a sound group"),
                ),
                ("load_ma", models.PositiveIntegerField(blank=True, null=True, verbose_name="stated load")),
                (
                    "wake_voltage_mv",
                    models.PositiveIntegerField(blank=True, null=True, verbose_name="wake voltage of the board"),
                ),
                (
                    "switch",
                    models.CharField(
                        choices=[
                            ("low_side", "in the negative conductor"),
                            ("high_side", "in the positive conductor"),
                            ("unknown", "not known"),
                        ],
                        default="unknown",
                        max_length=32,
                    ),
                ),
                (
                    "sensor_ohm",
                    models.DecimalField(
                        blank=True, decimal_places=3, max_digits=12, null=True, verbose_name="sensor at the bench"
                    ),
                ),
                (
                    "outlet_voltage_mv",
                    models.PositiveIntegerField(blank=True, null=True, verbose_name="voltage of a regulated outlet"),
                ),
                (
                    "temperature_mdegc",
                    models.IntegerField(blank=True, null=True, verbose_name="temperature of the cells"),
                ),
                ("tap_plug", models.BooleanField(default=False, verbose_name="groups on a plug")),
                (
                    "examined_as",
                    models.CharField(
                        choices=[
                            ("plug", "on the plug of the groups, joints between"),
                            ("terminals", "on each group's own terminals"),
                            ("unused", "not known: leave them out"),
                        ],
                        default="unused",
                        max_length=32,
                    ),
                ),
                ("stated_at", models.DateTimeField()),
                (
                    "job",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="fault_search", to="shop.job"
                    ),
                ),
                (
                    "stated_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("series__gte", 1)), name="fault_search_has_groups"),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("chemistry__in", ["lco", "nmc", "nca", "lmo", "lfp", "lto", "nimh", "nicd", "unknown"])
                        ),
                        name="fault_search_chemistry_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("switch__in", ["low_side", "high_side", "unknown"])),
                        name="fault_search_switch_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("examined_as__in", ["plug", "terminals", "unused"])),
                        name="fault_search_read_as_known",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ProbeReading",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("low_point", models.CharField(max_length=40, verbose_name="negative probe")),
                ("high_point", models.CharField(max_length=40, verbose_name="positive probe")),
                (
                    "circumstance",
                    models.CharField(
                        choices=[
                            ("rest", "at rest, no load"),
                            ("load", "under the stated load, drawn at the board's input"),
                            ("outlet_load", "under the stated load, drawn at the outlet"),
                            ("woken", "under the stated load, after a moment on the charger"),
                            (
                                "charged",
                                "under the stated load, after a supervised charge above the board's wake voltage",
                            ),
                            ("next_day", "at rest, a day after the first readings"),
                        ],
                        max_length=32,
                    ),
                ),
                ("value_mv", models.DecimalField(blank=True, decimal_places=3, max_digits=14, null=True)),
                ("value_ohm", models.DecimalField(blank=True, decimal_places=3, max_digits=14, null=True)),
                ("unsteady", models.BooleanField(default=False)),
                ("taken_back", models.BooleanField(default=False)),
                ("measured_at", models.DateTimeField()),
                ("reason", models.CharField(blank=True, max_length=200)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "corrects",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="corrected_by",
                        to="shop.probereading",
                    ),
                ),
                (
                    "instrument",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="probes",
                        to="shop.instrument",
                    ),
                ),
                (
                    "job",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="probes", to="shop.job"
                    ),
                ),
            ],
            options={
                "verbose_name": "probe reading",
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("circumstance__in", ["rest", "load", "outlet_load", "woken", "charged", "next_day"])
                        ),
                        name="probe_circumstance_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("taken_back", False),
                                ("unsteady", False),
                                ("value_mv__isnull", False),
                                ("value_ohm__isnull", True),
                            ),
                            models.Q(
                                ("taken_back", False),
                                ("unsteady", False),
                                ("value_mv__isnull", True),
                                ("value_ohm__isnull", False),
                            ),
                            models.Q(
                                ("taken_back", False),
                                ("unsteady", True),
                                ("value_mv__isnull", True),
                                ("value_ohm__isnull", True),
                            ),
                            models.Q(
                                ("taken_back", True),
                                ("unsteady", False),
                                ("value_mv__isnull", True),
                                ("value_ohm__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="probe_shows_one_thing",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("corrects__isnull", True), ("taken_back", False)),
                            models.Q(
                                ("corrects__isnull", False),
                                ("taken_back", True),
                                models.Q(("reason", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="probe_taken_back_has_reason",
                    ),
                ],
            },
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
