"""The demo's people, looks, scenes and shooting schedule, as plain tables.

Everything here is invented. Keys such as "maren_day_1" name a row within the demo only; days are working
days counted from today (see `continuity.demo.dates`).
"""

from __future__ import annotations

from dataclasses import dataclass

from continuity.people.documents import PatchTestResult, Role
from continuity.schedule.documents import DayNight, InteriorExterior

TITLE = "Low Water at Quillan"
TIME_ZONE = "Europe/London"

NO_REACTION, DOUBTFUL = PatchTestResult.NO_REACTION, PatchTestResult.DOUBTFUL
INTERIOR, EXTERIOR = InteriorExterior.INTERIOR, InteriorExterior.EXTERIOR
DAY, NIGHT, DAWN, DUSK = DayNight.DAY, DayNight.NIGHT, DayNight.DAWN, DayNight.DUSK


@dataclass(frozen=True)
class Account:
    """Somebody of the crew, who signs in with ``username``."""

    username: str
    name: str
    role: Role


HEAD = Account("head", "Marit Dunsander", Role.DEPARTMENT_HEAD)
CREW = (
    Account("artist", "Noor Ashwick", Role.SET_ARTIST),
    Account("continuity", "Callum Threave", Role.CONTINUITY),
    Account("shop", "Bea Larkhollow", Role.SHOP),
)


@dataclass(frozen=True)
class PatchTest:
    """``readings`` are (days after, result, note)."""

    material: str
    applied: int
    readings: tuple[tuple[int, PatchTestResult, str | None], ...]


@dataclass(frozen=True)
class Performer:
    """``allergies`` are (substance, note)."""

    key: str
    name: str
    doubles: str | None = None
    note: str | None = None
    allergies: tuple[tuple[str, str], ...] = ()
    patch_tests: tuple[PatchTest, ...] = ()


CLEAR = ((2, NO_REACTION, None), (4, NO_REACTION, None))
PERFORMERS = (
    Performer(
        "tamsin",
        "Tamsin Oakhollow",
        note="Prefers the left chair; no coffee near the brushes.",
        allergies=(("colophony", "Told by herself; no spirit gum."),),
        patch_tests=(
            PatchTest("silicone_adhesive", -32, CLEAR),
            PatchTest(
                "acrylic_adhesive",
                -32,
                (
                    (2, DOUBTFUL, "Faint pink at the rim, gone within the hour."),
                    (4, NO_REACTION, None),
                ),
            ),
            PatchTest("silicone_remover", -31, CLEAR),
        ),
    ),
    Performer(
        "idris",
        "Idris Penmarrow",
        note="Shaves the evening before, never on the day.",
        patch_tests=(
            PatchTest("acrylic_adhesive", -32, CLEAR),
            PatchTest("spirit_gum", -31, CLEAR),
            PatchTest("oil_remover", -31, CLEAR),
        ),
    ),
    Performer(
        "petra",
        "Petra Wexcombe",
        doubles="tamsin",
        note="Stunt double; wig and brow blocked before the piece.",
        allergies=(("latex", "Contact rash; no latex sponges or gloves either."),),
        patch_tests=(PatchTest("silicone_adhesive", -26, CLEAR),),
    ),
)

# Readings of a test done elsewhere, copied in on the evening of the day it was asked for.
LATE_PATCH_TEST = ("petra", -4, "21:10", PatchTest("acrylic_adhesive", -12, CLEAR))


@dataclass(frozen=True)
class Character:
    key: str
    name: str
    performer: str


CHARACTERS = (
    Character("maren", "Maren Sedge", "tamsin"),
    Character("josk", "Josk Harrow", "idris"),
    Character("pilot", "The Pilot", "idris"),
)


@dataclass(frozen=True)
class Look:
    """``wound`` and ``stage`` say what is drawn on the photos; a clean look has neither."""

    key: str
    character: str
    name: str
    progression: str | None = None
    position: int = 0
    appliances: tuple[str, ...] = ()
    chair_minutes: int | None = None
    wound: str | None = None
    stage: str = ""
    note: str | None = None


BROW = ("cut_brow", "cut_brow_double")
LOOKS = (
    Look("maren_clean", "maren", "Before the wreck", chair_minutes=25),
    Look("maren_fresh", "maren", "Cut brow, fresh", "Cut brow", 1, BROW, 75, "cut_brow", "fresh",
         "Blood runs outside the eye, never into it."),
    Look("maren_day_1", "maren", "Cut brow, day 1", "Cut brow", 2, BROW, 70, "cut_brow", "day_1"),
    Look("maren_day_3", "maren", "Cut brow, day 3", "Cut brow", 3, BROW, 65, "cut_brow", "day_3"),
    Look("maren_healing", "maren", "Cut brow, healing", "Cut brow", 4, ("raised_scar",), 40, "scar_brow",
         "healing"),
    Look("maren_scar", "maren", "Cut brow, scar", "Cut brow", 5, ("raised_scar",), 35, "scar_brow", "scar"),
    Look("josk_clean", "josk", "Before the fire", chair_minutes=20),
    Look("josk_fresh", "josk", "Burned cheek, fresh", "Burned cheek", 1, ("burned_cheek",), 95,
         "burned_cheek", "fresh"),
    Look("josk_day_1", "josk", "Burned cheek, day 1", "Burned cheek", 2, ("burned_cheek",), 90,
         "burned_cheek", "day_1"),
    Look("josk_day_3", "josk", "Burned cheek, day 3", "Burned cheek", 3, ("burned_cheek",), 90,
         "burned_cheek", "day_3"),
    Look("josk_healing", "josk", "Burned cheek, healing", "Burned cheek", 4, ("raised_scar",), 45,
         "scar_cheek", "healing"),
    Look("josk_scar", "josk", "Burned cheek, scar", "Burned cheek", 5, ("raised_scar",), 40, "scar_cheek",
         "scar"),
    Look("pilot_clean", "pilot", "Before the wreck", chair_minutes=20),
    Look("pilot_fresh", "pilot", "Grazed face, fresh", "Grazed face", 1, ("graze",), 50, "grazes", "fresh"),
    Look("pilot_day_1", "pilot", "Grazed face, day 1", "Grazed face", 2, ("graze",), 45, "grazes", "day_1"),
    Look("pilot_healing", "pilot", "Grazed face, healing", "Grazed face", 3, ("graze",), 40, "grazes",
         "healing"),
)  # fmt: skip


@dataclass(frozen=True)
class Scene:
    """``worn`` is look keys; "petra:maren_fresh" is the double in that look."""

    number: str
    story_day: int
    where: InteriorExterior
    when: DayNight
    page_eighths: int
    synopsis: str
    worn: tuple[str, ...]


SCENES = (
    Scene("1", 40, EXTERIOR, DAWN, 6, "Maren walks the causeway at low water.", ("maren_scar",)),
    Scene("2", 1, INTERIOR, DAY, 12, "Ferry office: Maren signs the Pilot on.",
          ("maren_clean", "pilot_clean")),
    Scene("4", 1, EXTERIOR, DUSK, 7, "The ferry leaves in a rising wind.", ("maren_clean", "pilot_clean")),
    Scene("7", 1, EXTERIOR, NIGHT, 10, "The ferry strikes the bar; Maren is thrown (double).",
          ("petra:maren_fresh",)),
    Scene("8", 1, EXTERIOR, NIGHT, 14, "In the water Maren holds the Pilot up.",
          ("maren_fresh", "pilot_fresh")),
    Scene("8A", 1, EXTERIOR, NIGHT, 3, "The boom swings over; she goes under (double).",
          ("petra:maren_fresh",)),
    Scene("9", 1, EXTERIOR, NIGHT, 9, "On the sandbar, waiting for light.", ("maren_fresh", "pilot_fresh")),
    Scene("12", 1, INTERIOR, NIGHT, 18, "Boathouse: Josk sews up Maren's brow.",
          ("maren_fresh", "josk_clean")),
    Scene("14", 2, INTERIOR, DAWN, 5, "Maren wakes and finds the mirror.", ("maren_day_1",)),
    Scene("15", 2, INTERIOR, DAY, 21, "The inquiry begins; the Pilot lies.", ("maren_day_1", "pilot_day_1")),
    Scene("17", 2, EXTERIOR, DAY, 6, "Running over the flats (double).", ("petra:maren_day_1",)),
    Scene("18", 2, EXTERIOR, DAY, 11, "The wreck at low water.", ("maren_day_1",)),
    Scene("20", 2, EXTERIOR, DAY, 9, "The Pilot washes at the pump.", ("pilot_day_1",)),
    Scene("22", 2, INTERIOR, NIGHT, 13, "Fire in the boathouse.", ("josk_fresh", "maren_day_1")),
    Scene("22A", 2, INTERIOR, NIGHT, 4, "Through the burning door (double).", ("petra:maren_day_1",)),
    Scene("23", 2, EXTERIOR, NIGHT, 8, "Outside, the roof falls in.", ("josk_fresh", "maren_day_1")),
    Scene("27", 3, INTERIOR, DAY, 16, "Sickroom: she reads to him.", ("josk_day_1", "maren_day_1")),
    Scene("29", 3, EXTERIOR, DUSK, 5, "Josk alone on the slip.", ("josk_day_1",)),
    Scene("31", 4, INTERIOR, DAY, 19, "The tide ledger is found.", ("maren_day_3", "pilot_healing")),
    Scene("34", 4, EXTERIOR, DAY, 7, "The Pilot tries to leave.", ("pilot_healing",)),
    Scene("36", 5, INTERIOR, NIGHT, 22, "Josk and Maren quarrel over the ledger.",
          ("josk_day_3", "maren_day_3")),
    Scene("38", 5, EXTERIOR, NIGHT, 9, "The chase over the mud (double).",
          ("petra:maren_day_3", "josk_day_3")),
    Scene("38A", 5, EXTERIOR, NIGHT, 3, "She falls from the sluice (double).", ("petra:maren_day_3",)),
    Scene("42", 9, INTERIOR, DAY, 17, "The inquiry closes.", ("maren_healing", "josk_healing")),
    Scene("42A", 9, INTERIOR, DAY, 4, "The corridor after.", ("maren_healing",)),
    Scene("45", 9, EXTERIOR, DUSK, 8, "On the quay nobody speaks.", ("maren_healing", "josk_healing")),
    Scene("A51", 9, EXTERIOR, NIGHT, 6, "Josk lights the lamp.", ("josk_healing",)),
    Scene("51", 40, EXTERIOR, DAY, 12, "The new ferry is named.", ("maren_scar", "josk_scar")),
    Scene("52", 40, INTERIOR, DAY, 15, "Ferry office: the Pilot's chair is empty.",
          ("maren_scar", "josk_scar")),
    Scene("54", 40, EXTERIOR, DUSK, 7, "Maren crosses alone.", ("maren_scar",)),
)  # fmt: skip


@dataclass(frozen=True)
class Planned:
    """A scene of a shoot day; performers in ``off_after`` are cleaned after it."""

    scene: str
    minutes: int | None = None
    off_after: tuple[str, ...] = ()


@dataclass(frozen=True)
class ShootDay:
    """``calls`` are (performer, time)."""

    day: int
    unit: str
    crew_call: str
    wrap: str
    scenes: tuple[Planned, ...]
    calls: tuple[tuple[str, str], ...]
    note: str | None = None


UNITS = (("main", "Main unit"), ("second", "Second unit"))
BOTH = ("tamsin", "idris")
SHOOT_DAYS = (
    ShootDay(-6, "main", "07:00", "18:00", (Planned("15", 210), Planned("20", 120)),
             (("tamsin", "05:40"), ("idris", "06:00"))),
    ShootDay(-5, "main", "08:00", "19:30", (Planned("18"), Planned("27"), Planned("29")),
             (("tamsin", "06:30"), ("idris", "09:00"))),
    ShootDay(-4, "main", "08:00", "18:30", (Planned("42"), Planned("42A")),
             (("tamsin", "07:00"), ("idris", "07:00"))),
    ShootDay(-4, "second", "11:00", "20:00", (Planned("17", 120, ("petra",)), Planned("22A", 120)),
             (("petra", "09:30"),), "Mud first; clean, eat, then the door."),
    ShootDay(-3, "main", "07:30", "18:30", (Planned("31", 180), Planned("34", 120)),
             (("tamsin", "06:10"), ("idris", "06:20"))),
    ShootDay(-2, "main", "09:00", "21:00", (Planned("36"), Planned("52")),
             (("tamsin", "07:40"), ("idris", "07:10")), "Look change after 36 for both."),
    ShootDay(-2, "second", "16:00", "02:00", (Planned("8A", 180, ("petra",)), Planned("7", 180)),
             (("petra", "14:30"),), "Water tank; a new piece after every dive."),
    ShootDay(-1, "main", "11:00", "22:30", (Planned("51"), Planned("45"), Planned("A51")),
             (("tamsin", "10:00"), ("idris", "10:00"))),
    ShootDay(0, "main", "09:00", "20:30", (Planned("12", 240), Planned("22", 240)),
             (("tamsin", "07:30"), ("idris", "08:30")), "Look change after 12 for both."),
    ShootDay(0, "second", "13:00", "22:00", (Planned("38A", 240),), (("petra", "11:30"),)),
    ShootDay(1, "main", "10:00", "22:00", (Planned("14", 120), Planned("23", 300)),
             (("tamsin", "08:40"), ("idris", "12:00"))),
    ShootDay(2, "main", "15:00", "03:00", (Planned("8", 270, BOTH), Planned("9", 210)),
             (("tamsin", "13:30"), ("idris", "13:50")), "Water; everybody is cleaned and dried after 8."),
    ShootDay(3, "main", "05:00", "16:00", (Planned("1"), Planned("54")), (("tamsin", "04:10"),)),
    ShootDay(3, "second", "10:00", "18:00", (Planned("22A", 180),), (("petra", "08:30"),)),
    ShootDay(4, "main", "09:00", "20:00", (Planned("36", 360),), (("tamsin", "07:40"), ("idris", "07:10")),
             "Second half of 36."),
    ShootDay(5, "main", "14:00", "01:00", (Planned("38", 360),), (("idris", "12:10"), ("petra", "12:30"))),
    ShootDay(6, "main", "08:00", "18:00", (Planned("31", 210),), (("tamsin", "06:40"), ("idris", "06:50")),
             "Pick-ups of 31."),
    ShootDay(6, "second", "16:00", "02:00", (Planned("7", 180, ("petra",)), Planned("8A", 180)),
             (("petra", "14:30"),)),
    ShootDay(7, "main", "15:00", "02:00", (Planned("9", 150, BOTH), Planned("12", 240)),
             (("tamsin", "13:30"), ("idris", "13:50")), "Second halves of 9 and 12; dried between."),
    ShootDay(8, "main", "14:00", "01:00", (Planned("22", 300),), (("idris", "12:10"), ("tamsin", "12:30"))),
    ShootDay(9, "main", "08:00", "19:00", (Planned("18", 240), Planned("27", 270)),
             (("tamsin", "06:30"), ("idris", "09:00"))),
    ShootDay(10, "main", "08:00", "18:00", (Planned("2"), Planned("4")),
             (("tamsin", "07:20"), ("idris", "07:30"))),
    ShootDay(11, "main", "08:00", "18:00", (Planned("52"),), (("tamsin", "07:10"), ("idris", "07:10"))),
)  # fmt: skip
