from django.db import migrations, models


class Migration(migrations.Migration):
    """Substances get their boiling point, from which evaporation is estimated."""

    dependencies = [("stock", "0002_queued_entries")]

    operations = [
        migrations.AddField(
            model_name="substance",
            name="boiling_point_celsius",
            field=models.FloatField(blank=True, null=True),
        ),
    ]
