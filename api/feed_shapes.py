"""The shape of the feed: a record of each kind as it is told to a phone."""

from __future__ import annotations

import datetime
from typing import Literal
from uuid import UUID

from api.shapes import Shape
from continuity.applications.documents import ApplicationDocument, RecipeDocument
from continuity.match.documents import ColourMeasurementDocument, PhotoGuideDocument, VerdictDocument
from continuity.people.documents import CrewDocument, PerformerDocument
from continuity.schedule.documents import (
    CharacterDocument,
    LookDocument,
    ProductionDocument,
    SceneDocument,
    ShootDayDocument,
    UnitDocument,
)
from continuity.shop.documents import OrderDocument, ParcelDocument
from continuity.stock.documents import (
    ApplianceDocument,
    CastRunDocument,
    CopyDocument,
    CountDocument,
    MaterialDocument,
    MouldDocument,
)
from continuity.sync.documents import ConflictDocument


class WarningShape(Shape):
    key: str
    code: str
    words: str
    overridden: bool


ColourWord = Literal["not_visible", "close", "visible", "wrong"]


class PatchColourShape(Shape):
    """CIE L*a*b* for D65. ``spread`` is the CIEDE2000 by which pixels stray from it (root mean square)."""

    lab: list[float]
    spread: float


class PhotoColourShape(Shape):
    patches: dict[UUID, PatchColourShape]


class PatchDifferenceShape(Shape):
    """``delta_e`` is the CIEDE2000 between the two photos; 95 of 100 lie within ``uncertainty`` of it."""

    delta_e: float
    uncertainty: float
    words: ColourWord


class ContrastShape(Shape):
    """The CIEDE2000 between piece and skin, ``then`` and ``now``, and how much that has changed. ``shift``
    counts a change of hue too: from where the piece would have to be now to sit in the skin as it did then,
    to where it is. 95 of 100 lie within ``uncertainty`` of ``shift``; ``words`` are for ``shift``."""

    then: float
    now: float
    change: float
    shift: float
    uncertainty: float
    words: ColourWord


class ColourShape(Shape):
    """What was measured. ``reasons`` say why it cannot be, and ``may_pass`` whether the same may be measured
    another time; ``cautions`` say what makes it less sure."""

    state: Literal["awaiting", "measured", "cannot_be_measured"]
    reasons: list[str]
    may_pass: bool = False
    cautions: list[str]
    then: PhotoColourShape
    now: PhotoColourShape
    patches: dict[UUID, PatchDifferenceShape]
    contrast: ContrastShape | None


class LeftShape(Shape):
    """What is left of a lot, in its own unit; below 0 more was written down than there was."""

    amount: float


class Derived(Shape):
    """What the server says of a record: a sheet's warnings, files and flags; a copy's state; what is left
    of a lot; colours."""

    warnings: list[WarningShape] | None = None
    files: dict[str, Literal["awaited", "stored", "unreadable"]] | None = None
    not_measurable: dict[str, str] | None = None
    flags: list[str] | None = None
    state: str | None = None
    applications: list[UUID] | None = None
    left: LeftShape | None = None
    colour: ColourShape | None = None


class Change(Shape):
    seq: int
    id: UUID
    revision: UUID
    withdrawn: bool
    happened_at: datetime.datetime
    received_at: datetime.datetime
    made_by: UUID
    derived: Derived


class ProductionChanged(Change):
    kind: Literal["production"]
    document: ProductionDocument


class UnitChanged(Change):
    kind: Literal["unit"]
    document: UnitDocument


class CharacterChanged(Change):
    kind: Literal["character"]
    document: CharacterDocument


class PerformerChanged(Change):
    kind: Literal["performer"]
    document: PerformerDocument


class LookChanged(Change):
    kind: Literal["look"]
    document: LookDocument


class SceneChanged(Change):
    kind: Literal["scene"]
    document: SceneDocument


class ShootDayChanged(Change):
    kind: Literal["shoot_day"]
    document: ShootDayDocument


class ApplianceChanged(Change):
    kind: Literal["appliance"]
    document: ApplianceDocument


class MouldChanged(Change):
    kind: Literal["mould"]
    document: MouldDocument


class CastRunChanged(Change):
    kind: Literal["cast_run"]
    document: CastRunDocument


class CopyChanged(Change):
    kind: Literal["copy"]
    document: CopyDocument


class MaterialChanged(Change):
    kind: Literal["material"]
    document: MaterialDocument


class RecipeChanged(Change):
    kind: Literal["recipe"]
    document: RecipeDocument


class ApplicationChanged(Change):
    kind: Literal["application"]
    document: ApplicationDocument


class ConflictChanged(Change):
    kind: Literal["conflict"]
    document: ConflictDocument


class OrderChanged(Change):
    kind: Literal["order"]
    document: OrderDocument


class ParcelChanged(Change):
    kind: Literal["parcel"]
    document: ParcelDocument


class CountChanged(Change):
    kind: Literal["count"]
    document: CountDocument


class VerdictChanged(Change):
    kind: Literal["verdict"]
    document: VerdictDocument


class PhotoGuideChanged(Change):
    kind: Literal["photo_guide"]
    document: PhotoGuideDocument


class ColourMeasurementChanged(Change):
    kind: Literal["colour_measurement"]
    document: ColourMeasurementDocument


class CrewChanged(Change):
    kind: Literal["crew"]
    document: CrewDocument


class ChangesAnswer(Shape):
    """``mark`` is to be sent back with ``cursor``; ``gone_back`` says that the server has lost what was read
    from it, and everything is to be read again from 0."""

    answer: Literal["changes"] = "changes"
    key: str
    cursor: int
    mark: UUID | None
    gone_back: bool
    more: bool
    changes: list[
        ProductionChanged
        | UnitChanged
        | CharacterChanged
        | PerformerChanged
        | LookChanged
        | SceneChanged
        | ShootDayChanged
        | ApplianceChanged
        | MouldChanged
        | CastRunChanged
        | CopyChanged
        | MaterialChanged
        | RecipeChanged
        | ApplicationChanged
        | ConflictChanged
        | OrderChanged
        | ParcelChanged
        | CountChanged
        | VerdictChanged
        | PhotoGuideChanged
        | ColourMeasurementChanged
        | CrewChanged
    ]
