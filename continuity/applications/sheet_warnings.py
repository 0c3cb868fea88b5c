"""What the sheet warns of. A warning is never a wall: going past one is written down with the application.

Plain functions over documents, no database. The phone has the same rules in
``frontend/src/domain/sheetWarnings.ts``; ``tests/cases/sheet_warnings.json`` holds the two together.
The rules are common practice, no source; the product's safety data sheet and licensed practice decide.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from uuid import UUID

from continuity.applications.documents import HEALTH_CODES, ApplicationDocument
from continuity.durations import minutes_in_words
from continuity.people.documents import PatchTestResult, PerformerDocument
from continuity.stock.documents import ApplianceDocument, CopyDocument, CopyState, MaterialDocument
from continuity.stock.edge import edge_solvent_fits
from continuity.stock.grade import Grade, grade_serves

# As the phone writes them; not from the locale, so that both sides say the same words everywhere.
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sept", "Oct", "Nov", "Dec")


@dataclass(frozen=True)
class SheetWarning:
    """``subject`` is the copy or material it is about; ``key`` names it once a sheet."""

    code: str
    subject: UUID
    words: str

    @property
    def key(self) -> str:
        return f"{self.code}:{self.subject}"

    @property
    def about_health(self) -> bool:
        return self.code in HEALTH_CODES


@dataclass(frozen=True)
class SheetFacts:
    """All the rules look at. A copy's ``state`` is what was last said of it; ``used_elsewhere`` holds the
    copies another application has taken; ``at`` is the time at which a sheet without removal is read.
    ``grades`` are those the look asks for, by appliance, where they are not the appliance's own.
    ``scenes_ahead`` are the numbers of the scenes that copies are set aside for and that have not been shot
    before the sheet's date, by scene."""

    sheet: ApplicationDocument
    performer: PerformerDocument
    copies: Mapping[UUID, CopyDocument]
    appliances: Mapping[UUID, ApplianceDocument]
    materials: Mapping[UUID, MaterialDocument]
    performer_names: Mapping[UUID, str]
    used_elsewhere: frozenset[UUID]
    at: datetime.datetime
    grades: Mapping[UUID, Grade] = field(default_factory=dict)
    scenes_ahead: Mapping[UUID, str] = field(default_factory=dict)


def sheet_warnings(facts: SheetFacts) -> list[SheetWarning]:
    """Every warning of a sheet, in the order of its copies and then its materials, each once."""
    found: dict[str, SheetWarning] = {}
    for warning in (*_copy_warnings(facts), *_adhesive_warnings(facts), *_material_warnings(facts)):
        found.setdefault(warning.key, warning)
    return list(found.values())


def worn_minutes(sheet: ApplicationDocument, at: datetime.datetime) -> float | None:
    """Minutes on the skin: from started to removed, or to ``at`` while it is worn. Breaks count: the piece
    stays on through them. None before the start."""
    if sheet.started_at is None:
        return None
    until = sheet.removed_at or at
    return max(0.0, (until - sheet.started_at).total_seconds() / 60)


def _copy_warnings(facts: SheetFacts) -> Iterator[SheetWarning]:
    sheet = facts.sheet
    solvent = facts.materials.get(sheet.edge_solvent) if sheet.edge_solvent else None
    worn = worn_minutes(sheet, facts.at)
    taken: set[UUID] = set()
    for use in sheet.copies.values():
        copy = facts.copies[use.copy_used]
        appliance = facts.appliances[copy.appliance]
        if appliance.performer and appliance.performer != sheet.performer:
            name = facts.performer_names[appliance.performer]
            yield SheetWarning(
                "copy_for_another_performer", use.copy_used, f"Copy {copy.serial} is made for {name}."
            )
        wanted = facts.grades.get(copy.appliance, appliance.grade)
        if not grade_serves(copy.grade, wanted):
            yield SheetWarning(
                "copy_grade_too_low",
                use.copy_used,
                f"Copy {copy.serial} is {copy.grade} grade; {appliance.name} wants {wanted}.",
            )
        if copy.use_by and copy.use_by < sheet.date:
            yield SheetWarning(
                "copy_past_shelf_date",
                use.copy_used,
                f"Copy {copy.serial} was to be used by {_date_words(copy.use_by)}.",
            )
        kept_for = copy.set_aside_for
        if kept_for and kept_for in facts.scenes_ahead and kept_for not in sheet.scenes:
            yield SheetWarning(
                "copy_set_aside",
                use.copy_used,
                f"Copy {copy.serial} is set aside for scene {facts.scenes_ahead[kept_for]}.",
            )
        used_before = use.copy_used in facts.used_elsewhere or use.copy_used in taken
        if used_before or copy.state in {CopyState.APPLIED, CopyState.USED_UP}:
            yield SheetWarning("copy_already_used", use.copy_used, f"Copy {copy.serial} is already used.")
        elif copy.state is not CopyState.ON_SET:
            yield SheetWarning("copy_not_on_set", use.copy_used, f"Copy {copy.serial} is not on set.")
        taken.add(use.copy_used)
        if solvent and solvent.solvent and not edge_solvent_fits(appliance.encapsulator, solvent.solvent):
            yield SheetWarning(
                "edge_solvent_does_not_fit",
                use.copy_used,
                f"{solvent.name} does not move the edge of copy {copy.serial}.",
            )
        limit = appliance.wear_limit_minutes
        if limit and worn is not None and worn > limit:
            yield SheetWarning(
                "wear_limit_passed",
                use.copy_used,
                f"Copy {copy.serial} is worn past its limit of {minutes_in_words(limit)}.",
            )


def _adhesive_warnings(facts: SheetFacts) -> Iterator[SheetWarning]:
    for adhesive in facts.sheet.adhesives.values():
        material = facts.materials[adhesive.material]
        words_of_material = {word.casefold() for word in material.contains} | {material.name.casefold()}
        for allergy in facts.performer.allergies.values():
            if allergy.substance.casefold() in words_of_material:
                yield SheetWarning(
                    "adhesive_on_allergy_list",
                    adhesive.material,
                    f"{material.name}: {allergy.substance} is on the performer's allergy list.",
                )
        # A patch test is of the product; a new lot of it has another record but the same name.
        readings = [
            reading
            for test in facts.performer.patch_tests.values()
            if test.material in facts.materials
            and facts.materials[test.material].name.casefold() == material.name.casefold()
            for reading in test.readings.values()
        ]
        if any(reading.result is PatchTestResult.REACTION for reading in readings):
            yield SheetWarning(
                "adhesive_reaction_recorded",
                adhesive.material,
                f"{material.name}: a reaction is recorded. Stop, and ask a medical professional.",
            )
        elif not readings:
            yield SheetWarning(
                "adhesive_no_patch_test",
                adhesive.material,
                f"{material.name}: no patch test with a reading is recorded for this performer.",
            )


def _material_warnings(facts: SheetFacts) -> Iterator[SheetWarning]:
    sheet = facts.sheet
    used = [
        *(adhesive.material for adhesive in sheet.adhesives.values()),
        sheet.edge_solvent,
        sheet.sealer,
        sheet.remover,
    ]
    for material_id in used:
        if material_id is None:
            continue
        material = facts.materials[material_id]
        if material.expires_on and material.expires_on < sheet.date:
            # The date is the lot's: another lot of the same name may be in date.
            name = f"{material.name}, lot {material.lot}," if material.lot else material.name
            yield SheetWarning(
                "material_past_date", material_id, f"{name} expired on {_date_words(material.expires_on)}."
            )


def _date_words(day: datetime.date) -> str:
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"
