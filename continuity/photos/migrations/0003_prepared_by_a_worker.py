from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('photos', '0002_initial'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='photofile',
            name='photo_file_state_is_known',
        ),
        migrations.AddField(
            model_name='photofile',
            name='renditions',
            field=models.CharField(default='to_be_made', max_length=10),
        ),
        migrations.AddField(
            model_name='photofile',
            name='full',
            field=models.CharField(default='to_be_made', max_length=10),
        ),
        migrations.AddField(
            model_name='photofile',
            name='attempts',
            field=models.IntegerField(default=0),
        ),
        migrations.AddField(
            model_name='photofile',
            name='claimed_until',
            field=models.DateTimeField(null=True),
        ),
    ]
