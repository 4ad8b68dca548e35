from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("farm", "0010_away_from_outside")]

    operations = [
        migrations.AddField(
            model_name="farm",
            name="closing_on",
            field=models.DateField(blank=True, editable=False, null=True),
        ),
        migrations.AddField(
            model_name="login",
            name="leaving_at",
            field=models.DateTimeField(blank=True, editable=False, null=True),
        ),
    ]
