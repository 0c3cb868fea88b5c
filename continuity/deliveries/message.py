"""What is said of an order to the outside: frozen as JSON when the order is written, and put into words for a
mail or a push message when it is sent. Nothing of anyone's health is in it.
"""

from __future__ import annotations

import datetime
import json
from collections.abc import Mapping
from dataclasses import dataclass
from html import escape
from typing import Any

from continuity.shop.documents import Answer, OrderDocument, OrderState, RaisedBy
from continuity.shop.order_steps import WORDS

TOLD = (
    "state", "copies", "pours", "mould", "grade", "needed_on", "latest_start", "possible", "expected_on",
    "question", "answer", "note",
)  # fmt: skip
"""A change of one of these is told. The chances of the cover move with every application that is logged, and
the sentence about them too; nobody outside has to do anything about that."""


@dataclass(frozen=True)
class Names:
    """What an order's ids stand for. ``by`` is who wrote it and ``said_at`` when, by the
    production's clock; ``link`` opens it, None where no address of the
    app is known."""

    production: str
    appliance: str
    performer: str | None
    mould: str | None
    by: str
    said_at: str
    link: str | None


def is_told(before: OrderDocument | None, after: OrderDocument, *, taken_back: bool = False) -> bool:
    """Whether a destination hears of this change of an order."""
    if before is None or taken_back:
        return True
    return any(getattr(before, name) != getattr(after, name) for name in TOLD)


def payload_of(
    order_id: str,
    revision: str,
    sequence: int,
    at: datetime.datetime,
    before: OrderDocument | None,
    after: OrderDocument,
    names: Names,
    *,
    taken_back: bool = False,
) -> str:
    """The JSON text of one message, always the same for the same values."""
    state = OrderState.CALLED_OFF if taken_back else after.state
    told = {
        **after.model_dump(mode="json", include=set(TOLD), exclude_none=True),
        "state": state.value,
        "why": after.why,
        "raised_by": after.raised_by.value,
    }
    named = {
        "appliance": names.appliance,
        "performer": names.performer,
        "mould": names.mould,
        "production": names.production,
        "by": names.by,
        "said_at": names.said_at,
        "link": names.link,
    }
    event, answer = _event(before, after, state), _answer(before, after)
    data = {
        "order": order_id,
        "revision": revision,
        "sequence": sequence,
        "words": _headline(state, after, names, event, answer),
        **told,
        **({"answer": answer.value} if answer else {}),
        **{name: value for name, value in named.items() if value is not None},
        "changed": sorted(name for name in TOLD if before and getattr(before, name) != getattr(after, name)),
    }
    message = {"type": f"order.{event}", "timestamp": at.isoformat(), "data": data}
    return json.dumps(message, sort_keys=True, ensure_ascii=False, separators=(",", ":"))


def _event(before: OrderDocument | None, after: OrderDocument, state: OrderState) -> str:
    """The state where that is news, else what was asked of the shop or answered, else that it changed."""
    if before is None or before.state is not state:
        return state.value
    if after.question and before.question != after.question:
        return "question"
    if _answer(before, after) and (before.answer is not after.answer):
        return "answered"
    return "changed"


def _answer(before: OrderDocument | None, after: OrderDocument) -> Answer | None:
    """The shop's answer; also to a question that went when it was agreed to."""
    agreed = before is not None and before.answer is Answer.AGREED
    return Answer.AGREED if agreed else after.answer


def _headline(
    state: OrderState, order: OrderDocument, names: Names, event: str, answer: Answer | None
) -> str:
    """Such as "Asked for: 6 hero copies of Brow for Ana"."""
    what = {"question": "Question to the shop", "answered": f"The shop has {answer}", "changed": "Changed"}
    grade = f"{order.grade.value} " if order.grade else ""
    copies = f"{order.copies} {grade}{'copy' if order.copies == 1 else 'copies'}"
    performer = f" for {names.performer}" if names.performer else ""
    said = what.get(event) or WORDS[state].capitalize()
    return _one_line(f"{said}: {copies} of {names.appliance}{performer}")


def day_words(iso: str) -> str:
    """Such as "Monday 2 March 2026"."""
    day = datetime.date.fromisoformat(iso)
    return f"{day:%A} {day.day} {day:%B %Y}"


def subject_of(payload: Mapping[str, Any]) -> str:
    """The subject of a mail, on one line."""
    data = payload["data"]
    start = f", start by {day_words(data['latest_start'])}" if _is_to_start(data) else ""
    return _one_line(f"{data['words']}{start}")


def lines_of(payload: Mapping[str, Any]) -> list[tuple[str, str]]:
    """What a mail says of an order, as (what, words)."""
    data = payload["data"]
    lines = [
        ("Appliance", data["appliance"]),
        ("Performer", data.get("performer", "")),
        ("Grade", data.get("grade", "").capitalize()),
        ("Good copies wanted", str(data["copies"])),
        ("Pours", str(data.get("pours", ""))),
        ("Mould", data.get("mould", "")),
        ("Needed on set", day_words(data["needed_on"])),
        ("Latest start", _start(data)),
        ("Expected on set", day_words(data["expected_on"]) if "expected_on" in data else ""),
        ("Why", data["why"]),
        ("State", WORDS[OrderState(data["state"])].capitalize()),
        ("Question to the shop", _question(data)),
        ("Answer of the shop", data.get("answer", "").capitalize()),
        ("Said by", f"{data['by']}, {_moment(data['said_at'])}" if "said_at" in data else data["by"]),
        ("Note", data.get("note", "")),
        ("Production", data["production"]),
    ]
    return [(what, words) for what, words in lines if words]


def text_of(payload: Mapping[str, Any], closing: str) -> str:
    """A mail in plain text."""
    data = payload["data"]
    told = "\n".join(f"{what}: {words}" for what, words in lines_of(payload))
    link = f"\n\nOpen the order: {data['link']}" if "link" in data else ""
    return f"{data['words']}.\n\n{told}{link}\n\n{closing}\n"


def html_of(payload: Mapping[str, Any], closing: str) -> str:
    """The same in HTML, with nothing in it that is fetched from elsewhere."""
    data = payload["data"]
    rows = "".join(
        f'<tr><th align="left" valign="top" style="padding:4px 16px 4px 0">{escape(what)}</th>'
        f'<td style="padding:4px 0">{escape(words).replace(chr(10), "<br>")}</td></tr>'
        for what, words in lines_of(payload)
    )
    link = f'<p><a href="{escape(data["link"])}">Open the order</a></p>' if "link" in data else ""
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        f"<title>{escape(data['words'])}</title></head><body>"
        f'<h1 style="font-size:1.25em">{escape(data["words"])}</h1><table>{rows}</table>{link}'
        f"<p>{escape(closing)}</p></body></html>"
    )


def push_of(payload: Mapping[str, Any]) -> bytes:
    """The little that a push message says: a title, a line, and the order it is about."""
    data = payload["data"]
    needed = f"Needed on {day_words(data['needed_on'])}"
    start = f"; start by {day_words(data['latest_start'])}" if _is_to_start(data) else ""
    told = {
        "title": data["words"][:200],
        "words": f"{needed}{start}.",
        "order": data["order"],
        "address": f"#/shop/{data['order']}",
    }
    return json.dumps(told, ensure_ascii=False, separators=(",", ":")).encode()


def _is_to_start(data: Mapping[str, Any]) -> bool:
    return "latest_start" in data and data["state"] in {OrderState.ASKED_FOR, OrderState.TAKEN_ON}


def _start(data: Mapping[str, Any]) -> str:
    if "latest_start" in data:
        return day_words(data["latest_start"])
    return "now: every day counts" if data["raised_by"] == RaisedBy.COVER else ""


def _moment(iso: str) -> str:
    """Such as "Monday 2 March 2026 at 14:05", by the production's clock."""
    at = datetime.datetime.fromisoformat(iso)
    return f"{day_words(at.date().isoformat())} at {at:%H:%M}"


def _question(data: Mapping[str, Any]) -> str:
    asked = data.get("question")
    if asked is None:
        return ""
    if asked["copies"] == 0:
        return f"Is it to be called off? {asked['why']}"
    start = f", start by {day_words(asked['latest_start'])}" if "latest_start" in asked else ""
    copies = f"{asked['copies']} {'copy' if asked['copies'] == 1 else 'copies'}"
    return f"{copies} in all, needed on {day_words(asked['needed_on'])}{start}? {asked['why']}"


def _one_line(text: str) -> str:
    return " ".join(text.split())
