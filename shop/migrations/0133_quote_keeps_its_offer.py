"""A quote keeps the costs, minutes and lives it was reckoned from; the column is empty for older ones."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0132_unequal_groups_noted'),
    ]

    operations = [
        migrations.AddField(
            model_name='quote',
            name='offer',
            field=models.JSONField(blank=True, null=True, verbose_name='costs, minutes and lives it was reckoned from'),
        ),
    ]
