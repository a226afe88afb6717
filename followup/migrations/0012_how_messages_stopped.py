from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('followup', '0011_urgent_and_second_carers'),
    ]

    operations = [
        migrations.AddField(
            model_name='recipient',
            name='stopped_how',
            field=models.CharField(blank=True, choices=[('link', 'on their page'), ('one_click', "by their mail program's button"), ('phone', 'told to staff'), ('enrolment', 'at enrolment')], default='', max_length=10),
        ),
    ]
