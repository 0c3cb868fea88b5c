"""Appliances, moulds, cast runs, copies and materials, as tables."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from continuity.stock.documents import CopyState
from continuity.sync.base import ProductionRecord


class Appliance(ProductionRecord):
    name = models.CharField(max_length=200)
    performer = models.ForeignKey("people.Performer", null=True, on_delete=models.PROTECT)
    grade = models.CharField(max_length=10)
    encapsulator = models.CharField(max_length=20)
    edge_solvent = models.CharField(max_length=20)
    copies_per_application = models.IntegerField()
    wear_limit_minutes = models.IntegerField(null=True)
    shelf_life_days = models.IntegerField(null=True)

    def __str__(self) -> str:
        return self.name


class Mould(ProductionRecord):
    name = models.CharField(max_length=200)
    appliances = models.ManyToManyField(Appliance, related_name="moulds")
    cavities = models.IntegerField()
    cycles_per_day = models.IntegerField(default=1)
    cycle_minutes = models.IntegerField()

    def __str__(self) -> str:
        return self.name


class CastRun(ProductionRecord):
    """One cycle. ``good`` is None until the run has its result, and ``lower_grade`` of these are of a lower
    grade than the appliance's; ``rejected`` is a list of {copies, why}."""

    mould = models.ForeignKey(Mould, on_delete=models.PROTECT, related_name="cast_runs")
    appliance = models.ForeignKey(Appliance, on_delete=models.PROTECT, related_name="cast_runs")
    cast_on = models.DateField()
    due_on = models.DateField()
    copies_planned = models.IntegerField()
    good = models.IntegerField(null=True)
    lower_grade = models.IntegerField(default=0)
    rejected = models.JSONField(default=list)

    def __str__(self) -> str:
        return f"{self.appliance} {self.cast_on}"


class Copy(ProductionRecord):
    """One cast. ``told_state`` is what was last said of it; ``state`` is that, overruled by applications."""

    appliance = models.ForeignKey(Appliance, on_delete=models.PROTECT, related_name="copies")
    serial = models.CharField(max_length=40)
    grade = models.CharField(max_length=10)
    told_state = models.CharField(max_length=12)
    state = models.CharField(max_length=12)
    cast_run = models.ForeignKey(CastRun, null=True, on_delete=models.PROTECT, related_name="copies")
    cast_on = models.DateField(null=True)
    use_by = models.DateField(null=True)
    expected_on = models.DateField(null=True)
    set_aside_for = models.ForeignKey(
        "schedule.Scene", null=True, on_delete=models.PROTECT, related_name="copies_set_aside"
    )

    class Meta:
        verbose_name_plural = "copies"
        constraints = [
            models.UniqueConstraint(
                fields=["production", "serial"], condition=Q(withdrawn=False), name="serial_once"
            ),
            models.CheckConstraint(
                condition=Q(state__in=[state.value for state in CopyState]), name="copy_state_is_known"
            ),
        ]

    def __str__(self) -> str:
        return self.serial


class CopyChange(models.Model):
    """A copy went from one state to another: when, and by whose entry."""

    copy = models.ForeignKey(Copy, on_delete=models.PROTECT, related_name="changes")
    from_state = models.CharField(max_length=12, blank=True)
    to_state = models.CharField(max_length=12)
    happened_at = models.DateTimeField()
    received_at = models.DateTimeField()
    by = models.ForeignKey("people.Membership", on_delete=models.PROTECT)
    entry = models.ForeignKey("sync.Entry", on_delete=models.PROTECT)

    def __str__(self) -> str:
        return f"{self.copy}: {self.to_state}"


class Material(ProductionRecord):
    name = models.CharField(max_length=200)
    use = models.CharField(max_length=15)
    solvent = models.CharField(max_length=20, blank=True)
    lot = models.CharField(max_length=500, blank=True)
    expires_on = models.DateField(null=True)

    def __str__(self) -> str:
        return f"{self.name} {self.lot}".strip()


class Draw(models.Model):
    """What one cast run or one application took from a lot; what is left is worked out from these.

    ``amount`` is in the lot's unit; None is what the lot says an application takes. ``source`` is the
    record of the run or of the application, and all its draws are written anew with it.
    """

    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="draws")
    kind = models.CharField(max_length=15)
    source = models.UUIDField(db_index=True)
    date = models.DateField()
    amount = models.DecimalField(max_digits=14, decimal_places=4, null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["material", "source"], name="one_draw_of_a_lot_each"),
        ]

    def __str__(self) -> str:
        return f"{self.material}: {self.kind} {self.date}"
