"""Consignments: how many of a lot arrived, what came back, ways that are withdrawn; two signatures by two people."""

import django.db.models.manager
from django.db import migrations, models

from kit import guards_of_transfers


def _execute(schema_editor):
    # params=None: the SQL holds a literal % that is no placeholder.
    return lambda sql: schema_editor.execute(sql, params=None)


def put_on(apps, schema_editor):
    guards_of_transfers.put_on(_execute(schema_editor), schema_editor.connection.vendor)


def take_off(apps, schema_editor):
    guards_of_transfers.take_off(_execute(schema_editor), schema_editor.connection.vendor)


class Migration(migrations.Migration):
    dependencies = [
        ("kit", "0006_planning"),
    ]

    operations = [
        migrations.AlterModelManagers(
            name="depotlink",
            managers=[
                ("ever", django.db.models.manager.Manager()),
            ],
        ),
        migrations.RemoveConstraint(
            model_name="transferline",
            name="transfer_outcome_is_known",
        ),
        migrations.AddField(
            model_name="depotlink",
            name="withdrawn",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="transferline",
            name="arrived_quantity",
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
        migrations.AlterField(
            model_name="transferline",
            name="outcome",
            field=models.CharField(
                blank=True,
                choices=[
                    ("", "On the way"),
                    ("arrived", "Arrived"),
                    ("missing", "Not in the consignment"),
                    ("back", "Back at the sending depot"),
                ],
                default="",
                max_length=8,
            ),
        ),
        migrations.AddConstraint(
            model_name="transferline",
            constraint=models.CheckConstraint(
                condition=models.Q(("outcome__in", ["", "arrived", "missing", "back"])),
                name="transfer_outcome_is_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="transferline",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("arrived_quantity__isnull", True),
                    ("arrived_quantity__lte", models.F("quantity")),
                    _connector="OR",
                ),
                name="no_more_arrives_than_was_sent",
            ),
        ),
        migrations.RunPython(put_on, take_off),
    ]
