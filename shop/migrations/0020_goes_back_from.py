"""At which stage it was decided that a device goes back as it came; the job waits for who takes it."""

from django.db import migrations, models

from shop import append_only


def hold(apps, schema_editor):
    append_only.install(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0019_group_repair"),
    ]

    operations = [
        migrations.AddField(
            model_name="job",
            name="goes_back_from",
            field=models.CharField(
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
                default="",
                max_length=32,
            ),
        ),
        migrations.AddConstraint(
            model_name="job",
            constraint=models.CheckConstraint(
                condition=models.Q(("goes_back_from", ""), ("stage", "hand_over"), _connector="OR"),
                name="job_that_goes_back_is_handed_over",
            ),
        ),
        migrations.RunPython(hold, migrations.RunPython.noop),
    ]
