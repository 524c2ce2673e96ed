"""What is in a bag, and how much. Columns that may be empty: the table stays the one that its triggers hold."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = (("rooms", "0003_heat"),)
    operations = (
        migrations.AddField("baghappened", "holds", models.CharField(max_length=120, null=True)),
        migrations.AddField("baghappened", "amount", models.CharField(max_length=40, null=True)),
    )
