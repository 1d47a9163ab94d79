"""Readings that are withdrawn, tester files that are put to the right cell, and which tester's key posted a reading."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0032_proof_and_fuse"),
    ]

    operations = [
        migrations.AddField(
            model_name="reading",
            name="tester",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="readings",
                to="shop.testertoken",
                verbose_name="tester that posted it by its key",
            ),
        ),
        migrations.CreateModel(
            name="ReadingWithdrawal",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("reason", models.CharField(max_length=200)),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "reading",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="withdrawal",
                        to="shop.reading",
                    ),
                ),
            ],
            options={"verbose_name": "withdrawals of readings", "ordering": ["pk"]},
        ),
        migrations.AddConstraint(
            model_name="readingwithdrawal",
            constraint=models.CheckConstraint(
                condition=models.Q(("reason", ""), _negated=True), name="reading_withdrawal_has_a_reason"
            ),
        ),
        migrations.AddField(
            model_name="tracefile",
            name="moved_from",
            field=models.OneToOneField(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="moved_to",
                to="shop.tracefile",
            ),
        ),
        migrations.AddField(
            model_name="tracefile",
            name="reason",
            field=models.CharField(blank=True, max_length=200, verbose_name="why it was put to another cell"),
        ),
        migrations.AlterField(model_name="tracefile", name="sha256", field=models.CharField(max_length=64)),
        migrations.AddConstraint(
            model_name="tracefile",
            constraint=models.UniqueConstraint(
                condition=models.Q(("moved_from__isnull", True)), fields=("sha256",), name="a_tester_file_comes_in_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="tracefile",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("moved_from__isnull", True), models.Q(("reason", ""), _negated=True), _connector="OR"
                ),
                name="moved_file_has_a_reason",
            ),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
