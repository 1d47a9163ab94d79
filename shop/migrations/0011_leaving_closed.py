"""A container leaves closed, in a consignment that says with whom."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("shop", "0010_consignments")]
    operations = [
        migrations.RemoveField(model_name="container", name="carrier"),
        migrations.RemoveField(model_name="container", name="receiver"),
        migrations.AddConstraint(
            model_name="container",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("consigned_at__isnull", True), ("consignment__isnull", True)),
                    models.Q(
                        ("closed_at__isnull", False), ("consigned_at__isnull", False), ("consignment__isnull", False)
                    ),
                    _connector="OR",
                ),
                name="container_leaves_closed_in_a_consignment",
            ),
        ),
    ]
