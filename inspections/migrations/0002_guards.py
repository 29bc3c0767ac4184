"""Inspection records and calls after use are never edited or deleted: the database sees to it."""

from django.db import migrations

from kit import guards

TABLES = ("inspections_inspection", "inspections_usecall")


def install(apps, schema_editor):
    for table in TABLES:
        guards.protect(
            lambda sql: schema_editor.execute(sql, params=None), schema_editor.connection.vendor, table
        )


def remove(apps, schema_editor):
    for table in TABLES:
        guards.unprotect(
            lambda sql: schema_editor.execute(sql, params=None), schema_editor.connection.vendor, table
        )


class Migration(migrations.Migration):
    dependencies = [("inspections", "0001_initial"), ("kit", "0002_guards")]

    operations = [migrations.RunPython(install, remove)]
