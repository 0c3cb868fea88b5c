"""What a cast ticket is worked out from, read from the records of a production."""

from __future__ import annotations

import math
from dataclasses import dataclass
from uuid import UUID

from continuity.cover.consumption import Beta, quantile_of_copies_used
from continuity.cover.facts import casts_by_mould
from continuity.people.models import Performer
from continuity.schedule.documents import ProductionDocument
from continuity.shop.batch import decimal_of
from continuity.shop.documents import OrderDocument
from continuity.shop.pot_life import Known
from continuity.shop.ticket import Bench, Colour, Piece, Ticket, decimal_or_none, make_ticket
from continuity.shop.ticket_page import Heading, ticket_page
from continuity.stock.documents import ApplianceDocument, MaterialDocument, MaterialUse
from continuity.stock.models import Material, Mould
from continuity.sync.models import Record
from continuity.sync.refusal import Code, Refusal
from continuity.sync.selectors import document_of


@dataclass(frozen=True)
class OrderTicket:
    """A ticket, what stands at its head, and the piece it is for."""

    order: UUID
    appliance: UUID
    mould: UUID | None
    heading: Heading
    piece: Piece
    bench: Bench
    ticket: Ticket


def ticket_of(order_id: UUID, production_id: UUID | None = None) -> OrderTicket:
    """The cast ticket of an order as everything stands now. Raises `Refusal` (not_found) when there is no
    such order, in that production if one is named."""
    record = Record.objects.filter(id=order_id, kind="order", withdrawn=False).first()
    if record is None or production_id not in (None, record.production_id):
        raise Refusal(Code.not_found, "There is no such order.")
    order = document_of(record, OrderDocument)
    production = document_of(Record.objects.get(id=record.production_id), ProductionDocument)
    appliance = document_of(Record.objects.get(id=order.appliance), ApplianceDocument)
    mould = _mould(order)
    pours = order.pours or pours_for(order.copies, mould, record.production_id, production)
    piece = piece_of(appliance, record.production_id)
    bench = bench_of(production)
    return OrderTicket(
        order_id,
        order.appliance,
        mould.id if mould else None,
        _heading(order, production, appliance, mould),
        piece,
        bench,
        make_ticket(piece, bench, pours, mould.cavities if mould else None),
    )


def ticket_pdf(order_id: UUID, production_id: UUID | None = None) -> bytes:
    """The cast ticket as one page of PDF. Raises `Refusal` (not_found)."""
    found = ticket_of(order_id, production_id)
    return ticket_page(found.heading, found.piece, found.bench, found.ticket)


def pours_for(copies: int, mould: Mould | None, production_id: UUID, production: ProductionDocument) -> int:
    """The pours that give so many good copies with the production's pour confidence, by what the mould has
    yielded so far."""
    good, poured = casts_by_mould(production_id).get(mould.id, (0, 0)) if mould else (0, 0)
    belief = Beta(production.yield_prior_good + good, production.yield_prior_rejected + poured - good)
    found = quantile_of_copies_used(belief, copies, production.pour_confidence)
    return found or math.ceil(copies / belief.mean)


def bench_of(production: ProductionDocument) -> Bench:
    """What the production says of its shop."""
    return Bench(
        step=decimal_of(production.scale_resolution_grams),
        waste_percent=decimal_of(production.pour_waste_percent),
        tolerance_percent=decimal_of(production.ratio_tolerance_percent),
        celsius=production.shop_celsius,
        stirring_seconds=production.stirring_seconds,
        seconds_a_cavity=production.seconds_a_cavity,
        room_cubic_metres=production.spray_room_cubic_metres,
        air_changes=production.air_changes_per_hour,
    )


def piece_of(appliance: ApplianceDocument, production_id: UUID) -> Piece:
    """What an appliance says a copy is cast from, with its gel's times and the longest drying time of the
    production's cap plastic."""
    gel = None
    if appliance.gel:
        gel = document_of(Record.objects.get(id=appliance.gel), MaterialDocument)
    pot_life = cure = None
    if gel and gel.pot_life_celsius is not None:
        if gel.pot_life_minutes is not None:
            pot_life = Known(gel.pot_life_minutes, gel.pot_life_celsius)
        if gel.cure_minutes is not None:
            cure = Known(gel.cure_minutes, gel.pot_life_celsius)
    return Piece(
        encapsulator=appliance.encapsulator,
        copy_grams=decimal_or_none(appliance.copy_grams),
        parts_a=decimal_of(appliance.parts_a),
        parts_b=decimal_of(appliance.parts_b),
        deadener_parts=decimal_or_none(appliance.deadener_parts),
        area=decimal_or_none(appliance.area_square_centimetres),
        coats_in_mould=appliance.coats_in_mould,
        coats_on_back=appliance.coats_on_back,
        coat_millilitres=decimal_or_none(appliance.coat_millilitres_per_100_square_centimetres),
        cap_plastic_parts=decimal_of(appliance.cap_plastic_parts),
        thinner_parts=decimal_of(appliance.alcohol_parts),
        colours=tuple(
            Colour(
                colour.colour,
                decimal_of(colour.amount),
                colour.unit.value,
                decimal_of(colour.per_grams),
                colour.into.value,
            )
            for colour in appliance.intrinsic_colour
        ),
        has_gel=gel is not None,
        pot_life=pot_life,
        cure=cure,
        coat_dry_minutes=_coat_dry_minutes(production_id),
    )


def _coat_dry_minutes(production_id: UUID) -> float | None:
    lots = Material.objects.filter(
        production_id=production_id, use=MaterialUse.CAP_PLASTIC, withdrawn=False
    ).values_list("id", flat=True)
    documents = [document_of(record, MaterialDocument) for record in Record.objects.filter(id__in=lots)]
    return max((lot.coat_dry_minutes for lot in documents if lot.coat_dry_minutes), default=None)


def _mould(order: OrderDocument) -> Mould | None:
    """The order's mould, or the first of those that make the appliance."""
    if order.mould:
        return Mould.objects.filter(id=order.mould).first()
    return Mould.objects.filter(appliances=order.appliance, withdrawn=False).order_by("name", "id").first()


def _heading(
    order: OrderDocument, production: ProductionDocument, appliance: ApplianceDocument, mould: Mould | None
) -> Heading:
    performer = Performer.objects.filter(id=appliance.performer).first() if appliance.performer else None
    return Heading(
        production=production.name,
        appliance=appliance.name,
        performer=performer.name if performer else None,
        grade=(order.grade or appliance.grade).value,
        mould=mould.name if mould else None,
        copies=order.copies,
        needed_on=order.needed_on,
        latest_start=order.latest_start,
        why=order.why,
        note=order.note,
    )
