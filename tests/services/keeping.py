"""A backup of the whole database, and how it is put back: with every table as it was, on either database."""

from __future__ import annotations

from django.apps import apps
from django.core import serializers
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import connection, transaction

OURS = ("clinic", "followup")


def backup() -> str:
    """Every row of ours."""
    rows = [row for model in _models() for row in model._base_manager.order_by("pk")]  # noqa: SLF001 - Django's own
    return str(serializers.serialize("json", rows))


def put_back(kept: str) -> None:
    """What has come since is gone."""
    call_command("flush", interactive=False, verbosity=0)
    with transaction.atomic(), connection.constraint_checks_disabled():
        for row in serializers.deserialize("json", kept):
            row.save()
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), list(_models())):
            cursor.execute(statement)


def _models():
    return [model for app in OURS for model in apps.get_app_config(app).get_models(include_auto_created=True)]
