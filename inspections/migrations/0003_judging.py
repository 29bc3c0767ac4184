"""Versions of checks, readings and verdicts, corrections, cases, concessions, reviews, attachments, the bench."""

import datetime

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from kit import guards

RECORDS = "inspections_inspection"
APPEND_ONLY = (
    "inspections_checkversion",
    "inspections_retestcall",
    "inspections_casenote",
    "inspections_attachment",
    "inspections_attachmentbytes",
)
KEPT = (
    "inspections_check",
    "inspections_quarantinecase",
    "inspections_casecompanion",
    "inspections_concession",
    "inspections_review",
    "inspections_reviewedrecord",
)


def _with(act, tables):
    def run(apps, schema_editor):
        for table in tables:
            act(lambda sql: schema_editor.execute(sql, params=None), schema_editor.connection.vendor, table)

    return run


def lift(tables):
    """Take the guards of these tables away for a while: SQLite makes a table anew to add a column to it."""
    return migrations.RunPython(_with(guards.unprotect, tables), _with(guards.protect, tables))


def guard(tables):
    return migrations.RunPython(_with(guards.protect, tables), _with(guards.unprotect, tables))


def keep(tables):
    return migrations.RunPython(_with(guards.keep, tables), _with(guards.unprotect, tables))


class Migration(migrations.Migration):
    dependencies = [
        ("inspections", "0002_guards"),
        ("kit", "0002_guards"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        lift([RECORDS]),
        migrations.CreateModel(
            name="Attachment",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=120)),
                ("content_type", models.CharField(max_length=40)),
                ("size", models.PositiveIntegerField()),
                ("sha256", models.CharField(max_length=64)),
                ("note", models.CharField(blank=True, max_length=200)),
                ("added_by", models.CharField(max_length=150)),
                ("added_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["-added_at", "-id"],
            },
        ),
        migrations.CreateModel(
            name="CaseCompanion",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "looked",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("", "Not looked at yet"),
                            ("left", "Looked at and left in use"),
                            ("set aside", "Set aside as well"),
                        ],
                        default="",
                        max_length=10,
                    ),
                ),
                ("text", models.CharField(blank=True, max_length=400)),
                ("by", models.CharField(blank=True, max_length=150)),
                ("at", models.DateTimeField(blank=True, null=True)),
            ],
            options={
                "ordering": ["case_id", "item__tag"],
            },
        ),
        migrations.CreateModel(
            name="CaseNote",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("reason", "Further reason"),
                            ("finding", "Finding"),
                            ("action", "Action"),
                            ("notice", "Notice considered"),
                        ],
                        max_length=8,
                    ),
                ),
                ("about", models.CharField(blank=True, max_length=40)),
                ("text", models.CharField(max_length=1000)),
                ("by", models.CharField(max_length=150)),
                ("at", models.DateTimeField()),
            ],
            options={
                "ordering": ["case_id", "id"],
            },
        ),
        migrations.CreateModel(
            name="CheckVersion",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("interval", models.CharField(max_length=20)),
                (
                    "basis",
                    models.CharField(
                        choices=[("done", "From the day done"), ("anchor", "On a fixed grid")],
                        default="done",
                        max_length=8,
                    ),
                ),
                ("early_days", models.PositiveSmallIntegerField(default=0)),
                ("grace_days", models.PositiveSmallIntegerField(default=0)),
                ("gates", models.BooleanField(default=True)),
                ("after_use", models.BooleanField(default=False)),
                ("after_repair", models.BooleanField(default=False)),
                ("after_quarantine", models.BooleanField(default=False)),
                ("after_uses", models.PositiveSmallIntegerField(default=0)),
                ("after_storage", models.CharField(blank=True, max_length=20)),
                ("source", models.CharField(blank=True, max_length=200)),
                ("procedure", models.CharField(blank=True, max_length=80)),
                ("done_by", models.CharField(blank=True, max_length=20)),
                ("concession_days", models.PositiveSmallIntegerField(default=30)),
                (
                    "method",
                    models.CharField(
                        choices=[
                            ("plain", "Inspection"),
                            ("hold test", "Hold test"),
                            ("calibration", "Calibration"),
                        ],
                        default="plain",
                        max_length=12,
                    ),
                ),
                ("unit", models.CharField(blank=True, max_length=8)),
                ("max_pressure", models.DecimalField(blank=True, decimal_places=6, max_digits=12, null=True)),
                ("max_drop", models.DecimalField(blank=True, decimal_places=6, max_digits=12, null=True)),
                ("hold_minutes", models.DecimalField(blank=True, decimal_places=3, max_digits=8, null=True)),
                ("guard", models.DecimalField(blank=True, decimal_places=6, max_digits=12, null=True)),
                (
                    "decision",
                    models.CharField(
                        choices=[
                            ("guarded", "Guarded: within the guard band is a doubt"),
                            ("simple", "Simple: the limit alone decides"),
                        ],
                        default="guarded",
                        max_length=8,
                    ),
                ),
                (
                    "accuracy_class",
                    models.DecimalField(blank=True, decimal_places=4, max_digits=8, null=True),
                ),
                ("span", models.DecimalField(blank=True, decimal_places=6, max_digits=12, null=True)),
                ("other_limits", models.JSONField(blank=True, default=dict)),
                ("form", models.JSONField(blank=True, default=dict)),
                ("retired", models.BooleanField(default=False)),
                ("number", models.PositiveIntegerField()),
                ("in_force_from", models.DateField(default=datetime.date(1, 1, 1))),
                ("known_on", models.DateField()),
                ("made_by", models.CharField(max_length=150)),
                ("why", models.CharField(blank=True, max_length=400)),
                ("shipped", models.BooleanField(default=False)),
            ],
            options={
                "ordering": ["of_id", "in_force_from", "number"],
            },
        ),
        migrations.CreateModel(
            name="Concession",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("due_on", models.DateField()),
                ("until", models.DateField()),
                ("reason", models.CharField(max_length=500)),
                ("risk", models.CharField(max_length=500)),
                ("conditions", models.CharField(blank=True, max_length=500)),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("asked", "Asked for"),
                            ("granted", "Granted"),
                            ("refused", "Refused"),
                            ("ended", "Ended early"),
                        ],
                        default="asked",
                        max_length=8,
                    ),
                ),
                ("asked_by", models.CharField(max_length=150)),
                ("asked_at", models.DateTimeField()),
                ("decided_by", models.CharField(blank=True, max_length=150)),
                ("decided_on", models.DateField(blank=True, null=True)),
                ("decision_note", models.CharField(blank=True, max_length=500)),
                ("ended_by", models.CharField(blank=True, max_length=150)),
                ("ended_on", models.DateField(blank=True, null=True)),
                ("ended_why", models.CharField(blank=True, max_length=400)),
            ],
            options={
                "ordering": ["-asked_at", "-id"],
            },
        ),
        migrations.CreateModel(
            name="FeedKey",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key_hash", models.CharField(max_length=64, unique=True)),
                ("made_at", models.DateTimeField()),
                ("last_read_at", models.DateTimeField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name="HoldRun",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("start_pressure", models.DecimalField(decimal_places=6, max_digits=12)),
                ("unit", models.CharField(max_length=8)),
                ("start_c", models.DecimalField(blank=True, decimal_places=2, max_digits=6, null=True)),
                ("started_at", models.DateTimeField()),
                ("started_by", models.CharField(max_length=150)),
            ],
            options={
                "ordering": ["started_at", "id"],
            },
        ),
        migrations.CreateModel(
            name="QuarantineCase",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("opened_at", models.DateTimeField()),
                ("opened_by", models.CharField(max_length=150)),
                ("why", models.CharField(max_length=500)),
                ("retest_required", models.BooleanField(default=True)),
                (
                    "decision",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("released", "Released to the store"),
                            ("withdrawn", "Withdrawn for good"),
                            ("lost", "Lost while set aside"),
                        ],
                        max_length=10,
                    ),
                ),
                ("decided_at", models.DateTimeField(blank=True, null=True)),
                ("decided_by", models.CharField(blank=True, max_length=150)),
                ("findings", models.CharField(blank=True, max_length=1000)),
                ("cause", models.CharField(blank=True, max_length=400)),
            ],
            options={
                "ordering": ["opened_at", "id"],
            },
        ),
        migrations.CreateModel(
            name="RetestCall",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "cause",
                    models.CharField(
                        choices=[
                            ("repair", "Repaired"),
                            ("quarantine", "Set aside"),
                            ("ordered", "Re-test asked for"),
                        ],
                        max_length=12,
                    ),
                ),
                ("called_on", models.DateField()),
                ("after_record", models.PositiveBigIntegerField(default=0)),
                ("why", models.CharField(blank=True, max_length=400)),
                ("called_by", models.CharField(max_length=150)),
            ],
            options={
                "ordering": ["item_id", "called_on", "id"],
            },
        ),
        migrations.CreateModel(
            name="Review",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("after", models.DateField(blank=True, null=True)),
                ("until", models.DateField()),
                ("opened_at", models.DateTimeField()),
                ("opened_by", models.CharField(max_length=150)),
                ("closed_at", models.DateTimeField(blank=True, null=True)),
                ("closed_by", models.CharField(blank=True, max_length=150)),
                ("conclusion", models.CharField(blank=True, max_length=1000)),
            ],
            options={
                "ordering": ["-opened_at", "-id"],
            },
        ),
        migrations.CreateModel(
            name="ReviewedRecord",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "rejudged",
                    models.CharField(
                        blank=True,
                        choices=[("pass", "Pass"), ("fail", "Fail"), ("doubt", "Doubt")],
                        max_length=5,
                    ),
                ),
                ("figures", models.JSONField(blank=True, default=dict)),
                ("why", models.CharField(blank=True, max_length=500)),
                (
                    "outcome",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("", "Not decided yet"),
                            ("stands", "The verdict stands"),
                            ("repeat", "To be repeated"),
                            ("set aside", "The item was set aside"),
                        ],
                        default="",
                        max_length=10,
                    ),
                ),
                ("decided_by", models.CharField(blank=True, max_length=150)),
                ("decided_at", models.DateTimeField(blank=True, null=True)),
                ("note", models.CharField(blank=True, max_length=400)),
            ],
            options={
                "ordering": ["review_id", "inspection__done_on", "inspection_id"],
            },
        ),
        migrations.RemoveConstraint(
            model_name="inspection",
            name="verdict_is_known",
        ),
        migrations.AddField(
            model_name="check",
            name="accuracy_class",
            field=models.DecimalField(blank=True, decimal_places=4, max_digits=8, null=True),
        ),
        migrations.AddField(
            model_name="check",
            name="after_quarantine",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="check",
            name="after_repair",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="check",
            name="after_storage",
            field=models.CharField(blank=True, max_length=20),
        ),
        migrations.AddField(
            model_name="check",
            name="after_uses",
            field=models.PositiveSmallIntegerField(default=0),
        ),
        migrations.AddField(
            model_name="check",
            name="batch",
            field=models.CharField(blank=True, max_length=80),
        ),
        migrations.AddField(
            model_name="check",
            name="concession_days",
            field=models.PositiveSmallIntegerField(default=30),
        ),
        migrations.AddField(
            model_name="check",
            name="decision",
            field=models.CharField(
                choices=[
                    ("guarded", "Guarded: within the guard band is a doubt"),
                    ("simple", "Simple: the limit alone decides"),
                ],
                default="guarded",
                max_length=8,
            ),
        ),
        migrations.AddField(
            model_name="check",
            name="done_by",
            field=models.CharField(blank=True, max_length=20),
        ),
        migrations.AddField(
            model_name="check",
            name="form",
            field=models.JSONField(blank=True, default=dict),
        ),
        migrations.AddField(
            model_name="check",
            name="grace_days",
            field=models.PositiveSmallIntegerField(default=0),
        ),
        migrations.AddField(
            model_name="check",
            name="guard",
            field=models.DecimalField(blank=True, decimal_places=6, max_digits=12, null=True),
        ),
        migrations.AddField(
            model_name="check",
            name="hold_minutes",
            field=models.DecimalField(blank=True, decimal_places=3, max_digits=8, null=True),
        ),
        migrations.AddField(
            model_name="check",
            name="in_force_from",
            field=models.DateField(default=datetime.date(1, 1, 1)),
        ),
        migrations.AddField(
            model_name="check",
            name="maker",
            field=models.CharField(blank=True, max_length=80),
        ),
        migrations.AddField(
            model_name="check",
            name="mark",
            field=models.CharField(blank=True, max_length=40),
        ),
        migrations.AddField(
            model_name="check",
            name="max_drop",
            field=models.DecimalField(blank=True, decimal_places=6, max_digits=12, null=True),
        ),
        migrations.AddField(
            model_name="check",
            name="max_pressure",
            field=models.DecimalField(blank=True, decimal_places=6, max_digits=12, null=True),
        ),
        migrations.AddField(
            model_name="check",
            name="method",
            field=models.CharField(
                choices=[("plain", "Inspection"), ("hold test", "Hold test"), ("calibration", "Calibration")],
                default="plain",
                max_length=12,
            ),
        ),
        migrations.AddField(
            model_name="check",
            name="other_limits",
            field=models.JSONField(blank=True, default=dict),
        ),
        migrations.AddField(
            model_name="check",
            name="procedure",
            field=models.CharField(blank=True, max_length=80),
        ),
        migrations.AddField(
            model_name="check",
            name="span",
            field=models.DecimalField(blank=True, decimal_places=6, max_digits=12, null=True),
        ),
        migrations.AddField(
            model_name="check",
            name="unit",
            field=models.CharField(blank=True, max_length=8),
        ),
        migrations.AddField(
            model_name="check",
            name="version",
            field=models.PositiveIntegerField(default=1),
        ),
        migrations.AddField(
            model_name="due",
            name="conceded_from",
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="due",
            name="grace_until",
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="inspection",
            name="as_left",
            field=models.CharField(
                blank=True, choices=[("pass", "Pass"), ("fail", "Fail"), ("doubt", "Doubt")], max_length=5
            ),
        ),
        migrations.AddField(
            model_name="inspection",
            name="corrects",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="corrections",
                to="inspections.inspection",
            ),
        ),
        migrations.AddField(
            model_name="inspection",
            name="done_at",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="inspection",
            name="figures",
            field=models.JSONField(blank=True, default=dict),
        ),
        migrations.AddField(
            model_name="inspection",
            name="gauge",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="tests_with_it",
                to="kit.item",
            ),
        ),
        migrations.AddField(
            model_name="inspection",
            name="readings",
            field=models.JSONField(blank=True, default=dict),
        ),
        migrations.AddField(
            model_name="inspection",
            name="struck",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="inspection",
            name="why",
            field=models.CharField(blank=True, max_length=500),
        ),
        migrations.AlterField(
            model_name="inspection",
            name="verdict",
            field=models.CharField(
                blank=True, choices=[("pass", "Pass"), ("fail", "Fail"), ("doubt", "Doubt")], max_length=5
            ),
        ),
        migrations.AddConstraint(
            model_name="check",
            constraint=models.CheckConstraint(
                condition=models.Q(("method__in", ["plain", "hold test", "calibration"])),
                name="check_method_is_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="check",
            constraint=models.CheckConstraint(
                condition=models.Q(("decision__in", ["guarded", "simple"])), name="check_decision_is_known"
            ),
        ),
        migrations.AddConstraint(
            model_name="check",
            constraint=models.CheckConstraint(
                condition=models.Q(("gates", False), ("grace_days", 0), _connector="OR"),
                name="check_grace_never_gates",
            ),
        ),
        migrations.CreateModel(
            name="AttachmentBytes",
            fields=[
                (
                    "attachment",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        primary_key=True,
                        related_name="bytes",
                        serialize=False,
                        to="inspections.attachment",
                    ),
                ),
                ("content", models.BinaryField()),
            ],
        ),
        migrations.AddField(
            model_name="attachment",
            name="inspection",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="attachments",
                to="inspections.inspection",
            ),
        ),
        migrations.AddField(
            model_name="attachment",
            name="item",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="attachments", to="kit.item"
            ),
        ),
        migrations.AddField(
            model_name="casecompanion",
            name="item",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="companion_in", to="kit.item"
            ),
        ),
        migrations.AddField(
            model_name="casecompanion",
            name="job",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="kit.job",
            ),
        ),
        migrations.AddField(
            model_name="checkversion",
            name="of",
            field=models.ForeignKey(
                db_column="check_id",
                on_delete=django.db.models.deletion.PROTECT,
                related_name="versions",
                to="inspections.check",
            ),
        ),
        migrations.AddField(
            model_name="inspection",
            name="version",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="inspections",
                to="inspections.checkversion",
            ),
        ),
        migrations.AddIndex(
            model_name="inspection",
            index=models.Index(fields=["gauge", "done_on"], name="inspection_by_gauge"),
        ),
        migrations.AddConstraint(
            model_name="inspection",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("struck", False), ("verdict__in", ["pass", "fail", "doubt"])),
                    models.Q(("corrects__isnull", False), ("struck", True), ("verdict", "")),
                    _connector="OR",
                ),
                name="verdict_is_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="inspection",
            constraint=models.CheckConstraint(
                condition=models.Q(("as_left__in", ["", "pass", "fail", "doubt"])), name="as_left_is_known"
            ),
        ),
        migrations.AddConstraint(
            model_name="inspection",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("gauge__isnull", True),
                    models.Q(("gauge", models.F("item")), _negated=True),
                    _connector="OR",
                ),
                name="a_gauge_does_not_test_itself",
            ),
        ),
        migrations.AddConstraint(
            model_name="inspection",
            constraint=models.UniqueConstraint(fields=("corrects",), name="corrected_once"),
        ),
        migrations.AddField(
            model_name="concession",
            name="check_due",
            field=models.ForeignKey(
                db_column="check_id",
                on_delete=django.db.models.deletion.PROTECT,
                related_name="concessions",
                to="inspections.check",
            ),
        ),
        migrations.AddField(
            model_name="concession",
            name="item",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="concessions", to="kit.item"
            ),
        ),
        migrations.AddField(
            model_name="feedkey",
            name="depot",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="+", to="kit.depot"
            ),
        ),
        migrations.AddField(
            model_name="feedkey",
            name="user",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="feed_keys",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="holdrun",
            name="check_run",
            field=models.ForeignKey(
                db_column="check_id",
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="inspections.check",
            ),
        ),
        migrations.AddField(
            model_name="holdrun",
            name="depot",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to="kit.depot"
            ),
        ),
        migrations.AddField(
            model_name="holdrun",
            name="gauge",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to="kit.item"
            ),
        ),
        migrations.AddField(
            model_name="holdrun",
            name="item",
            field=models.OneToOneField(
                on_delete=django.db.models.deletion.PROTECT, related_name="hold_run", to="kit.item"
            ),
        ),
        migrations.AddField(
            model_name="quarantinecase",
            name="item",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="cases", to="kit.item"
            ),
        ),
        migrations.AddField(
            model_name="quarantinecase",
            name="job",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="cases",
                to="kit.job",
            ),
        ),
        migrations.AddField(
            model_name="casenote",
            name="case",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="notes",
                to="inspections.quarantinecase",
            ),
        ),
        migrations.AddField(
            model_name="casecompanion",
            name="case",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="companions",
                to="inspections.quarantinecase",
            ),
        ),
        migrations.AddField(
            model_name="attachment",
            name="case",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="attachments",
                to="inspections.quarantinecase",
            ),
        ),
        migrations.AddField(
            model_name="retestcall",
            name="check_called",
            field=models.ForeignKey(
                blank=True,
                db_column="check_id",
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="inspections.check",
            ),
        ),
        migrations.AddField(
            model_name="retestcall",
            name="item",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="retest_calls", to="kit.item"
            ),
        ),
        migrations.AddField(
            model_name="review",
            name="calibration",
            field=models.OneToOneField(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="review",
                to="inspections.inspection",
            ),
        ),
        migrations.AddField(
            model_name="review",
            name="gauge",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="reviews", to="kit.item"
            ),
        ),
        migrations.AddField(
            model_name="reviewedrecord",
            name="inspection",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="reviewed_in",
                to="inspections.inspection",
            ),
        ),
        migrations.AddField(
            model_name="reviewedrecord",
            name="review",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="records", to="inspections.review"
            ),
        ),
        migrations.AddConstraint(
            model_name="checkversion",
            constraint=models.UniqueConstraint(fields=("of", "number"), name="version_numbered_once_a_check"),
        ),
        migrations.AddConstraint(
            model_name="checkversion",
            constraint=models.CheckConstraint(
                condition=models.Q(("interval", ""), _negated=True), name="version_has_an_interval"
            ),
        ),
        migrations.AddConstraint(
            model_name="checkversion",
            constraint=models.CheckConstraint(
                condition=models.Q(("basis__in", ["done", "anchor"])), name="version_basis_is_known"
            ),
        ),
        migrations.AddConstraint(
            model_name="checkversion",
            constraint=models.CheckConstraint(
                condition=models.Q(("method__in", ["plain", "hold test", "calibration"])),
                name="version_method_is_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="checkversion",
            constraint=models.CheckConstraint(
                condition=models.Q(("decision__in", ["guarded", "simple"])), name="version_decision_is_known"
            ),
        ),
        migrations.AddConstraint(
            model_name="checkversion",
            constraint=models.CheckConstraint(
                condition=models.Q(("gates", False), ("grace_days", 0), _connector="OR"),
                name="version_grace_never_gates",
            ),
        ),
        migrations.AddIndex(
            model_name="concession",
            index=models.Index(fields=["item", "check_due"], name="concession_by_item"),
        ),
        migrations.AddConstraint(
            model_name="concession",
            constraint=models.CheckConstraint(
                condition=models.Q(("state__in", ["asked", "granted", "refused", "ended"])),
                name="concession_state_is_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="concession",
            constraint=models.CheckConstraint(
                condition=models.Q(("until__gt", models.F("due_on"))), name="concession_extends"
            ),
        ),
        migrations.AddConstraint(
            model_name="concession",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("reason", ""), _negated=True), models.Q(("risk", ""), _negated=True)
                ),
                name="concession_says_why_and_at_what_risk",
            ),
        ),
        migrations.AddConstraint(
            model_name="concession",
            constraint=models.CheckConstraint(
                condition=models.Q(("decided_by", models.F("asked_by")), _negated=True),
                name="nobody_grants_their_own_concession",
            ),
        ),
        migrations.AddConstraint(
            model_name="concession",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("decided_by", ""), ("decided_on__isnull", True), ("state", "asked")),
                    models.Q(
                        models.Q(("state", "asked"), _negated=True),
                        models.Q(("decided_by", ""), _negated=True),
                        ("decided_on__isnull", False),
                    ),
                    _connector="OR",
                ),
                name="decided_concession_says_who_and_when",
            ),
        ),
        migrations.AddConstraint(
            model_name="concession",
            constraint=models.UniqueConstraint(
                condition=models.Q(("state", "asked")),
                fields=("item", "check_due", "due_on"),
                name="one_open_request_a_due_date",
            ),
        ),
        migrations.AddConstraint(
            model_name="feedkey",
            constraint=models.UniqueConstraint(fields=("user", "depot"), name="one_feed_a_person_and_depot"),
        ),
        migrations.AddIndex(
            model_name="quarantinecase",
            index=models.Index(fields=["decision", "opened_at"], name="case_by_age"),
        ),
        migrations.AddConstraint(
            model_name="quarantinecase",
            constraint=models.UniqueConstraint(
                condition=models.Q(("decision", "")), fields=("item",), name="one_open_case_an_item"
            ),
        ),
        migrations.AddConstraint(
            model_name="quarantinecase",
            constraint=models.CheckConstraint(
                condition=models.Q(("decision__in", ["", "released", "withdrawn", "lost"])),
                name="case_decision_is_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="quarantinecase",
            constraint=models.CheckConstraint(
                condition=models.Q(("why", ""), _negated=True), name="case_has_a_reason"
            ),
        ),
        migrations.AddConstraint(
            model_name="quarantinecase",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("decided_at__isnull", True), ("decided_by", ""), ("decision", "")),
                    models.Q(
                        models.Q(("decision", ""), _negated=True),
                        ("decided_at__isnull", False),
                        models.Q(("decided_by", ""), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="decided_case_says_who_and_when",
            ),
        ),
        migrations.AddConstraint(
            model_name="casenote",
            constraint=models.CheckConstraint(
                condition=models.Q(("kind__in", ["reason", "finding", "action", "notice"])),
                name="case_note_kind_is_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="casenote",
            constraint=models.CheckConstraint(
                condition=models.Q(("text", ""), _negated=True), name="case_note_says_something"
            ),
        ),
        migrations.AddConstraint(
            model_name="casecompanion",
            constraint=models.UniqueConstraint(fields=("case", "item"), name="companion_once_a_case"),
        ),
        migrations.AddConstraint(
            model_name="casecompanion",
            constraint=models.CheckConstraint(
                condition=models.Q(("looked__in", ["", "left", "set aside"])), name="companion_look_is_known"
            ),
        ),
        migrations.AddConstraint(
            model_name="attachment",
            constraint=models.CheckConstraint(
                condition=models.Q(("size__lte", 8000000)), name="attachment_is_not_too_large"
            ),
        ),
        migrations.AddConstraint(
            model_name="attachment",
            constraint=models.CheckConstraint(
                condition=models.Q(("sha256", ""), _negated=True), name="attachment_has_a_hash"
            ),
        ),
        migrations.AddIndex(
            model_name="retestcall",
            index=models.Index(fields=["item", "called_on"], name="retest_call_by_item"),
        ),
        migrations.AddConstraint(
            model_name="retestcall",
            constraint=models.CheckConstraint(
                condition=models.Q(("cause__in", ["repair", "quarantine", "ordered"])),
                name="retest_cause_is_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="retestcall",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("cause", "ordered"), _negated=True),
                    ("check_called__isnull", False),
                    _connector="OR",
                ),
                name="ordered_names_its_check",
            ),
        ),
        migrations.AddConstraint(
            model_name="review",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("closed_at__isnull", True), ("closed_by", "")),
                    models.Q(
                        ("closed_at__isnull", False),
                        models.Q(("closed_by", ""), _negated=True),
                        models.Q(("conclusion", ""), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="closed_review_says_who_and_what",
            ),
        ),
        migrations.AddConstraint(
            model_name="reviewedrecord",
            constraint=models.UniqueConstraint(fields=("review", "inspection"), name="record_once_a_review"),
        ),
        migrations.AddConstraint(
            model_name="reviewedrecord",
            constraint=models.CheckConstraint(
                condition=models.Q(("rejudged__in", ["", "pass", "fail", "doubt"])), name="rejudged_is_known"
            ),
        ),
        migrations.AddConstraint(
            model_name="reviewedrecord",
            constraint=models.CheckConstraint(
                condition=models.Q(("outcome__in", ["", "stands", "repeat", "set aside"])),
                name="review_outcome_is_known",
            ),
        ),
        guard([RECORDS]),
        guard(APPEND_ONLY),
        keep(KEPT),
    ]
