"""A file of what a phone could not send: one JSON value a line, entries first, then photos.

The first line says what it is; an ``entry`` line is what the phone would have sent; a ``photo`` line holds
a file in base64. Handing the same file in twice stores nothing twice.
"""

from __future__ import annotations

import base64
import binascii
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from continuity.people.models import Membership
from continuity.photos.services import MAXIMUM_PIECE, file_status, receive_piece
from continuity.sync.entry_result import EntryResult, refused
from continuity.sync.refusal import Code, Refusal
from continuity.sync.services import accept_entries
from continuity.sync.strict_json import UnreadableJson, read_json

MAXIMUM_LINE = 60_000_000
ENTRIES_AT_ONCE = 500


@dataclass(frozen=True)
class PhotoResult:
    """What became of a photo in the file: its state on the server, or the code it was refused with."""

    sha256: str
    state: str
    message: str = ""


def hand_in_unsent(
    *, production_id: UUID, sender: Membership, lines: Iterable[bytes]
) -> tuple[list[EntryResult], list[PhotoResult]]:
    """Take in a file of unsent records. Raises `Refusal` (unreadable_file) before anything is stored when its
    first line is not that of such a file, or is of another production. A later line that cannot be read is
    among the results as refused, and does not hold up the others."""
    numbered = enumerate(lines, start=1)
    device = _read_heading(next(numbered, (1, b""))[1], production_id)
    results: list[EntryResult] = []
    photos: list[PhotoResult] = []
    waiting: list[Any] = []

    def send() -> None:
        if waiting:
            results.extend(
                accept_entries(production_id=production_id, sender=sender, device=device, entries=waiting)
            )
            waiting.clear()

    for number, line in numbered:
        if not line.strip():
            continue
        try:
            value = _read_line(number, line)
            if not value.keys() & {"entry", "photo"}:
                raise Refusal(Code.unreadable_file, f"Line {number} is neither an entry nor a photo.")
        except Refusal as refusal:
            send()
            results.append(refused(None, refusal))
            continue
        if "entry" in value:
            waiting.append(value["entry"])
            if len(waiting) == ENTRIES_AT_ONCE:
                send()
        else:
            send()
            photos.append(_hand_in_photo(production_id, number, value["photo"]))
    send()
    return results, photos


def bounded_lines(stream: Any) -> Iterator[bytes]:
    """The lines of a stream, none longer than a photo in base64 can be."""
    while line := stream.readline(MAXIMUM_LINE + 1):
        if len(line) > MAXIMUM_LINE:
            raise Refusal(Code.too_large, "A line of the file is too long.")
        yield line


def _read_heading(line: bytes, production_id: UUID) -> UUID:
    heading = _read_line(1, line)
    if heading.get("continuity_unsent") != 1:
        raise Refusal(Code.unreadable_file, "This is not a file of unsent records.")
    if heading.get("production") != str(production_id):
        raise Refusal(Code.unreadable_file, "This file is of another production.")
    try:
        return UUID(heading["device"])
    except (KeyError, ValueError, TypeError, AttributeError):
        raise Refusal(Code.unreadable_file, "The file does not say which device it is from.") from None


def _read_line(number: int, line: bytes) -> dict[str, Any]:
    try:
        value = read_json(line)
    except UnreadableJson as error:
        raise Refusal(Code.unreadable_file, f"Line {number}: {error}") from None
    if not isinstance(value, dict):
        raise Refusal(Code.unreadable_file, f"Line {number} is not an object.")
    return value


def _hand_in_photo(production_id: UUID, number: int, photo: Any) -> PhotoResult:
    try:
        sha256 = str(photo["sha256"])
        raw = base64.b64decode(photo["base64"], validate=True)
    except (KeyError, TypeError, ValueError, binascii.Error):
        return PhotoResult("", "refused", f"Line {number} does not hold a photo that can be read.")
    try:
        status = file_status(production_id=production_id, sha256=sha256)
        if status.state == "stored":
            return PhotoResult(sha256, "stored")
        offset = status.received if status.state == "awaited" else 0
        state = status.state
        while offset < len(raw):
            piece = raw[offset : offset + MAXIMUM_PIECE]
            state = receive_piece(
                production_id=production_id, sha256=sha256, offset=offset, total=len(raw), piece=piece
            ).state
            offset += len(piece)
        return PhotoResult(sha256, state)
    except Refusal as refusal:
        return PhotoResult(sha256, "refused", refusal.message)
