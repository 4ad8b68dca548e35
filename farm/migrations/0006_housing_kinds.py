from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('farm', '0005_machines_out_of_housing'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='housing',
            name='housing_kind_known',
        ),
        migrations.AlterField(
            model_name='housing',
            name='kind',
            field=models.CharField(choices=[('brooder', 'brooder'), ('pen', 'pen'), ('coop', 'coop'), ('run', 'run'), ('paddock', 'paddock')], default='brooder', max_length=10, verbose_name='kind'),
        ),
        migrations.AddConstraint(
            model_name='housing',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['brooder', 'pen', 'coop', 'run', 'paddock'])), name='housing_kind_known'),
        ),
    ]
