"""Charger and board of a target pack; absolute maximum and pulse of a cell model."""

from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0024_peel_samples"),
    ]

    operations = [
        migrations.AddField(
            model_name="cellmodel",
            name="absolute_max_mv",
            field=models.PositiveIntegerField(blank=True, null=True, verbose_name="absolute maximum"),
        ),
        migrations.AddField(
            model_name="cellmodel",
            name="pulse_current_ma",
            field=models.PositiveIntegerField(blank=True, null=True, verbose_name="pulse current"),
        ),
        migrations.AddField(
            model_name="cellmodel",
            name="pulse_time_ms",
            field=models.PositiveIntegerField(blank=True, null=True, verbose_name="how long a pulse may last"),
        ),
        migrations.AddField(
            model_name="plan",
            name="board_chemistry",
            field=models.CharField(
                blank=True,
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
        migrations.AddField(
            model_name="plan",
            name="board_groups",
            field=models.PositiveSmallIntegerField(
                blank=True, null=True, verbose_name="groups that the board is made for"
            ),
        ),
        migrations.AddField(
            model_name="plan",
            name="board_overcharge_mv",
            field=models.PositiveIntegerField(blank=True, null=True, verbose_name="overcharge trip"),
        ),
        migrations.AddField(
            model_name="plan",
            name="board_tolerance_mv",
            field=models.PositiveIntegerField(blank=True, null=True, verbose_name="tolerance of that trip"),
        ),
        migrations.AddField(
            model_name="plan",
            name="board_undervoltage_mv",
            field=models.PositiveIntegerField(blank=True, null=True, verbose_name="undervoltage trip"),
        ),
        migrations.AddField(
            model_name="plan",
            name="charger_read",
            field=models.CharField(
                choices=[
                    ("no_load", "measured, no load"),
                    ("label", "from its label"),
                    ("loaded", "measured, under load"),
                    ("silent", "gives nothing until connected"),
                ],
                default="no_load",
                max_length=32,
            ),
        ),
        migrations.AddField(
            model_name="plan",
            name="charger_tolerance_mv",
            field=models.PositiveIntegerField(blank=True, null=True, verbose_name="tolerance of the charger"),
        ),
        migrations.AddConstraint(
            model_name="cellmodel",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("absolute_max_mv__isnull", True),
                    ("absolute_max_mv__gte", models.F("charge_limit_mv")),
                    _connector="OR",
                ),
                name="cell_model_absolute_max_above_charge_limit",
                violation_error_message="The absolute maximum is at least the charge limit.",
            ),
        ),
        migrations.AddConstraint(
            model_name="cellmodel",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("pulse_current_ma__isnull", True), ("pulse_time_ms__isnull", True)),
                    models.Q(("pulse_current_ma__isnull", False), ("pulse_time_ms__isnull", False)),
                    _connector="OR",
                ),
                name="cell_model_pulse_whole",
                violation_error_message="A pulse has a current and a time.",
            ),
        ),
        migrations.AddConstraint(
            model_name="plan",
            constraint=models.CheckConstraint(
                condition=models.Q(("charger_read__in", ["no_load", "label", "loaded", "silent"])),
                name="plan_charger_read_known",
            ),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
