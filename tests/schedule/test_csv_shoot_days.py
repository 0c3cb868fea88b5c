"""Shoot days from a file, over the API. Every day here is made up."""

from __future__ import annotations

from continuity.schedule.models import PlannedScene
from continuity.sync.models import Entry
from tests.builders import Json, Show, assert_feed_is_whole, table_counts
from tests.schedule.csv_files import confirm, preview, reasons, take_in

WHAT = "shoot-days"
HEADER = "date,unit,crew call,wrap,scenes in order,calls\r\n"


def shoot_day_documents(show: Show) -> dict[str, Json]:
    return {day["document"]["date"]: day["document"] for day in show.set_artist.records("shoot_day")}


def more_scenes(show: Show) -> dict[str, str]:
    return {
        number: show.head.make("scene", {"number": number}) for number in ("42A", "A51", "60 pick-up")
    } | {"42": show.scene}


def test_a_file_becomes_shoot_days_with_scenes_in_order_and_calls(show: Show) -> None:
    scenes = more_scenes(show)
    text = HEADER + '2026-11-27,MAIN,7:00,02:15,"a51, 42=45 42A; 60 pick-up = 30",Ana 04:30; bo 5:10\r\n'
    seen = preview(show.continuity, WHAT, text)
    assert seen["added"] == [
        {
            "line": 2,
            "words": "2026-11-27, Main: crew call 07:00; wrap 02:15; "
            "scenes A51, 42 (45 min), 42A, 60 pick-up (30 min); calls Ana 04:30, Bo 05:10",
        }
    ]
    assert confirm(show.continuity, WHAT, text, seen["digest"]).body["added"] == 1
    assert shoot_day_documents(show)["2026-11-27"] == {
        "date": "2026-11-27",
        "unit": show.unit,
        "crew_call": "07:00",
        "wrap": "02:15",
        "scenes": [
            {"scene": scenes["A51"], "taken_off_after": []},
            {"scene": scenes["42"], "minutes": 45, "taken_off_after": []},
            {"scene": scenes["42A"], "taken_off_after": []},
            {"scene": scenes["60 pick-up"], "minutes": 30, "taken_off_after": []},
        ],
        "calls": [
            {"performer": show.performer, "time": "04:30"},
            {"performer": show.other_performer, "time": "05:10"},
        ],
    }
    planned = PlannedScene.objects.filter(shoot_day__date="2026-11-27").order_by("position")
    assert [item.scene.number for item in planned] == ["A51", "42", "42A", "60 pick-up"]
    assert_feed_is_whole(show)


def test_the_same_file_twice_changes_nothing(show: Show) -> None:
    more_scenes(show)
    text = HEADER + "2026-11-26,Main,06:00,18:00,42A 42=45,Ana 04:30\n2026-11-27,Main,15:00,02:00,,\n"
    assert take_in(show.continuity, WHAT, text) == (1, 1)
    before, counts = show.head.changes(), table_counts()
    assert preview(show.continuity, WHAT, text)["unchanged"] == 2
    assert take_in(show.continuity, WHAT, text) == (0, 0)
    assert show.head.changes() == before
    assert table_counts() == counts


def test_a_preview_stores_nothing(show: Show) -> None:
    before, counts = show.head.changes(), table_counts()
    assert len(preview(show.continuity, WHAT, HEADER + "2026-11-27,Main,07:00,18:00,42,\n")["added"]) == 1
    assert show.head.changes() == before
    assert table_counts() == counts


def test_what_a_file_cannot_say_of_a_scene_that_stays_is_kept(show: Show) -> None:
    scenes = more_scenes(show)
    first = Entry.objects.get(record=show.shoot_day)
    planned = {"scene": show.scene, "minutes": 50, "taken_off_after": [show.performer]}
    show.head.send_ok(
        show.head.entry(
            "shoot_day", {"scenes": [planned], "note": "Rain cover"}, show.shoot_day, str(first.id)
        )
    )
    assert take_in(show.continuity, WHAT, HEADER + '2026-11-26,Main,07:00,18:00,"42A, 42",\n') == (0, 1)
    day = shoot_day_documents(show)["2026-11-26"]
    assert day["scenes"] == [{"scene": scenes["42A"], "taken_off_after": []}, planned]
    assert day["note"] == "Rain cover"
    take_in(show.continuity, WHAT, HEADER + "2026-11-26,Main,07:00,18:00,42=20,\n")
    assert shoot_day_documents(show)["2026-11-26"]["scenes"] == [{**planned, "minutes": 20}]


def test_a_change_is_told_in_words(show: Show) -> None:
    more_scenes(show)
    seen = preview(show.continuity, WHAT, HEADER + "2026-11-26,main,06:30,18:00,42A=30 42,Ana 04:00\n")
    assert [line["words"] for line in seen["changed"]] == [
        "2026-11-26, Main: crew call 07:00 → 06:30; scenes 42 → 42A (30 min), 42; calls none → Ana 04:00"
    ]


def test_an_empty_cell_empties_and_a_column_left_out_leaves(show: Show) -> None:
    take_in(show.continuity, WHAT, HEADER + "2026-11-26,Main,07:00,18:00,42,Ana 04:30\n")
    take_in(show.continuity, WHAT, "date,unit,calls\n2026-11-26,Main,\n")
    day = shoot_day_documents(show)["2026-11-26"]
    assert (day["calls"], [planned["scene"] for planned in day["scenes"]]) == ([], [show.scene])
    take_in(show.continuity, WHAT, "date,unit,scenes\n2026-11-26,Main,\n")
    assert shoot_day_documents(show)["2026-11-26"]["scenes"] == []


def test_two_units_may_shoot_on_one_date(show: Show) -> None:
    show.head.make("unit", {"name": "Second unit"})
    text = HEADER + "2026-11-26,Second unit,08:00,17:00,42,\n2026-11-26,Main,07:00,18:00,42,\n"
    assert take_in(show.continuity, WHAT, text) == (1, 0)


def test_lines_that_cannot_be_read_are_listed_with_their_reason(show: Show) -> None:
    lines = [
        ("26/11/2026,Main,07:00,18:00,42,", "year-month-day, like 2026-11-26, not “26/11/2026”"),
        ("2026-11-31,Main,07:00,18:00,42,", "the calendar has no “2026-11-31”"),
        (",Main,07:00,18:00,42,", "The date is empty"),
        ("2026-12-01,,07:00,18:00,42,", "The unit is empty"),
        ("2026-12-02,Third,07:00,18:00,42,", "There is no unit “Third”. There is: Main."),
        ("2026-12-03,Main,,18:00,42,", "The crew call is empty"),
        ("2026-12-04,Main,07:00,,42,", "The wrap is empty"),
        ("2026-12-05,Main,7 am,18:00,42,", "The crew call is a time from 00:00 to 23:59"),
        ("2026-12-06,Main,07:00,25:00,42,", "The wrap is a time"),
        ("2026-12-07,Main,07:00,18:00,42 99,", "There is no scene “99”. There is: 42."),
        ("2026-12-08,Main,07:00,18:00,42=0,", "The minutes of scene 42 “0” is not a whole number"),
        ("2026-12-09,Main,07:00,18:00,42=,", "The minutes of scene 42"),
        ("2026-12-10,Main,07:00,18:00,42,Ana", "A call is written like Name 04:30, not “Ana”"),
        ("2026-12-11,Main,07:00,18:00,42,Nobody 04:30", "There is no performer “Nobody”"),
        ("2026-12-12,Main,07:00,18:00,42,Ana 4.30", "The call of “Ana” is a time"),
        ("2026-12-13,Main,07:00,18:00,42,Ana 04:30; ANA 05:00", "“ANA” has two calls"),
        ("2026-12-14,Main,07:00,18:00," + "42 " * 101 + ",", "at most 100 scenes"),
    ]
    text = HEADER + "".join(f"{line}\r\n" for line, _ in lines)
    found = reasons(show.continuity, WHAT, text)
    assert list(found) == list(range(2, len(lines) + 2))
    for number, (_, said) in enumerate(lines, start=2):
        assert said in found[number]


def test_of_a_day_that_stands_twice_no_line_is_taken(show: Show) -> None:
    text = HEADER + "2026-12-01,Main,07:00,18:00,,\n2026-12-01,MAIN,08:00,18:00,,\n"
    said = "2026-12-01, Main stands in lines 2 and 3; keep one of them."
    assert reasons(show.continuity, WHAT, text) == {2: said, 3: said}


def test_a_new_day_needs_its_times_even_where_the_file_has_no_column_for_them(show: Show) -> None:
    text = "date,unit,wrap\n2026-11-26,Main,19:00\n2026-12-01,Main,19:00\n"
    assert reasons(show.continuity, WHAT, text) == {
        3: "A new shoot day needs a crew call, and the file has no such column."
    }


def test_a_production_without_units_says_where_they_come_from(show: Show) -> None:
    first = Entry.objects.get(record=show.unit)
    show.head.send_ok(show.head.entry("unit", {}, show.unit, str(first.id), withdrawn="by mistake"))
    assert reasons(show.head, WHAT, HEADER + "2026-12-01,Main,07:00,18:00,,\n") == {
        2: "There is no unit “Main”. There is none yet; add it in the set-up first."
    }


def test_a_scene_renumbered_since_the_preview_makes_it_stale(show: Show) -> None:
    text = HEADER + "2026-12-01,Main,07:00,18:00,42,\n"
    seen = preview(show.continuity, WHAT, text)
    first = Entry.objects.get(record=show.scene)
    show.head.send_ok(show.head.entry("scene", {"number": "43"}, show.scene, str(first.id)))
    counts = table_counts()
    answer = confirm(show.continuity, WHAT, text, seen["digest"])
    assert (answer.status, answer.body["code"]) == (409, "stale_preview")
    assert table_counts() == counts


def test_the_preview_of_one_sort_of_file_does_not_confirm_the_other(show: Show) -> None:
    digest = preview(show.continuity, "scenes", "number\n42\n")["digest"]
    answer = confirm(show.continuity, WHAT, HEADER, digest)
    assert (answer.status, answer.body["code"]) == (409, "stale_preview")


def test_the_template_is_a_file_that_can_be_filled_in(show: Show) -> None:
    text = show.head.account.get(show.head.path("csv/shoot-days/template")).content.decode()
    more_scenes(show)
    show.head.make("unit", {"name": "Main unit"})
    show.head.make("scene", {"number": "51"})
    for name in ("Performer Name", "Stunt Name"):
        show.head.make("performer", {"name": name})
    assert take_in(show.continuity, WHAT, text) == (2, 0)
