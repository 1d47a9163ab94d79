"""How often a meter is calibrated; once overdue, nothing it measures is graded."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0036_goods_in'),
    ]

    operations = [
        migrations.AddField(
            model_name='instrument',
            name='calibrated_every_d',
            field=models.PositiveIntegerField(blank=True, null=True, verbose_name='calibrated every'),
        ),
    ]
