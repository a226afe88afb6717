from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor


def the_last_begun_was_the_last_whole_one(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """A backup of before this change is still seen as one when it is put back and migrated."""
    apps.get_model("followup", "Installation").objects.update(last_begun_at=models.F("last_tick_at"))


class Migration(migrations.Migration):
    dependencies = [
        ("followup", "0012_how_messages_stopped"),
    ]

    operations = [
        migrations.AddField(
            model_name="installation",
            name="last_begun_at",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.RunPython(the_last_begun_was_the_last_whole_one, migrations.RunPython.noop),
    ]
