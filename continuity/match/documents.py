"""What is written to settle whether a make-up matches: verdicts, guides on photos, measurements of colour.

A `Point` is a place in the upright picture: ``x`` a fraction of its width, ``y`` of its height, from the top
left. A radius is a fraction of the picture's longer edge.
"""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum
from typing import Annotated, Self
from uuid import UUID

from pydantic import Field, model_validator

from continuity.sync.document import Document, Line, Moment, Name, Note, Part, Reference, Sha256, items

Fraction = Annotated[float, Field(ge=0, le=1)]


class Point(Part):
    x: Fraction
    y: Fraction


class Spot(Part):
    """A round piece of a picture."""

    x: Fraction
    y: Fraction
    radius: Annotated[float, Field(gt=0, le=0.5)]


class VerdictWord(StrEnum):
    MATCHES = "matches"
    DOES_NOT_MATCH = "does_not_match"


class Pin(Part):
    """A note stuck to a place in a photo."""

    sha256: Sha256
    x: Fraction
    y: Fraction
    words: Line


class VerdictDocument(Document):
    """Whether an application matches. ``against`` is the established application it was held against.

    Of several verdicts on one application the newest that is not taken back counts.
    """

    application: UUID
    verdict: VerdictWord
    against: UUID | None = None
    note: Note | None = None
    pins: dict[UUID, Pin] = items(50)

    def references(self) -> Iterator[Reference]:
        yield "application", self.application
        if self.against:
            yield "application", self.against


class PhotoGuideDocument(Document):
    """The eye line and the piece's outline on a photo, by which the next one is framed.

    ``eyes`` are two, the one on the left of the picture first; ``outline`` is empty or a closed line of at
    least three points. Of several guides on one photo the newest counts.
    """

    sha256: Sha256
    eyes: Annotated[list[Point], Field(min_length=2, max_length=2)] | None = None
    outline: Annotated[list[Point], Field(max_length=60)] = Field(default_factory=list)

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if self.outline and len(self.outline) < 3:
            raise ValueError("outline: a line round something has at least three points")
        return self


class CardSort(StrEnum):
    """What stands in the picture to set white and exposure from: nothing, a plain grey card, or the card of
    24 patches."""

    NONE = "none"
    GREY = "grey"
    PATCHES_24 = "patches_24"


class Card(Part):
    """Where the card is. A grey card has a ``spot`` well inside it. The card of 24 patches has four
    ``corners``: the middles of its four corner patches, going round (dark skin, bluish green, black, white);
    which of them comes first does not matter."""

    sort: CardSort
    spot: Spot | None = None
    corners: Annotated[list[Point], Field(min_length=4, max_length=4)] | None = None

    @model_validator(mode="after")
    def _placed(self) -> Self:
        if (self.spot is not None) != (self.sort == CardSort.GREY):
            raise ValueError("spot: a grey card has one, and nothing else has")
        if (self.corners is not None) != (self.sort == CardSort.PATCHES_24):
            raise ValueError("corners: the card of 24 patches has four, and nothing else has any")
        return self


class MeasuredPhoto(Part):
    """A photo as it is measured. ``align`` holds the two or three points that are the same places on the
    face in both photos."""

    application: UUID
    sha256: Sha256
    card: Card
    align: Annotated[list[Point], Field(max_length=3)] = Field(default_factory=list)


class PatchRole(StrEnum):
    PIECE = "piece"
    EDGE = "edge"
    SKIN = "skin"
    OTHER = "other"


class Patch(Part):
    """A place on the face, in both photos."""

    role: PatchRole
    name: Name
    then: Spot
    now: Spot


class ColourMeasurementDocument(Document):
    """Two photos of a look, the established one (``then``) and today's (``now``), and where to measure.
    ``asked_again_at`` is when somebody has asked to have the same measured once more."""

    look: UUID
    then: MeasuredPhoto
    now: MeasuredPhoto
    patches: Annotated[dict[UUID, Patch], Field(min_length=1, max_length=30)]
    note: Note | None = None
    asked_again_at: Moment | None = None

    @model_validator(mode="after")
    def _points_in_pairs(self) -> Self:
        if len(self.then.align) != len(self.now.align) or len(self.then.align) == 1:
            raise ValueError("align: two or three points, as many on either photo, or none")
        return self

    def references(self) -> Iterator[Reference]:
        yield "look", self.look
        yield "application", self.then.application
        yield "application", self.now.application
