"""Repair of a group as a kind of job: the groups that are replaced are named by the plan and by the quote."""

from django.db import migrations, models

from shop import append_only

NAMED = "groups that are replaced; none named where all are"


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0018_written_exceptions"),
    ]

    operations = [
        migrations.RemoveConstraint(model_name="job", name="job_kind_known"),
        migrations.AddField(
            model_name="plan",
            name="replaced",
            field=models.JSONField(blank=True, default=list, verbose_name=NAMED),
        ),
        migrations.AddField(
            model_name="quote",
            name="replaced",
            field=models.JSONField(blank=True, default=list, verbose_name=NAMED),
        ),
        migrations.AlterField(
            model_name="job",
            name="kind",
            field=models.CharField(
                choices=[
                    ("rebuild", "rebuild"),
                    ("test_only", "test only"),
                    ("for_stock", "build for stock"),
                    ("warranty", "warranty return"),
                    ("take_back", "take-back"),
                    ("group_repair", "repair of a group"),
                ],
                default="rebuild",
                max_length=32,
            ),
        ),
        migrations.AddConstraint(
            model_name="job",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("kind__in", ["rebuild", "test_only", "for_stock", "warranty", "take_back", "group_repair"])
                ),
                name="job_kind_known",
            ),
        ),
        migrations.RemoveConstraint(model_name="quote", name="quote_verdict_known"),
        migrations.AlterField(
            model_name="quote",
            name="verdict",
            field=models.CharField(
                choices=[
                    ("rebuild", "rebuild it"),
                    ("repair", "repair it"),
                    ("replace", "buy a new one"),
                    ("recycle", "recycle it"),
                ],
                max_length=32,
            ),
        ),
        migrations.AddConstraint(
            model_name="quote",
            constraint=models.CheckConstraint(
                condition=models.Q(("verdict__in", ["rebuild", "repair", "replace", "recycle"])),
                name="quote_verdict_known",
            ),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
