"""Who wants reminders by mail, and what went to whom."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inspections", "0004_scope_of_versions"),
        ("kit", "0005_broken_off"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="MailSent",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("address", models.CharField(max_length=254)),
                ("sent_on", models.DateField()),
                ("digest_hash", models.CharField(max_length=64)),
                (
                    "depot",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="kit.depot"
                    ),
                ),
            ],
            options={
                "indexes": [models.Index(fields=["sent_on"], name="mail_sent_by_day")],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("address", "depot", "sent_on", "digest_hash"), name="same_digest_once_a_day"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="MailWish",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("wants", models.BooleanField(default=True)),
                (
                    "depot",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="kit.depot"
                    ),
                ),
                (
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="mail_wishes",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("user", "depot"), name="one_wish_a_person_and_depot")
                ],
            },
        ),
    ]
