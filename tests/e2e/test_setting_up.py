"""A production made from nothing on a phone, and scenes from a file."""

from __future__ import annotations

import csv
import re
from pathlib import Path

from playwright.sync_api import Locator, expect

from .phone import NewPhone, Phone
from .served import Served


class Form:
    """The form that Set-up leads to next, for the first record of its kind."""

    def __init__(self, phone: Phone, one: str) -> None:
        phone.go("Set-up")
        phone.page.get_by_role("link", name=f"Next: add the first {one}").click()
        self.phone = phone
        self.page = phone.page

    def fill(self, label: str, words: str) -> None:
        self.page.get_by_label(label, exact=True).fill(words)

    def pick(self, label: str, words: str) -> None:
        self._field(label).select_option(label=words)

    def choose(self, label: str, words: str) -> None:
        self.page.get_by_role("group", name=label).get_by_role("radio", name=words).check()

    def save(self, words: str) -> None:
        self.phone.tap(words)
        expect(self.page.get_by_role("button", name=words)).to_be_hidden()

    def _field(self, label: str) -> Locator:
        return self.page.get_by_label(label).first


def test_a_production_from_nothing(new_phone: NewPhone, served: Served) -> None:
    head = new_phone("head")
    head.go("Set-up")
    head.page.get_by_role("link", name="Begin another production").click()
    head.page.get_by_label("Name").fill("The Quiet Weir")
    head.page.get_by_label("Time zone").fill("Europe/London")
    head.tap("Begin it")
    expect(head.page.get_by_test_id("unsent-line")).to_contain_text("The Quiet Weir")
    head.cut_network()
    fill_in(head)
    head.restore_network()
    head.expect_not_sent(0)

    head.go("Cover")
    head.expect_spares_on_cover("Split lip", 3)
    expect(head.page.get_by_role("link", name="Split lip, 3 spares, covered to its last day")).to_be_visible()
    head.page.get_by_role("link", name="Split lip, 3 spares").click()
    expect(head.page.get_by_role("row", name=re.compile("1 copy on"))).to_be_visible()
    # What the demo has stays the demo's.
    head.go("Today")
    people = head.page.get_by_role("article").get_by_role("heading", level=3)
    expect(people).to_have_text(["Odile Marchbank"])

    [production] = served.rows("SELECT id FROM schedule_production WHERE name = 'The Quiet Weir'")
    kinds = served.rows(
        "SELECT kind, count(*) AS records FROM sync_record WHERE production_id = ? GROUP BY kind",
        production["id"],
    )
    made = {row["kind"]: row["records"] for row in kinds}
    once = ("unit", "performer", "character", "appliance", "look", "material", "scene", "shoot_day")
    assert made == {**dict.fromkeys(once, 1), "copy": 3, "production": 1, "crew": 1}


def fill_in(head: Phone) -> None:
    unit = Form(head, "unit")
    unit.fill("Name", "Main unit")
    unit.save("Save the unit")
    performer = Form(head, "performer")
    performer.fill("Name", "Odile Marchbank")
    performer.save("Save the performer")
    character = Form(head, "character")
    character.fill("Name", "The weir keeper")
    character.pick("Played by", "Odile Marchbank")
    character.save("Save the character")
    appliance = Form(head, "appliance")
    appliance.fill("Name", "Split lip")
    appliance.pick("Made for", "Odile Marchbank")
    appliance.choose("Edge made of", "Alcohol-soluble cap plastic")
    # The only solvent that moves this edge is chosen with it.
    expect(head.page.get_by_role("radio", name="99 % alcohol")).to_be_checked()
    appliance.save("Save the appliance")
    look = Form(head, "look")
    look.pick("Character", "The weir keeper")
    look.fill("Name", "Split lip, fresh")
    head.page.get_by_role("checkbox", name="Split lip").check()
    look.save("Save the look")
    copy = Form(head, "copy")
    copy.fill("How many", "3")
    head.page.get_by_label("How many", exact=True).blur()
    copy.choose("Where they are", "On set")
    copy.save("Save 3 copies")
    material = Form(head, "material")
    material.fill("Name", "Silicone adhesive")
    material.choose("What it is for", "Adhesive")
    material.save("Save the material")
    scene = Form(head, "scene")
    scene.fill("Number", "A1")
    head.tap("Add who is in it")
    scene.pick("Character", "The weir keeper")
    scene.pick("Look", "Split lip, fresh")
    scene.save("Save the scene")
    shoot_day = Form(head, "shoot day")
    shoot_day.pick("Add a scene", "A1")
    shoot_day.save("Save the shoot day")


def test_what_is_missing_is_said_where_it_is_missed(new_phone: NewPhone) -> None:
    head = new_phone("head")
    head.go("Set-up")
    head.page.get_by_role("link", name="Begin another production").click()
    head.page.get_by_label("Name").fill("The Quiet Weir")
    head.tap("Begin it")
    expect(head.page.get_by_test_id("unsent-line")).to_contain_text("The Quiet Weir")
    head.go("Today")
    expect(head.page.get_by_text("There is no shoot day yet.")).to_be_visible()

    # A list with nothing in it leads to the first, and what was written is there afterwards.
    new(head, "look")
    head.page.get_by_label("Name", exact=True).fill("Split lip, fresh")
    head.page.get_by_role("link", name="Add the first character").click()
    head.page.get_by_label("Name", exact=True).fill("The weir keeper")
    save(head, "Save the character")
    new(head, "look")
    expect(head.page.get_by_text("what you had written is here again")).to_be_visible()
    expect(head.page.get_by_label("Name", exact=True)).to_have_value("Split lip, fresh")
    expect(head.page.get_by_role("link", name="Add the first character")).to_be_hidden()

    for name, doubles in (("Odile Marchbank", None), ("Jory Pell", "Odile Marchbank")):
        new(head, "performer")
        head.page.get_by_label("Name", exact=True).fill(name)
        if doubles:
            head.page.get_by_label("Doubles for").select_option(label=doubles)
        save(head, "Save the performer")
    new(head, "appliance")
    head.page.get_by_label("Name", exact=True).fill("Split lip")
    head.page.get_by_label("Made for").select_option(label="Odile Marchbank")
    head.page.get_by_role("radio", name="Foam latex").check()
    head.page.get_by_role("radio", name="Blending paste").check()
    save(head, "Save the appliance")

    new(head, "look")
    look(head, "Split lip, fresh")
    new(head, "look")
    # It follows the first of its progression.
    look(head, "Split lip, healing", place="1")

    new(head, "unit")
    head.page.get_by_label("Name", exact=True).fill("Main unit")
    save(head, "Save the unit")
    # A form that starts filled in, opened and left, holds nothing that anybody has written.
    new(head, "scene")
    expect(head.page.get_by_label("Story day")).to_have_value("1")
    new(head, "scene")
    expect(head.page.get_by_text("what you had written is here again")).to_be_hidden()
    head.page.get_by_label("Number", exact=True).fill("A1")
    head.tap("Add who is in it")
    head.page.get_by_label("Character").select_option(label="The weir keeper")
    head.page.get_by_label("Look", exact=True).select_option(label="Split lip, fresh")
    save(head, "Save the scene")
    new(head, "shoot_day")
    head.page.get_by_label("Add a scene").select_option(label="A1")
    save(head, "Save the shoot day")

    # Nobody plays the character: said, not left out of the cover in silence.
    not_counted = head.page.get_by_text("Not counted: The weir keeper: Split lip, fresh")
    head.go("Cover")
    expect(not_counted).to_contain_text("Nobody plays the character yet.")
    head.page.get_by_role("link", name="Nobody plays the character yet.").click()
    head.page.get_by_label("Played by").select_option(label="Odile Marchbank")
    save(head, "Save changes")
    head.go("Cover")
    expect(head.page.get_by_role("link", name=re.compile("^Split lip, no spares"))).to_be_visible()
    expect(not_counted).to_be_hidden()

    # A double for whom nothing is made: neither "no appliances" on the day nor a cover without them.
    head.go("Set-up")
    head.page.get_by_role("link", name="Scenes").click()
    head.page.get_by_role("link", name="Scene A1").click()
    head.page.get_by_label("Worn by").select_option(label="Jory Pell, double")
    save(head, "Save changes")
    head.go("Cover")
    expect(not_counted).to_contain_text("on Jory Pell. No appliance of it is made for them.")
    head.go("Today")
    double = head.page.get_by_role("article").filter(has_text="Jory Pell")
    expect(double).to_contain_text("no appliance of it is made for Jory Pell, so no copy is planned")
    expect(double).not_to_contain_text("no appliances today")


def new(phone: Phone, kind: str) -> None:
    phone.go("Today")
    phone.page.goto(f"/#/set-up/{kind}/new")
    expect(phone.page.get_by_role("heading", name="New ")).to_be_visible()


def save(phone: Phone, words: str) -> None:
    phone.tap(words)
    expect(phone.page.get_by_role("button", name=words)).to_be_hidden()


def look(phone: Phone, name: str, place: str = "0") -> None:
    phone.page.get_by_label("Character").select_option(label="The weir keeper")
    phone.page.get_by_label("Name", exact=True).fill(name)
    phone.page.get_by_label("Progression").fill("Split lip")
    expect(phone.page.get_by_label("Place in the progression")).to_have_value(place)
    phone.page.get_by_role("checkbox", name="Split lip").check()
    save(phone, "Save the look")


def test_scenes_from_a_file(new_phone: NewPhone, served: Served, tmp_path: Path) -> None:
    phone = new_phone("continuity")
    phone.go("Set-up")
    phone.page.get_by_role("link", name="Scenes").click()
    phone.page.get_by_role("link", name="Take them from a CSV file").click()
    with phone.page.expect_download() as download:
        phone.tap("Download the template")
    template = tmp_path / download.value.suggested_filename
    download.value.save_as(template)
    with template.open(encoding="utf-8-sig", newline="") as lines:
        headings = next(csv.reader(lines))

    scenes = tmp_path / "scenes.csv"
    with scenes.open("w", encoding="utf-8", newline="") as lines:
        writer = csv.DictWriter(lines, headings)
        writer.writeheader()
        look = "Maren Sedge: Cut brow, scar"
        writer.writerow(
            {"scene number": "77", "story day": "41", "worn": look, "synopsis": "The weir is opened."}
        )
        writer.writerow({"scene number": "78", "story day": "the next day", "synopsis": "Nobody comes."})
        writer.writerow({"scene number": "79A", "story day": "42", "synopsis": "The lamp is lit."})
    before = served.documents("scene")

    phone.page.get_by_label("Choose a file").set_input_files(scenes)
    expect(phone.heading("This would be saved")).to_be_visible()
    expect(
        phone.page.get_by_text("2 to add · 0 to change · 0 the same already · 1 cannot be read")
    ).to_be_visible()
    unreadable = phone.page.get_by_role("listitem").filter(has_text="Line 3:")
    expect(unreadable).to_contain_text("the next day")
    assert served.documents("scene") == before
    phone.tap("Save these 2 without the 1 unreadable")
    expect(phone.page.get_by_text("Saved: 2 added, 0 changed.")).to_be_visible()
    after = served.documents("scene")
    added = [scene for key, scene in after.items() if key not in before]
    assert sorted((scene["number"], scene["story_day"]) for scene in added) == [("77", 41), ("79A", 42)]

    phone.page.get_by_label("Choose a file").set_input_files(scenes)
    expect(phone.heading("Nothing to save")).to_be_visible()
    expect(
        phone.page.get_by_text("0 to add · 0 to change · 2 the same already · 1 cannot be read")
    ).to_be_visible()
    phone.page.get_by_role("link", name="Scenes", exact=True).click()
    expect(phone.page.get_by_role("link", name="79A")).to_be_visible()
    assert served.documents("scene") == after
