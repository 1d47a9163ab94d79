"""Insulation as a reading; curves of the fuse and the overcurrent trip of the board at the target pack; the port of its outlet."""

from django.db import migrations, models

from shop import append_only

MEASURES = [
    ("capacity_mah", "capacity"),
    ("energy_mwh", "energy"),
    ("voltage_mv", "voltage"),
    ("rest_voltage_mv", "rest voltage"),
    ("current_ma", "current"),
    ("dc_resistance_uohm", "DC resistance"),
    ("ac_resistance_uohm", "1 kHz resistance"),
    ("contact_resistance_uohm", "contact resistance"),
    ("insulation_kohm", "insulation resistance"),
    ("self_discharge_uv_per_day", "self-discharge"),
    ("temperature_mdegc", "temperature"),
    ("mass_mg", "mass"),
    ("torque_mnm", "torque"),
    ("count", "count"),
]


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0031_search_anew_and_metres"),
    ]

    operations = [
        migrations.RemoveConstraint(model_name="reading", name="reading_measure_known"),
        migrations.AlterField(
            model_name="reading",
            name="measure",
            field=models.CharField(choices=MEASURES, max_length=32),
        ),
        migrations.AddConstraint(
            model_name="reading",
            constraint=models.CheckConstraint(
                condition=models.Q(("measure__in", [name for name, _ in MEASURES])), name="reading_measure_known"
            ),
        ),
        migrations.AddField(
            model_name="plan",
            name="outlet_port",
            field=models.CharField(
                blank=True, choices=[("usb_a", "USB, type A"), ("usb_c", "USB, type C")], max_length=32
            ),
        ),
        migrations.AddField(
            model_name="plan",
            name="fuse_melting",
            field=models.JSONField(
                blank=True, default=list, verbose_name="shortest melting of the fuse, mA and µs"
            ),
        ),
        migrations.AddField(
            model_name="plan",
            name="fuse_clearing",
            field=models.JSONField(
                blank=True, default=list, verbose_name="longest clearing of the fuse, mA and µs"
            ),
        ),
        migrations.AddField(
            model_name="plan",
            name="board_trip_ma",
            field=models.PositiveIntegerField(blank=True, null=True, verbose_name="overcurrent trip of the board"),
        ),
        migrations.AddField(
            model_name="plan",
            name="board_trip_us",
            field=models.PositiveIntegerField(blank=True, null=True, verbose_name="how long that trip takes"),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
