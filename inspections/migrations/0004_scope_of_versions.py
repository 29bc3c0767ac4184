"""Of which mark, maker or batch a check is asked is part of each version: a change of it holds from its day on."""

from django.db import migrations, models

from kit import guards

VERSIONS = "inspections_checkversion"


def _with(act):
    def run(apps, schema_editor):
        act(lambda sql: schema_editor.execute(sql, params=None), schema_editor.connection.vendor, VERSIONS)

    return run


class Migration(migrations.Migration):
    dependencies = [("inspections", "0003_judging")]

    operations = [
        # SQLite makes a table anew to add a column to it.
        migrations.RunPython(_with(guards.unprotect), _with(guards.protect)),
        migrations.AddField("checkversion", "mark", models.CharField(blank=True, max_length=40)),
        migrations.AddField("checkversion", "maker", models.CharField(blank=True, max_length=80)),
        migrations.AddField("checkversion", "batch", models.CharField(blank=True, max_length=80)),
        migrations.RunPython(_with(guards.protect), _with(guards.unprotect)),
    ]
