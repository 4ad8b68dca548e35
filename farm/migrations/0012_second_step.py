from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("farm", "0011_closing_and_leaving")]

    operations = [
        migrations.AddField(
            model_name="login",
            name="second_step_at",
            field=models.DateTimeField(blank=True, editable=False, null=True, verbose_name="second step since"),
        ),
    ]
