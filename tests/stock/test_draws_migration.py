"""Applications logged before lots were drawn down count once an amount is written."""

from __future__ import annotations

import importlib

from django.apps import apps

from continuity.stock.models import Draw
from tests.builders import Show, new_id
from tests.stock.test_materials import counted, left


def test_what_was_logged_before_is_drawn_too(show: Show) -> None:
    gum = {new_id(): {"zone": zone, "material": show.adhesive} for zone in ("brow", "edge")}
    kept = show.application(show.copies[0], adhesives=gum, edge_solvent=show.edge_solvent)
    bare = show.application(show.copies[1])
    gone = show.application(show.copies[2], edge_solvent=show.edge_solvent)
    show.set_artist.send_ok(kept, bare, gone)
    show.set_artist.send_ok(show.set_artist.edit(gone, {}, withdrawn="Never worn"))
    as_written = set(Draw.objects.values_list("material_id", "source", "kind", "date", "amount"))
    Draw.objects.all().delete()

    migration = importlib.import_module("continuity.stock.migrations.0004_draws_of_applications")
    migration.draw_for_applications(apps, None)
    assert set(Draw.objects.values_list("material_id", "source", "kind", "date", "amount")) == as_written
    assert {str(source) for _, source, *_ in as_written} == {kept["record"]}
    counted(show, show.adhesive)
    assert left(show, show.adhesive) == 95
