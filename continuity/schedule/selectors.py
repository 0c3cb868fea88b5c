"""What has been shot and what has not."""

from __future__ import annotations

import datetime
from collections.abc import Collection
from uuid import UUID

from continuity.schedule.models import PlannedScene, Scene


def scenes_not_shot_before(date: datetime.date, scenes: Collection[UUID]) -> dict[UUID, str]:
    """The numbers of those of the scenes that are still to be shot on a date: planned on it or later, or
    planned on no day at all. Nothing is kept for the others, nor for a scene that is taken back.
    """
    if not scenes:
        return {}
    days = PlannedScene.objects.filter(scene_id__in=scenes, shoot_day__withdrawn=False)
    last: dict[UUID, datetime.date] = {}
    for scene, day in days.values_list("scene_id", "shoot_day__date"):
        last[scene] = max(day, last.get(scene, day))
    rows = Scene.objects.filter(id__in=scenes, withdrawn=False).values_list("id", "number")
    return {scene: number for scene, number in rows if last.get(scene, date) >= date}
