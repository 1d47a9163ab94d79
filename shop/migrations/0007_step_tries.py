"""Each try of a step is a row of its own, and a reading belongs to the try it was taken in."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from shop import append_only

PIECE_BY_PIECE = {"cells removed": "dismantle", "cell placed": "place"}
"""Entries of the job log with which a step begins whose cells go one by one."""


def let_go(apps, schema_editor):
    append_only.remove(schema_editor.connection)


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


def sort_out(apps, schema_editor):
    """Until now a step was one row, overwritten by each try; the job log still tells the tries apart."""
    step = apps.get_model("shop", "Step")
    known = {(row.job_id, row.stage): row for row in step.objects.all()}
    step.objects.all().delete()
    tries = _tries(apps, known)
    for key, row in known.items():
        if row.ended_at is not None and key not in tries:
            tries[key] = [_begun(row, row.ended_at, row.by_id, 1)]
    _end(apps, tries, known)
    _hand_out(apps.get_model("shop", "Reading"), tries)
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("SET CONSTRAINTS ALL IMMEDIATE")


def _tries(apps, known):
    """Return the tries of each step in the order of the job log."""
    tries = {}
    verbs = ["step stopped", "step done", *PIECE_BY_PIECE]
    for entry in apps.get_model("shop", "LogEntry").objects.filter(verb__in=verbs).order_by("pk"):
        stage = PIECE_BY_PIECE.get(entry.verb) or entry.facts.get("step", "")
        key = (entry.job_id, stage)
        if key not in known:
            continue
        rows = tries.setdefault(key, [])
        if not rows or rows[-1].ended_at is not None:
            rows.append(_begun(known[key], entry.at, entry.by_id, len(rows) + 1))
        goes_on = entry.verb in PIECE_BY_PIECE or (
            stage in PIECE_BY_PIECE.values() and entry.verb == "step stopped"
        )
        if not goes_on:
            row = rows[-1]
            row.outcome = "done" if entry.verb == "step done" else "stopped"
            row.ended_at, row.by_id = entry.at, entry.by_id
            row.findings = [_stop(rule, stage) for rule in entry.facts.get("stops", [])]
    return tries


def _begun(known, at, by, number):
    return type(known)(job_id=known.job_id, stage=known.stage, number=number, started_at=at, by_id=by)


def _stop(rule, stage):
    return {
        "rule_id": rule,
        "outcome": "fail",
        "severity": "stop",
        "stage": stage,
        "message": f"Stopped by {rule}; what it had found was not kept at that time.",
        "measured": "",
        "limit": "",
        "source": "",
        "where": "",
    }


def _end(apps, tries, known):
    """The last try has what the one row held; one that was under way when its job ended was given up."""
    jobs = {row.pk: row for row in apps.get_model("shop", "Job").objects.all()}
    for key, rows in tries.items():
        last, row = rows[-1], known[key]
        last.findings, last.confirmed, last.rule_set = row.findings, row.confirmed, row.rule_set
        if row.ended_at is not None:
            last.outcome, last.ended_at, last.by_id = "done", row.ended_at, row.by_id
        elif last.ended_at is None and (jobs[key[0]].closed_at or jobs[key[0]].stage != key[1]):
            last.outcome, last.ended_at = "given_up", jobs[key[0]].closed_at or last.started_at
    for row in sorted((row for rows in tries.values() for row in rows), key=lambda row: row.started_at):
        row.save()


def _hand_out(reading, tries):
    """A reading belongs to the first try that had not ended when it was taken."""
    for (job, stage), rows in tries.items():
        for found in reading.objects.filter(job=job, stage=stage):
            open_then = (row for row in rows if row.ended_at is None or found.measured_at <= row.ended_at)
            reading.objects.filter(pk=found.pk).update(step=next(open_then, rows[-1]))


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0006_way_of_the_current"),
    ]

    operations = [
        migrations.RunPython(let_go, hold),
        migrations.RemoveConstraint(model_name="step", name="step_once_per_job"),
        migrations.RemoveConstraint(model_name="step", name="step_done_by_someone"),
        migrations.RenameField(model_name="step", old_name="done_at", new_name="ended_at"),
        migrations.RenameField(model_name="step", old_name="done_by", new_name="by"),
        migrations.AddField(
            model_name="step",
            name="number",
            field=models.PositiveSmallIntegerField(default=1, verbose_name="number of the try"),
        ),
        migrations.AddField(
            model_name="step",
            name="outcome",
            field=models.CharField(
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
        migrations.AddField(model_name="step", name="started_at", field=models.DateTimeField(null=True)),
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
        migrations.RunPython(sort_out, migrations.RunPython.noop),
        migrations.AlterField(model_name="step", name="started_at", field=models.DateTimeField()),
        migrations.AlterField(
            model_name="step",
            name="by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddConstraint(
            model_name="step",
            constraint=models.UniqueConstraint(fields=["job", "stage", "number"], name="step_try_numbered_once"),
        ),
        migrations.AddConstraint(
            model_name="step",
            constraint=models.UniqueConstraint(
                condition=models.Q(("outcome__in", ["under_way", "done"])),
                fields=["job", "stage"],
                name="step_done_once_per_job",
            ),
        ),
        migrations.AddConstraint(
            model_name="step",
            constraint=models.CheckConstraint(
                condition=models.Q(("outcome__in", ["under_way", "stopped", "done", "given_up"])),
                name="step_outcome_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="step",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("ended_at__isnull", True), ("outcome", "under_way")),
                    models.Q(models.Q(("outcome", "under_way"), _negated=True), ("ended_at__isnull", False)),
                    _connector="OR",
                ),
                name="step_ended_has_outcome",
            ),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
