"""Scenes from a file, over the API. Every scene here is made up."""

from __future__ import annotations

import csv
import io

import pytest
from django.db import connection

from continuity.schedule.csv_import.services import CSV_DEVICE
from continuity.schedule.models import Scene, SceneWorn
from continuity.sync.models import Entry
from tests.builders import Json, Phone, Show, assert_feed_is_whole, make_show, table_counts
from tests.schedule.csv_files import confirm, preview, reasons, take_in

HEADER = "scene number,story day,order in story,interior/exterior,day/night,pages,synopsis,worn\r\n"


def scene_documents(phone: Phone) -> dict[str, Json]:
    return {
        scene["document"]["number"]: scene["document"]
        for scene in phone.records("scene")
        if not scene["withdrawn"]
    }


def test_a_file_becomes_scenes_that_every_phone_sees(show: Show) -> None:
    text = (
        HEADER
        + '43,3,120,INT,NIGHT,1 3/8,"Mara finds the letter, and hides it.",'
        + "Mara: cut brow; MARA: Cut Brow (by Bo)\r\n"
        + "A51,-2,,int/ext,dusk,3/8,,Mara\r\n"
    )
    seen = preview(show.continuity, "scenes", text)
    assert [line["line"] for line in seen["added"]] == [2, 3]
    for word in ("Scene 43", "story day 3", "1 3/8", "night", "Mara: Cut brow (by Bo)", "hides it"):
        assert word in seen["added"][0]["words"]
    assert confirm(show.continuity, "scenes", text, seen["digest"]).body == {
        "answer": "csv_confirmed", "added": 2, "changed": 0,
    }  # fmt: skip

    scenes = scene_documents(show.set_artist)
    worn = {"character": show.character, "look": show.look}
    assert scenes["43"] == {
        "number": "43",
        "story_day": 3,
        "position": 120,
        "interior_exterior": "interior",
        "day_night": "night",
        "page_eighths": 11,
        "synopsis": "Mara finds the letter, and hides it.",
        "worn": [worn, {**worn, "performer": show.other_performer}],
    }
    assert scenes["A51"] == {
        "number": "A51",
        "story_day": -2,
        "position": 0,
        "interior_exterior": "both",
        "day_night": "dusk",
        "page_eighths": 3,
        "worn": [{"character": show.character}],
    }
    assert Scene.objects.get(number="43").page_eighths == 11
    assert SceneWorn.objects.filter(scene__number="43").count() == 2
    assert_feed_is_whole(show)


def test_what_is_saved_are_entries_of_the_one_who_confirmed(show: Show) -> None:
    take_in(show.continuity, "scenes", "number,pages\n42,2\n43,1\n")
    entries = Entry.objects.filter(device=CSV_DEVICE).order_by("seq")
    assert [(entry.kind, str(entry.made_by_id), str(entry.sent_by_id)) for entry in entries] == [
        ("scene", show.continuity.crew, show.continuity.crew)
    ] * 2
    change, addition = entries
    assert (str(change.record), change.patch) == (show.scene, {"page_eighths": 16})
    assert change.based_on is not None
    assert addition.based_on is None


def test_the_same_file_twice_changes_nothing(show: Show) -> None:
    text = HEADER + '42,3,1,EXT,DAY,2 1/8," as ""it"" is ",Mara: cut brow\r\n43,,,,,,,\r\nA51,1,2,,,,,\r\n'
    assert take_in(show.continuity, "scenes", text) == (2, 1)
    before, counts = show.head.changes(), table_counts()
    again = preview(show.continuity, "scenes", text)
    assert (again["added"], again["changed"], again["unchanged"]) == ([], [], 3)
    assert take_in(show.continuity, "scenes", text) == (0, 0)
    assert show.head.changes() == before
    assert table_counts() == counts


def test_a_preview_stores_nothing(show: Show) -> None:
    before, counts = show.head.changes(), table_counts()
    assert preview(show.continuity, "scenes", "number,pages\n42,2\n43,1\n44,x\n")["digest"]
    assert show.head.changes() == before
    assert table_counts() == counts


def test_a_change_is_told_in_words_and_touches_only_what_changes(show: Show) -> None:
    take_in(show.continuity, "scenes", HEADER + "42,3,1,EXT,DAY,3/8,On the pier,Mara: cut brow\n")
    seen = preview(show.continuity, "scenes", HEADER + "42,3,1,EXT,NIGHT,1 3/8,,Mara: Cut brow (by Bo)\n")
    (changed,) = seen["changed"]
    assert changed["words"] == (
        "Scene 42: day/night day → night; pages 3/8 → 1 3/8; synopsis “On the pier” → none; "
        "worn Mara: Cut brow → Mara: Cut brow (by Bo)"
    )


def test_an_empty_cell_empties_and_a_column_left_out_leaves(show: Show) -> None:
    take_in(show.continuity, "scenes", HEADER + "42,3,7,EXT,DAY,3/8,On the pier,Mara: cut brow\n")
    take_in(show.continuity, "scenes", "number,synopsis,story day,pages\n42,,,\n")
    assert scene_documents(show.head)["42"] == {
        "number": "42",
        "position": 7,
        "interior_exterior": "exterior",
        "day_night": "day",
        "page_eighths": 0,
        "worn": [{"character": show.character, "look": show.look}],
    }


def test_what_somebody_else_wrote_in_another_column_stays(show: Show) -> None:
    seen = preview(show.continuity, "scenes", "number,pages\n42,2\n")
    assert seen["changed"]
    first = Entry.objects.get(record=show.scene)
    show.head.send_ok(show.head.entry("scene", {"synopsis": "The pier"}, show.scene, str(first.id)))
    take_in(show.continuity, "scenes", "number,pages\n42,2\n")
    document = scene_documents(show.head)["42"]
    assert (document["page_eighths"], document["synopsis"]) == (16, "The pier")
    assert show.head.conflicts() == []


def test_a_number_in_another_case_is_the_same_scene(show: Show) -> None:
    take_in(show.continuity, "scenes", "number,pages\n42a,1\n")
    assert take_in(show.continuity, "scenes", "number,pages\n42A,2\n") == (0, 1)
    assert scene_documents(show.head)["42a"]["page_eighths"] == 16


def test_a_scene_taken_back_leaves_its_number_free(show: Show) -> None:
    first = Entry.objects.get(record=show.scene)
    show.head.send_ok(show.head.entry("scene", {}, show.scene, str(first.id), withdrawn="cut"))
    assert take_in(show.continuity, "scenes", "number,pages\n42,1\n") == (1, 0)


def test_lines_that_cannot_be_read_are_listed_and_the_others_saved(show: Show) -> None:
    lines = [
        ("43,1 3/8,DAY,Mara: cut brow", None),
        ("44,1 3/4,DAY,", "Pages are written like 1 3/8, 3/8 or 2"),
        ("45,1,DAY,Mara: healing", "Mara has no look “healing”. There is: Cut brow."),
        ("46,1,DAY,Bruno: cut brow", "There is no character “Bruno”. There is: Mara."),
        ("47,1,DAY,Mara: cut brow (by Nobody)", "There is no performer “Nobody”. There is: Ana; Bo."),
        ("48,1,NOON,", "DAY, NIGHT, DAWN or DUSK, not “NOON”"),
        (",1,DAY,", "The scene number is empty"),
        ('"49, 50",1,DAY,', "no comma"),
        ("B" * 21 + ",1,DAY,", "at most 20 characters"),
        ("51,1,DAY,Mara:", "no look after the colon"),
        ("52,1,DAY,Mara; mara", "“mara” stands in the line twice"),
        ("53,1,DAY,Mara: cut brow (by )", "There is no performer “”"),
        ("54,1", "2 of 4 cells"),
        ("55,1,DAY,Mara: cut brow,Mara", "under no heading"),
    ]
    text = "number,pages,day/night,worn\n" + "".join(f"{line}\n" for line, _ in lines)
    seen = preview(show.continuity, "scenes", text)
    expected = {number: said for number, (_, said) in enumerate(lines, start=2) if said}
    found = {line["line"]: line for line in seen["unreadable"]}
    assert sorted(found) == sorted(expected)
    for number, said in expected.items():
        assert said in found[number]["reason"]
        assert found[number]["text"] == lines[number - 2][0]
    assert confirm(show.continuity, "scenes", text, seen["digest"]).body["added"] == 1
    assert set(scene_documents(show.head)) == {"42", "43"}


def test_of_a_number_that_stands_twice_no_line_is_taken(show: Show) -> None:
    text = "number,pages\n43,1\n43A,1\n44,x\n43a,2\n42,1\n 42 ,1\n42,bad\n"
    assert reasons(show.continuity, "scenes", text) == {
        2 + 1: "Scene 43A stands in lines 3 and 5; keep one of them.",
        4: "Pages are written like 1 3/8, 3/8 or 2 and are at most 100, not “x”.",
        5: "Scene 43a stands in lines 3 and 5; keep one of them.",
        6: "Scene 42 stands in lines 6, 7 and 8; keep one of them.",
        7: "Scene 42 stands in lines 6, 7 and 8; keep one of them.",
        8: "Scene 42 stands in lines 6, 7 and 8; keep one of them.",
    }


def test_a_name_two_records_have_is_not_guessed(show: Show) -> None:
    show.head.make("character", {"name": "Guard"})
    show.head.make("character", {"name": "Guard"})
    show.head.make("character", {"name": "MARA"})
    text = "number,worn\n43,Guard\n44,Mara: cut brow\n45,mara\n"
    assert reasons(show.continuity, "scenes", text) == {
        2: "More than one character is called “Guard”; which one is meant?",
        # Written exactly as one of them, Mara is no riddle.
        4: "More than one character is called “mara”; which one is meant?",
    }


def test_another_productions_names_are_unknown(show: Show) -> None:
    other = make_show("Another show")
    other.head.make("character", {"name": "Stranger"})
    assert "no character “Stranger”" in reasons(show.head, "scenes", "number,worn\n43,Stranger\n")[2]


@pytest.mark.parametrize(
    "synopsis",
    [
        "=1+1",
        '=HYPERLINK("http://127.0.0.1/")',
        "+1",
        "-1",
        "@SUM(A1)",
        "\tindented",
        " spaces ",
        "<b>bold</b>",
        "'; DROP TABLE schedule_scene; --",
        "first\r\nsecond",
        "日本語 🎭",
        "{{ 7*7 }}",
    ],
)
def test_text_is_stored_as_it_stands_in_the_file(show: Show, synopsis: str) -> None:
    out = io.StringIO()
    csv.writer(out).writerows([["number", "synopsis"], ["43", synopsis]])
    take_in(show.continuity, "scenes", out.getvalue())
    assert scene_documents(show.head)["43"]["synopsis"] == synopsis
    assert Scene.objects.get(number="43").synopsis == synopsis


def test_a_preview_of_one_production_confirms_nothing_on_another(show: Show) -> None:
    text = "number,pages\n43,1\n"
    other = make_show("Another show")
    seen = preview(show.head, "scenes", text)
    before, counts = other.head.changes(), table_counts()
    stranger = show.head.account.post(other.head.path("csv/scenes/preview"), {"text": text})
    assert (stranger.status, stranger.body["code"]) == (404, "not_found")
    body = {"text": text, "digest": seen["digest"]}
    stranger = show.head.account.post(other.head.path("csv/scenes/confirm"), body)
    assert (stranger.status, stranger.body["code"]) == (404, "not_found")
    answer = confirm(other.head, "scenes", text, seen["digest"])
    assert (answer.status, answer.body["code"]) == (409, "stale_preview")
    assert other.head.changes() == before
    assert table_counts() == counts


def test_another_text_than_the_previewed_one_is_stale(show: Show) -> None:
    seen = preview(show.continuity, "scenes", "number,pages\n43,1\n")
    counts = table_counts()
    answer = confirm(show.continuity, "scenes", "number,pages\n43,2\n", seen["digest"])
    assert (answer.status, answer.body["code"], answer.body["retryable"]) == (409, "stale_preview", False)
    assert table_counts() == counts


@pytest.mark.parametrize("kind", ["scene", "look", "performer", "character"])
def test_a_production_that_changed_makes_the_preview_stale(show: Show, kind: str) -> None:
    text = "number,pages,worn\n43,1,Mara: cut brow\n"
    seen = preview(show.continuity, "scenes", text)
    record = {
        "scene": show.scene,
        "look": show.look,
        "performer": show.performer,
        "character": show.character,
    }
    first = Entry.objects.get(record=record[kind])
    patch = {"synopsis": "new"} if kind == "scene" else {"name": "Renamed"}
    show.head.send_ok(show.head.entry(kind, patch, record[kind], str(first.id)))
    counts = table_counts()
    answer = confirm(show.continuity, "scenes", text, seen["digest"])
    assert (answer.status, answer.body["code"]) == (409, "stale_preview")
    assert table_counts() == counts


def test_an_application_logged_meanwhile_does_not_stand_in_the_way(show: Show) -> None:
    text = "number,pages\n43,1\n"
    seen = preview(show.continuity, "scenes", text)
    show.set_artist.send_ok(show.application(show.copies[0]))
    assert confirm(show.continuity, "scenes", text, seen["digest"]).status == 200


def test_confirming_once_more_after_a_lost_answer_stores_nothing_twice(show: Show) -> None:
    text = "number,pages\n43,1\n"
    seen = preview(show.continuity, "scenes", text)
    assert confirm(show.continuity, "scenes", text, seen["digest"]).status == 200
    again = confirm(show.continuity, "scenes", text, seen["digest"])
    assert (again.status, again.body["code"]) == (409, "stale_preview")
    assert Scene.objects.filter(number="43").count() == 1


def test_a_line_the_tables_refuse_takes_the_whole_file_back(show: Show) -> None:
    # Nothing a preview has read can collide by itself, so the tables are given one more constraint here.
    connection.check_constraints()
    with connection.cursor() as cursor:
        cursor.execute(
            "CREATE UNIQUE INDEX one_synopsis ON schedule_scene (synopsis) WHERE synopsis = 'same'"
        )
    text = "number,synopsis\n43,same\n44,other\n45,same\n"
    seen = preview(show.continuity, "scenes", text)
    before, counts = show.head.changes(), table_counts()
    answer = confirm(show.continuity, "scenes", text, seen["digest"])
    assert (answer.status, answer.body["code"]) == (409, "collided")
    assert answer.body["message"].startswith("Line 4: ")
    assert show.head.changes() == before
    assert table_counts() == counts


def test_seven_hundred_scenes_in_one_file(show: Show) -> None:
    text = "number,pages,worn\n" + "".join(f"S{n},1 3/8,Mara: cut brow\n" for n in range(700))
    assert take_in(show.continuity, "scenes", text) == (700, 0)
    assert Scene.objects.filter(number__startswith="S").count() == 700
    assert_feed_is_whole(show)


def test_the_template_is_a_file_that_can_be_filled_in(show: Show) -> None:
    answer = show.continuity.account.raw(
        "GET", show.continuity.path("csv/scenes/template"), b"", Accept="text/csv,text/plain"
    )
    assert answer.status == 200
    text = answer.content.decode("utf-8")
    assert text.startswith("\ufeff" + HEADER)
    show.head.make("look", {"character": show.character, "name": "cut brow, fresh"})
    show.head.make("look", {"character": show.character, "name": "cut brow, one day old"})
    show.head.make("performer", {"name": "Stunt Name"})
    seen = preview(show.continuity, "scenes", text)
    # With the names it uses, both examples can be read, and no note is taken for a scene.
    assert seen["unreadable"] == []
    assert (len(seen["added"]), len(seen["changed"])) == (1, 1)


def test_the_template_is_a_download(show: Show) -> None:
    response = show.head.account.client.get(show.head.path("csv/scenes/template"))
    assert response.headers["Content-Type"] == "text/csv; charset=utf-8; header=present"
    assert response.headers["Content-Disposition"] == 'attachment; filename="scenes.csv"'
