import django.db.models.deletion
import simple_history.models
from django.conf import settings
from django.db import migrations, models


def lens_of_magnified(apps, schema_editor):
    """A skin that was magnified was so with a loupe, as far as anybody wrote down."""
    for name in ("SexEvidence", "HistoricalSexEvidence"):
        apps.get_model("collection", name).objects.filter(magnified=True).update(lens="loupe")


def magnified_of_lens(apps, schema_editor):
    for name in ("SexEvidence", "HistoricalSexEvidence"):
        apps.get_model("collection", name).objects.exclude(lens="").update(magnified=True)


class Migration(migrations.Migration):

    dependencies = [
        ('collection', '0004_forecast'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='HistoricalSexLikelihood',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('row', models.CharField(db_index=True, max_length=40)),
                ('female_if_female', models.FloatField()),
                ('female_if_male', models.FloatField()),
                ('male_if_male', models.FloatField()),
                ('male_if_female', models.FloatField()),
                ('unclear_if_female', models.FloatField()),
                ('unclear_if_male', models.FloatField()),
                ('why', models.CharField(max_length=160, verbose_name='why, and where it comes from')),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
            ],
            options={
                'verbose_name': 'historical sex likelihood',
                'verbose_name_plural': 'historical sex likelihoods',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='SexLikelihood',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('row', models.CharField(max_length=40, unique=True)),
                ('female_if_female', models.FloatField()),
                ('female_if_male', models.FloatField()),
                ('male_if_male', models.FloatField()),
                ('male_if_female', models.FloatField()),
                ('unclear_if_female', models.FloatField()),
                ('unclear_if_male', models.FloatField()),
                ('why', models.CharField(max_length=160, verbose_name='why, and where it comes from')),
            ],
            options={
                'ordering': ['row'],
            },
        ),
        migrations.RemoveConstraint(
            model_name='sexevidence',
            name='sexevidence_size_above_0',
        ),
        migrations.AddField(
            model_name='historicalsexevidence',
            name='carapace_mm',
            field=models.FloatField(blank=True, null=True, verbose_name='or carapace then, mm'),
        ),
        migrations.AddField(
            model_name='historicalsexevidence',
            name='counted',
            field=models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='teeth or segments counted'),
        ),
        migrations.AddField(
            model_name='historicalsexevidence',
            name='instar_then',
            field=models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='instar then'),
        ),
        migrations.AddField(
            model_name='historicalsexevidence',
            name='lens',
            field=models.CharField(blank=True, choices=[('loupe', 'loupe, 10× or more'), ('microscope', 'microscope'), ('picture', 'sharp picture, enlarged')], max_length=12, verbose_name='looked with'),
        ),
        migrations.AddField(
            model_name='historicalsexevidence',
            name='mends',
            field=models.ForeignKey(blank=True, db_constraint=False, editable=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='collection.sexevidence'),
        ),
        migrations.AddField(
            model_name='historicaltaxon',
            name='dimorphism',
            field=models.CharField(blank=True, max_length=160, verbose_name='how colour or shape tells the sexes apart'),
        ),
        migrations.AddField(
            model_name='historicaltaxon',
            name='no_epigyne',
            field=models.BooleanField(default=False, verbose_name='females have no epigyne'),
        ),
        migrations.AddField(
            model_name='historicaltaxon',
            name='pectines_female_max',
            field=models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='pectine teeth of a female to'),
        ),
        migrations.AddField(
            model_name='historicaltaxon',
            name='pectines_female_min',
            field=models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='pectine teeth of a female from'),
        ),
        migrations.AddField(
            model_name='historicaltaxon',
            name='pectines_male_max',
            field=models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='pectine teeth of a male to'),
        ),
        migrations.AddField(
            model_name='historicaltaxon',
            name='pectines_male_min',
            field=models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='pectine teeth of a male from'),
        ),
        migrations.AddField(
            model_name='sexevidence',
            name='carapace_mm',
            field=models.FloatField(blank=True, null=True, verbose_name='or carapace then, mm'),
        ),
        migrations.AddField(
            model_name='sexevidence',
            name='counted',
            field=models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='teeth or segments counted'),
        ),
        migrations.AddField(
            model_name='sexevidence',
            name='instar_then',
            field=models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='instar then'),
        ),
        migrations.AddField(
            model_name='sexevidence',
            name='lens',
            field=models.CharField(blank=True, choices=[('loupe', 'loupe, 10× or more'), ('microscope', 'microscope'), ('picture', 'sharp picture, enlarged')], max_length=12, verbose_name='looked with'),
        ),
        migrations.AddField(
            model_name='sexevidence',
            name='mends',
            field=models.OneToOneField(blank=True, editable=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='mended_by', to='collection.sexevidence'),
        ),
        migrations.AddField(
            model_name='taxon',
            name='dimorphism',
            field=models.CharField(blank=True, max_length=160, verbose_name='how colour or shape tells the sexes apart'),
        ),
        migrations.AddField(
            model_name='taxon',
            name='no_epigyne',
            field=models.BooleanField(default=False, verbose_name='females have no epigyne'),
        ),
        migrations.AddField(
            model_name='taxon',
            name='pectines_female_max',
            field=models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='pectine teeth of a female to'),
        ),
        migrations.AddField(
            model_name='taxon',
            name='pectines_female_min',
            field=models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='pectine teeth of a female from'),
        ),
        migrations.AddField(
            model_name='taxon',
            name='pectines_male_max',
            field=models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='pectine teeth of a male to'),
        ),
        migrations.AddField(
            model_name='taxon',
            name='pectines_male_min',
            field=models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='pectine teeth of a male from'),
        ),
        migrations.AlterField(
            model_name='historicalsexevidence',
            name='method',
            field=models.CharField(choices=[('exuvia', 'exuvia'), ('ventral', 'from below (epigastric furrow)'), ('mature_male', 'bulbs or hooks'), ('palps', 'swollen palps'), ('sac', 'laid or gave birth'), ('pectines', 'pectines'), ('papillae', 'genital papillae'), ('atrium', 'bars inside the genital atrium'), ('segments', 'segments counted from below'), ('epigyne', 'epigyne'), ('gonopods', 'gonopods'), ('dimorphism', 'colour or shape'), ('seller', "seller's word"), ('record', 'earlier record')], max_length=20, verbose_name='looked at'),
        ),
        migrations.AlterField(
            model_name='sexevidence',
            name='method',
            field=models.CharField(choices=[('exuvia', 'exuvia'), ('ventral', 'from below (epigastric furrow)'), ('mature_male', 'bulbs or hooks'), ('palps', 'swollen palps'), ('sac', 'laid or gave birth'), ('pectines', 'pectines'), ('papillae', 'genital papillae'), ('atrium', 'bars inside the genital atrium'), ('segments', 'segments counted from below'), ('epigyne', 'epigyne'), ('gonopods', 'gonopods'), ('dimorphism', 'colour or shape'), ('seller', "seller's word"), ('record', 'earlier record')], max_length=20, verbose_name='looked at'),
        ),
        migrations.AddConstraint(
            model_name='sexevidence',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('size_mm__isnull', True), ('size_mm__gt', 0), _connector='OR'), models.Q(('carapace_mm__isnull', True), ('carapace_mm__gt', 0), _connector='OR'), models.Q(('counted__isnull', True), ('counted__gt', 0), _connector='OR'), models.Q(('instar_then__isnull', True), ('instar_then__gt', 0), _connector='OR')), name='sexevidence_size_above_0'),
        ),
        migrations.AddField(
            model_name='historicalsexlikelihood',
            name='history_user',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddConstraint(
            model_name='sexlikelihood',
            constraint=models.CheckConstraint(condition=models.Q(('female_if_female__gt', 0), ('female_if_male__gt', 0), ('male_if_female__gt', 0), ('male_if_male__gt', 0), ('unclear_if_female__gt', 0), ('unclear_if_male__gt', 0), ('female_if_female__lt', 1), ('female_if_male__lt', 1), ('male_if_female__lt', 1), ('male_if_male__lt', 1), ('unclear_if_female__lt', 1), ('unclear_if_male__lt', 1)), name='sexlikelihood_never_certain'),
        ),
        migrations.RunPython(lens_of_magnified, magnified_of_lens),
        migrations.RemoveField(
            model_name='historicalsexevidence',
            name='magnified',
        ),
        migrations.RemoveField(
            model_name='sexevidence',
            name='magnified',
        ),
    ]
