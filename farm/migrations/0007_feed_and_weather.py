import django.core.validators
import django.db.models.deletion
import farm.models.farm
import farm.models.weather
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('farm', '0006_housing_kinds'),
    ]

    operations = [
        migrations.CreateModel(
            name='Alert',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('cold', 'cold night'), ('hot', 'hot day'), ('losses', 'more losses than usual')], max_length=8)),
                ('key', models.CharField(max_length=80)),
                ('day', models.DateField()),
                ('values', models.JSONField(default=dict)),
                ('raised_at', models.DateTimeField()),
                ('withdrawn_at', models.DateTimeField(blank=True, null=True)),
                ('told_at', models.DateTimeField(blank=True, null=True)),
                ('taken_back_at', models.DateTimeField(blank=True, null=True)),
                ('batch', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='alerts', to='farm.batch')),
                ('farm', models.ForeignKey(editable=False, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='farm.farm')),
                ('housing', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='farm.housing')),
            ],
            options={
                'verbose_name': 'alert',
                'verbose_name_plural': 'alerts',
                'ordering': ['day', 'pk'],
                'constraints': [models.UniqueConstraint(condition=models.Q(('withdrawn_at__isnull', True)), fields=('farm', 'key'), name='alert_open_once'), models.CheckConstraint(condition=models.Q(('kind__in', ['cold', 'hot', 'losses'])), name='alert_kind_known')],
            },
        ),
        migrations.CreateModel(
            name='Feed',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('name', models.CharField(max_length=60, verbose_name='name')),
                ('kind', models.CharField(max_length=24, verbose_name='kind')),
                ('species', models.JSONField(default=list, verbose_name='fed to')),
                ('bag_kg', models.FloatField(verbose_name='weight of a bag')),
                ('lead_days', models.PositiveSmallIntegerField(verbose_name='days from ordering to delivery')),
                ('delivery_weekdays', models.JSONField(blank=True, default=list, validators=[farm.models.farm.check_weekdays], verbose_name='delivery days')),
                ('keeps_days', models.PositiveSmallIntegerField(blank=True, null=True, validators=[django.core.validators.MinValueValidator(7), django.core.validators.MaxValueValidator(365)], verbose_name='days it keeps from milling')),
                ('medicated', models.BooleanField(default=False, verbose_name='medicated')),
                ('wait_days', models.PositiveSmallIntegerField(blank=True, null=True, validators=[django.core.validators.MaxValueValidator(365)], verbose_name='days to wait before meat or eggs (from the label)')),
                ('notes', models.TextField(blank=True, max_length=2000, verbose_name='notes')),
                ('farm', models.ForeignKey(editable=False, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='farm.farm')),
            ],
            options={
                'verbose_name': 'feed',
                'verbose_name_plural': 'feeds',
                'ordering': ['name', 'pk'],
                'constraints': [models.UniqueConstraint(fields=('farm', 'name'), name='feed_name_once_per_farm', violation_error_message='Another feed already has this name.'), models.CheckConstraint(condition=models.Q(('bag_kg__gte', 0.5), ('bag_kg__lte', 1500)), name='feed_bag_sensible'), models.CheckConstraint(condition=models.Q(('lead_days__lte', 60)), name='feed_lead_sensible'), models.CheckConstraint(condition=models.Q(('keeps_days__isnull', True), models.Q(('keeps_days__gte', 7), ('keeps_days__lte', 365)), _connector='OR'), name='feed_keeping_sensible'), models.CheckConstraint(condition=models.Q(('wait_days__isnull', True), models.Q(('medicated', True), ('wait_days__lte', 365)), _connector='OR'), name='feed_waiting_only_medicated')],
            },
        ),
        migrations.CreateModel(
            name='FeedEntry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('bought', 'bought'), ('opened', 'bag opened'), ('spoiled', 'spoiled'), ('correction', 'counted anew'), ('reversed', 'mistake taken back')], max_length=10, verbose_name='what happened')),
                ('grams', models.BigIntegerField()),
                ('day', models.DateField(verbose_name='day')),
                ('milled_on', models.DateField(blank=True, null=True, verbose_name='milled on')),
                ('price_cents', models.PositiveIntegerField(blank=True, null=True, verbose_name='price')),
                ('note', models.CharField(blank=True, max_length=200, verbose_name='note')),
                ('client_key', models.CharField(blank=True, max_length=64)),
                ('created_at', models.DateTimeField()),
                ('farm', models.ForeignKey(editable=False, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='farm.farm')),
                ('feed', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='entries', to='farm.feed')),
                ('member', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='farm.member')),
                ('reverses', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.RESTRICT, related_name='reversed_by', to='farm.feedentry')),
            ],
            options={
                'verbose_name': 'line of the feed ledger',
                'verbose_name_plural': 'lines of the feed ledger',
                'ordering': ['day', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('grams__gt', 0), ('kind', 'bought')), models.Q(('grams__lt', 0), ('kind__in', ['opened', 'spoiled'])), models.Q(('kind', 'correction'), models.Q(('grams', 0), _negated=True)), models.Q(('kind', 'reversed'), ('reverses__isnull', False), models.Q(('grams', 0), _negated=True)), _connector='OR'), name='feed_entry_sign_fits_kind'), models.CheckConstraint(condition=models.Q(('reverses__isnull', True), ('kind', 'reversed'), _connector='OR'), name='feed_entry_reverses_only_reversal'), models.CheckConstraint(condition=models.Q(('kind', 'bought'), models.Q(('milled_on__isnull', True), ('price_cents__isnull', True)), _connector='OR'), name='feed_entry_price_only_bought'), models.UniqueConstraint(condition=models.Q(('client_key', ''), _negated=True), fields=('farm', 'client_key'), name='feed_entry_client_key_once')],
            },
        ),
        migrations.CreateModel(
            name='Forecast',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('days', models.JSONField(default=dict)),
                ('made_on', models.DateField(null=True)),
                ('fetched_at', models.DateTimeField(null=True)),
                ('tried_at', models.DateTimeField(null=True)),
                ('retry_at', models.DateTimeField(null=True)),
                ('failures', models.PositiveSmallIntegerField(default=0)),
                ('error', models.CharField(blank=True, max_length=300)),
                ('farm', models.ForeignKey(editable=False, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='farm.farm')),
            ],
            options={
                'verbose_name': 'forecast',
                'verbose_name_plural': 'forecasts',
                'constraints': [models.UniqueConstraint(fields=('farm',), name='forecast_once_per_farm')],
            },
        ),
        migrations.CreateModel(
            name='WaitingTime',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('what', models.CharField(max_length=100, verbose_name='what was given')),
                ('given_on', models.DateField(verbose_name='last given on')),
                ('days', models.PositiveSmallIntegerField(validators=[django.core.validators.MaxValueValidator(365)], verbose_name='days to wait')),
                ('product', models.CharField(choices=[('meat', 'meat'), ('eggs', 'eggs')], default='meat', max_length=4, verbose_name='before')),
                ('note', models.CharField(blank=True, max_length=200, verbose_name='note')),
                ('batch', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='waits', to='farm.batch')),
                ('farm', models.ForeignKey(editable=False, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='farm.farm')),
            ],
            options={
                'verbose_name': 'waiting time',
                'verbose_name_plural': 'waiting times',
                'ordering': ['given_on', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('days__lte', 365)), name='waiting_days_sensible'), models.CheckConstraint(condition=models.Q(('product__in', ['meat', 'eggs'])), name='waiting_product_known')],
            },
        ),
        migrations.CreateModel(
            name='Weather',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('low_mean_c', models.JSONField(validators=[farm.models.weather.check_months], verbose_name="mean of the nights' lows")),
                ('low_sd_c', models.JSONField(validators=[farm.models.weather.check_months], verbose_name='their spread')),
                ('high_mean_c', models.JSONField(validators=[farm.models.weather.check_months], verbose_name="mean of the days' highs")),
                ('high_sd_c', models.JSONField(validators=[farm.models.weather.check_months], verbose_name='their spread')),
                ('low_shape', models.JSONField(blank=True, null=True)),
                ('high_shape', models.JSONField(blank=True, null=True)),
                ('learned_years', models.FloatField(default=0)),
                ('learned_on', models.DateField(blank=True, null=True)),
                ('confidence', models.FloatField(default=0.9, validators=[django.core.validators.MinValueValidator(0.5), django.core.validators.MaxValueValidator(0.999)], verbose_name='how sure a night must be')),
                ('use_forecast', models.BooleanField(default=False, verbose_name='ask a weather service for the coming days')),
                ('farm', models.ForeignKey(editable=False, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='farm.farm')),
            ],
            options={
                'verbose_name': 'climate',
                'verbose_name_plural': 'climates',
                'constraints': [models.UniqueConstraint(fields=('farm',), name='weather_once_per_farm'), models.CheckConstraint(condition=models.Q(('confidence__gte', 0.5), ('confidence__lte', 0.999)), name='weather_confidence_sensible')],
            },
        ),
        migrations.AddField(
            model_name='countentry',
            name='override_reason',
            field=models.CharField(blank=True, max_length=200, verbose_name='reason for not waiting'),
        ),
        migrations.AddField(
            model_name='housing',
            name='light',
            field=models.CharField(blank=True, choices=[('', 'no light programme'), ('open', 'windows, and lamps before sunrise'), ('closed', 'no daylight, lamps alone')], default='', max_length=6, verbose_name='light'),
        ),
        migrations.AddField(
            model_name='housing',
            name='supplement_c',
            field=models.FloatField(blank=True, null=True, validators=[django.core.validators.MinValueValidator(0), django.core.validators.MaxValueValidator(40)], verbose_name='warmer than outdoors at night by'),
        ),
        migrations.AddConstraint(
            model_name='housing',
            constraint=models.CheckConstraint(condition=models.Q(('light__in', ['', 'open', 'closed'])), name='housing_light_known'),
        ),
        migrations.AddConstraint(
            model_name='housing',
            constraint=models.CheckConstraint(condition=models.Q(('supplement_c__isnull', True), models.Q(('supplement_c__gte', 0), ('supplement_c__lte', 40)), _connector='OR'), name='housing_supplement_sensible'),
        ),
    ]
