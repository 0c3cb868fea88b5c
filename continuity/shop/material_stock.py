"""Materials in stock: what is left of each, until when it lasts by the schedule and the orders, and what to
see to.

Expected use is counted like the demand for copies: every planned application takes what the last
application of its look took from, or, of a look not worn yet, the last one of a look with one of its
pieces. An order that stands takes what its remaining pours ask for, on its latest day to start. Where lots
have been weighed often enough, an application takes what the weighings say, and how sure it is that the
material lasts is told (`stock/taking.py`).
"""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from continuity.applications.models import Application
from continuity.cover.assemble import planned_now
from continuity.cover.facts import read_facts
from continuity.schedule.documents import ProductionDocument
from continuity.schedule.models import Look
from continuity.shop.batch import NOTHING, decimal_of
from continuity.shop.documents import OPEN, OrderDocument
from continuity.shop.material_words import lot_words, stock_words, sure_words
from continuity.stock.documents import (
    ApplianceDocument,
    CastRunDocument,
    MaterialDocument,
    MaterialUnit,
    MaterialUse,
)
from continuity.stock.draws import has_begun, recipe_amounts
from continuity.stock.edge import EdgeSolvent, Encapsulator
from continuity.stock.lasting import Lasting, LotLeft, Use, how_long
from continuity.stock.lots import Taken, left_of, taken_from
from continuity.stock.models import Draw
from continuity.stock.run_result import keeps_until
from continuity.stock.taking import Drawn as Measured
from continuity.stock.taking import Period, chance_it_lasts, learnt, periods_of
from continuity.sync.models import Record
from continuity.sync.refusal import Code, Refusal
from continuity.sync.registry import DocumentType
from continuity.sync.selectors import document_of

Key = tuple[str, MaterialUse, MaterialUnit | None]
"""Lots of one material are those of one name, for one use, counted alike."""

_THINNER = {
    Encapsulator.ALCOHOL_SOLUBLE: EdgeSolvent.ALCOHOL,
    Encapsulator.ACETONE_SOLUBLE: EdgeSolvent.ACETONE,
}


@dataclass(frozen=True)
class Lot:
    """One lot; amounts in the material's unit, None where nobody has counted. ``words`` is what to see to."""

    id: UUID
    lot: str | None
    amount: Decimal | None
    left: Decimal | None
    opened_on: datetime.date | None
    keeps_until: datetime.date | None
    words: str | None


@dataclass(frozen=True)
class Stock:
    """A material with all its lots. ``lasting`` is None where no lot is counted; ``low`` when less is left
    than the least that anybody wants of it. ``sure`` is the chance that it lasts for all that is planned,
    None where nothing is planned or too little was weighed to tell."""

    name: str
    use: MaterialUse
    unit: MaterialUnit | None
    low_below: Decimal | None
    low: bool
    lasting: Lasting | None
    sure: float | None
    words: str
    lots: tuple[Lot, ...]


@dataclass(frozen=True)
class Drawn:
    """What one cast run or one application took from a lot, in its unit; None where it is not known."""

    kind: str
    record: UUID
    date: datetime.date
    amount: Decimal | None
    words: str


def stock_of(production_id: UUID, *, today: datetime.date | None = None) -> list[Stock]:
    """Every material of a production, those to see to first, then by use and name."""
    return _Reading(production_id, today).stock()


def draws_of(production_id: UUID, material_id: UUID) -> list[Drawn]:
    """What was taken from a lot, the newest first. Raises `Refusal` (not_found)."""
    record = Record.objects.filter(
        production_id=production_id, id=material_id, kind="material", withdrawn=False
    ).first()
    if record is None:
        raise Refusal(Code.not_found, "There is no such material.")
    each = document_of(record, MaterialDocument).amount_per_application
    draws = list(Draw.objects.filter(material_id=material_id).order_by("-date", "-id"))
    names = _names(draw.source for draw in draws)
    return [
        Drawn(
            draw.kind,
            draw.source,
            draw.date,
            draw.amount if draw.amount is not None else decimal_of(each) if each is not None else None,
            names.get(draw.source, ""),
        )
        for draw in draws
    ]


def _names(sources: Iterable[UUID]) -> dict[UUID, str]:
    """What a run or an application was of, in words."""
    wanted = set(sources)
    names = {
        application.id: f"{application.performer}, {application.look}"
        for application in Application.objects.filter(id__in=wanted).select_related("performer", "look")
    }
    for record in Record.objects.filter(kind="cast_run", id__in=wanted):
        run = document_of(record, CastRunDocument)
        piece = document_of(Record.objects.get(id=run.appliance), ApplianceDocument)
        names[record.id] = f"Cast run, {piece.name}"
    return names


class _Reading:
    """A production's materials and what bears on them, read once."""

    def __init__(self, production_id: UUID, today: datetime.date | None) -> None:
        self.production_id = production_id
        self.facts = read_facts(production_id, today=today)
        self.today = self.facts.today
        self.materials = self._documents("material", MaterialDocument)
        self.appliances = self._documents("appliance", ApplianceDocument)
        self.runs = self._documents("cast_run", CastRunDocument)
        self.keys = {key: _key_of(material) for key, material in self.materials.items()}
        production = document_of(Record.objects.get(id=production_id), ProductionDocument)
        self.waste = decimal_of(production.pour_waste_percent)
        self.step = decimal_of(production.scale_resolution_grams)

    def _documents(self, kind: str, document: type[DocumentType]) -> dict[UUID, DocumentType]:
        records = Record.objects.filter(production_id=self.production_id, kind=kind, withdrawn=False)
        return {record.id: document_of(record, document) for record in records.order_by("id")}

    def stock(self) -> list[Stock]:
        applications: dict[Key, list[tuple[datetime.date, Decimal | None]]] = defaultdict(list)
        for key, date, each in self._by_applications():
            applications[key].append((date, each))
        castings: dict[Key, list[Use]] = defaultdict(list)
        for key, use in self._by_casting():
            castings[key].append(use)
        taken = taken_from(self.materials)
        groups: dict[Key, list[UUID]] = defaultdict(list)
        for material_id, key in self.keys.items():
            groups[key].append(material_id)
        found = [
            self._stock(key, lots, applications[key], castings[key], taken) for key, lots in groups.items()
        ]
        return sorted(found, key=lambda stock: (_rank(stock), list(MaterialUse).index(stock.use), stock.name))

    def _stock(
        self,
        key: Key,
        lots: list[UUID],
        applications: list[tuple[datetime.date, Decimal | None]],
        castings: list[Use],
        taken: dict[UUID, Taken],
    ) -> Stock:
        name, use, unit = self.materials[lots[0]].name, key[1], key[2]
        read = [self._lot(lot, taken.get(lot, Taken())) for lot in lots]
        read.sort(key=lambda lot: (lot.keeps_until or datetime.date.max, lot.lot or ""))
        counted = [lot for lot in read if lot.left is not None]
        lasting, sure = None, None
        periods = [period for lot in lots for period in self._periods(lot)]
        taking = learnt(periods)
        if counted:
            left = [LotLeft(lot.left, lot.keeps_until) for lot in counted if lot.left is not None]
            takes = None if taking is None else decimal_of(round(taking.mean, 4))
            each = [(date, takes or said) for date, said in applications]
            uses = [*castings, *(Use(date, amount) for date, amount in each if amount is not None)]
            lasting = how_long(left, uses, self.today)
            if taking:
                dates = [date for date, _ in applications]
                sure = chance_it_lasts(taking, left, dates, castings, self.today)
        least = [self.materials[lot].low_below or 0.0 for lot in lots]
        low_below = decimal_of(max(least)) if any(least) else None
        low = bool(lasting and low_below is not None and lasting.usable < low_below)
        words = stock_words(lasting, low_below if low else None, unit, self.today)
        if lasting and applications:
            words += f" {sure_words(sure, taking, len(periods), unit)}"
        return Stock(name, use, unit, low_below, low, lasting, sure, words, tuple(read))

    def _periods(self, material_id: UUID) -> list[Period]:
        material = self.materials[material_id]
        if not material.weighings:
            return []
        draws = Draw.objects.filter(material_id=material_id).values_list("date", "amount")
        return periods_of(material, [Measured(date, amount) for date, amount in draws])

    def _lot(self, material_id: UUID, taken: Taken) -> Lot:
        material = self.materials[material_id]
        left, until = left_of(material, taken), keeps_until(material)
        amount = None if material.amount is None else decimal_of(material.amount)
        words = lot_words(left, until, material.unit, self.today)
        return Lot(material_id, material.lot, amount, left, material.opened_on, until, words)

    # -- expected use --------------------------------------------------------------------------------

    def _by_applications(self) -> Iterator[tuple[Key, datetime.date, Decimal | None]]:
        """Each planned application by what it takes from, and how much of it as far as anybody has said."""
        sheets = {
            (each.performer_id, each.look_id, each.date, each.starts_at) for each in planned_now(self.facts)
        }
        taken_for = self._materials_by_look({UUID(look) for _, look, _, _ in sheets})
        for _, look, date, _ in sorted(sheets):
            for material_id in taken_for.get(UUID(look), ()):
                each = self.materials[material_id].amount_per_application
                yield self.keys[material_id], date, None if each is None else decimal_of(each)

    def _materials_by_look(self, looks: set[UUID]) -> dict[UUID, list[UUID]]:
        """The lots that the last application of each look took from."""
        mine = Application.objects.filter(production_id=self.production_id, withdrawn=False)
        draws: dict[UUID, list[UUID]] = defaultdict(list)
        rows = Draw.objects.filter(kind="application", material_id__in=self.materials).order_by("id")
        for source, material in rows.values_list("source", "material_id"):
            draws[source].append(material)
        last_of_look: dict[UUID, list[UUID]] = {}
        for source, look in mine.order_by("date", "first_seq").values_list("id", "look_id"):
            if draws[source]:
                # Later ones overwrite earlier ones, and move to the end.
                last_of_look.pop(look, None)
                last_of_look[look] = draws[source]
        pieces: dict[UUID, set[UUID]] = defaultdict(set)
        through = Look.appliances.through.objects.filter(look__production_id=self.production_id)
        for look, appliance in through.values_list("look_id", "appliance_id"):
            pieces[look].add(appliance)
        found = {}
        for look in looks:
            alike = [other for other in last_of_look if pieces[other] & pieces[look]]
            nearest = look if look in last_of_look else next(reversed(alike), None)
            if nearest is not None:
                found[look] = last_of_look[nearest]
        return found

    def _by_casting(self) -> Iterator[tuple[Key, Use]]:
        begun: dict[UUID, int] = defaultdict(int)
        for run in self.runs.values():
            if run.order and has_begun(run):
                begun[run.order] += run.copies_planned
        for order_id, order in self._documents("order", OrderDocument).items():
            if order.state in OPEN and order.appliance in self.appliances:
                pours = max(0, (order.pours or order.copies) - begun[order_id])
                yield from self._for_pours(order.appliance, pours, order.latest_start or self.today)
        for run in self.runs.values():
            if run.order is None and not has_begun(run) and run.appliance in self.appliances:
                yield from self._for_pours(run.appliance, run.copies_planned, run.cast_on)

    def _for_pours(self, appliance: UUID, pours: int, date: datetime.date) -> Iterator[tuple[Key, Use]]:
        piece = self.appliances[appliance]
        for use, amount in recipe_amounts(piece, pours, self.waste, self.step).items():
            key = self._taken_for_casting(appliance, piece, use)
            if key is not None and amount > NOTHING:
                yield key, Use(date, amount)

    def _taken_for_casting(self, appliance: UUID, piece: ApplianceDocument, use: MaterialUse) -> Key | None:
        """What the last run of the piece took for this, or the gel it names, or the only one there is."""
        if use is MaterialUse.EDGE_SOLVENT:
            thinner = _THINNER.get(piece.encapsulator)
            fitting = {self.keys[key] for key, lot in self.materials.items() if lot.solvent == thinner}
        else:
            fitting = {key for key in self.keys.values() if key[1] is use}
        fitting = {key for key in fitting if key[2] in (MaterialUnit.GRAMS, MaterialUnit.MILLILITRES)}
        mine = [run for run in self.runs.values() if run.appliance == appliance]
        for run in sorted(mine, key=lambda run: run.cast_on, reverse=True):
            lots = [lot.material for lot in run.lots.values() if self.keys.get(lot.material) in fitting]
            if lots:
                return self.keys[lots[0]]
        if piece.gel and self.keys.get(piece.gel) in fitting:
            return self.keys[piece.gel]
        return next(iter(fitting)) if len(fitting) == 1 else None


def _key_of(material: MaterialDocument) -> Key:
    return material.name.casefold(), material.use, material.unit


def _rank(stock: Stock) -> int:
    """What is short within its schedule first, then what is low or has a lot to see to."""
    if stock.lasting and stock.lasting.first_day_short:
        return 0
    if stock.low:
        return 1
    return 2 if any(lot.words for lot in stock.lots) else 3
