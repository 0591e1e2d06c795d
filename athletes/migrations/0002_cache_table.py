"""The table in which failed log-ins are counted, for all processes together."""

from django.apps.registry import Apps
from django.core.management import call_command
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor


def make_cache_table(_apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    call_command("createcachetable", database=schema_editor.connection.alias, verbosity=0)


class Migration(migrations.Migration):
    dependencies = [("athletes", "0001_initial")]

    operations = [migrations.RunPython(make_cache_table, migrations.RunPython.noop)]
