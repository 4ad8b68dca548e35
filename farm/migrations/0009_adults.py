"""Keepers of farms from before the rota are adults who can do everything; a helper may be a youngster until a keeper says."""

from django.db import migrations


def keepers_are_adults(apps, schema_editor):
    apps.get_model("farm", "Member").objects.filter(role="keeper").update(
        adult=True, can_heat=True, can_lift=True, can_dose=True, can_slaughter=True
    )


class Migration(migrations.Migration):
    dependencies = [("farm", "0008_people")]

    operations = [migrations.RunPython(keepers_are_adults, migrations.RunPython.noop)]
