"""What the sheet warns of, by the cases that the phone's own rules are held to as well.

The rules are common practice, no source; the cases were constructed here.
"""

from __future__ import annotations

import datetime
import json
from pathlib import Path
from typing import Any, TypeVar
from uuid import UUID

import pytest

from continuity.applications.documents import HEALTH_CODES, ApplicationDocument
from continuity.applications.sheet_warnings import SheetFacts, sheet_warnings
from continuity.people.documents import PerformerDocument
from continuity.stock.documents import ApplianceDocument, CopyDocument, MaterialDocument
from continuity.stock.grade import Grade
from continuity.sync.document import Document

CASES = json.loads((Path(__file__).parents[1] / "cases" / "sheet_warnings.json").read_text())
CODES = {
    "edge_solvent_does_not_fit",
    "copy_for_another_performer",
    "copy_grade_too_low",
    "copy_past_shelf_date",
    "copy_set_aside",
    "copy_already_used",
    "copy_not_on_set",
    "adhesive_on_allergy_list",
    "adhesive_no_patch_test",
    "adhesive_reaction_recorded",
    "material_past_date",
    "wear_limit_passed",
}

DocumentType = TypeVar("DocumentType", bound=Document)


def _read(document: type[DocumentType], value: Any) -> DocumentType:
    return document.model_validate_json(json.dumps(value))


def _read_all(document: type[DocumentType], values: dict[str, Any]) -> dict[UUID, DocumentType]:
    return {UUID(key): _read(document, value) for key, value in values.items()}


def _facts(case: dict[str, Any]) -> SheetFacts:
    return SheetFacts(
        sheet=_read(ApplicationDocument, case["application"]),
        performer=_read(PerformerDocument, case["performer"]),
        copies=_read_all(CopyDocument, case["copies"]),
        appliances=_read_all(ApplianceDocument, case["appliances"]),
        materials=_read_all(MaterialDocument, case["materials"]),
        performer_names={UUID(key): name for key, name in case["performer_names"].items()},
        used_elsewhere=frozenset(UUID(key) for key in case["used_elsewhere"]),
        at=datetime.datetime.fromisoformat(case["at"]),
        grades={UUID(key): Grade(grade) for key, grade in case.get("grades", {}).items()},
        scenes_ahead={UUID(key): number for key, number in case.get("scenes_ahead", {}).items()},
    )


@pytest.mark.parametrize("case", CASES, ids=lambda case: str(case["name"]))
def test_a_sheet_warns_of_this_and_of_nothing_else(case: dict[str, Any]) -> None:
    assert [warning.key for warning in sheet_warnings(_facts(case))] == case["expected"]


IN_WORDS = [case for case in CASES if "words" in case]


@pytest.mark.parametrize("case", IN_WORDS, ids=lambda case: str(case["name"]))
def test_a_warning_is_told_in_the_words_the_phone_uses(case: dict[str, Any]) -> None:
    assert [warning.words for warning in sheet_warnings(_facts(case))] == case["words"]


def test_the_cases_give_the_words_of_every_code() -> None:
    assert {key.partition(":")[0] for case in IN_WORDS for key in case["expected"]} == CODES


def test_the_cases_cover_every_code() -> None:
    assert {key.partition(":")[0] for case in CASES for key in case["expected"]} == CODES


def test_each_code_has_a_case_of_its_own_alone() -> None:
    alone = {case["expected"][0].partition(":")[0] for case in CASES if len(case["expected"]) == 1}
    assert alone == CODES


def test_the_words_name_the_copy_or_the_material() -> None:
    for case in CASES:
        facts = _facts(case)
        names = {key: copy.serial for key, copy in facts.copies.items()}
        names |= {key: material.name for key, material in facts.materials.items()}
        for warning in sheet_warnings(facts):
            assert names[warning.subject] in warning.words, case["name"]


def test_what_tells_of_the_performers_health_is_marked() -> None:
    told = {
        warning.code for case in CASES for warning in sheet_warnings(_facts(case)) if warning.about_health
    }
    assert told == HEALTH_CODES == {code for code in CODES if code.startswith("adhesive_")}
