"""The demo's appliances, moulds, cast runs, copies, materials and paint recipes, as plain tables.

Everything here is invented. Days are working days counted from today (see `continuity.demo.dates`).
"""

from __future__ import annotations

from dataclasses import dataclass

from continuity.stock.documents import MaterialUse
from continuity.stock.edge import EdgeSolvent, Encapsulator
from continuity.stock.grade import Grade


@dataclass(frozen=True)
class Appliance:
    """``prefix`` starts the serials of its copies: CB gives CB-01, CB-02, …"""

    key: str
    prefix: str
    name: str
    performer: str | None
    grade: Grade
    encapsulator: Encapsulator
    edge_solvent: EdgeSolvent
    copies_per_application: int = 1
    wear_limit_minutes: int | None = None
    shelf_life_days: int | None = None
    note: str | None = None


APPLIANCES = (
    Appliance("cut_brow", "CB", "Cut brow, left", "tamsin", Grade.HERO, Encapsulator.ALCOHOL_SOLUBLE,
              EdgeSolvent.ALCOHOL, 1, 600, 180, "Silicone gel, encapsulated. Hair punched to match."),
    Appliance("cut_brow_double", "CD", "Cut brow, left, for the double", "petra", Grade.MID,
              Encapsulator.ALCOHOL_SOLUBLE, EdgeSolvent.ALCOHOL, 1, 540, 180,
              "Thicker edge; holds in water."),
    Appliance("burned_cheek", "BC", "Burned cheek, right", "idris", Grade.HERO, Encapsulator.FOAM_LATEX,
              EdgeSolvent.BLENDING_PASTE, 1, 480, 365, "Kept away from everything that touches silicone."),
    Appliance("graze", "GR", "Graze, small", None, Grade.BACKGROUND, Encapsulator.GELATINE,
              EdgeSolvent.WARM_WATER, 2, 240, 21, "One on the cheekbone, one on the chin."),
    Appliance("raised_scar", "RS", "Raised scar, small", None, Grade.MID, Encapsulator.PRESSED_ACRYLIC,
              EdgeSolvent.ALCOHOL, 1, None, 365, "Pressed transfer; brow or cheek."),
)  # fmt: skip


@dataclass(frozen=True)
class Mould:
    key: str
    name: str
    appliance: str
    cavities: int
    cycle_minutes: int
    note: str | None = None


MOULDS = (
    Mould("brow_mould", "Brow mould", "cut_brow", 4, 300, "Cavity 3 is chipped; away for repair."),
    Mould("double_mould", "Brow mould, double", "cut_brow_double", 4, 300),
    Mould("cheek_mould", "Cheek mould", "burned_cheek", 3, 420),
    Mould("graze_plate", "Graze plate", "graze", 8, 90),
    Mould("scar_plate", "Scar plate", "raised_scar", 8, 1500),
)


@dataclass(frozen=True)
class CastRun:
    """``rejected`` are (copies, why). Its good copies take the appliance's next serials, in this order."""

    mould: str
    cast: int
    due: int
    planned: int
    rejected: tuple[tuple[int, str], ...] = ()
    finished: bool = True
    note: str | None = None


CAST_RUNS = (
    CastRun("brow_mould", -30, -29, 4, ((1, "Edge torn on release."),)),
    CastRun("brow_mould", -28, -27, 4),
    CastRun("brow_mould", -24, -23, 4, ((1, "Air bubble in the brow."),)),
    CastRun("brow_mould", -20, -19, 4, ((1, "Cap plastic lifted at one corner."),)),
    CastRun("brow_mould", -14, -13, 4),
    CastRun("brow_mould", -11, -10, 4),
    CastRun("brow_mould", -9, -8, 4, ((1, "Gel stayed tacky: too much deadener."),)),
    CastRun("brow_mould", -4, -3, 4, ((1, "Edge torn on release."), (1, "Chip of cavity 3 in the edge."))),
    CastRun("brow_mould", 7, 10, 3, (), False, "After the mould is back; three cavities."),
    CastRun("double_mould", -26, -25, 4, ((1, "Edge folded in the mould."),)),
    CastRun("double_mould", -22, -21, 4),
    CastRun("double_mould", -16, -15, 4, ((1, "Colour too cold."),)),
    CastRun("double_mould", -11, -10, 4),
    CastRun("double_mould", -8, -7, 4),
    CastRun("double_mould", -5, -4, 4, ((1, "Air bubble at the rim."),)),
    CastRun("cheek_mould", -29, -27, 3, ((1, "Foam did not fill the jaw edge."),)),
    CastRun("cheek_mould", -25, -23, 3),
    CastRun("cheek_mould", -21, -19, 3),
    CastRun("cheek_mould", -18, -16, 3),
    CastRun("cheek_mould", -15, -13, 3, ((1, "Skin collapsed in the oven."),)),
    CastRun("cheek_mould", -10, -8, 3),
    CastRun("cheek_mould", -6, -4, 3),
    CastRun("graze_plate", -27, -27, 8, ((2, "Edge too thick."),)),
    CastRun("graze_plate", -12, -12, 8, ((1, "Torn on lifting."),)),
    CastRun("graze_plate", -8, -8, 8),
    CastRun("graze_plate", -3, -3, 8, ((1, "Bubbles."),)),
    CastRun("scar_plate", -23, -21, 8),
    CastRun("scar_plate", -13, -11, 8, ((1, "Lifted with the backing."),)),
    CastRun("scar_plate", -5, -3, 8, ((1, "Crease across the middle."),)),
)


@dataclass(frozen=True)
class Shipment:
    """Copies ``first`` to ``last`` of an appliance leave the shop and reach the set."""

    appliance: str
    first: int
    last: int
    leaves: int
    arrives: int


SHIPMENTS = (
    Shipment("cut_brow", 1, 7, -16, -15),
    Shipment("cut_brow", 8, 13, -9, -8),
    Shipment("cut_brow", 14, 21, -5, -4),
    Shipment("cut_brow", 22, 24, -1, 1),
    Shipment("cut_brow_double", 1, 7, -12, -11),
    Shipment("cut_brow_double", 8, 14, -6, -5),
    Shipment("cut_brow_double", 15, 21, -1, 2),
    Shipment("burned_cheek", 1, 8, -16, -15),
    Shipment("burned_cheek", 9, 16, -6, -5),
    Shipment("burned_cheek", 17, 19, -1, 1),
    Shipment("graze", 1, 6, -24, -23),
    Shipment("graze", 7, 13, -11, -10),
    Shipment("graze", 14, 21, -7, -6),
    Shipment("graze", 22, 25, -1, 1),
    Shipment("raised_scar", 1, 8, -12, -11),
    Shipment("raised_scar", 9, 15, -7, -6),
    Shipment("raised_scar", 16, 18, -1, 1),
)

# Copies still at the shop that are promised for a day.
PROMISED = {"GR-26": 4, "GR-27": 4, "GR-28": 4}

# Copies on set that are kept for a scene.
SET_ASIDE = {"RS-12": "52", "RS-13": "52"}

# Not every good copy is of the grade it was meant for.
LOWER_GRADES = {
    "CB-10": (Grade.MID, "Pale line in the upper edge; wide shots only."),
    "CB-25": (Grade.BACKGROUND, "Torn at the temple, mended."),
    "CB-26": (Grade.MID, "Punched hair too sparse."),
}

LOST, DAMAGED = "lost", "damaged"
# (serial, what became of it, day, time, what was said)
MISHAPS = (
    ("CB-11", LOST, -6, "19:20", "Not in the box when the trailer moved; searched twice."),
    ("CD-06", DAMAGED, -2, "15:10", "Crushed under the wet-down pump."),
    ("GR-03", DAMAGED, -7, "17:00", "Dried out and curled."),
    ("GR-04", DAMAGED, -7, "17:00", "Dried out and curled."),
)


@dataclass(frozen=True)
class Material:
    """``expires`` is a number of days after today."""

    key: str
    name: str
    use: MaterialUse
    lot: str | None
    expires: int | None
    solvent: EdgeSolvent | None = None
    contains: tuple[str, ...] = ()
    note: str | None = None


FLAMMABLE = "Highly flammable: no flame, ventilate; the safety data sheet decides."
MATERIALS = (
    Material("silicone_adhesive", "Silicone adhesive", MaterialUse.ADHESIVE, "SA-2207", 210, None,
             ("silicone",)),
    Material("acrylic_adhesive", "Acrylic emulsion adhesive", MaterialUse.ADHESIVE, "AE-118", 95, None,
             ("acrylates",)),
    Material("spirit_gum", "Spirit gum", MaterialUse.ADHESIVE, "SG-31", 160, None,
             ("colophony", "alcohol"), FLAMMABLE),
    Material("alcohol", "Isopropyl alcohol 99 %", MaterialUse.EDGE_SOLVENT, "IPA-0904", 300,
             EdgeSolvent.ALCOHOL, ("alcohol",), FLAMMABLE),
    Material("acetone", "Acetone", MaterialUse.EDGE_SOLVENT, "AC-0771", 300, EdgeSolvent.ACETONE,
             ("acetone",), f"{FLAMMABLE} Not near the eyes or the mouth."),
    Material("blending_paste", "Blending paste", MaterialUse.EDGE_SOLVENT, "BP-12", 40,
             EdgeSolvent.BLENDING_PASTE, ("acrylates",)),
    Material("warm_water", "Warm water", MaterialUse.EDGE_SOLVENT, None, None, EdgeSolvent.WARM_WATER),
    Material("witch_hazel", "Witch hazel", MaterialUse.EDGE_SOLVENT, "WH-5", 120, EdgeSolvent.WITCH_HAZEL),
    Material("silicone_remover", "Silicone adhesive remover", MaterialUse.REMOVER, "SR-88", 250, None,
             ("silicone",)),
    Material("oil_remover", "Oil-based remover", MaterialUse.REMOVER, "OR-402", 400, None, ("mineral oil",)),
    Material("flesh_palette", "Alcohol palette, flesh tones", MaterialUse.PAINT, "FP-3", 500, None,
             ("alcohol",)),
    Material("bruise_palette", "Alcohol palette, bruise tones", MaterialUse.PAINT, "BT-3", 500, None,
             ("alcohol",)),
    Material("grease_palette", "Grease palette for foam", MaterialUse.PAINT, "GP-9", 330, None,
             ("castor oil",)),
    Material("blood", "Stage blood, slow drying", MaterialUse.PAINT, "BL-77", 60, None, ("sugar",)),
    Material("sealer_old", "Acrylic sealer", MaterialUse.SEALER, "AS-640", -9, None, ("acrylates",),
             "To be thrown away: past its date."),
    Material("sealer", "Acrylic sealer", MaterialUse.SEALER, "AS-702", 140, None, ("acrylates",)),
)  # fmt: skip


@dataclass(frozen=True)
class Recipe:
    """``steps`` are (zone, paint, mix, tool). Version 2 follows version 1 of the same look."""

    look: str
    version: int
    steps: tuple[tuple[str, str, str, str | None], ...]
    note: str | None = None


RECIPES = (
    Recipe("maren_fresh", 1, (
        ("whole piece", "flesh_palette", "2 olive : 1 rose, thinned to a wash", "soft sponge, torn"),
        ("inside of the cut", "bruise_palette", "1 maroon : 1 black", "size 0 brush"),
        ("run to the cheek", "blood", "neat, three drops", "pipette"),
    )),
    Recipe("maren_fresh", 2, (
        ("whole piece", "flesh_palette", "3 olive : 1 rose, thinned to a wash", "soft sponge, torn"),
        ("inside of the cut", "bruise_palette", "2 maroon : 1 black", "size 0 brush"),
        ("rim", "bruise_palette", "rose, one pass, fading by a finger's width", "flat brush"),
        ("run to the cheek", "blood", "neat, three drops, outside the eye", "pipette"),
    ), "Warmer after the camera test."),
    Recipe("maren_day_1", 1, (
        ("whole piece", "flesh_palette", "3 olive : 1 rose, thinned to a wash", "soft sponge, torn"),
        ("lid and temple", "bruise_palette", "2 violet : 1 maroon", "flicked brush"),
        ("cut", "blood", "dried, scraped to a crust", "toothpick"),
    )),
    Recipe("maren_day_3", 1, (
        ("whole piece", "flesh_palette", "3 olive : 1 rose, thinned to a wash", "soft sponge, torn"),
        ("lid and temple", "bruise_palette", "1 violet : 2 yellow-green at the rim", "flicked brush"),
        ("scab", "bruise_palette", "brown, matt", "size 1 brush"),
    )),
    Recipe("maren_healing", 1, (
        ("transfer", "flesh_palette", "2 rose : 1 olive", "size 1 brush"),
        ("rim", "bruise_palette", "yellow, hardly there", "soft sponge, torn"),
    )),
    Recipe("maren_scar", 1, (("transfer", "flesh_palette", "1 pale : 1 rose, shiny", "size 1 brush"),)),
    Recipe("josk_fresh", 1, (
        ("whole piece", "grease_palette", "4 brown : 1 red", "stipple sponge"),
        ("blisters", "grease_palette", "red, glazed", "size 3 brush"),
    )),
    Recipe("josk_fresh", 2, (
        ("whole piece", "grease_palette", "3 brown : 2 red", "stipple sponge"),
        ("blisters", "grease_palette", "red, glazed twice", "size 3 brush"),
        ("rim", "grease_palette", "black, dusted", "dry brush"),
    ), "Redder: the lamp eats the red."),
    Recipe("josk_day_1", 1, (
        ("whole piece", "grease_palette", "3 brown : 2 red", "stipple sponge"),
        ("weeping edge", "grease_palette", "yellow, glazed", "size 3 brush"),
    )),
    Recipe("josk_day_3", 1, (
        ("whole piece", "grease_palette", "4 brown : 1 red", "stipple sponge"),
        ("crust", "grease_palette", "dark brown, matt", "stipple sponge"),
    )),
    Recipe("josk_healing", 1, (("transfer and skin", "flesh_palette", "3 rose : 1 brown", "torn sponge"),)),
    Recipe("josk_scar", 1, (("transfer", "flesh_palette", "1 pale : 1 brown, shiny", "size 1 brush"),)),
    Recipe("pilot_fresh", 1, (
        ("both pieces", "flesh_palette", "3 brown : 1 rose", "torn sponge"),
        ("scratches", "blood", "neat, wiped", "stipple sponge"),
    )),
    Recipe("pilot_day_1", 1, (
        ("both pieces", "flesh_palette", "3 brown : 1 rose", "torn sponge"),
        ("scratches", "bruise_palette", "maroon, dry", "stipple sponge"),
    )),
    Recipe("pilot_healing", 1, (("both pieces", "flesh_palette", "2 brown : 1 rose", "torn sponge"),)),
)  # fmt: skip
