"""The cast ticket: what is weighed, sprayed, waited for and minded to cast the copies of an order.

Worked out from plain values. What nobody has said, of the piece or of the room, is named in `Ticket.missing`
with the line it keeps from being worked out; nothing is guessed.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from continuity.shop import ticket_words as words_of
from continuity.shop.batch import (
    NOTHING,
    Coats,
    Gel,
    Mix,
    Ratio,
    colour_for,
    cycles_of,
    decimal_of,
    encapsulator,
    gel_of_one_pour,
    mixes_of,
    off_ratio,
    sum_of,
)
from continuity.shop.pot_life import Known, TooFar, at_temperature, pours_in_one_mix, said_minutes
from continuity.shop.vapour import Room, Screening, Solvent, screen
from continuity.stock.edge import Encapsulator

THINNERS = {
    Encapsulator.ALCOHOL_SOLUBLE: Solvent.ISOPROPYL_ALCOHOL,
    Encapsulator.ACETONE_SOLUBLE: Solvent.ACETONE,
}
"""What thins the cap plastic around a silicone gel copy. Copies of anything else are not cast from a gel."""

COLOUR_STEPS = {"drops": Decimal(1), "pinches": Decimal("0.5")}
CAP_PLASTIC_STEP = Decimal(1)
SPRAYED_A_COAT_MINUTES = 5.0
"""Taken for the time a coat is sprayed and dries in where the cap plastic's own is not known. Chosen here."""


@dataclass(frozen=True)
class Colour:
    """So much of a colour to each ``per_grams`` grams of the part it goes ``into``: "a", "b", "deadener" or
    "all", which is each of them."""

    name: str
    amount: Decimal
    unit: str
    per_grams: Decimal
    into: str


@dataclass(frozen=True)
class Bench:
    """The shop: its scale's step in grams, waste and tolerance in percent, degrees Celsius, seconds, and the
    room that is sprayed in, in m³ and changes of air an hour."""

    step: Decimal
    waste_percent: Decimal
    tolerance_percent: Decimal
    celsius: float
    stirring_seconds: float
    seconds_a_cavity: float
    room_cubic_metres: float | None
    air_changes: float | None


@dataclass(frozen=True)
class Piece:
    """What a copy is cast from. Grams, parts by weight and by volume, cm², ml for 100 cm², minutes; None is
    what nobody has said. ``pot_life`` and ``cure`` are the maker's."""

    encapsulator: Encapsulator
    copy_grams: Decimal | None
    parts_a: Decimal
    parts_b: Decimal
    deadener_parts: Decimal | None
    area: Decimal | None
    coats_in_mould: int
    coats_on_back: int
    coat_millilitres: Decimal | None
    cap_plastic_parts: Decimal
    thinner_parts: Decimal
    colours: tuple[Colour, ...]
    has_gel: bool
    pot_life: Known | None
    cure: Known | None
    coat_dry_minutes: float | None


@dataclass(frozen=True)
class Missing:
    """A line that cannot be worked out, and what it would take."""

    line: str
    words: str


@dataclass(frozen=True)
class ColourLine:
    """Of one colour, into one part of all mixes, in the colour's own unit; and its recipe, so much to each
    ``per_grams`` grams."""

    name: str
    into: str
    unit: str
    in_all: Decimal
    amount: Decimal
    per_grams: Decimal


@dataclass(frozen=True)
class GelLines:
    """Grams: of one pour, of each mix, and of all mixes together."""

    of_one: Gel
    mixes: tuple[Mix, ...]
    whole: Gel


@dataclass(frozen=True)
class CoatLines:
    """Encapsulator for the pours of one cycle: in the mould, and on the back once the gel has cured."""

    cycle: int
    pours: int
    in_mould: Coats
    on_back: Coats


@dataclass(frozen=True)
class EncapsulatorLines:
    cycles: tuple[CoatLines, ...]
    cap_plastic: Decimal
    thinner: Decimal

    @property
    def total(self) -> Decimal:
        return self.cap_plastic + self.thinner


@dataclass(frozen=True)
class PotLife:
    """Minutes at the room's temperature, and how many cavities one mix fills before it sets."""

    minutes: float
    pours_in_one_mix: int
    words: str


@dataclass(frozen=True)
class Step:
    """A line to tick off. With a timer it takes so many minutes, so many ``times`` over."""

    what: str
    words: str
    minutes: float | None = None
    times: int = 1


@dataclass(frozen=True)
class Vapour:
    """What one session of spraying does to the air of the room, and what that figure supposes."""

    screening: Screening
    millilitres: Decimal
    minutes: float
    room: Room
    words: tuple[str, ...]


@dataclass(frozen=True)
class Ticket:
    pours: int
    cycles: tuple[int, ...]
    thinner: Solvent | None
    gel: GelLines | None
    colours: tuple[ColourLine, ...]
    encapsulator: EncapsulatorLines | None
    pot_life: PotLife | None
    cure_minutes: float | None
    coat_dry_minutes: float | None
    vapour: Vapour | None
    steps: tuple[Step, ...]
    cautions: tuple[str, ...]
    missing: tuple[Missing, ...]


def make_ticket(piece: Piece, bench: Bench, pours: int, cavities: int | None) -> Ticket:
    """The ticket for so many pours (1 or more) in a mould with so many cavities; None when it is not known,
    and then all are taken to be poured at once."""
    return _Writer(piece, bench, pours, cavities).write()


class _Writer:
    """Works the lines out one after another and gathers what is missing on the way."""

    def __init__(self, piece: Piece, bench: Bench, pours: int, cavities: int | None) -> None:
        self.piece, self.bench, self.pours = piece, bench, pours
        self.cavities = cavities or pours
        self.cycles = tuple(cycles_of(pours, self.cavities))
        self.thinner = THINNERS.get(piece.encapsulator)
        self.missing: list[Missing] = []
        self.cautions: list[str] = []
        if cavities is None:
            self._lack("Cycles", words_of.NO_MOULD)

    def write(self) -> Ticket:
        pot_life = self._pot_life()
        gel = self._gel(pot_life)
        coats = self._encapsulator()
        cure = self._cure()
        vapour = self._vapour(coats)
        dry = self.piece.coat_dry_minutes if self.thinner else None
        if self.thinner and dry is None:
            self._lack("Drying of a coat", words_of.NO_DRYING)
        return Ticket(
            pours=self.pours,
            cycles=self.cycles,
            thinner=self.thinner,
            gel=gel,
            colours=self._colours(gel),
            encapsulator=coats,
            pot_life=pot_life,
            cure_minutes=cure,
            coat_dry_minutes=dry,
            vapour=vapour,
            steps=self._steps(pot_life, cure, dry),
            cautions=(*self.cautions, *words_of.cautions(self.piece.encapsulator, self.thinner)),
            missing=tuple(self.missing),
        )

    def _lack(self, line: str, words: str) -> None:
        self.missing.append(Missing(line, words))

    # -- the gel -----------------------------------------------------------------------------------

    def _pot_life(self) -> PotLife | None:
        if self.thinner is None:
            return None
        known = self.piece.pot_life
        if known is None:
            self._lack("Pot life", words_of.NO_POT_LIFE if self.piece.has_gel else words_of.NO_GEL)
            return None
        try:
            minutes = at_temperature(known, self.bench.celsius)
        except TooFar as far:
            self._lack("Pot life", str(far))
            return None
        pours = pours_in_one_mix(minutes, self.bench.stirring_seconds, self.bench.seconds_a_cavity)
        if not pours:
            self.cautions.append(words_of.sets_too_soon(minutes))
        return PotLife(minutes, pours, words_of.pot_life(known, minutes, self.bench.celsius))

    def _gel(self, pot_life: PotLife | None) -> GelLines | None:
        piece, bench = self.piece, self.bench
        if self.thinner is None:
            self._lack("Gel", words_of.NOT_A_GEL[piece.encapsulator])
            return None
        if piece.copy_grams is None:
            self._lack("Grams", words_of.NO_WEIGHT)
            return None
        if piece.deadener_parts is None:
            self._lack("Grams", words_of.NO_DEADENER)
            return None
        ratio = Ratio(piece.parts_a, piece.parts_b, piece.deadener_parts)
        of_one = gel_of_one_pour(piece.copy_grams, bench.waste_percent, ratio, bench.step)
        self._mind_the_scale(of_one, ratio)
        if ratio.deadener_to_one > 2:
            self.cautions.append(words_of.TOO_MUCH_DEADENER)
        a_mix = max(1, pot_life.pours_in_one_mix) if pot_life else self.pours
        mixes = mixes_of(self.pours, self.cavities, a_mix, of_one)
        return GelLines(of_one, mixes, sum_of(mix.gel for mix in mixes))

    def _mind_the_scale(self, of_one: Gel, ratio: Ratio) -> None:
        step = self.bench.step
        weighed = [of_one.a, of_one.b, *([of_one.deadener] if ratio.deadener else [])]
        off = off_ratio(of_one, ratio, self.bench.tolerance_percent)
        if not all(weighed):
            self.cautions.append(words_of.scale_shows_nothing(step))
        elif off:
            self.cautions.append(words_of.scale_too_coarse(step, max(part.percent for part in off)))

    def _colours(self, gel: GelLines | None) -> tuple[ColourLine, ...]:
        if not self.piece.colours or self.thinner is None:
            return ()
        if gel is None:
            self._lack("Intrinsic colour", words_of.NO_GRAMS_TO_COLOUR)
            return ()
        lines = []
        for colour in self.piece.colours:
            step = COLOUR_STEPS.get(colour.unit, self.bench.step)
            for part in ("a", "b", "deadener") if colour.into == "all" else (colour.into,):
                whole: Decimal = getattr(gel.whole, part)
                if whole <= NOTHING:
                    continue
                in_all = colour_for(colour.amount, colour.per_grams, whole, step)
                if not in_all:
                    self.cautions.append(words_of.colour_too_little(colour.name, part, colour.unit))
                recipe = colour.amount, colour.per_grams
                lines.append(ColourLine(colour.name, part, colour.unit, in_all, *recipe))
        return tuple(lines)

    def _cure(self) -> float | None:
        if self.thinner is None:
            return None
        if self.piece.cure is None:
            self._lack("Cure", words_of.NO_CURE if self.piece.has_gel else words_of.NO_GEL)
            return None
        try:
            return at_temperature(self.piece.cure, self.bench.celsius)
        except TooFar as far:
            self._lack("Cure", str(far))
            return None

    # -- the encapsulator ----------------------------------------------------------------------------

    def _encapsulator(self) -> EncapsulatorLines | None:
        if self.thinner is None:
            return None
        piece = self.piece
        if piece.area is None:
            self._lack("Encapsulator", words_of.NO_AREA)
            return None
        if piece.coat_millilitres is None:
            self._lack("Encapsulator", words_of.NO_COAT)
            return None
        cycles = tuple(
            CoatLines(
                number,
                pours,
                self._coats(pours, piece.area, piece.coats_in_mould, piece.coat_millilitres),
                self._coats(pours, piece.area, piece.coats_on_back, piece.coat_millilitres),
            )
            for number, pours in enumerate(self.cycles, start=1)
        )
        sides = [side for cycle in cycles for side in (cycle.in_mould, cycle.on_back)]
        return EncapsulatorLines(
            cycles,
            sum((side.cap_plastic for side in sides), NOTHING),
            sum((side.thinner for side in sides), NOTHING),
        )

    def _coats(self, pours: int, area: Decimal, coats: int, millilitres: Decimal) -> Coats:
        parts = self.piece.cap_plastic_parts, self.piece.thinner_parts
        return encapsulator(area * pours, coats, millilitres, *parts, CAP_PLASTIC_STEP)

    def _vapour(self, coats: EncapsulatorLines | None) -> Vapour | None:
        if self.thinner is None:
            return None
        bench = self.bench
        if coats is None:
            self._lack("Vapour", words_of.NO_SPRAY)
            return None
        if bench.room_cubic_metres is None or bench.air_changes is None:
            self._lack("Vapour", words_of.NO_ROOM)
            return None
        side = max((coats.cycles[0].in_mould, coats.cycles[0].on_back), key=lambda side: side.total)
        if not side.total:
            return None
        minutes = side.coats * (self.piece.coat_dry_minutes or SPRAYED_A_COAT_MINUTES)
        room = Room(bench.room_cubic_metres, bench.air_changes)
        screening = screen(self.thinner, float(side.total), minutes, room)
        words = words_of.vapour(screening, side.total, minutes, room)
        return Vapour(screening, side.total, minutes, room, words)

    # -- the order of work ---------------------------------------------------------------------------

    def _steps(self, pot_life: PotLife | None, cure: float | None, dry: float | None) -> tuple[Step, ...]:
        piece, words = self.piece, words_of.steps(self.piece.encapsulator, self.thinner)
        if self.thinner is None:
            return tuple(Step(what, text) for what, text in words.items())
        timers: dict[str, tuple[float | None, int]] = {
            words_of.COATS_IN_MOULD: (dry, piece.coats_in_mould),
            words_of.POUR: (said_minutes(pot_life.minutes) if pot_life else None, 1),
            words_of.CURE: (cure, 1),
            words_of.COATS_ON_BACK: (dry, piece.coats_on_back),
        }
        steps = []
        for what, text in words.items():
            minutes, times = timers.get(what, (None, 1))
            if times:
                said = text.format(coats=words_of.coats(times))
                steps.append(Step(what, said, round(minutes, 1) if minutes else None, times))
        return tuple(steps)


def ratio_in_words(piece: Piece) -> str:
    """Parts by weight: "1 : 1 : 0.94"."""
    parts = [piece.parts_a, piece.parts_b]
    if piece.deadener_parts:
        parts.append(piece.deadener_parts)
    return " : ".join(f"{float(part):g}" for part in parts)


def decimal_or_none(number: float | None) -> Decimal | None:
    """The number as it was written, or None."""
    return None if number is None else decimal_of(number)
