"""The tables of a new shop in one go: the sixteen migrations before, one by one, took most of the time of opening one.

A shop that already has some of them goes on with those.
"""

import django.contrib.auth.models
import django.contrib.auth.validators
import django.core.validators
import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


def let_go(apps, schema_editor):
    append_only.remove(schema_editor.connection)


class Migration(migrations.Migration):
    replaces = [
        ("shop", "0001_initial"),
        ("shop", "0002_append_only"),
        ("shop", "0003_job_kinds"),
        ("shop", "0004_trace_files"),
        ("shop", "0005_frozen_documents"),
        ("shop", "0006_way_of_the_current"),
        ("shop", "0007_step_tries"),
        ("shop", "0008_joints_undone"),
        ("shop", "0009_waste_containers"),
        ("shop", "0010_consignments"),
        ("shop", "0011_leaving_closed"),
        ("shop", "0012_condition_changes"),
        ("shop", "0013_fault_finding"),
        ("shop", "0014_quotes"),
        ("shop", "0015_pack_notes"),
        ("shop", "0016_board_as_found"),
    ]

    initial = True

    dependencies = [
        ("auth", "0012_alter_user_first_name_max_length"),
    ]

    operations = [
        migrations.CreateModel(
            name="Instrument",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=80, unique=True)),
                ("error_ppm", models.PositiveIntegerField(default=5000)),
                ("error_uv", models.PositiveIntegerField(default=2000)),
                ("calibrated_on", models.DateField(blank=True, null=True)),
            ],
            options={
                "ordering": ["name"],
            },
        ),
        migrations.CreateModel(
            name="NumberSeries",
            fields=[
                (
                    "kind",
                    models.CharField(
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
                ("next_number", models.PositiveIntegerField(default=1)),
            ],
        ),
        migrations.CreateModel(
            name="User",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("password", models.CharField(max_length=128, verbose_name="password")),
                ("last_login", models.DateTimeField(blank=True, null=True, verbose_name="last login")),
                (
                    "is_superuser",
                    models.BooleanField(
                        default=False,
                        help_text="Designates that this user has all permissions without explicitly assigning them.",
                        verbose_name="superuser status",
                    ),
                ),
                (
                    "username",
                    models.CharField(
                        error_messages={"unique": "A user with that username already exists."},
                        help_text="Required. 150 characters or fewer. Letters, digits and @/./+/-/_ only.",
                        max_length=150,
                        unique=True,
                        validators=[django.contrib.auth.validators.UnicodeUsernameValidator()],
                        verbose_name="username",
                    ),
                ),
                ("first_name", models.CharField(blank=True, max_length=150, verbose_name="first name")),
                ("last_name", models.CharField(blank=True, max_length=150, verbose_name="last name")),
                ("email", models.EmailField(blank=True, max_length=254, verbose_name="email address")),
                (
                    "is_staff",
                    models.BooleanField(
                        default=False,
                        help_text="Designates whether the user can log into this admin site.",
                        verbose_name="staff status",
                    ),
                ),
                (
                    "is_active",
                    models.BooleanField(
                        default=True,
                        help_text="Designates whether this user should be treated as active. Unselect this instead of deleting accounts.",
                        verbose_name="active",
                    ),
                ),
                ("date_joined", models.DateTimeField(default=django.utils.timezone.now, verbose_name="date joined")),
                (
                    "groups",
                    models.ManyToManyField(
                        blank=True,
                        help_text="The groups this user belongs to. A user will get all permissions granted to each of their groups.",
                        related_name="user_set",
                        related_query_name="user",
                        to="auth.group",
                        verbose_name="groups",
                    ),
                ),
                (
                    "user_permissions",
                    models.ManyToManyField(
                        blank=True,
                        help_text="Specific permissions for this user.",
                        related_name="user_set",
                        related_query_name="user",
                        to="auth.permission",
                        verbose_name="user permissions",
                    ),
                ),
            ],
            options={
                "verbose_name": "user",
                "verbose_name_plural": "users",
                "abstract": False,
            },
            managers=[
                ("objects", django.contrib.auth.models.UserManager()),
            ],
        ),
        migrations.CreateModel(
            name="CellModel",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=60, unique=True)),
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
                    "cell_format",
                    models.CharField(
                        choices=[("round", "round"), ("prismatic", "prismatic"), ("pouch", "pouch")], max_length=32
                    ),
                ),
                (
                    "terminals",
                    models.CharField(
                        choices=[
                            ("opposite_ends", "on opposite ends"),
                            ("same_face", "both on one face"),
                            ("tabs", "tabs"),
                        ],
                        max_length=32,
                    ),
                ),
                ("rated_capacity_mah", models.DecimalField(decimal_places=1, max_digits=10)),
                ("nominal_voltage_mv", models.PositiveIntegerField()),
                ("charge_limit_mv", models.PositiveIntegerField()),
                ("end_of_discharge_mv", models.PositiveIntegerField()),
                ("max_charge_current_ma", models.PositiveIntegerField(blank=True, null=True)),
                ("max_discharge_current_ma", models.PositiveIntegerField(blank=True, null=True)),
                (
                    "diameter_um",
                    models.PositiveIntegerField(blank=True, null=True, verbose_name="diameter or thickness"),
                ),
                ("width_um", models.PositiveIntegerField(blank=True, null=True)),
                ("height_um", models.PositiveIntegerField(blank=True, null=True)),
                ("mass_mg", models.PositiveIntegerField(blank=True, null=True)),
                (
                    "compression",
                    models.CharField(
                        choices=[
                            ("none", "none asked for"),
                            ("plate", "between plates at a set distance"),
                            ("force", "under a set force"),
                            ("gap", "with a gap left for swelling"),
                            ("unknown", "not known"),
                        ],
                        default="unknown",
                        max_length=32,
                    ),
                ),
                (
                    "compression_note",
                    models.CharField(blank=True, max_length=80, verbose_name="plate distance, force or gap"),
                ),
                ("terminal_torque_mnm", models.PositiveIntegerField(blank=True, null=True)),
                ("data_sheet", models.CharField(blank=True, max_length=160)),
            ],
            options={
                "ordering": ["name"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("chemistry__in", ["lco", "nmc", "nca", "lmo", "lfp", "lto", "nimh", "nicd", "unknown"])
                        ),
                        name="cell_model_chemistry_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("cell_format__in", ["round", "prismatic", "pouch"])),
                        name="cell_model_format_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("terminals__in", ["opposite_ends", "same_face", "tabs"])),
                        name="cell_model_terminals_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("compression__in", ["none", "plate", "force", "gap", "unknown"])),
                        name="cell_model_compression_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("rated_capacity_mah__gt", 0)), name="cell_model_capacity_positive"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("end_of_discharge_mv__lt", models.F("nominal_voltage_mv")),
                            ("nominal_voltage_mv__lt", models.F("charge_limit_mv")),
                        ),
                        name="cell_model_voltages_in_order",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Consignment",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("number", models.PositiveIntegerField(unique=True)),
                ("carrier", models.CharField(max_length=120)),
                ("receiver", models.CharField(max_length=120)),
                (
                    "mode",
                    models.CharField(
                        choices=[("road", "by road"), ("rail", "by rail"), ("sea", "by sea"), ("air", "by air")],
                        default="road",
                        max_length=32,
                    ),
                ),
                ("handed_over_by", models.CharField(max_length=120)),
                ("taken_by", models.CharField(max_length=120)),
                (
                    "statutory_number",
                    models.CharField(blank=True, max_length=80, verbose_name="number of the statutory note"),
                ),
                ("left_at", models.DateTimeField()),
                ("keep_until", models.DateField(blank=True, null=True)),
                ("confirmed_on", models.DateField(blank=True, null=True)),
                ("confirmed_by", models.CharField(blank=True, max_length=120)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "ordering": ["-number"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("mode__in", ["road", "rail", "sea", "air"])), name="consignment_mode_known"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("mode", "air"), _negated=True), name="consignment_never_by_air"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("carrier", ""), _negated=True),
                            models.Q(("receiver", ""), _negated=True),
                            models.Q(("taken_by", ""), _negated=True),
                        ),
                        name="consignment_to_someone",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("confirmed_by", ""), ("confirmed_on__isnull", True)),
                            models.Q(("confirmed_on__isnull", False), models.Q(("confirmed_by", ""), _negated=True)),
                            _connector="OR",
                        ),
                        name="consignment_confirmed_by_someone",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Container",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("code", models.CharField(max_length=40, unique=True)),
                (
                    "contents",
                    models.CharField(
                        choices=[
                            ("cells", "cells and packs"),
                            ("boards", "boards and other parts"),
                            ("contaminated", "contaminated absorbent and gloves"),
                        ],
                        default="cells",
                        max_length=32,
                    ),
                ),
                (
                    "condition",
                    models.CharField(
                        choices=[
                            ("intact", "intact"),
                            ("damaged", "damaged or defective"),
                            ("reactive", "liable to react"),
                        ],
                        max_length=32,
                    ),
                ),
                ("started_on", models.DateField()),
                ("approved_packaging", models.BooleanField(default=False)),
                ("gross_mass_mg", models.PositiveBigIntegerField(blank=True, null=True)),
                ("closed_at", models.DateTimeField(blank=True, null=True)),
                ("consigned_at", models.DateTimeField(blank=True, null=True)),
                (
                    "closed_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "consignment",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="containers",
                        to="shop.consignment",
                    ),
                ),
            ],
            options={
                "ordering": ["code"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("condition__in", ["intact", "damaged"])),
                        name="container_takes_nothing_reactive",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("contents__in", ["cells", "boards", "contaminated"])),
                        name="container_contents_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("closed_at__isnull", True), ("closed_by__isnull", True)),
                            models.Q(("closed_at__isnull", False), ("closed_by__isnull", False)),
                            _connector="OR",
                        ),
                        name="container_closed_by_someone",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("consigned_at__isnull", True), ("consignment__isnull", True)),
                            models.Q(
                                ("closed_at__isnull", False),
                                ("consigned_at__isnull", False),
                                ("consignment__isnull", False),
                            ),
                            _connector="OR",
                        ),
                        name="container_leaves_closed_in_a_consignment",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Cell",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("code", models.CharField(max_length=40, unique=True)),
                (
                    "condition",
                    models.CharField(
                        choices=[
                            ("intact", "intact"),
                            ("damaged", "damaged or defective"),
                            ("reactive", "liable to react"),
                        ],
                        default="intact",
                        max_length=32,
                    ),
                ),
                (
                    "place",
                    models.CharField(
                        choices=[
                            ("counter", "counter"),
                            ("outside", "outside, apart"),
                            ("bench", "bench"),
                            ("stock", "stock"),
                            ("quarantine", "quarantine"),
                            ("pack", "in a pack"),
                            ("container", "in a waste container"),
                            ("customer", "with the customer"),
                            ("consigned", "handed to a carrier"),
                        ],
                        max_length=32,
                    ),
                ),
                (
                    "container",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="cells",
                        to="shop.container",
                    ),
                ),
            ],
            options={
                "ordering": ["code"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "place__in",
                                [
                                    "counter",
                                    "outside",
                                    "bench",
                                    "stock",
                                    "quarantine",
                                    "pack",
                                    "container",
                                    "customer",
                                    "consigned",
                                ],
                            )
                        ),
                        name="cell_place_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("condition__in", ["intact", "damaged", "reactive"])),
                        name="cell_condition_known",
                    ),
                    models.CheckConstraint(condition=models.Q(("code", ""), _negated=True), name="cell_has_code"),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("container__isnull", False), ("place", "container")),
                            ("place", "consigned"),
                            models.Q(
                                models.Q(("place__in", ["container", "consigned"]), _negated=True),
                                ("container__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="cell_in_container_names_it",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Customer",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=120)),
                ("phone", models.CharField(blank=True, max_length=40)),
                ("email", models.EmailField(blank=True, max_length=254)),
                ("is_shop", models.BooleanField(default=False, verbose_name="the shop itself")),
                ("created_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["name", "pk"],
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("name", ""), _negated=True), name="customer_has_name"),
                    models.UniqueConstraint(
                        condition=models.Q(("is_shop", True)), fields=("is_shop",), name="one_shop_itself"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Device",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("maker", models.CharField(blank=True, max_length=80)),
                ("model", models.CharField(max_length=80)),
                ("serial", models.CharField(blank=True, max_length=80, verbose_name="serial number")),
                (
                    "device_class",
                    models.CharField(
                        choices=[
                            ("medical", "medical device"),
                            ("light_vehicle", "light electric vehicle"),
                            ("tool", "tool"),
                            ("power_bank", "power bank"),
                            ("other", "other device"),
                        ],
                        max_length=32,
                    ),
                ),
                ("rated_voltage_mv", models.PositiveIntegerField(blank=True, null=True)),
                ("rated_capacity_mah", models.DecimalField(blank=True, decimal_places=1, max_digits=10, null=True)),
                ("charger_voltage_mv", models.PositiveIntegerField(blank=True, null=True)),
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
                        default="unknown",
                        help_text="as printed on the pack",
                        max_length=32,
                    ),
                ),
                (
                    "customer",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="devices", to="shop.customer"
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("model", ""), _negated=True), name="device_has_model"),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("device_class__in", ["medical", "light_vehicle", "tool", "power_bank", "other"])
                        ),
                        name="device_class_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("chemistry__in", ["lco", "nmc", "nca", "lmo", "lfp", "lto", "nimh", "nicd", "unknown"])
                        ),
                        name="device_chemistry_known",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="FileLayout",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=80, unique=True)),
                ("facts", models.JSONField()),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "verbose_name": "column layout",
                "ordering": ["name"],
            },
        ),
        migrations.CreateModel(
            name="FormToken",
            fields=[
                ("token", models.UUIDField(primary_key=True, serialize=False)),
                ("leads_to", models.CharField(blank=True, max_length=300)),
                ("at", models.DateTimeField()),
                (
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Item",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("device", "device"),
                            ("pack", "battery pack"),
                            ("board", "board"),
                            ("other", "other part"),
                            ("contaminated", "contaminated absorbent or gloves"),
                        ],
                        max_length=32,
                    ),
                ),
                ("description", models.CharField(max_length=160)),
                ("cell_count", models.PositiveIntegerField(blank=True, null=True)),
                (
                    "count_basis",
                    models.CharField(
                        choices=[("known", "counted"), ("estimated", "estimated"), ("unknown", "not known")],
                        default="unknown",
                        max_length=32,
                    ),
                ),
                ("rated_energy_mwh", models.PositiveBigIntegerField(blank=True, null=True)),
                ("mass_mg", models.PositiveBigIntegerField(blank=True, null=True)),
                (
                    "condition",
                    models.CharField(
                        choices=[
                            ("intact", "intact"),
                            ("damaged", "damaged or defective"),
                            ("reactive", "liable to react"),
                        ],
                        default="intact",
                        max_length=32,
                    ),
                ),
                (
                    "place",
                    models.CharField(
                        choices=[
                            ("counter", "counter"),
                            ("outside", "outside, apart"),
                            ("bench", "bench"),
                            ("stock", "stock"),
                            ("quarantine", "quarantine"),
                            ("pack", "in a pack"),
                            ("container", "in a waste container"),
                            ("customer", "with the customer"),
                            ("consigned", "handed to a carrier"),
                        ],
                        max_length=32,
                    ),
                ),
                (
                    "container",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="items",
                        to="shop.container",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("kind__in", ["device", "pack", "board", "other", "contaminated"])),
                        name="item_kind_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "place__in",
                                [
                                    "counter",
                                    "outside",
                                    "bench",
                                    "stock",
                                    "quarantine",
                                    "pack",
                                    "container",
                                    "customer",
                                    "consigned",
                                ],
                            )
                        ),
                        name="item_place_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("container__isnull", False), ("place", "container")),
                            ("place", "consigned"),
                            models.Q(
                                models.Q(("place__in", ["container", "consigned"]), _negated=True),
                                ("container__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="item_in_container_names_it",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="InnerPackaging",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("number", models.PositiveIntegerField()),
                ("casing_closed", models.BooleanField()),
                ("packed_at", models.DateTimeField()),
                (
                    "cell",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="inner_packaging",
                        to="shop.cell",
                    ),
                ),
                (
                    "container",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="inner_packagings",
                        to="shop.container",
                    ),
                ),
                (
                    "packed_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "item",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="inner_packaging",
                        to="shop.item",
                    ),
                ),
            ],
            options={
                "ordering": ["container", "number"],
                "constraints": [
                    models.UniqueConstraint(fields=("container", "number"), name="inner_packaging_number_once"),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("cell__isnull", False), ("item__isnull", True)),
                            models.Q(("cell__isnull", True), ("item__isnull", False)),
                            _connector="OR",
                        ),
                        name="inner_packaging_of_one_thing",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Job",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("number", models.PositiveIntegerField(unique=True)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("rebuild", "rebuild"),
                            ("test_only", "test only"),
                            ("for_stock", "build for stock"),
                            ("warranty", "warranty return"),
                            ("take_back", "take-back"),
                        ],
                        default="rebuild",
                        max_length=32,
                    ),
                ),
                ("complaint", models.TextField(blank=True)),
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
                (
                    "danger_level",
                    models.CharField(
                        choices=[
                            ("clear", "no danger sign"),
                            ("amber", "amber: separate bench"),
                            ("red", "red: stays outside"),
                        ],
                        max_length=32,
                    ),
                ),
                ("danger_signs", models.JSONField(blank=True, default=list)),
                ("findings", models.TextField(blank=True, verbose_name="lead's findings")),
                ("cleared_at", models.DateTimeField(blank=True, null=True)),
                ("recall_source", models.CharField(blank=True, max_length=120)),
                ("recall_checked_on", models.DateField(blank=True, null=True)),
                ("recall_result", models.CharField(blank=True, max_length=200)),
                ("recalled", models.BooleanField(default=False)),
                (
                    "removed_owner",
                    models.CharField(choices=[("shop", "the shop"), ("customer", "the customer")], max_length=32),
                ),
                ("given_up", models.TextField(blank=True, verbose_name="why the build was given up")),
                ("opened_at", models.DateTimeField()),
                ("closed_at", models.DateTimeField(blank=True, null=True)),
                ("version", models.PositiveIntegerField(default=1)),
                (
                    "cleared_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "device",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="jobs", to="shop.device"
                    ),
                ),
                (
                    "opened_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "returns",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="returned_as",
                        to="shop.job",
                        verbose_name="pack of job",
                    ),
                ),
            ],
            options={
                "ordering": ["-number"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("kind__in", ["rebuild", "test_only", "for_stock", "warranty", "take_back"])
                        ),
                        name="job_kind_known",
                    ),
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
                        name="job_stage_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("danger_level__in", ["clear", "amber", "red"])),
                        name="job_danger_level_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("removed_owner__in", ["shop", "customer"])), name="job_removed_owner_known"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("cleared_at__isnull", True),
                            models.Q(("cleared_by__isnull", False), models.Q(("findings", ""), _negated=True)),
                            _connector="OR",
                        ),
                        name="job_cleared_by_someone_with_findings",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("danger_level", "red"), _negated=True),
                            ("stage__in", ["removed", "hand_over"]),
                            _connector="OR",
                        ),
                        name="job_red_goes_to_disposal_only",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("kind", "warranty"), ("returns__isnull", False)),
                            models.Q(models.Q(("kind", "warranty"), _negated=True), ("returns__isnull", True)),
                            _connector="OR",
                        ),
                        name="job_warranty_names_its_job",
                    ),
                ],
            },
        ),
        migrations.AddField(
            model_name="item",
            name="job",
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="items", to="shop.job"),
        ),
        migrations.CreateModel(
            name="IssuedDocument",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "kind",
                    models.CharField(
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
                ("number", models.PositiveIntegerField()),
                ("content", models.JSONField()),
                ("content_sha256", models.CharField(max_length=64)),
                ("rule_set", models.CharField(max_length=20)),
                ("issued_at", models.DateTimeField()),
                ("pdf", models.BinaryField(blank=True, null=True)),
                ("pdf_sha256", models.CharField(blank=True, max_length=64)),
                (
                    "consignment",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="documents",
                        to="shop.consignment",
                    ),
                ),
                (
                    "container",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="documents",
                        to="shop.container",
                    ),
                ),
                (
                    "issued_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "job",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="documents",
                        to="shop.job",
                    ),
                ),
            ],
            options={
                "ordering": ["-issued_at", "-pk"],
                "constraints": [
                    models.UniqueConstraint(fields=("kind", "number"), name="document_number_once"),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "kind__in",
                                [
                                    "job_card",
                                    "test_report",
                                    "disposal_note",
                                    "hand_over",
                                    "health_report",
                                    "container_label",
                                    "quote",
                                ],
                            )
                        ),
                        name="document_kind_known",
                    ),
                    models.CheckConstraint(condition=models.Q(("number__gte", 1)), name="document_numbers_from_one"),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("consignment__isnull", True), ("container__isnull", True), ("job__isnull", False)
                            ),
                            models.Q(
                                ("consignment__isnull", True), ("container__isnull", False), ("job__isnull", True)
                            ),
                            models.Q(
                                ("consignment__isnull", False), ("container__isnull", True), ("job__isnull", True)
                            ),
                            _connector="OR",
                        ),
                        name="document_about_one_thing",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("pdf__isnull", True), ("pdf_sha256", "")),
                            models.Q(("pdf__isnull", False), models.Q(("pdf_sha256", ""), _negated=True)),
                            _connector="OR",
                        ),
                        name="document_bytes_have_hash",
                    ),
                ],
            },
        ),
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
                    "stated_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "job",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="fault_search", to="shop.job"
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
        migrations.AddField(
            model_name="cell",
            name="job",
            field=models.ForeignKey(
                blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="cells", to="shop.job"
            ),
        ),
        migrations.CreateModel(
            name="LogEntry",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("at", models.DateTimeField()),
                ("verb", models.CharField(max_length=60)),
                ("facts", models.JSONField(blank=True, default=dict)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "job",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="log",
                        to="shop.job",
                    ),
                ),
            ],
            options={
                "verbose_name": "job log",
                "ordering": ["pk"],
            },
        ),
        migrations.CreateModel(
            name="Lot",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("code", models.CharField(max_length=40, unique=True)),
                (
                    "origin",
                    models.CharField(
                        choices=[("bought", "bought"), ("donor", "taken from a donor pack")], max_length=32
                    ),
                ),
                (
                    "owner",
                    models.CharField(choices=[("shop", "the shop"), ("customer", "the customer")], max_length=32),
                ),
                ("supplier", models.CharField(blank=True, max_length=120)),
                ("received_on", models.DateField()),
                (
                    "unit_cost",
                    models.DecimalField(
                        blank=True,
                        decimal_places=4,
                        max_digits=14,
                        null=True,
                        validators=[django.core.validators.MinValueValidator(0)],
                        verbose_name="cost of a cell",
                    ),
                ),
                ("evidence", models.TextField(blank=True, verbose_name="evidence of history")),
                (
                    "cell_model",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="lots", to="shop.cellmodel"
                    ),
                ),
                (
                    "customer",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lots",
                        to="shop.customer",
                    ),
                ),
                (
                    "donor_job",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="donor_lots",
                        to="shop.job",
                    ),
                ),
            ],
            options={
                "ordering": ["code"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("origin__in", ["bought", "donor"])), name="lot_origin_known"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("customer__isnull", True), ("owner", "shop")),
                            models.Q(("customer__isnull", False), ("owner", "customer")),
                            _connector="OR",
                        ),
                        name="lot_owner_named",
                    ),
                ],
            },
        ),
        migrations.AddField(
            model_name="cell",
            name="lot",
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="cells", to="shop.lot"),
        ),
        migrations.CreateModel(
            name="Movement",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "from_place",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("counter", "counter"),
                            ("outside", "outside, apart"),
                            ("bench", "bench"),
                            ("stock", "stock"),
                            ("quarantine", "quarantine"),
                            ("pack", "in a pack"),
                            ("container", "in a waste container"),
                            ("customer", "with the customer"),
                            ("consigned", "handed to a carrier"),
                        ],
                        max_length=32,
                    ),
                ),
                (
                    "to_place",
                    models.CharField(
                        choices=[
                            ("counter", "counter"),
                            ("outside", "outside, apart"),
                            ("bench", "bench"),
                            ("stock", "stock"),
                            ("quarantine", "quarantine"),
                            ("pack", "in a pack"),
                            ("container", "in a waste container"),
                            ("customer", "with the customer"),
                            ("consigned", "handed to a carrier"),
                        ],
                        max_length=32,
                    ),
                ),
                ("at", models.DateTimeField()),
                ("note", models.CharField(blank=True, max_length=200)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "cell",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="movements",
                        to="shop.cell",
                    ),
                ),
                (
                    "container",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="movements",
                        to="shop.container",
                    ),
                ),
                (
                    "item",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="movements",
                        to="shop.item",
                    ),
                ),
                (
                    "job",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="movements",
                        to="shop.job",
                    ),
                ),
            ],
            options={
                "verbose_name": "movement",
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("cell__isnull", False), ("item__isnull", True)),
                            models.Q(("cell__isnull", True), ("item__isnull", False)),
                            _connector="OR",
                        ),
                        name="movement_of_one_thing",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "to_place__in",
                                [
                                    "counter",
                                    "outside",
                                    "bench",
                                    "stock",
                                    "quarantine",
                                    "pack",
                                    "container",
                                    "customer",
                                    "consigned",
                                ],
                            )
                        ),
                        name="movement_to_known_place",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("cell__isnull", False), ("from_place", "")),
                        fields=("cell",),
                        name="cell_comes_in_once",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("from_place", ""), ("item__isnull", False)),
                        fields=("item",),
                        name="item_comes_in_once",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PackAsFound",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("series", models.PositiveSmallIntegerField()),
                ("parallel", models.PositiveSmallIntegerField()),
                (
                    "joint_method",
                    models.CharField(
                        choices=[
                            ("spot_weld", "spot-welded strip"),
                            ("bolted", "bolted bar"),
                            ("soldered_tab", "soldered at the tab"),
                        ],
                        max_length=32,
                    ),
                ),
                ("housing", models.CharField(blank=True, max_length=160, verbose_name="how the case is shut")),
                ("board", models.CharField(blank=True, max_length=200, verbose_name="board and sensors")),
                ("protects", models.JSONField(blank=True, default=list, verbose_name="what the board does")),
                (
                    "unpowered",
                    models.CharField(
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
                ("note", models.TextField(blank=True)),
                ("examined_at", models.DateTimeField()),
                (
                    "cell_model",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.cellmodel"
                    ),
                ),
                (
                    "examined_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "job",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="as_found", to="shop.job"
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("parallel__gte", 1), ("series__gte", 1)), name="as_found_has_cells"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("joint_method__in", ["spot_weld", "bolted", "soldered_tab"])),
                        name="as_found_joint_method_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("unpowered__in", ["unaffected", "needs_waking", "locks", "unknown"])),
                        name="as_found_unpowered_known",
                    ),
                ],
            },
        ),
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
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("opens__in", ["screws", "clips", "glue", "weld", "potted", "unknown"])),
                        name="pack_notes_opening_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("parallel__isnull", True), ("series__isnull", True)),
                            models.Q(("parallel__isnull", False), ("series__isnull", False)),
                            _connector="OR",
                        ),
                        name="pack_notes_arrangement_whole",
                    ),
                ],
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
        migrations.CreateModel(
            name="Plan",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("stated", "target stated"),
                            ("accepted", "cells reserved"),
                            ("built", "built"),
                            ("abandoned", "abandoned"),
                        ],
                        default="stated",
                        max_length=32,
                    ),
                ),
                ("series", models.PositiveSmallIntegerField()),
                ("parallel", models.PositiveSmallIntegerField()),
                (
                    "joint_method",
                    models.CharField(
                        choices=[
                            ("spot_weld", "spot-welded strip"),
                            ("bolted", "bolted bar"),
                            ("soldered_tab", "soldered at the tab"),
                        ],
                        max_length=32,
                    ),
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
                ("continuous_current_ma", models.PositiveIntegerField()),
                ("charger_voltage_mv", models.PositiveIntegerField()),
                ("outlet_voltage_mv", models.PositiveIntegerField(blank=True, null=True)),
                ("dropout_mv", models.PositiveIntegerField(blank=True, null=True)),
                ("peak_current_ma", models.PositiveIntegerField(blank=True, null=True, verbose_name="peak current")),
                (
                    "peak_time_ms",
                    models.PositiveIntegerField(blank=True, null=True, verbose_name="how long the peak lasts"),
                ),
                ("strip_layers", models.PositiveIntegerField(blank=True, null=True, verbose_name="layers of strip")),
                ("lead_area_um2", models.PositiveIntegerField(blank=True, null=True, verbose_name="section of a lead")),
                ("lead_length_um", models.PositiveIntegerField(blank=True, null=True, verbose_name="length of a lead")),
                (
                    "fuse_current_ma",
                    models.PositiveIntegerField(blank=True, null=True, verbose_name="rated current of the fuse"),
                ),
                (
                    "fuse_voltage_mv",
                    models.PositiveIntegerField(blank=True, null=True, verbose_name="direct voltage of the fuse"),
                ),
                (
                    "fuse_breaking_ma",
                    models.PositiveIntegerField(blank=True, null=True, verbose_name="breaking capacity of the fuse"),
                ),
                ("findings", models.JSONField(blank=True, default=list)),
                ("stated_at", models.DateTimeField()),
                ("accepted_at", models.DateTimeField(blank=True, null=True)),
                ("version", models.PositiveIntegerField(default=1)),
                (
                    "cell_model",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.cellmodel"
                    ),
                ),
                (
                    "job",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="plans", to="shop.job"),
                ),
                (
                    "stated_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("state", "abandoned"), _negated=True),
                        fields=("job",),
                        name="one_standing_plan_per_job",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("state__in", ["stated", "accepted", "built", "abandoned"])),
                        name="plan_state_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("joint_method__in", ["spot_weld", "bolted", "soldered_tab"])),
                        name="plan_joint_method_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("strip_material__in", ["nickel_200", "nickel_999", "plated_steel", "copper", "aluminium"])
                        ),
                        name="plan_strip_material_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("parallel__gte", 1), ("series__gte", 1)), name="plan_has_cells"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("strip_thickness_um__gt", 0), ("strip_width_um__gt", 0)),
                        name="plan_strip_has_size",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("outlet_voltage_mv__isnull", True), ("dropout_mv__isnull", False), _connector="OR"
                        ),
                        name="plan_outlet_has_dropout",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("peak_current_ma__isnull", True), ("peak_time_ms__isnull", True)),
                            models.Q(
                                ("peak_current_ma__gte", models.F("continuous_current_ma")), ("peak_time_ms__gt", 0)
                            ),
                            _connector="OR",
                        ),
                        name="plan_peak_above_continuous",
                        violation_error_message="A peak has a current, at least the continuous one, and a time.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("fuse_current_ma__isnull", False),
                            models.Q(("fuse_breaking_ma__isnull", True), ("fuse_voltage_mv__isnull", True)),
                            _connector="OR",
                        ),
                        name="plan_fuse_has_current",
                        violation_error_message="A fuse is given with its rated current.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PlanPosition",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("group", models.PositiveSmallIntegerField()),
                ("place", models.PositiveSmallIntegerField(verbose_name="place in the group")),
                ("open", models.BooleanField(default=True)),
                ("placed_at", models.DateTimeField(blank=True, null=True)),
                (
                    "cell",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="positions", to="shop.cell"
                    ),
                ),
                (
                    "placed_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="positions", to="shop.plan"
                    ),
                ),
            ],
            options={
                "ordering": ["group", "place"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("open", True)), fields=("cell",), name="cell_in_one_open_plan"
                    ),
                    models.UniqueConstraint(fields=("plan", "group", "place"), name="position_once_per_plan"),
                    models.CheckConstraint(
                        condition=models.Q(("group__gte", 1), ("place__gte", 1)), name="position_counts_from_one"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Joint",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("end", models.CharField(choices=[("positive", "positive"), ("negative", "negative")], max_length=32)),
                ("strip", models.PositiveSmallIntegerField()),
                (
                    "method",
                    models.CharField(
                        choices=[
                            ("spot_weld", "spot-welded strip"),
                            ("bolted", "bolted bar"),
                            ("soldered_tab", "soldered at the tab"),
                        ],
                        max_length=32,
                    ),
                ),
                ("spots", models.PositiveSmallIntegerField(default=0)),
                (
                    "state",
                    models.CharField(
                        choices=[("made", "made"), ("failed", "failed"), ("undone", "taken off, or stated anew")],
                        default="made",
                        max_length=32,
                    ),
                ),
                ("made_at", models.DateTimeField()),
                ("note", models.CharField(blank=True, max_length=160)),
                (
                    "made_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "position",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="joints", to="shop.planposition"
                    ),
                ),
            ],
            options={
                "ordering": ["strip", "pk"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("state", "made")),
                        fields=("position", "end"),
                        name="one_made_joint_per_cell_end",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("end__in", ["positive", "negative"])), name="joint_end_known"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("state__in", ["made", "failed", "undone"])), name="joint_state_known"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("method", "spot_weld"), _negated=True), ("spots__gte", 1), _connector="OR"
                        ),
                        name="welded_joint_has_spots",
                    ),
                ],
            },
        ),
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
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "verbose_name": "prices",
                "ordering": ["pk"],
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
                (
                    "cell_model",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.cellmodel"
                    ),
                ),
                (
                    "document",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="quote",
                        to="shop.issueddocument",
                    ),
                ),
                (
                    "job",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="quotes", to="shop.job"
                    ),
                ),
                (
                    "recorded_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("state__in", ["waiting", "approved", "declined", "replaced"])),
                        name="quote_state_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("removed__in", ["returned", "taken_over", "waste"])),
                        name="quote_removed_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("verdict__in", ["rebuild", "replace", "recycle"])),
                        name="quote_verdict_known",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("state", "waiting")), fields=("job",), name="one_quote_waits_per_job"
                    ),
                    models.CheckConstraint(
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
                ],
            },
        ),
        migrations.CreateModel(
            name="Reading",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "stage",
                    models.CharField(
                        blank=True,
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
                ("point", models.CharField(blank=True, max_length=40)),
                (
                    "measure",
                    models.CharField(
                        choices=[
                            ("capacity_mah", "capacity"),
                            ("energy_mwh", "energy"),
                            ("voltage_mv", "voltage"),
                            ("rest_voltage_mv", "rest voltage"),
                            ("current_ma", "current"),
                            ("dc_resistance_uohm", "DC resistance"),
                            ("ac_resistance_uohm", "1 kHz resistance"),
                            ("contact_resistance_uohm", "contact resistance"),
                            ("self_discharge_uv_per_day", "self-discharge"),
                            ("temperature_mdegc", "temperature"),
                            ("mass_mg", "mass"),
                            ("torque_mnm", "torque"),
                            ("count", "count"),
                        ],
                        max_length=32,
                    ),
                ),
                ("value", models.DecimalField(decimal_places=3, max_digits=14)),
                ("method", models.CharField(blank=True, max_length=80)),
                ("conditions", models.CharField(blank=True, max_length=120)),
                ("measured_at", models.DateTimeField()),
                ("reason", models.CharField(blank=True, max_length=200, verbose_name="reason of the correction")),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "cell",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="readings",
                        to="shop.cell",
                    ),
                ),
                (
                    "corrects",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="corrected_by",
                        to="shop.reading",
                    ),
                ),
                (
                    "instrument",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="readings",
                        to="shop.instrument",
                    ),
                ),
                (
                    "job",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="readings",
                        to="shop.job",
                    ),
                ),
            ],
            options={
                "verbose_name": "reading",
                "ordering": ["measured_at", "pk"],
                "indexes": [
                    models.Index(fields=["cell", "measure"], name="shop_readin_cell_id_d0ec32_idx"),
                    models.Index(fields=["job", "stage"], name="shop_readin_job_id_d9ce25_idx"),
                ],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "measure__in",
                                [
                                    "capacity_mah",
                                    "energy_mwh",
                                    "voltage_mv",
                                    "rest_voltage_mv",
                                    "current_ma",
                                    "dc_resistance_uohm",
                                    "ac_resistance_uohm",
                                    "contact_resistance_uohm",
                                    "self_discharge_uv_per_day",
                                    "temperature_mdegc",
                                    "mass_mg",
                                    "torque_mnm",
                                    "count",
                                ],
                            )
                        ),
                        name="reading_measure_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("cell__isnull", False), ("job__isnull", False), _connector="OR"),
                        name="reading_of_something",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("corrects__isnull", True), models.Q(("reason", ""), _negated=True), _connector="OR"
                        ),
                        name="correction_has_reason",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ConditionChange",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "before",
                    models.CharField(
                        choices=[
                            ("intact", "intact"),
                            ("damaged", "damaged or defective"),
                            ("reactive", "liable to react"),
                        ],
                        max_length=32,
                    ),
                ),
                (
                    "after",
                    models.CharField(
                        choices=[
                            ("intact", "intact"),
                            ("damaged", "damaged or defective"),
                            ("reactive", "liable to react"),
                        ],
                        max_length=32,
                    ),
                ),
                ("reason", models.CharField(max_length=300)),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "cell",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="condition_changes", to="shop.cell"
                    ),
                ),
                (
                    "reading",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.reading",
                    ),
                ),
            ],
            options={
                "verbose_name": "change of condition",
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("before__in", ["intact", "damaged", "reactive"])),
                        name="condition_before_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("after__in", ["intact", "damaged", "reactive"])),
                        name="condition_after_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("before", models.F("after")), _negated=True), name="condition_does_change"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("reason", ""), _negated=True), name="condition_change_has_reason"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="RoleHolding",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "role",
                    models.CharField(
                        choices=[
                            ("counter", "counter"),
                            ("technician", "technician"),
                            ("lead", "lead"),
                            ("owner", "owner"),
                        ],
                        max_length=32,
                    ),
                ),
                (
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="holdings",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("user", "role"), name="role_held_once"),
                    models.CheckConstraint(
                        condition=models.Q(("role__in", ["counter", "technician", "lead", "owner"])), name="role_known"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Step",
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
                ("number", models.PositiveSmallIntegerField(default=1, verbose_name="number of the try")),
                (
                    "outcome",
                    models.CharField(
                        choices=[
                            ("under_way", "under way"),
                            ("stopped", "stopped"),
                            ("done", "done"),
                            ("given_up", "given up"),
                        ],
                        default="under_way",
                        max_length=32,
                    ),
                ),
                ("confirmed", models.JSONField(blank=True, default=dict)),
                ("findings", models.JSONField(blank=True, default=list)),
                ("rule_set", models.CharField(blank=True, max_length=20)),
                ("started_at", models.DateTimeField()),
                ("ended_at", models.DateTimeField(blank=True, null=True)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "job",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="steps", to="shop.job"),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.UniqueConstraint(fields=("job", "stage", "number"), name="step_try_numbered_once"),
                    models.UniqueConstraint(
                        condition=models.Q(("outcome__in", ["under_way", "done"])),
                        fields=("job", "stage"),
                        name="step_done_once_per_job",
                    ),
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
                        name="step_stage_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("outcome__in", ["under_way", "stopped", "done", "given_up"])),
                        name="step_outcome_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("ended_at__isnull", True), ("outcome", "under_way")),
                            models.Q(models.Q(("outcome", "under_way"), _negated=True), ("ended_at__isnull", False)),
                            _connector="OR",
                        ),
                        name="step_ended_has_outcome",
                    ),
                ],
            },
        ),
        migrations.AddField(
            model_name="reading",
            name="step",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="readings",
                to="shop.step",
                verbose_name="try of a step",
            ),
        ),
        migrations.CreateModel(
            name="TesterToken",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=80, unique=True)),
                ("key_sha256", models.CharField(max_length=64, unique=True)),
                ("issued_at", models.DateTimeField()),
                ("revoked_at", models.DateTimeField(blank=True, null=True)),
                (
                    "instrument",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="tokens", to="shop.instrument"
                    ),
                ),
                (
                    "issued_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "ordering": ["name"],
            },
        ),
        migrations.CreateModel(
            name="TraceFile",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=200, verbose_name="file name")),
                ("sha256", models.CharField(max_length=64, unique=True)),
                ("size", models.PositiveBigIntegerField()),
                ("rows", models.PositiveIntegerField()),
                ("layout_name", models.CharField(max_length=80)),
                ("layout", models.JSONField()),
                ("remarks", models.JSONField()),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "cell",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="traces", to="shop.cell"
                    ),
                ),
            ],
            options={
                "verbose_name": "tester file",
                "ordering": ["-at", "-pk"],
            },
        ),
        migrations.AddField(
            model_name="reading",
            name="trace",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="readings",
                to="shop.tracefile",
            ),
        ),
        migrations.CreateModel(
            name="WorkshopSettings",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=120)),
                ("address", models.CharField(blank=True, max_length=200)),
                ("emergency_number", models.CharField(default="112", max_length=20)),
                (
                    "jurisdiction",
                    models.CharField(
                        choices=[
                            ("us", "United States"),
                            ("eu", "European Union"),
                            ("uk", "United Kingdom"),
                            ("other", "elsewhere"),
                        ],
                        max_length=32,
                    ),
                ),
                ("currency", models.CharField(default="EUR", max_length=3)),
                ("time_zone", models.CharField(default="UTC", max_length=60)),
                ("paper", models.CharField(choices=[("A4", "A4"), ("letter", "Letter")], default="A4", max_length=32)),
                ("number_locale", models.CharField(default="en", max_length=12, verbose_name="number format")),
                (
                    "other_universal_waste_mg",
                    models.PositiveBigIntegerField(default=0, verbose_name="other universal waste on the site"),
                ),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "verbose_name": "workshop settings",
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("jurisdiction__in", ["us", "eu", "uk", "other"])),
                        name="settings_place_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("paper__in", ["A4", "letter"])), name="settings_paper_known"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="AnsweredRequest",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.CharField(max_length=80)),
                ("request_sha256", models.CharField(max_length=64)),
                ("status", models.PositiveSmallIntegerField(default=0)),
                ("answer", models.JSONField(default=dict)),
                ("at", models.DateTimeField()),
                (
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "constraints": [models.UniqueConstraint(fields=("user", "key"), name="request_key_once_per_person")],
            },
        ),
        migrations.AddIndex(
            model_name="cell",
            index=models.Index(fields=["place", "lot"], name="shop_cell_place_6ef61c_idx"),
        ),
        migrations.AddConstraint(
            model_name="cell",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("place__in", ["bench", "pack"]), _negated=True), ("job__isnull", False), _connector="OR"
                ),
                name="cell_at_bench_or_in_pack_has_job",
            ),
        ),
        migrations.RunPython(hold, let_go),
    ]
