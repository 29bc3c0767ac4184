"""Planning: mains of the depot's own, sides and assemblies, substitutes, sets, ways between depots, transfers."""

from decimal import Decimal

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from kit import guards


def _execute(schema_editor):
    # params=None: the SQL holds a literal % that is no placeholder.
    return lambda sql: schema_editor.execute(sql, params=None)


def take_off(apps, schema_editor):
    guards.take_off(_execute(schema_editor), schema_editor.connection.vendor)


def put_on(apps, schema_editor):
    guards.put_on(_execute(schema_editor), schema_editor.connection.vendor)


def put_on_as_before(apps, schema_editor):
    guards.put_on(_execute(schema_editor), schema_editor.connection.vendor, substitutes=False)


class Migration(migrations.Migration):
    dependencies = [
        ("kit", "0005_broken_off"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RunPython(take_off, put_on_as_before),
        migrations.CreateModel(
            name="CrewCalendarKey",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("crew", models.CharField(blank=True, max_length=60)),
                ("key_hash", models.CharField(max_length=64, unique=True)),
                ("made_at", models.DateTimeField()),
                ("last_read_at", models.DateTimeField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name="DepotLink",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("lead_days", models.PositiveSmallIntegerField()),
            ],
            options={
                "ordering": ["from_depot__code", "to_depot__code"],
            },
        ),
        migrations.CreateModel(
            name="LineSubstitute",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("rank", models.PositiveSmallIntegerField(default=1)),
                ("note", models.CharField(blank=True, max_length=200)),
            ],
            options={
                "ordering": ["line_id", "rank", "kind__name"],
            },
        ),
        migrations.CreateModel(
            name="PipeSize",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("material", models.CharField(max_length=60)),
                ("size", models.CharField(max_length=40)),
                ("inside_mm", models.DecimalField(blank=True, decimal_places=3, max_digits=8, null=True)),
                ("outside_mm", models.DecimalField(blank=True, decimal_places=3, max_digits=8, null=True)),
                ("wall_mm", models.DecimalField(blank=True, decimal_places=3, max_digits=6, null=True)),
                ("source", models.CharField(max_length=200)),
                ("note", models.CharField(blank=True, max_length=300)),
                ("withdrawn", models.BooleanField(default=False)),
            ],
            options={
                "ordering": ["material", "size"],
            },
        ),
        migrations.CreateModel(
            name="Transfer",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.PositiveIntegerField(unique=True)),
                ("sent_on", models.DateField()),
                ("arrives_on", models.DateField()),
                ("sent_by", models.CharField(max_length=150)),
                ("carrier", models.CharField(blank=True, max_length=120)),
                ("note", models.CharField(blank=True, max_length=500)),
                ("closed", models.BooleanField(default=False)),
            ],
            options={
                "ordering": ["-number"],
            },
        ),
        migrations.CreateModel(
            name="TransferLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("quantity", models.PositiveIntegerField(default=1)),
                (
                    "outcome",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("", "On the way"),
                            ("arrived", "Arrived"),
                            ("missing", "Not in the consignment"),
                        ],
                        default="",
                        max_length=8,
                    ),
                ),
                ("arrived_on", models.DateField(blank=True, null=True)),
                ("arrived_by", models.CharField(blank=True, max_length=150)),
                ("note", models.CharField(blank=True, max_length=300)),
            ],
            options={
                "ordering": ["transfer_id", "item__tag"],
            },
        ),
        migrations.CreateModel(
            name="TrialPlan",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=80)),
                ("changes", models.JSONField(blank=True, default=list)),
                ("made_at", models.DateTimeField()),
                ("changed_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["name"],
            },
        ),
        migrations.AddField(
            model_name="arrangementline",
            name="assembly",
            field=models.CharField(blank=True, max_length=40),
        ),
        migrations.AddField(
            model_name="arrangementline",
            name="side",
            field=models.CharField(
                choices=[("every", "Every position"), ("near", "Near side"), ("far", "Far side")],
                default="every",
                max_length=6,
            ),
        ),
        migrations.AddField(
            model_name="depot",
            name="bench_a_day",
            field=models.PositiveSmallIntegerField(default=0),
        ),
        migrations.AddField(
            model_name="item",
            name="set_name",
            field=models.CharField(blank=True, max_length=60),
        ),
        migrations.AddField(
            model_name="job",
            name="crew",
            field=models.CharField(blank=True, max_length=60),
        ),
        migrations.AddField(
            model_name="job",
            name="far_bore_mm",
            field=models.DecimalField(blank=True, decimal_places=3, max_digits=8, null=True),
        ),
        migrations.AddField(
            model_name="job",
            name="lining_mm",
            field=models.DecimalField(blank=True, decimal_places=3, max_digits=6, null=True),
        ),
        migrations.AddField(
            model_name="job",
            name="ovality_mm",
            field=models.DecimalField(blank=True, decimal_places=3, max_digits=6, null=True),
        ),
        migrations.AddField(
            model_name="job",
            name="priority",
            field=models.PositiveSmallIntegerField(default=1),
        ),
        migrations.AddField(
            model_name="kind",
            name="bore_margin_mm",
            field=models.DecimalField(decimal_places=3, default=Decimal("0"), max_digits=6),
        ),
        migrations.AddField(
            model_name="kind",
            name="sized_by",
            field=models.CharField(
                choices=[("inside", "Inside diameter (bore)"), ("outside", "Outside diameter")],
                default="inside",
                max_length=8,
            ),
        ),
        migrations.AlterField(
            model_name="ledgerentry",
            name="deed",
            field=models.CharField(
                choices=[
                    ("found a register", "Register set up"),
                    ("loaded", "Register loaded"),
                    ("received", "Item received"),
                    ("changed", "Details changed"),
                    ("counted", "Stock counted"),
                    ("planned", "Job planned"),
                    ("moved a job", "Job changed"),
                    ("cancelled", "Job cancelled"),
                    ("arranged", "Arrangement changed"),
                    ("sized", "Table of mains changed"),
                    ("linked", "Way between depots changed"),
                    ("reserved", "Reserved"),
                    ("rearranged", "Reservations rearranged"),
                    ("let go", "Reservation let go"),
                    ("substituted", "Substituted"),
                    ("broke", "Reservation no longer holds"),
                    ("healed", "Reservation holds again"),
                    ("issued", "Issued"),
                    ("issued short", "Issued short"),
                    ("taken back", "Taken back"),
                    ("quarantined", "Quarantined"),
                    ("released", "Released from quarantine"),
                    ("withdrawn", "Withdrawn"),
                    ("lost", "Lost"),
                    ("found again", "Found again"),
                    ("sent", "Sent to another depot"),
                    ("arrived", "Arrived from another depot"),
                    ("not arrived", "Missing from a consignment"),
                    ("bound", "Set made up or taken apart"),
                    ("inspected", "Inspection recorded"),
                    ("broken off", "Test broken off"),
                    ("ruled", "Check regime changed"),
                    ("repaired", "Repaired"),
                    ("re-test", "Re-test asked for"),
                    ("investigated", "Quarantine case"),
                    ("concession", "Concession"),
                    ("reviewed", "Look-back"),
                    ("attached", "File attached"),
                    ("appointed", "Role given"),
                    ("corrected", "Correction"),
                    ("printed", "Paper printed"),
                ],
                max_length=20,
            ),
        ),
        migrations.AddIndex(
            model_name="item",
            index=models.Index(
                condition=models.Q(("set_name", ""), _negated=True), fields=["set_name"], name="item_by_set"
            ),
        ),
        migrations.AddConstraint(
            model_name="arrangementline",
            constraint=models.CheckConstraint(
                condition=models.Q(("side__in", ["every", "near", "far"])), name="line_side_is_known"
            ),
        ),
        migrations.AddConstraint(
            model_name="item",
            constraint=models.CheckConstraint(
                condition=models.Q(("counted", False), ("set_name", ""), _connector="OR"),
                name="no_lot_is_in_a_set",
            ),
        ),
        migrations.AddConstraint(
            model_name="job",
            constraint=models.CheckConstraint(
                condition=models.Q(("far_bore_mm__isnull", True), ("far_bore_mm__gt", 0), _connector="OR"),
                name="job_far_bore_is_positive",
            ),
        ),
        migrations.AddConstraint(
            model_name="job",
            constraint=models.CheckConstraint(
                condition=models.Q(("priority__range", (1, 9))), name="job_priority_1_to_9"
            ),
        ),
        migrations.AddConstraint(
            model_name="kind",
            constraint=models.CheckConstraint(
                condition=models.Q(("sized_by__in", ["inside", "outside"])), name="kind_sized_by_is_known"
            ),
        ),
        migrations.AddConstraint(
            model_name="kind",
            constraint=models.CheckConstraint(
                condition=models.Q(("bore_margin_mm__gte", 0)), name="kind_bore_margin_not_below_0"
            ),
        ),
        migrations.AddField(
            model_name="crewcalendarkey",
            name="depot",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="crew_keys", to="kit.depot"
            ),
        ),
        migrations.AddField(
            model_name="crewcalendarkey",
            name="user",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="crew_keys",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="depotlink",
            name="from_depot",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="links_out", to="kit.depot"
            ),
        ),
        migrations.AddField(
            model_name="depotlink",
            name="to_depot",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="links_in", to="kit.depot"
            ),
        ),
        migrations.AddField(
            model_name="linesubstitute",
            name="kind",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to="kit.kind"
            ),
        ),
        migrations.AddField(
            model_name="linesubstitute",
            name="line",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="substitutes",
                to="kit.arrangementline",
            ),
        ),
        migrations.AddConstraint(
            model_name="pipesize",
            constraint=models.UniqueConstraint(fields=("material", "size"), name="pipe_size_once_a_material"),
        ),
        migrations.AddConstraint(
            model_name="pipesize",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("material", ""), _negated=True),
                    models.Q(("size", ""), _negated=True),
                    models.Q(("source", ""), _negated=True),
                ),
                name="pipe_size_says_what_and_whence",
            ),
        ),
        migrations.AddConstraint(
            model_name="pipesize",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("inside_mm__gt", 0), models.Q(("outside_mm__gt", 0), ("wall_mm__gt", 0)), _connector="OR"
                ),
                name="pipe_size_gives_a_bore",
            ),
        ),
        migrations.AddField(
            model_name="transfer",
            name="from_depot",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="transfers_out", to="kit.depot"
            ),
        ),
        migrations.AddField(
            model_name="transfer",
            name="to_depot",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="transfers_in", to="kit.depot"
            ),
        ),
        migrations.AddField(
            model_name="transferline",
            name="item",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="transfer_lines", to="kit.item"
            ),
        ),
        migrations.AddField(
            model_name="transferline",
            name="transfer",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="lines", to="kit.transfer"
            ),
        ),
        migrations.AddField(
            model_name="trialplan",
            name="depot",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="trial_plans", to="kit.depot"
            ),
        ),
        migrations.AddField(
            model_name="trialplan",
            name="owner",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="trial_plans",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddConstraint(
            model_name="crewcalendarkey",
            constraint=models.UniqueConstraint(
                fields=("user", "depot", "crew"), name="one_crew_key_a_person"
            ),
        ),
        migrations.AddConstraint(
            model_name="depotlink",
            constraint=models.UniqueConstraint(
                fields=("from_depot", "to_depot"), name="one_link_a_direction"
            ),
        ),
        migrations.AddConstraint(
            model_name="depotlink",
            constraint=models.CheckConstraint(
                condition=models.Q(("from_depot", models.F("to_depot")), _negated=True),
                name="link_joins_two_depots",
            ),
        ),
        migrations.AddConstraint(
            model_name="linesubstitute",
            constraint=models.UniqueConstraint(fields=("line", "kind"), name="substitute_named_once_a_line"),
        ),
        migrations.AddConstraint(
            model_name="linesubstitute",
            constraint=models.CheckConstraint(
                condition=models.Q(("rank__gte", 1)), name="substitute_rank_from_1"
            ),
        ),
        migrations.AddIndex(
            model_name="transfer",
            index=models.Index(fields=["to_depot", "closed", "arrives_on"], name="transfer_by_arrival"),
        ),
        migrations.AddConstraint(
            model_name="transfer",
            constraint=models.CheckConstraint(
                condition=models.Q(("from_depot", models.F("to_depot")), _negated=True),
                name="transfer_joins_two_depots",
            ),
        ),
        migrations.AddConstraint(
            model_name="transfer",
            constraint=models.CheckConstraint(
                condition=models.Q(("arrives_on__gte", models.F("sent_on"))),
                name="transfer_arrives_after_sending",
            ),
        ),
        migrations.AddConstraint(
            model_name="transfer",
            constraint=models.CheckConstraint(
                condition=models.Q(("sent_by", ""), _negated=True), name="transfer_is_signed_for"
            ),
        ),
        migrations.AddConstraint(
            model_name="transferline",
            constraint=models.UniqueConstraint(fields=("transfer", "item"), name="item_once_a_transfer"),
        ),
        migrations.AddConstraint(
            model_name="transferline",
            constraint=models.UniqueConstraint(
                condition=models.Q(("outcome", "")), fields=("item",), name="item_on_one_way_at_a_time"
            ),
        ),
        migrations.AddConstraint(
            model_name="transferline",
            constraint=models.CheckConstraint(
                condition=models.Q(("quantity__gte", 1)), name="transfer_of_at_least_one"
            ),
        ),
        migrations.AddConstraint(
            model_name="transferline",
            constraint=models.CheckConstraint(
                condition=models.Q(("outcome__in", ["", "arrived", "missing"])),
                name="transfer_outcome_is_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="transferline",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("outcome", ""),
                    models.Q(("arrived_on__isnull", False), models.Q(("arrived_by", ""), _negated=True)),
                    _connector="OR",
                ),
                name="arrival_is_signed_for",
            ),
        ),
        migrations.AddConstraint(
            model_name="trialplan",
            constraint=models.UniqueConstraint(
                fields=("depot", "name"), name="trial_plan_named_once_a_depot"
            ),
        ),
        migrations.AddConstraint(
            model_name="trialplan",
            constraint=models.CheckConstraint(
                condition=models.Q(("name", ""), _negated=True), name="trial_plan_has_a_name"
            ),
        ),
        migrations.RunPython(put_on, take_off),
    ]
