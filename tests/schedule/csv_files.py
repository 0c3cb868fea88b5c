"""Handing a file in over the API, as the set-up screen does."""

from __future__ import annotations

from tests.builders import Answer, Json, Phone


def preview(phone: Phone, what: str, text: str) -> Json:
    answer = phone.account.post(phone.path(f"csv/{what}/preview"), {"text": text})
    assert answer.status == 200, answer.body
    assert answer.body["answer"] == "csv_preview"
    return answer.body


def confirm(phone: Phone, what: str, text: str, digest: str) -> Answer:
    return phone.account.post(phone.path(f"csv/{what}/confirm"), {"text": text, "digest": digest})


def take_in(phone: Phone, what: str, text: str) -> tuple[int, int]:
    """Preview and confirm a file of which every line can be read; how many it added and changed."""
    seen = preview(phone, what, text)
    assert seen["unreadable"] == []
    answer = confirm(phone, what, text, seen["digest"])
    assert answer.status == 200, answer.body
    assert answer.body["answer"] == "csv_confirmed"
    assert (answer.body["added"], answer.body["changed"]) == (len(seen["added"]), len(seen["changed"]))
    return answer.body["added"], answer.body["changed"]


def reasons(phone: Phone, what: str, text: str) -> dict[int, str]:
    """Why each line that cannot be read cannot be."""
    return {line["line"]: line["reason"] for line in preview(phone, what, text)["unreadable"]}
