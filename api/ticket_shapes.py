"""The shapes of the cast ticket, the vapour in a room, and the stock of materials."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Annotated, Literal
from uuid import UUID

from pydantic import Field

from api.shapes import Shape
from continuity.shop.batch import Coats, Gel
from continuity.shop.material_stock import Stock
from continuity.shop.ticket import Ticket, ratio_in_words
from continuity.shop.ticket_facts import OrderTicket
from continuity.shop.vapour import Averaged, Screening, Solvent
from continuity.stock.documents import MaterialUnit, MaterialUse
from continuity.stock.grade import Grade

Amount = Annotated[str, Field(pattern=r"^\d+(\.\d+)?$")]
"""A decimal number as it is printed, so that sums of them add up."""


class GelShape(Shape):
    """Grams."""

    a: Amount
    b: Amount
    deadener: Amount
    total: Amount


class MixShape(Shape):
    """One cup, the ``number``-th of its cycle."""

    cycle: int
    number: int
    pours: int
    gel: GelShape


class TicketGelShape(Shape):
    ratio: str
    of_one: GelShape
    mixes: list[MixShape]
    whole: GelShape


class TicketColourShape(Shape):
    """``in_all`` goes into all of A, of B or of the deadener; the recipe is ``amount`` to ``per_grams``."""

    name: str
    into: Literal["a", "b", "deadener"]
    unit: Literal["drops", "grams", "pinches"]
    in_all: Amount
    amount: Amount
    per_grams: Amount


class CoatsShape(Shape):
    """Millilitres for so many ``coats``."""

    coats: int
    cap_plastic: Amount
    thinner: Amount
    total: Amount


class CycleCoatsShape(Shape):
    cycle: int
    pours: int
    in_mould: CoatsShape
    on_back: CoatsShape


class TicketEncapsulatorShape(Shape):
    """Millilitres of all cycles, and of each."""

    cycles: list[CycleCoatsShape]
    cap_plastic: Amount
    thinner: Amount
    total: Amount


class PotLifeShape(Shape):
    minutes: float
    pours_in_one_mix: int
    words: str


class LimitShape(Shape):
    """A published limit, what the room has of it averaged alike, and their ratio: 1 is the limit."""

    name: str
    averaged: Averaged
    limit_ppm: float
    limit_milligrams: float | None
    source: str
    ppm: float
    share: float


class VapourShape(Shape):
    """``minutes`` is how long it evaporates; ``explosive_share`` is of the lower explosive limit."""

    solvent: Solvent
    millilitres: float
    minutes: float
    room_cubic_metres: float
    air_changes_per_hour: float
    peak_ppm: float
    peak_milligrams: float
    explosive_share: float
    limits: list[LimitShape]
    words: list[str]


class StepShape(Shape):
    """A line to tick off; with ``minutes`` a timer, so many ``times`` over."""

    what: str
    words: str
    minutes: float | None
    times: int


class MissingShape(Shape):
    line: str
    words: str


class TicketAnswer(Shape):
    """The cast ticket of an order. Grams and millilitres are as printed, and add up. What is null is in
    ``missing`` with the reason."""

    answer: Literal["ticket"] = "ticket"
    order: UUID
    appliance: UUID
    mould: UUID | None
    performer: str | None
    grade: Grade
    copies: int
    pours: int
    cycles: list[int]
    needed_on: datetime.date
    latest_start: datetime.date | None
    scale_resolution_grams: float
    ratio_tolerance_percent: float
    celsius: float
    thinner: Solvent | None
    gel: TicketGelShape | None
    colours: list[TicketColourShape]
    encapsulator: TicketEncapsulatorShape | None
    pot_life: PotLifeShape | None
    cure_minutes: float | None
    coat_dry_minutes: float | None
    vapour: VapourShape | None
    steps: list[StepShape]
    cautions: list[str]
    missing: list[MissingShape]


class VapourAnswer(VapourShape):
    answer: Literal["vapour"] = "vapour"


def ticket_answer(found: OrderTicket) -> TicketAnswer:
    """A ticket as it is answered."""
    ticket, heading, bench = found.ticket, found.heading, found.bench
    return TicketAnswer(
        order=found.order,
        appliance=found.appliance,
        mould=found.mould,
        performer=heading.performer,
        grade=Grade(heading.grade),
        copies=heading.copies,
        pours=ticket.pours,
        cycles=list(ticket.cycles),
        needed_on=heading.needed_on,
        latest_start=heading.latest_start,
        scale_resolution_grams=float(bench.step),
        ratio_tolerance_percent=float(bench.tolerance_percent),
        celsius=bench.celsius,
        thinner=ticket.thinner,
        gel=_gel_lines(found),
        colours=_colours(ticket),
        encapsulator=_encapsulator(ticket),
        pot_life=_pot_life(ticket),
        cure_minutes=ticket.cure_minutes,
        coat_dry_minutes=ticket.coat_dry_minutes,
        vapour=_vapour(ticket),
        steps=[
            StepShape(what=step.what, words=step.words, minutes=step.minutes, times=step.times)
            for step in ticket.steps
        ],
        cautions=list(ticket.cautions),
        missing=[MissingShape(line=missing.line, words=missing.words) for missing in ticket.missing],
    )


def vapour_fields(
    screening: Screening, millilitres: float, minutes: float, cubic_metres: float, air_changes: float
) -> dict[str, object]:
    """The members of a `VapourShape` but its words."""
    return {
        "solvent": screening.solvent,
        "millilitres": millilitres,
        "minutes": minutes,
        "room_cubic_metres": cubic_metres,
        "air_changes_per_hour": air_changes,
        "peak_ppm": screening.peak_ppm,
        "peak_milligrams": screening.peak_milligrams,
        "explosive_share": screening.explosive_share,
        "limits": [
            LimitShape(
                name=against.limit.name,
                averaged=against.limit.averaged,
                limit_ppm=against.limit.ppm,
                limit_milligrams=against.limit.milligrams,
                source=against.limit.source,
                ppm=against.ppm,
                share=against.share,
            )
            for against in screening.against
        ],
    }


def _text(number: Decimal) -> str:
    return f"{number:f}"


def _gel(gel: Gel) -> GelShape:
    parts = (gel.a, gel.b, gel.deadener, gel.total)
    a, b, deadener, total = map(_text, parts)
    return GelShape(a=a, b=b, deadener=deadener, total=total)


def _gel_lines(found: OrderTicket) -> TicketGelShape | None:
    gel = found.ticket.gel
    if gel is None:
        return None
    return TicketGelShape(
        ratio=ratio_in_words(found.piece),
        of_one=_gel(gel.of_one),
        mixes=[
            MixShape(cycle=mix.cycle, number=mix.number, pours=mix.pours, gel=_gel(mix.gel))
            for mix in gel.mixes
        ],
        whole=_gel(gel.whole),
    )


def _colours(ticket: Ticket) -> list[TicketColourShape]:
    return [
        TicketColourShape.model_validate(
            {
                "name": colour.name,
                "into": colour.into,
                "unit": colour.unit,
                "in_all": _text(colour.in_all),
                "amount": _text(colour.amount),
                "per_grams": _text(colour.per_grams),
            }
        )
        for colour in ticket.colours
    ]


def _coats(coats: Coats) -> CoatsShape:
    return CoatsShape(
        coats=coats.coats,
        cap_plastic=_text(coats.cap_plastic),
        thinner=_text(coats.thinner),
        total=_text(coats.total),
    )


def _encapsulator(ticket: Ticket) -> TicketEncapsulatorShape | None:
    lines = ticket.encapsulator
    if lines is None:
        return None
    return TicketEncapsulatorShape(
        cycles=[
            CycleCoatsShape(
                cycle=cycle.cycle,
                pours=cycle.pours,
                in_mould=_coats(cycle.in_mould),
                on_back=_coats(cycle.on_back),
            )
            for cycle in lines.cycles
        ],
        cap_plastic=_text(lines.cap_plastic),
        thinner=_text(lines.thinner),
        total=_text(lines.total),
    )


def _pot_life(ticket: Ticket) -> PotLifeShape | None:
    found = ticket.pot_life
    if found is None:
        return None
    return PotLifeShape(minutes=found.minutes, pours_in_one_mix=found.pours_in_one_mix, words=found.words)


def _vapour(ticket: Ticket) -> VapourShape | None:
    found = ticket.vapour
    if found is None:
        return None
    room = found.room
    fields = vapour_fields(
        found.screening, float(found.millilitres), found.minutes, room.cubic_metres, room.air_changes
    )
    return VapourShape.model_validate({**fields, "words": list(found.words)})


class LotShape(Shape):
    """One lot: what it held, what is left (below 0 more was written down than there was), and what to see
    to."""

    material: UUID
    lot: str | None
    amount: float | None
    left: float | None
    opened_on: datetime.date | None
    keeps_until: datetime.date | None
    words: str | None


class StockShape(Shape):
    """A material, all lots together, in its unit. ``usable`` is left and keeps today; ``expected`` is what
    the schedule and the orders will take. ``lasts_until`` is the last day it is enough for,
    ``first_day_short`` the next; both null when it is enough for all that is planned. ``sure`` is the
    chance that it is, from 0 to 1, by the weighings; null where there are too few to tell."""

    name: str
    use: MaterialUse
    unit: MaterialUnit | None
    standing: Literal["good", "low", "short", "not_counted"]
    low_below: float | None
    usable: float | None
    expected: float | None
    lasts_until: datetime.date | None
    first_day_short: datetime.date | None
    sure: float | None
    words: str
    lots: list[LotShape]


class StockAnswer(Shape):
    answer: Literal["stock"] = "stock"
    materials: list[StockShape]


class DrawShape(Shape):
    """``record`` is the cast run or the application; ``amount`` in the lot's unit, null when nobody said."""

    kind: Literal["cast_run", "application"]
    record: UUID
    date: datetime.date
    amount: float | None
    words: str


class DrawsAnswer(Shape):
    answer: Literal["draws"] = "draws"
    draws: list[DrawShape]


def stock_shape(stock: Stock) -> StockShape:
    """A material as it is answered."""
    lasting = stock.lasting
    return StockShape(
        name=stock.name,
        use=stock.use,
        unit=stock.unit,
        standing=_standing(stock),
        low_below=_number(stock.low_below),
        usable=_number(lasting.usable) if lasting else None,
        expected=_number(lasting.expected) if lasting else None,
        lasts_until=lasting.until if lasting else None,
        first_day_short=lasting.first_day_short if lasting else None,
        sure=stock.sure,
        words=stock.words,
        lots=[
            LotShape(
                material=lot.id,
                lot=lot.lot,
                amount=_number(lot.amount),
                left=_number(lot.left),
                opened_on=lot.opened_on,
                keeps_until=lot.keeps_until,
                words=lot.words,
            )
            for lot in stock.lots
        ],
    )


def _standing(stock: Stock) -> Literal["good", "low", "short", "not_counted"]:
    if stock.lasting is None:
        return "not_counted"
    if stock.lasting.first_day_short:
        return "short"
    return "low" if stock.low else "good"


def _number(amount: Decimal | None) -> float | None:
    return None if amount is None else float(amount)
