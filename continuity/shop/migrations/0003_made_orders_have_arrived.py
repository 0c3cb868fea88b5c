"""Orders that were made before they were followed to set: they are over, so they count as arrived."""

from __future__ import annotations

from typing import Any

from django.db import migrations


def made_have_arrived(apps: Any, schema_editor: Any) -> None:
    Production = apps.get_model("schedule", "Production")
    Record = apps.get_model("sync", "Record")
    Order = apps.get_model("shop", "Order")
    for record in Record.objects.filter(kind="order", document__state="made").order_by("seq"):
        production = Production.objects.select_for_update().get(id=record.production_id)
        # A new place in the feed, so that every phone is told.
        production.last_seq += 1
        production.save(update_fields=["last_seq"])
        record.document = {**record.document, "state": "arrived"}
        record.seq = production.last_seq
        record.save(update_fields=["document", "seq"])
    Order.objects.filter(state="made").update(state="arrived")


class Migration(migrations.Migration):
    dependencies = [
        ("schedule", "0003_cover_settings"),
        ("shop", "0002_orders_and_parcels"),
        ("sync", "0001_initial"),
    ]

    operations = [migrations.RunPython(made_have_arrived, migrations.RunPython.noop)]
