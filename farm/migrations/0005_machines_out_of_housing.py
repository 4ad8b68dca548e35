from django.db import migrations


def machines_out_of_housing(apps, schema_editor):
    """Machines for eggs were kept as housing; those where birds have stayed become brooders, so that no stay is lost."""
    Housing, Machine = apps.get_model("farm", "Housing"), apps.get_model("farm", "Machine")
    for row in Housing.objects.filter(kind__in=["incubator", "hatcher"]):
        if row.stays.exists() or apps.get_model("farm", "Observation").objects.filter(housing=row).exists():
            row.kind = "brooder"
            row.save()
            continue
        Machine.objects.create(
            farm_id=row.farm_id,
            name=row.name,
            does="both" if row.kind == "incubator" else "hatcher",
            species=row.species,
            in_service_from=row.in_service_from,
            in_service_to=row.in_service_to,
            notes=row.notes,
        )
        row.delete()


class Migration(migrations.Migration):

    dependencies = [
        ('farm', '0004_hatching_and_orders'),
    ]

    operations = [
        migrations.RunPython(machines_out_of_housing, migrations.RunPython.noop),
    ]
