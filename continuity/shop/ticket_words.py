"""What a cast ticket says beside its figures. Facts of the trade are common practice, without a source; where
they touch on safety, the product's safety data sheet and local rules decide."""

from __future__ import annotations

from decimal import Decimal

from continuity.durations import minutes_in_words
from continuity.shop.pot_life import Known, said_minutes
from continuity.shop.vapour import DATA, Averaged, Room, Screening, Solvent
from continuity.stock.edge import Encapsulator

NO_WEIGHT = "The weight of a copy is not said: weigh a good one and write it on the appliance."
NO_DEADENER = "The parts of deadener are not said on the appliance; 0 is a gel without."
NO_AREA = "The area of the piece is not said on the appliance."
NO_COAT = "Nobody has said how many millilitres a coat takes for 100 cm²: measure one spray session."
NO_MOULD = "No mould is said, so all pours are taken to be one cycle."
NO_GEL = "No gel is named on the appliance, so the maker's times are not known."
NO_POT_LIFE = "The gel's pot life, and the temperature it is given at, are not said on the material."
NO_CURE = "The gel's cure time, and the temperature it is given at, are not said on the material."
NO_DRYING = "The drying time of a coat is not said on any lot of cap plastic."
NO_GRAMS_TO_COLOUR = "Without grams there is nothing to scale the recipe to."
NO_SPRAY = "Without millilitres of encapsulator there is no vapour to work out."
NO_ROOM = (
    "The room that is sprayed in is not said: its size and its changes of air an hour, on the production."
)
TOO_MUCH_DEADENER = "More than 2 parts of deadener to 1 of A and B: it may not hold its form and stay tacky."

NOT_A_GEL = {
    Encapsulator.FOAM_LATEX: "Foam latex is no gel of A and B: weights are in its maker's instructions.",
    Encapsulator.GELATINE: "Gelatine is no gel of A and B: weights are in the shop's own recipe.",
    Encapsulator.PRESSED_ACRYLIC: "A pressed transfer is no gel of A and B: by the shop's own recipe.",
}

COATS_IN_MOULD = "Encapsulate the mould"
POUR = "Mix and pour"
CURE = "Cure"
COATS_ON_BACK = "Encapsulate the back"

_GEL_STEPS = {
    "Make ready": "Nitrile gloves; cups and sticks that never met latex or foam. Lots noted.",
    "Release the mould": "Thin and even, into the edge; let it dry.",
    COATS_IN_MOULD: "{coats}, sprayed, not brushed; each dry before the next.",
    "Colour A, B and deadener": "Each apart: the flesh tone first, then blue and yellow by dots, flock last.",
    "Weigh": "Into one cup: A, then B, then deadener. Never move a stick from A to B.",
    POUR: "Stir slowly and scrape the sides; pour in a thin stream before it sets.",
    CURE: "Lid on, weighted; do not open early.",
    COATS_ON_BACK: "{coats} on the cured gel, each dry before the next.",
    "Demould": "Powder, edge first; slowly out of undercuts.",
    "Look at each copy": "Good, lower grade or rejected, and why; a serial on each, and its label.",
}
_OTHER_STEPS = {
    "Make ready": "Mould clean and dry; gloves that suit the material. Lots noted.",
    "Release the mould": "Thin and even, into the edge.",
    "Fill and finish": "By the maker's instructions or the shop's own recipe.",
    "Demould": "Powder, edge first; slowly out of undercuts.",
    "Look at each copy": "Good, lower grade or rejected, and why; a serial on each, and its label.",
}

_PLATINUM = (
    "Platinum silicone does not cure against natural latex, ammonia, sulphur clay, amines or tin-cured "
    "silicone. Keep tools, brushes and moulds that met foam latex apart."
)
_GLOVES = "Nitrile gloves, never latex. Eye protection when spraying."
_AIR = "Never spray in a closed trailer or room: air out, and wear the respirator that the data sheet names."
_DECIDES = "The safety data sheets, local rules and licensed practice decide."
_FLAMMABLE = {
    Solvent.ISOPROPYL_ALCOHOL: "99 % alcohol is highly flammable, hurts the eyes, its vapour makes drowsy.",
    Solvent.ACETONE: "Acetone is highly flammable, hurts the eyes, its vapour makes drowsy.",
}
_NO_FLAME = "No flame, no smoking, no sparks; lids on."
_FOAM = "Foam latex holds natural latex and ammonia: away from silicone, and from whoever is allergic."


def steps(encapsulator: Encapsulator, thinner: Solvent | None) -> dict[str, str]:
    """The order of work; "{coats}" stands where a number of coats is said."""
    return _OTHER_STEPS if thinner is None else _GEL_STEPS


def cautions(encapsulator: Encapsulator, thinner: Solvent | None) -> tuple[str, ...]:
    """The usual ones, whatever the figures are."""
    if thinner is None:
        return (_FOAM, _DECIDES) if encapsulator is Encapsulator.FOAM_LATEX else (_DECIDES,)
    return _PLATINUM, f"{_FLAMMABLE[thinner]} {_NO_FLAME}", _GLOVES, _AIR, _DECIDES


def coats(number: int) -> str:
    """Such as "1 coat" and "4 coats"."""
    return f"{number} coat{'' if number == 1 else 's'}"


def pot_life(known: Known, minutes: float, celsius: float) -> str:
    """Where the minutes come from."""
    makers = f"{known.minutes:g} min at {known.celsius:g} °C"
    if known.celsius == celsius:
        return f"The maker's {makers}."
    return (
        f"{said_minutes(minutes):.1f} min at {celsius:g} °C, from the maker's {makers}: halved for every "
        "10 °C warmer, doubled for every 10 °C colder. A rule of thumb, and deadener and colour change it: "
        "try a spoonful."
    )


def sets_too_soon(minutes: float) -> str:
    """Not even one cavity is filled in time."""
    return (
        f"At {said_minutes(minutes):.1f} min it sets before one cavity is filled: a colder room, a "
        "slower gel, or one cavity a mix and quickly."
    )


def scale_shows_nothing(step: Decimal) -> str:
    """A part is so light that it is rounded to nothing."""
    return f"A part of one pour weighs less than the scale of {step.normalize():f} g can show."


def scale_too_coarse(step: Decimal, off_percent: Decimal) -> str:
    """The step of the scale pulls a pour off its ratio."""
    return (
        f"Weighed for one pour, the scale's step of {step.normalize():f} g puts the mix "
        f"{float(off_percent):.1f} % off its ratio: take a finer scale."
    )


def colour_too_little(name: str, part: str, unit: str) -> str:
    """So little of a colour that it cannot be measured."""
    into = {"a": "A", "b": "B"}.get(part, part)
    return f"{name} into {into}: less than can be measured in {unit}. Thin the colour first."


_AVERAGED = {
    Averaged.SHIFT: "over 8 hours",
    Averaged.QUARTER_HOUR: "over the worst 15 minutes",
    Averaged.MOMENT: "at the worst moment",
}


def rounded_ppm(ppm: float) -> str:
    """Two digits: the model knows no more."""
    return f"{float(f'{ppm:.2g}'):,.0f} ppm" if ppm >= 1 else "under 1 ppm"


def vapour(found: Screening, millilitres: Decimal, minutes: float, room: Room) -> tuple[str, ...]:
    """What the figure is, each limit that is reached, and what it supposes. A screening figure says when
    there is too much; it never says that there is not."""
    data = DATA[found.solvent]
    said = [
        f"{float(millilitres):g} ml of {data.name} in {minutes_in_words(minutes)}, {room.cubic_metres:g} m³, "
        f"{room.air_changes:g} changes of air an hour: up to {rounded_ppm(found.peak_ppm)} in mixed air, "
        f"{_share(found.explosive_share)} of the lower explosive limit."
    ]
    for against in found.over:
        limit = against.limit
        said.append(
            f"Over the limit {limit.name} ({limit.ppm:g} ppm; {limit.source}): {rounded_ppm(against.ppm)} "
            f"{_AVERAGED[limit.averaged]}. More air, less at a time, or outside."
        )
    if not found.over:
        nearest = max(found.against, key=lambda against: against.share)
        limit = nearest.limit
        said.append(
            f"Nearest is the limit {limit.name} ({limit.ppm:g} ppm; {limit.source}): "
            f"{_share(nearest.share)} of it {_AVERAGED[limit.averaged]}."
        )
    if found.explosive_share >= 0.1:
        said.append("A tenth of the lower explosive limit or more: do not spray like this.")
    said.append(
        "A screening figure, not a measurement: all of it counted as solvent and evaporated, air mixed "
        "through and through, nobody leaving for 8 hours. Beside the gun there is many times as much."
    )
    return tuple(said)


def _share(share: float) -> str:
    return (
        f"{share * 100:.2g} %" if 0.01 <= share < 1 else f"{share * 100:.0f} %" if share >= 1 else "under 1 %"
    )
