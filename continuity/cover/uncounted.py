"""What the cover cannot count of the shoot days ahead, because something is missing in the set-up."""

from __future__ import annotations

import datetime
from uuid import UUID

from django.db.models import Exists, OuterRef, Q
from django.db.models.functions import Coalesce

from continuity.schedule.models import SceneWorn
from continuity.stock.models import Appliance


def uncounted(production_id: UUID, today: datetime.date) -> list[str]:
    """A sentence for each look that is to be worn by a character whom nobody plays yet, or by a performer for
    whom none of its appliances is made: each once, in the order of the shoot days from ``today`` on.
    """
    fits = Q(performer_id=None) | Q(performer_id=OuterRef("who"))
    pieces = Appliance.objects.filter(fits, looks=OuterRef("look"), withdrawn=False)
    planned = "scene__planned__shoot_day__"
    worn = (
        SceneWorn.objects.filter(
            scene__production_id=production_id,
            scene__withdrawn=False,
            look__appliances__isnull=False,
            **{f"{planned}withdrawn": False, f"{planned}date__gte": today},
        )
        .annotate(who=Coalesce("performer_id", "character__performer_id"))
        .filter(~Exists(pieces) | Q(who=None))
        .order_by(f"{planned}date", f"{planned}id", "scene__planned__position", "id")
        .values_list("who", "character__name", "look__name", "performer__name", "character__performer__name")
    )
    found: dict[str, None] = {}
    for who, character, look, double, performer in worn:
        if who is None:
            found[f"{character}: {look}. Nobody plays the character yet."] = None
        else:
            found[f"{character}: {look} on {double or performer}. No appliance of it is made for them."] = (
                None
            )
    return list(found)
