from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("farm", "0009_adults")]

    operations = [
        migrations.AddField(
            model_name="away",
            name="outside",
            field=models.CharField(blank=True, default="", editable=False, max_length=40),
            preserve_default=False,
        ),
    ]
