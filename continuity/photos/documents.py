"""What is written of a photo. Its file follows by itself, found by the sha256 named here."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated
from uuid import UUID

from pydantic import Field

from continuity.sync.document import Moment, Part, Sha256


class Angle(StrEnum):
    FRONT = "front"
    THREE_QUARTER_LEFT = "three_quarter_left"
    THREE_QUARTER_RIGHT = "three_quarter_right"
    PROFILE_LEFT = "profile_left"
    PROFILE_RIGHT = "profile_right"
    CLOSE_UP = "close_up"


class PhotoMoment(StrEnum):
    BEFORE = "before"
    APPLIED = "applied"
    ON_SET = "on_set"
    AFTER = "after"
    REMOVED = "removed"


class MediaType(StrEnum):
    JPEG = "image/jpeg"
    PNG = "image/png"
    WEBP = "image/webp"
    HEIC = "image/heic"
    HEIF = "image/heif"


class PhotoFault(StrEnum):
    """What the phone found wrong with a frame when it was taken."""

    BLURRED = "blurred"
    TOO_DARK = "too_dark"
    TOO_BRIGHT = "too_bright"


class Photo(Part):
    """The manifest of a photo; its file follows by its sha256. ``size`` is in bytes.

    ``kept_despite`` lists the faults that the phone told of and the photographer kept the photo in spite of;
    ``card_in_frame`` is what they said of a grey or colour card, and null where nobody asked.
    """

    sha256: Sha256
    size: Annotated[int, Field(ge=1, le=40_000_000)]
    media_type: MediaType
    angle: Angle
    moment: PhotoMoment
    scene: UUID | None = None
    story_day: Annotated[int, Field(ge=-10_000, le=10_000)] | None = None
    taken_at: Moment
    kept_despite: Annotated[list[PhotoFault], Field(max_length=3)] = Field(default_factory=list)
    card_in_frame: bool | None = None
