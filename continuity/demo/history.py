"""The demo's applications: what was logged from the camera tests to last night, as a plain table.

Days are working days counted from today (see `continuity.demo.dates`); times are local, and "25:10" is ten
past one in the night that follows.
"""

from __future__ import annotations

from dataclasses import dataclass

from continuity.photos.documents import Angle, PhotoMoment

BEFORE, APPLIED, ON_SET = PhotoMoment.BEFORE, PhotoMoment.APPLIED, PhotoMoment.ON_SET
AFTER, REMOVED = PhotoMoment.AFTER, PhotoMoment.REMOVED
FRONT, CLOSE_UP = Angle.FRONT, Angle.CLOSE_UP
LEFT, RIGHT = Angle.THREE_QUARTER_LEFT, Angle.THREE_QUARTER_RIGHT
PROFILE_LEFT, PROFILE_RIGHT = Angle.PROFILE_LEFT, Angle.PROFILE_RIGHT


@dataclass(frozen=True)
class Application:
    """One wearing.

    ``good``, ``spoiled`` and ``lost`` are serials, the latter two with why. ``photos`` are (moment, angle,
    time); a photo shows the first scene unless it was taken at a test. ``answers`` says why a warning was
    gone past, by its code. Without ``removed`` the removal is not written down yet.
    """

    day: int
    performer: str
    look: str
    scenes: tuple[str, ...]
    good: tuple[str, ...]
    adhesives: tuple[tuple[str, str], ...]
    edge_solvent: str
    started: str
    ready: str
    photos: tuple[tuple[PhotoMoment, Angle, str], ...]
    spoiled: tuple[tuple[str, str], ...] = ()
    lost: tuple[tuple[str, str], ...] = ()
    recipe_version: int = 1
    differences: str | None = None
    sealer: str | None = "sealer"
    on_camera: str | None = None
    touch_ups: tuple[tuple[str, str], ...] = ()
    breaks: tuple[tuple[str, str], ...] = ()
    removed: str | None = None
    remover: str | None = None
    copy_after: str | None = None
    skin_after: str | None = None
    answers: tuple[tuple[str, str], ...] = ()
    artist: str = "artist"
    note: str | None = None


BROW_GLUE = (("Brow", "silicone_adhesive"), ("Edges", "acrylic_adhesive"))
DOUBLE_GLUE = (("Brow", "silicone_adhesive"),)
CHEEK_GLUE = (("Cheek", "acrylic_adhesive"),)
GRAZE_GLUE = (("Jaw", "spirit_gum"),)
SCAR_GLUE = (("Under the transfer", "acrylic_adhesive"),)

TESTS = (
    Application(
        -20, "idris", "pilot_fresh", (), ("GR-01", "GR-02"), GRAZE_GLUE, "warm_water", "10:00", "10:55",
        ((APPLIED, FRONT, "10:58"),),
        removed="12:10", remover="oil_remover", skin_after="Nothing to see.",
        note="Camera test of the grazes.",
    ),
    Application(
        -12, "tamsin", "maren_fresh", (), ("CB-01",), BROW_GLUE, "alcohol", "09:00", "10:30",
        ((BEFORE, FRONT, "08:55"), (APPLIED, CLOSE_UP, "10:33")),
        on_camera="11:00", removed="12:20", remover="silicone_remover", copy_after="Edge gone, as it should.",
        skin_after="Slightly pink over the brow, gone by lunch.", note="Camera test. Too cold on camera.",
    ),
    Application(
        -12, "idris", "josk_fresh", (), ("BC-01",), CHEEK_GLUE, "blending_paste", "09:30", "11:20",
        ((APPLIED, RIGHT, "11:24"),),
        on_camera="11:40", removed="13:00", remover="oil_remover", skin_after="Nothing to see.",
        artist="head", note="Camera test. The lamp eats the red.",
    ),
    Application(
        -8, "tamsin", "maren_fresh", (), ("CB-03",), BROW_GLUE, "alcohol", "14:00", "15:20",
        ((APPLIED, FRONT, "15:22"),),
        spoiled=(("CB-02", "Edge folded under at the temple and would not come out."),), recipe_version=2,
        on_camera="15:40", removed="16:30", remover="silicone_remover", skin_after="Nothing to see.",
        note="Second camera test, recipe version 2: good.",
    ),
)  # fmt: skip

FIRST_DAYS = (
    Application(
        -6, "tamsin", "maren_day_1", ("15",), ("CB-04",), BROW_GLUE, "alcohol", "05:45", "06:55",
        ((BEFORE, FRONT, "05:44"), (APPLIED, FRONT, "06:56"), (APPLIED, CLOSE_UP, "06:58"),
         (ON_SET, LEFT, "08:20")),
        on_camera="07:40", touch_ups=(("09:15", "Shine on the edge under the lamp."),), removed="11:30",
        remover="silicone_remover",
        copy_after="One edge lifted at the temple.", skin_after="Nothing to see.", note="Established.",
    ),
    Application(
        -6, "idris", "pilot_day_1", ("15",), ("GR-07", "GR-08"), GRAZE_GLUE, "warm_water", "06:05", "06:50",
        ((APPLIED, FRONT, "06:52"), (ON_SET, LEFT, "09:05")),
        on_camera="07:40", touch_ups=(("09:30", "Softened by sweat; powdered."),), removed="10:45",
        remover="oil_remover", copy_after="Soft, came off in pieces.", artist="head", answers=(
            ("wear_limit_passed", "Last set-up of the scene; held for forty minutes more, then off."),),
        note="Established.",
    ),
    Application(
        -6, "idris", "pilot_day_1", ("20",), ("GR-10", "GR-11"), GRAZE_GLUE, "warm_water", "12:10", "12:50",
        ((APPLIED, CLOSE_UP, "12:52"), (AFTER, FRONT, "15:30")),
        spoiled=(("GR-09", "Too much water: the edge ran."),), on_camera="13:10",
        removed="15:45", remover="oil_remover", copy_after="Wet through at the chin.",
        skin_after="A little red on the chin; cream, looked at next morning: gone.",
    ),
    Application(
        -5, "tamsin", "maren_day_1", ("18", "27"), ("CB-06",), BROW_GLUE, "alcohol", "06:35", "08:00",
        ((APPLIED, FRONT, "08:02"), (ON_SET, PROFILE_LEFT, "09:40")),
        spoiled=(("CB-05", "Tore at the inner corner when the backing came off."),),
        differences="Violet a shade lighter: she had slept badly and was darker herself.", on_camera="08:30",
        touch_ups=(("10:50", "Wind: hair caught in the edge."), ("14:20", "Tear track through the paint.")),
        breaks=(("12:30", "13:15"),), removed="16:20", remover="silicone_remover",
        copy_after="Good to the end.", skin_after="Nothing to see.",
    ),
    Application(
        -5, "idris", "josk_day_1", ("27", "29"), ("BC-03",), CHEEK_GLUE, "blending_paste", "09:05", "10:45",
        ((BEFORE, FRONT, "09:02"), (APPLIED, RIGHT, "10:47"), (APPLIED, CLOSE_UP, "10:49")),
        spoiled=(("BC-02", "Split at the ear while it was laid on."),), on_camera="13:30",
        touch_ups=(("15:10", "Smile line opened; paste and powder."),), removed="16:50",
        remover="oil_remover", copy_after="Split along the smile line.", skin_after="Nothing to see.",
        note="Established.",
    ),
    Application(
        -4, "tamsin", "maren_healing", ("42", "42A"), ("RS-01",), SCAR_GLUE, "alcohol", "07:05", "07:45",
        ((APPLIED, FRONT, "07:46"), (APPLIED, CLOSE_UP, "07:47")),
        sealer="sealer_old", on_camera="08:40", breaks=(("12:45", "13:30"),), removed="18:10",
        remover="oil_remover", skin_after="Nothing to see.", answers=(
            ("material_past_date", "The new bottle was still in the van; looked and smelt right."),),
        note="Established.",
    ),
    Application(
        -4, "idris", "josk_healing", ("42",), ("RS-02",), SCAR_GLUE, "alcohol", "07:10", "07:55",
        ((APPLIED, RIGHT, "07:57"),),
        on_camera="08:40", breaks=(("12:45", "13:30"),), removed="16:30", remover="oil_remover",
        skin_after="Nothing to see.", artist="head", note="Established.",
    ),
    Application(
        -4, "petra", "maren_day_1", ("17",), ("CD-01",), DOUBLE_GLUE, "alcohol", "09:35", "10:40",
        ((APPLIED, FRONT, "10:42"), (AFTER, LEFT, "13:20")),
        on_camera="11:30", touch_ups=(("12:20", "Mud washed off, edge pressed down."),), removed="13:40",
        remover="silicone_remover", copy_after="Full of mud.", skin_after="Nothing to see.", artist="head",
    ),
    Application(
        -4, "petra", "maren_day_1", ("22A",), ("CD-03",), BROW_GLUE, "alcohol", "14:40", "16:00",
        ((APPLIED, CLOSE_UP, "16:02"),),
        spoiled=(("CD-02", "Edge dissolved too far: too much alcohol."),), on_camera="16:40",
        touch_ups=(("17:30", "Heat: edge up at the temple."),), removed="19:10", remover="silicone_remover",
        copy_after="Edge up by a finger's width.", skin_after="Nothing to see.", artist="head", answers=(
            ("adhesive_no_patch_test",
             "Tested last week at the base, no reaction; the readings are copied in tonight."),),
    ),
)  # fmt: skip

LAST_DAYS = (
    Application(
        -3, "tamsin", "maren_day_3", ("31",), ("CB-07",), BROW_GLUE, "alcohol", "06:15", "07:20",
        ((APPLIED, FRONT, "07:22"), (APPLIED, CLOSE_UP, "07:24"), (ON_SET, LEFT, "08:50")),
        on_camera="08:10", breaks=(("09:30", "09:45"),), removed="11:20", remover="silicone_remover",
        copy_after="Good to the end.", skin_after="Nothing to see.", note="Established.",
    ),
    Application(
        -3, "idris", "pilot_healing", ("31",), ("GR-12", "GR-13"), GRAZE_GLUE, "warm_water", "06:25",
        "07:05", ((APPLIED, FRONT, "07:07"),),
        on_camera="08:10", removed="10:20", remover="oil_remover", skin_after="Nothing to see.",
        artist="head", note="Established.",
    ),
    Application(
        -3, "idris", "pilot_healing", ("34",), ("GR-05", "GR-14"), GRAZE_GLUE, "witch_hazel", "13:00",
        "13:40", ((APPLIED, CLOSE_UP, "13:42"),),
        differences="Witch hazel instead of water: better in this wind.", on_camera="14:10",
        removed="16:40", remover="oil_remover", copy_after="The old one cracked at the rim.", answers=(
            ("copy_past_shelf_date", "Chin only, never in close-up; it was supple."),),
    ),
    Application(
        -2, "tamsin", "maren_day_3", ("36",), ("CB-10",), BROW_GLUE, "alcohol", "07:45", "09:05",
        ((APPLIED, FRONT, "09:07"), (ON_SET, LEFT, "10:30")),
        spoiled=(("CB-08", "Tore while the edge was being dissolved."),), on_camera="09:40",
        touch_ups=(("11:40", "Quarrel: sweat along the hairline."),), breaks=(("13:00", "13:40"),),
        removed="15:30", remover="silicone_remover", copy_after="The pale line shows in daylight.",
        skin_after="Nothing to see.", answers=(
            ("copy_grade_too_low", "After one hero copy tore; lit from behind, nothing close."),),
    ),
    Application(
        -2, "idris", "josk_day_3", ("36",), ("BC-04",), CHEEK_GLUE, "blending_paste", "07:15", "08:50",
        ((APPLIED, RIGHT, "08:52"), (APPLIED, CLOSE_UP, "08:54")),
        on_camera="09:40", breaks=(("13:00", "13:40"),), removed="15:10", remover="oil_remover",
        copy_after="Good to the end.", skin_after="Nothing to see.", artist="head", note="Established.",
    ),
    Application(
        -2, "tamsin", "maren_scar", ("52",), ("RS-03",), SCAR_GLUE, "alcohol", "16:25", "17:00",
        ((APPLIED, FRONT, "17:02"), (APPLIED, CLOSE_UP, "17:03")),
        on_camera="17:20", removed="20:40", remover="oil_remover", skin_after="Tired skin: rested, cream.",
        note="Established.",
    ),
    Application(
        -2, "idris", "josk_scar", ("52",), ("RS-04",), SCAR_GLUE, "alcohol", "15:40", "16:20",
        ((APPLIED, RIGHT, "16:22"),),
        on_camera="17:20", removed="20:50", remover="oil_remover", skin_after="Nothing to see.",
        note="Established.",
    ),
    Application(
        -2, "petra", "maren_fresh", ("8A",), ("CD-04",), DOUBLE_GLUE, "alcohol", "14:35", "15:40",
        ((APPLIED, FRONT, "15:42"), (AFTER, LEFT, "19:30")),
        recipe_version=2, on_camera="16:30", touch_ups=(("18:00", "Blood washed off; renewed."),),
        removed="19:50", remover="silicone_remover", copy_after="Water under the edge.",
        skin_after="Wrinkled by the water, nothing else.", artist="head",
    ),
    Application(
        -2, "petra", "maren_fresh", ("7",), ("CB-09",), DOUBLE_GLUE, "alcohol", "20:40", "21:55",
        ((APPLIED, CLOSE_UP, "21:57"),),
        spoiled=(("CD-05", "Would not hold on wet skin; torn off with the edge."),), recipe_version=2,
        differences="Blood thinner, it is washed off anyway.", sealer=None, on_camera="22:30",
        removed="25:20", remover="silicone_remover", copy_after="Water under the edge.",
        skin_after="Nothing to see.", artist="head", answers=(
            ("copy_for_another_performer",
             "The last one in the water bag was crushed; one of Tamsin's was to hand."),),
    ),
    Application(
        -1, "tamsin", "maren_scar", ("51",), ("RS-05",), SCAR_GLUE, "alcohol", "10:05", "10:40",
        ((APPLIED, FRONT, "10:42"),),
        on_camera="11:20", breaks=(("13:30", "14:10"),), removed="15:50", remover="oil_remover",
    ),
    Application(
        -1, "idris", "josk_scar", ("51",), ("RS-06",), SCAR_GLUE, "alcohol", "10:10", "10:50",
        ((APPLIED, PROFILE_RIGHT, "10:53"),),
        on_camera="11:20", breaks=(("13:30", "14:10"),), removed="15:45", remover="oil_remover",
        artist="head",
    ),
    Application(
        -1, "tamsin", "maren_healing", ("45",), ("RS-10",), SCAR_GLUE, "alcohol", "16:10", "16:50",
        ((APPLIED, FRONT, "16:52"), (ON_SET, LEFT, "18:05")),
        lost=(("RS-07", "Came off with the wet collar between two takes; another put on."),),
        on_camera="17:40", removed="20:10", remover="oil_remover", skin_after="Nothing to see.",
    ),
    Application(
        -1, "idris", "josk_healing", ("45", "A51"), ("RS-09",), SCAR_GLUE, "alcohol", "16:15", "17:10",
        ((APPLIED, RIGHT, "17:12"), (ON_SET, RIGHT, "21:40")),
        spoiled=(("RS-08", "Slid on damp skin and creased."),), on_camera="17:40",
        touch_ups=(("20:30", "Lamp smoke: cleaned and powdered."),), breaks=(("18:40", "19:20"),),
        artist="head", note="Late wrap; the removal is not written down yet.",
    ),
)  # fmt: skip

APPLICATIONS = (*TESTS, *FIRST_DAYS, *LAST_DAYS)
