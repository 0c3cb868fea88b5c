"""The cast ticket on one A4 page, for a bench: figures that are read from an arm's length, boxes to tick with
gloves on. What does not fit is set smaller until it does; it is never a second page."""

from __future__ import annotations

import datetime
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Frame, KeepInFrame, Paragraph, Spacer, Table

from continuity.durations import minutes_in_words
from continuity.printing import BOLD, PLAIN, printable, register_fonts
from continuity.shop.batch import Gel, Mix
from continuity.shop.pot_life import said_minutes
from continuity.shop.ticket import Bench, Piece, Step, Ticket, ratio_in_words
from continuity.shop.ticket_words import coats as coats_in_words
from continuity.shop.vapour import Solvent

MARGIN = 11 * mm
WIDTH = A4[0] - 2 * MARGIN
MOST_BOXES = 12
NOT_SAID = "–"


@dataclass(frozen=True)
class Heading:
    """What stands at the head of a ticket: what for, how many good copies, by when, and why."""

    production: str
    appliance: str
    performer: str | None
    grade: str
    mould: str | None
    copies: int
    needed_on: datetime.date
    latest_start: datetime.date | None
    why: str
    note: str | None = None


def ticket_page(heading: Heading, piece: Piece, bench: Bench, ticket: Ticket) -> bytes:
    """The page as PDF."""
    register_fonts()
    file = io.BytesIO()
    canvas = Canvas(file, pagesize=A4)
    canvas.setTitle(printable(f"Cast ticket: {heading.appliance}"))
    story: list[Flowable] = [
        *_head(heading, ticket),
        *_gel(piece, bench, ticket),
        _two_columns([*_coats(piece, ticket), *_colour(ticket), *_times(bench, ticket)], _work(ticket)),
        *_minded(ticket),
        _by_hand(ticket),
    ]
    height = A4[1] - 2 * MARGIN
    frame = Frame(MARGIN, MARGIN, WIDTH, height, 0, 0, 0, 0)
    frame.addFromList([KeepInFrame(WIDTH, height, story, mode="shrink")], canvas)
    canvas.showPage()
    canvas.save()
    return file.getvalue()


def day(date: datetime.date | None) -> str:
    """Such as "Mon 2 Mar"; a dash for none."""
    return f"{date:%a} {date.day} {date:%b}" if date else NOT_SAID


def amount(number: Decimal) -> str:
    """Without an exponent, with the digits it has."""
    return f"{number:f}"


class Boxes(Flowable):  # type: ignore[misc]
    """So many boxes to tick, beside each other, or above each other where they do not fit."""

    def __init__(self, number: int, side: float = 4.2 * mm, a_row: int = 6) -> None:
        super().__init__()
        self.number, self.side, self.a_row = number, side, a_row
        self.pitch = side + 1.3 * mm

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        rows = -(-self.number // self.a_row)
        self.width, self.height = min(self.number, self.a_row) * self.pitch, rows * self.pitch
        return self.width, self.height

    def draw(self) -> None:
        self.canv.setLineWidth(0.9)
        for place in range(self.number):
            row, column = divmod(place, self.a_row)
            self.canv.rect(
                column * self.pitch, self.height - row * self.pitch - self.side, self.side, self.side
            )


def _style(size: float, bold: bool = False, right: bool = False) -> ParagraphStyle:
    return ParagraphStyle(
        f"{size} {bold} {right}",
        fontName=BOLD if bold else PLAIN,
        fontSize=size,
        leading=size * 1.22,
        alignment=2 if right else 0,
    )


def _say(words: str, size: float = 8, bold: bool = False, right: bool = False) -> Paragraph:
    return Paragraph(escape(printable(words)), _style(size, bold, right))


def _label(words: str, value: str) -> Paragraph:
    text = f"<b>{escape(printable(words))}</b> {escape(printable(value))}"
    return Paragraph(text, _style(8))


def _table(rows: Sequence[Sequence[Any]], widths: Sequence[float], *look: tuple[Any, ...]) -> Table:
    table = Table(rows, colWidths=widths, hAlign="LEFT")
    table.setStyle(
        [
            ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("RIGHTPADDING", (0, 0), (-1, -1), 2 * mm),
            ("TOPPADDING", (0, 0), (-1, -1), 1),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
            *look,
        ]
    )
    return table


def _head(heading: Heading, ticket: Ticket) -> list[Flowable]:
    whose = ", ".join(part for part in (heading.performer, f"{heading.grade} grade", heading.mould) if part)
    cycles = " + ".join(str(pours) for pours in ticket.cycles[:6])
    if len(ticket.cycles) > 6:
        cycles += " …"
    figures = (
        ("Good copies", str(heading.copies)),
        ("Pours", str(ticket.pours)),
        ("Cycles of the mould", str(len(ticket.cycles))),
        ("Start by", day(heading.latest_start)),
        ("On set by", day(heading.needed_on)),
    )
    widths = [WIDTH * share for share in (0.15, 0.12, 0.19, 0.27, 0.27)]
    return [
        _say(f"Cast ticket · {heading.production}", 8),
        _say(heading.appliance, 19, bold=True),
        _say(whose, 9.5),
        Spacer(1, 1.5 * mm),
        _table(
            [
                [_say(words, 7.5) for words, _ in figures],
                [_say(value, 15, bold=True) for _, value in figures],
            ],
            widths,
            ("LINEABOVE", (0, 0), (-1, 0), 1.2, "black"),
            ("LINEBELOW", (0, 1), (-1, 1), 1.2, "black"),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ),
        Spacer(1, 1 * mm),
        _say(f"Why: {heading.why} Pours by cycle: {cycles}."),
        *([_say(f"Note: {heading.note}")] if heading.note else []),
        Spacer(1, 2.5 * mm),
    ]


def _gel(piece: Piece, bench: Bench, ticket: Ticket) -> list[Flowable]:
    if ticket.gel is None:
        return []
    gel = ticket.gel
    headings = ("", "A", "B", "Deadener", "Together", "Mixed")
    rows: list[list[Any]] = [[_say(words, 8, right=0 < place < 5) for place, words in enumerate(headings)]]
    rows.append([_say("one pour", 9), *_grams(gel.of_one, 11), ""])
    for mix, times in _alike(gel.mixes):
        boxes: Any = Boxes(times) if times <= MOST_BOXES else _say(f"{times} times", 11)
        rows.append([_say(f"a mix for {_pours(mix.pours)}" + (f", × {times}" if times > 1 else ""), 9),
                     *_grams(mix.gel, 19, bold=True), boxes])  # fmt: skip
    rows.append([_say("in all", 9, bold=True), *_grams(gel.whole, 11, bold=True), ""])
    shares = (0.2, 0.145, 0.145, 0.145, 0.155, 0.21)
    return [
        _say(
            f"Gel, in grams: {ratio_in_words(piece)} by weight, {float(bench.waste_percent):g} % for waste",
            10,
            True,
        ),
        _table(
            rows,
            [WIDTH * share for share in shares],
            ("LINEBELOW", (0, 0), (-1, -2), 0.4, "black"),
            ("LINEABOVE", (0, -1), (-1, -1), 1.2, "black"),
            ("LEFTPADDING", (5, 0), (5, -1), 4 * mm),
        ),
        Spacer(1, 2.5 * mm),
    ]


def _grams(gel: Gel, size: float, bold: bool = False) -> list[Paragraph]:
    parts = (gel.a, gel.b, gel.deadener, gel.total)
    return [_say(amount(part), size, bold, right=True) for part in parts]


def _alike(mixes: Iterable[Mix]) -> list[tuple[Mix, int]]:
    """Mixes that are weighed alike, together, the larger first: how often each."""
    found: dict[int, tuple[Mix, int]] = {}
    for mix in mixes:
        first, times = found.get(mix.pours, (mix, 0))
        found[mix.pours] = first, times + 1
    return [found[pours] for pours in sorted(found, reverse=True)]


def _coats(piece: Piece, ticket: Ticket) -> list[Flowable]:
    if ticket.encapsulator is None or ticket.thinner is None:
        return []
    thinner = "Acetone" if ticket.thinner is Solvent.ACETONE else "99 % alcohol"
    coats = ticket.encapsulator
    rows: list[list[Any]] = [
        [_say("", 8), *(_say(words, 8, right=True) for words in ("Cap plastic", thinner, "Together"))]
    ]
    alike: dict[int, int] = {}
    for cycle in coats.cycles:
        alike[cycle.pours] = alike.get(cycle.pours, 0) + 1
    one_of_each = {cycle.pours: cycle for cycle in coats.cycles}
    for cycle in one_of_each.values():
        times = f", × {alike[cycle.pours]}" if alike[cycle.pours] > 1 else ""
        for where, side in (("in the mould", cycle.in_mould), ("on the back", cycle.on_back)):
            said = f"{coats_in_words(side.coats)} {where}, {_pours(cycle.pours)}{times}"
            millilitres = (side.cap_plastic, side.thinner, side.total)
            rows.append([_say(said, 7.5), *(_say(amount(each), 12, True, True) for each in millilitres)])
    whole = (coats.cap_plastic, coats.thinner, coats.total)
    rows.append([_say("in all", 8, True), *(_say(amount(each), 9, True, True) for each in whole)])
    parts = f"{amount(piece.cap_plastic_parts)} : {amount(piece.thinner_parts)} by volume"
    half = WIDTH / 2 - 3 * mm
    return [
        _say(f"Encapsulator, in millilitres: {_plain(parts)}", 9, True),
        _table(
            rows,
            [half * share for share in (0.4, 0.2, 0.2, 0.2)],
            ("LINEBELOW", (0, 0), (-1, -2), 0.4, "black"),
            ("LINEABOVE", (0, -1), (-1, -1), 1, "black"),
        ),
        Spacer(1, 2 * mm),
    ]


def _colour(ticket: Ticket) -> list[Flowable]:
    if not ticket.colours:
        return []
    names = {"a": "A", "b": "B"}
    rows = [
        [
            _say(f"{colour.name} into {names.get(colour.into, colour.into)}", 8),
            _say(_measured(colour.in_all, colour.unit), 10, True, True),
            _say(f"{_plain(amount(colour.amount))} to {_plain(amount(colour.per_grams))} g", 7, right=True),
        ]
        for colour in ticket.colours
    ]
    half = WIDTH / 2 - 3 * mm
    return [
        _say("Intrinsic colour, for all mixes", 9, True),
        _table(
            rows, [half * share for share in (0.45, 0.3, 0.25)], ("LINEBELOW", (0, 0), (-1, -1), 0.3, "grey")
        ),
        Spacer(1, 2 * mm),
    ]


def _measured(number: Decimal, unit: str) -> str:
    """Such as "1 drop" and "2 drops"."""
    one = {"drops": "drop", "grams": "gram", "pinches": "pinch"}
    return f"{_plain(amount(number))} {one.get(unit, unit) if number == 1 else unit}"


def _times(bench: Bench, ticket: Ticket) -> list[Flowable]:
    if ticket.thinner is None:
        return []
    rows = []
    if ticket.pot_life:
        pours = ticket.pot_life.pours_in_one_mix
        rows.append(
            (
                "Pot life",
                f"{said_minutes(ticket.pot_life.minutes):.1f} min",
                f"{bench.celsius:g} °C, up to {pours} pours a mix",
            )
        )
    if ticket.cure_minutes is not None:
        rows.append(
            ("Cure", minutes_in_words(ticket.cure_minutes), f"{bench.celsius:g} °C, by the same rule")
        )
    if ticket.coat_dry_minutes is not None:
        rows.append(
            ("A coat dries", minutes_in_words(ticket.coat_dry_minutes), "the slowest lot in the shop")
        )
    if not rows:
        return []
    half = WIDTH / 2 - 3 * mm
    cells = [[_say(what, 8), _say(value, 12, True), _say(how, 7.5)] for what, value, how in rows]
    story: list[Flowable] = [
        _say("Times", 9, True),
        _table(
            cells, [half * share for share in (0.24, 0.3, 0.46)], ("LINEBELOW", (0, 0), (-1, -1), 0.3, "grey")
        ),
    ]
    if ticket.pot_life:
        story.append(_say(ticket.pot_life.words, 7))
    return story


def _work(ticket: Ticket) -> list[Flowable]:
    boxes = len(ticket.cycles) if len(ticket.cycles) <= 4 else 1
    each = (
        "each cycle" if len(ticket.cycles) == 1 else "a box for each cycle" if boxes > 1 else "for each cycle"
    )
    rows = [[Boxes(boxes, 4 * mm, 4), _step(step)] for step in ticket.steps]
    half = WIDTH / 2 - 3 * mm
    first = boxes * 5.3 * mm + 2 * mm
    return [
        _say(f"Order of work, {each}" if len(ticket.cycles) > 1 else "Order of work", 9, True),
        _table(rows, [first, half - first], ("VALIGN", (0, 0), (-1, -1), "TOP")),
    ]


def _step(step: Step) -> Paragraph:
    timer = ""
    if step.minutes is not None:
        many = f"{step.times} × " if step.times > 1 else ""
        minutes = minutes_in_words(step.minutes) if step.minutes >= 10 else f"{step.minutes:g} min"
        timer = f" <b>{many}{minutes}</b>".replace(" ", "&nbsp;").replace("&nbsp;<b>", " <b>")
    text = f"<b>{escape(printable(step.what))}.</b> {escape(printable(step.words))}{timer}"
    return Paragraph(text, _style(8))


def _two_columns(left: list[Flowable], right: list[Flowable]) -> Flowable:
    if not left:
        return _table([[right]], [WIDTH])
    return _table([[left, right]], [WIDTH / 2, WIDTH / 2], ("VALIGN", (0, 0), (-1, -1), "TOP"))


def _minded(ticket: Ticket) -> list[Flowable]:
    story: list[Flowable] = [Spacer(1, 1.5 * mm)]
    if ticket.missing:
        story.append(_say("Not worked out", 9, True))
        story += [_label(f"{missing.line}:", missing.words) for missing in ticket.missing]
        story.append(Spacer(1, 1.5 * mm))
    story.append(_say("Mind", 9, True))
    if ticket.vapour:
        story.append(_label("Vapour:", " ".join(ticket.vapour.words)))
    story += [_say(f"· {caution}") for caution in ticket.cautions]
    story.append(Spacer(1, 2.5 * mm))
    return story


def _by_hand(ticket: Ticket) -> Flowable:
    lots = ("Lot A", "Lot B", "Lot deadener", "Lot cap plastic") if ticket.thinner else ("Lot", "Lot")
    blanks = ("Room °C", *lots, "Cast by, date")
    return _table(
        [[_say(words, 7) for words in blanks]],
        [WIDTH / len(blanks)] * len(blanks),
        ("BOX", (0, 0), (-1, -1), 0.8, "black"),
        ("INNERGRID", (0, 0), (-1, -1), 0.4, "black"),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 1.5 * mm),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 7 * mm),
    )


def _pours(number: int) -> str:
    return f"{number} pour{'' if number == 1 else 's'}"


def _plain(words: str) -> str:
    """Digits without noughts at the end: 1.0 is 1."""
    return " ".join(
        part.rstrip("0").rstrip(".") if "." in part and part.replace(".", "").isdigit() else part
        for part in words.split(" ")
    )
