"""The database's own refusals: see kit/guards.py."""

from django.db import migrations

from kit import guards


def _execute(schema_editor):
    # params=None: the SQL holds a literal % that is no placeholder.
    return lambda sql: schema_editor.execute(sql, params=None)


def install(apps, schema_editor):
    guards.install(_execute(schema_editor), schema_editor.connection.vendor, substitutes=False)


def remove(apps, schema_editor):
    guards.remove(_execute(schema_editor), schema_editor.connection.vendor)


class Migration(migrations.Migration):
    dependencies = [("kit", "0001_initial")]

    operations = [migrations.RunPython(install, remove)]
