from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("access", "0001_initial")]  # noqa: RUF012  Django says list

    operations = [  # noqa: RUF012
        migrations.AddField(
            model_name="user",
            name="language",
            field=models.CharField(blank=True, default="", max_length=20, verbose_name="language of the pages"),
        ),
    ]
