"""The laboratory's own figures as revisions, and a fingerprint beside every signed verdict."""

import hashlib
import json
from typing import Any, ClassVar

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from labsite.ledger.append_only import append_only, open_to_change


def fingerprint_verdicts(apps: Any, editor: Any) -> None:
    """Give every stored verdict the SHA-256 of its canonical bytes."""
    verdicts = apps.get_model("trials", "SignedVerdict")
    for row in verdicts.objects.only("verdict").iterator(chunk_size=500):
        text = json.dumps(row.verdict, sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
        verdicts.objects.filter(pk=row.pk).update(verdict_sha256=hashlib.sha256(text.encode()).hexdigest())


class Migration(migrations.Migration):
    """Sheets are guarded like everything signed; the guard of the verdicts is lifted while the column comes in."""

    dependencies: ClassVar = [
        ("trials", "0003_levels_open_or_agreed"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]
    operations: ClassVar = [
        open_to_change("trials_signedverdict"),
        migrations.AddField(
            model_name="signedverdict",
            name="verdict_sha256",
            field=models.CharField(default="", max_length=64),
            preserve_default=False,
        ),
        migrations.RunPython(fingerprint_verdicts, migrations.RunPython.noop),
        append_only("trials_signedverdict"),
        migrations.CreateModel(
            name="ParameterSheet",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("method_key", models.CharField(max_length=80)),
                ("revision", models.PositiveIntegerField()),
                ("changes", models.JSONField()),
                ("reason", models.CharField(max_length=300)),
                ("parameters_sha256", models.CharField(max_length=64)),
                ("made_at", models.DateTimeField()),
                (
                    "made_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("method_key", "revision"), name="sheet_revision_once"),
                    models.CheckConstraint(condition=models.Q(("revision__gte", 1)), name="sheet_revision_from_one"),
                ],
            },
        ),
        append_only("trials_parametersheet"),
    ]
