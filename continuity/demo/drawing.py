"""Drawn photos: a simple head with the wound on it, as a camera in the trailer would see it.

A head is a stack of ellipses. A point on it is (longitude in degrees, height from -1 at the crown to 1 at the
chin); longitude 0 is the middle of the face and positive towards the performer's left. Turning the head adds
to the longitude. The same arguments give the same bytes.
"""

from __future__ import annotations

import io
import math
import random
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from PIL import Image, ImageChops, ImageDraw, ImageFilter, ImageFont

from continuity.demo.wounds import STUBBLE, WOUND_CENTRES, WOUNDS, Mark
from continuity.photos.documents import Angle, PhotoMoment

WIDTH, HEIGHT = 900, 1200
OVERSAMPLED = 2
ROWS = 60
EYE = (26.0, -0.06)
"""Where the eyes are drawn: degrees to either side, and height."""
GREY = (52, 1022, 212, 1158)
"""Where the grey lies in a first frame, in pixels: left, top, right, bottom."""
QUALITY = 82

Colour = tuple[int, int, int]
Spot = tuple[float, float]
Point = tuple[float, float]
Profile = Callable[[float], float]

# Degrees the head is turned; the side that shows is the performer's.
YAW = {
    Angle.FRONT: 0.0,
    Angle.THREE_QUARTER_LEFT: -38.0,
    Angle.THREE_QUARTER_RIGHT: 38.0,
    Angle.PROFILE_LEFT: -80.0,
    Angle.PROFILE_RIGHT: 80.0,
    Angle.CLOSE_UP: 0.0,
}
BACKDROPS = {
    PhotoMoment.BEFORE: (196, 190, 180),
    PhotoMoment.APPLIED: (186, 182, 174),
    PhotoMoment.ON_SET: (70, 82, 98),
    PhotoMoment.AFTER: (150, 140, 126),
    PhotoMoment.REMOVED: (196, 190, 180),
}


@dataclass(frozen=True)
class Face:
    """What tells one performer from another."""

    skin: Colour
    hair: Colour
    lips: Colour
    jumper: Colour
    width: float
    stubble: bool = False


FACES = {
    "tamsin": Face((216, 172, 144), (66, 42, 30), (176, 100, 94), (58, 76, 92), 1.0),
    "idris": Face((146, 102, 76), (30, 24, 22), (122, 74, 66), (88, 74, 52), 1.08, stubble=True),
    "petra": Face((222, 180, 154), (74, 48, 34), (184, 110, 102), (48, 58, 66), 1.03),
}


@dataclass(frozen=True)
class Camera:
    """Where a spot on the head lands on the picture, in oversampled pixels."""

    yaw: float
    scale: float
    x: float
    y: float
    width: float

    def place(self, longitude: float, height: float, lift: float = 1.0) -> Point:
        """``lift`` is the distance from the axis of the head, 1 on the skin."""
        half_width, depth = self._ellipse(height)
        angle, turn = math.radians(longitude), math.radians(self.yaw)
        across, forward = half_width * lift * math.sin(angle), depth * lift * math.cos(angle)
        turned = across * math.cos(turn) + forward * math.sin(turn)
        return self.x + turned * self.scale, self.y + height * self.scale

    def faces(self, longitude: float, height: float = 0.0) -> float:
        """Above 0 when the skin there is turned to the camera; 1 when squarely."""
        half_width, depth = self._ellipse(height)
        angle, turn = math.radians(longitude), math.radians(self.yaw)
        across, forward = math.sin(angle) / half_width, math.cos(angle) / depth
        return (forward * math.cos(turn) - across * math.sin(turn)) / math.hypot(across, forward)

    def seen(self, height: float) -> tuple[float, float]:
        """The longitudes between which the skin is turned to the camera at this height."""
        half_width, depth = self._ellipse(height)
        turn = math.radians(self.yaw)
        middle = math.degrees(math.atan2(-math.sin(turn) / half_width, math.cos(turn) / depth))
        return middle - 90, middle + 90

    def _ellipse(self, height: float) -> Point:
        clamped = max(-1.0, min(1.0, height))
        if clamped < 0:
            round_ = math.sqrt(1 - clamped**2 * 0.995)
            return 0.74 * self.width * round_, 0.86 * round_
        jaw = math.sqrt(max(0.0, 1 - clamped**3.2 * 0.96))
        return 0.74 * self.width * (1 - 0.22 * clamped) * jaw, 0.86 * (1 - 0.12 * clamped) * jaw


def draw_photo(
    *,
    performer: str,
    wound: str | None,
    stage: str,
    angle: Angle,
    moment: PhotoMoment,
    slate: str | None,
    seed: str,
) -> bytes:
    """A JPEG of 900 × 1200 pixels. ``slate`` are the words on the card in a first frame, beside the grey."""
    face = FACES[performer]
    chance = random.Random(seed)  # noqa: S311 - a drawing, nothing secret
    worn = wound if wound and moment not in (PhotoMoment.BEFORE, PhotoMoment.REMOVED) else None
    camera = _camera(face, angle, wound, chance)
    picture = Image.new("RGB", (WIDTH * OVERSAMPLED, HEIGHT * OVERSAMPLED), BACKDROPS[moment])
    _backdrop(picture, moment, chance)
    _head(picture, face, camera)
    if face.stubble:
        _mark(picture, camera, Mark(STUBBLE, face.hair, soft=0.05, strength=0.4))
    _features(ImageDraw.Draw(picture), face, camera)
    if worn:
        for mark in WOUNDS[worn, stage]:
            _mark(picture, camera, mark)
    picture = picture.reduce(OVERSAMPLED)
    picture = _lit(picture, moment, chance)
    if slate:
        _card(picture, slate)
    buffer = io.BytesIO()
    picture.save(buffer, "JPEG", quality=QUALITY)
    return buffer.getvalue()


def place_in_photo(
    *, performer: str, wound: str, angle: Angle, seed: str, beside: tuple[float, float] = (0.0, 0.0)
) -> Point:
    """Where the middle of the wound is in the photo drawn from these, as fractions of its width and height;
    or a place ``beside`` it, so many degrees to the performer's left and so much lower."""
    camera = _camera(FACES[performer], angle, wound, random.Random(seed))  # noqa: S311 - a drawing
    longitude, height = WOUND_CENTRES[wound]
    x, y = camera.place(longitude + beside[0], height + beside[1])
    return x / (WIDTH * OVERSAMPLED), y / (HEIGHT * OVERSAMPLED)


def _camera(face: Face, angle: Angle, wound: str | None, chance: random.Random) -> Camera:
    yaw = YAW[angle] + chance.uniform(-4, 4)
    middle_x, middle_y = WIDTH * OVERSAMPLED / 2, HEIGHT * OVERSAMPLED / 2
    near = Camera(yaw, 760, middle_x + chance.uniform(-30, 30), middle_y - 150, face.width)
    if angle is not Angle.CLOSE_UP or wound is None:
        return near
    longitude, height = WOUND_CENTRES[wound]
    yaw = -longitude * 0.6 + chance.uniform(-4, 4)
    close = Camera(yaw, 1750, 0, 0, face.width)
    x, y = close.place(longitude, height)
    return Camera(yaw, 1750, middle_x - x, middle_y * 0.9 - y, face.width)


def _backdrop(picture: Image.Image, moment: PhotoMoment, chance: random.Random) -> None:
    pen = ImageDraw.Draw(picture)
    base = BACKDROPS[moment]
    if moment is PhotoMoment.ON_SET:
        pen.rectangle((0, picture.height * 0.62, picture.width, picture.height), fill=(52, 58, 60))
        return
    # The boards of the trailer, and its mirror lamps.
    for board in range(0, picture.width, 300):
        left = board + chance.randrange(-10, 10)
        pen.rectangle((left, 0, left + 8, picture.height), fill=_shade(base, 0.9))
    for lamp in (220, 760, 1300, 1700):
        pen.ellipse((lamp - 60, 40, lamp + 60, 160), fill=(250, 244, 224))


def _head(picture: Image.Image, face: Face, camera: Camera) -> None:
    pen = ImageDraw.Draw(picture)
    skin_shadow = _shade(face.skin, 0.8)
    # Neck and shoulders.
    neck = camera.scale * 0.36
    nape = camera.x - math.sin(math.radians(camera.yaw)) * camera.scale * 0.08
    pen.polygon(
        [
            (nape - neck, camera.y + camera.scale * 0.4),
            (nape + neck, camera.y + camera.scale * 0.4),
            (camera.x + neck * 1.15, camera.y + camera.scale * 1.6),
            (camera.x - neck * 1.15, camera.y + camera.scale * 1.6),
        ],
        fill=skin_shadow,
    )
    _ellipse(
        pen, camera.x, camera.y + camera.scale * 1.95, camera.scale * 1.35, camera.scale * 0.68, face.jumper
    )
    _ellipse(
        pen, camera.x, camera.y + camera.scale * 1.3, camera.scale * 0.5, camera.scale * 0.12, skin_shadow
    )
    # The hair behind, then the skin in front of it, row by row.
    back = _rows(camera, _everything, -1.0, 0.52, _hair_stands_out)
    pen.polygon(back, fill=face.hair)
    for side in (-92.0, 92.0):
        if camera.faces(side) > -0.35:
            x, y = camera.place(side, 0.06, 1.03)
            tilt = 0.05 + 0.11 * abs(math.sin(math.radians(camera.yaw)))
            _ellipse(pen, x, y, camera.scale * tilt, camera.scale * 0.17, _shade(face.skin, 0.92))
    # From the side, the jaw rises towards the ear.
    side_on = abs(math.sin(math.radians(camera.yaw)))

    def skin_in_front(height: float) -> float:
        hairline = 75 * (max(0.0, height + 0.62) / 0.3) ** (1 / 3)
        jaw = 88 - 34 * side_on**2 * min(1.0, max(0.0, (height - 0.3) / 0.4))
        return float(min(hairline, jaw))

    pen.polygon(_rows(camera, skin_in_front, -0.62, 1.0, _on_the_skin), fill=face.skin)


def _features(pen: ImageDraw.ImageDraw, face: Face, camera: Camera) -> None:
    skin_shadow, skin_light = _shade(face.skin, 0.84), _shade(face.skin, 1.07)
    for side in (-1, 1):
        if camera.faces(26 * side) < 0.02:
            continue
        eye = [(15, -0.05), (20, -0.1), (27, -0.115), (34, -0.09), (39, -0.04), (33, -0.015), (23, -0.01)]
        _shape(
            pen, camera, [(side * lon, h - 0.035) for lon, h in eye[:5]] + [(side * 27, -0.05)], skin_shadow
        )
        _shape(pen, camera, [(side * lon, h) for lon, h in eye], (238, 234, 228))
        x, y = camera.place(EYE[0] * side, EYE[1])
        turned = max(0.35, camera.faces(26 * side))
        radius = camera.scale * 0.052
        _ellipse(pen, x, y, radius * turned, radius, (74, 92, 88))
        _ellipse(pen, x, y, radius * 0.5 * turned, radius * 0.5, (18, 16, 16))
        _ellipse(pen, x - radius * 0.3, y - radius * 0.3, radius * 0.16, radius * 0.16, (250, 250, 250))
        lid = [(14, -0.045), (20, -0.1), (27, -0.117), (34, -0.092), (40, -0.035)]
        _line(pen, camera, [(side * lon, h) for lon, h in lid], 0.02, _shade(face.skin, 0.35))
        _line(pen, camera, [(side * 23, -0.008), (side * 34, -0.014)], 0.008, skin_shadow)
        brow = [(10, -0.2), (22, -0.265), (34, -0.26), (43, -0.2), (34, -0.225), (22, -0.225)]
        _shape(pen, camera, [(side * lon, h) for lon, h in brow], _mix(face.hair, face.skin, 0.15))
    # The nose stands out from the head, so that it shows in profile.
    bridge, tip, base = (0.0, -0.12, 1.02), (0.0, 0.24, 1.3), (0.0, 0.33, 1.06)
    for side in (-1, 1):
        if camera.faces(20 * side) < -0.1:
            continue
        wing, inner = (13.0 * side, 0.29, 1.04), (6.0 * side, -0.08, 1.0)
        towards_light = side < 0
        flank = face.skin if towards_light else _mix(face.skin, skin_shadow, 0.6)
        pen.polygon([camera.place(*spot) for spot in (bridge, tip, base, wing, inner)], fill=flank)
    pen.line([camera.place(*bridge), camera.place(*tip)], fill=skin_light, width=int(camera.scale * 0.035))
    x, y = camera.place(*tip)
    _ellipse(pen, x, y, camera.scale * 0.05, camera.scale * 0.045, skin_light)
    for side in (-1, 1):
        if camera.faces(10 * side) > 0:
            x, y = camera.place(6.5 * side, 0.325, 1.1)
            _ellipse(pen, x, y, camera.scale * 0.024, camera.scale * 0.012, _shade(face.skin, 0.5))
    mouth = [lon for lon in range(-22, 23, 4) if camera.faces(lon, 0.5) > 0.03]
    if len(mouth) > 1:
        upper = [(lon, 0.53 - 0.05 * (1 - (lon / 23) ** 2) + (0.012 if abs(lon) < 3 else 0)) for lon in mouth]
        middle = [(lon, 0.535) for lon in mouth]
        lower = [(lon, 0.54 + 0.06 * (1 - (lon / 23) ** 2)) for lon in mouth]
        _shape(pen, camera, upper + middle[::-1], _shade(face.lips, 0.86), 1.03)
        _shape(pen, camera, middle + lower[::-1], face.lips, 1.03)
        _line(pen, camera, middle, 0.014, _shade(face.lips, 0.5), 1.03)


def _everything(height: float) -> float:
    return 180.0


def _hair_stands_out(height: float) -> float:
    """How far the hair stands out from the skin; it is cut round at the neck."""
    return 1.07 - 0.4 * max(0.0, (height - 0.1) / 0.42) ** 3


def _on_the_skin(height: float) -> float:
    return 1.0


def _rows(camera: Camera, limit: Profile, top: float, bottom: float, lift: Profile) -> list[Point]:
    """The outline, as it is seen, of what lies within ``limit(height)`` degrees of the middle of the face."""
    left: list[Point] = []
    right: list[Point] = []
    for step in range(ROWS + 1):
        height = top + (bottom - top) * step / ROWS
        first, last = camera.seen(height)
        first, last = max(first, -limit(height)), min(last, limit(height))
        if first < last:
            left.append(camera.place(first, height, lift(height)))
            right.append(camera.place(last, height, lift(height)))
    return left + right[::-1]


def _mark(picture: Image.Image, camera: Camera, mark: Mark) -> None:
    """Put one part of a wound on the skin; a soft one is blurred, and none is drawn on the far side."""
    spots = [spot for spot in mark.spots if camera.faces(*spot) > 0.02]
    if len(spots) < 2:
        return
    points = [camera.place(*spot, 1.01) for spot in spots]
    spread = mark.soft * camera.scale
    margin = spread * 3 + mark.width * camera.scale + 4
    box = (
        max(0, int(min(x for x, _ in points) - margin)),
        max(0, int(min(y for _, y in points) - margin)),
        min(picture.width, int(max(x for x, _ in points) + margin)),
        min(picture.height, int(max(y for _, y in points) + margin)),
    )
    if box[0] >= box[2] or box[1] >= box[3]:
        return
    coarse = 8 if mark.soft else 1
    size = (max(1, (box[2] - box[0]) // coarse), max(1, (box[3] - box[1]) // coarse))
    mask = Image.new("L", size)
    pen = ImageDraw.Draw(mask)
    local = [((x - box[0]) / coarse, (y - box[1]) / coarse) for x, y in points]
    strength = int(255 * mark.strength)
    if mark.width:
        pen.line(local, fill=strength, width=max(1, int(mark.width * camera.scale / coarse)), joint="curve")
    elif len(local) > 2:
        pen.polygon(local, fill=strength)
    if mark.soft:
        mask = mask.filter(ImageFilter.GaussianBlur(spread / coarse))
        mask = mask.resize((box[2] - box[0], box[3] - box[1]), Image.Resampling.BICUBIC)
    picture.paste(mark.colour, box, mask)


def _lit(picture: Image.Image, moment: PhotoMoment, chance: random.Random) -> Image.Image:
    """Light from the upper left, falling off to the lower right; colder and darker on set."""
    small = (WIDTH // 10, HEIGHT // 10)
    light = Image.new("L", small, 200)
    pen = ImageDraw.Draw(light)
    x = small[0] * chance.uniform(0.3, 0.42)
    pen.ellipse((x - 45, 0, x + 45, 95), fill=255)
    light = light.filter(ImageFilter.GaussianBlur(18)).resize(picture.size, Image.Resampling.BICUBIC)
    shaded = ImageChops.multiply(picture, Image.merge("RGB", (light, light, light)))
    if moment is PhotoMoment.ON_SET:
        shaded = ImageChops.multiply(shaded, Image.new("RGB", picture.size, (214, 226, 246)))
    return shaded


def _card(picture: Image.Image, slate: str) -> None:
    """The grey card of the first frame, with the slate on it."""
    pen = ImageDraw.Draw(picture)
    pen.rectangle((40, 1010, 520, 1170), fill=(246, 246, 244))
    pen.rectangle(GREY, fill=(119, 119, 119))
    pen.rectangle((220, 1106, 312, 1158), fill=(250, 250, 250), outline=(200, 200, 200))
    pen.rectangle((318, 1106, 410, 1158), fill=(200, 200, 200))
    pen.rectangle((416, 1106, 508, 1158), fill=(36, 36, 36))
    font = ImageFont.load_default(32)
    pen.text((224, 1040), slate, fill=(20, 20, 20), font=font)


def _shape(
    pen: ImageDraw.ImageDraw, camera: Camera, spots: Sequence[Spot], colour: Colour, lift: float = 1.0
) -> None:
    pen.polygon([camera.place(*spot, lift) for spot in spots], fill=colour)


def _line(
    pen: ImageDraw.ImageDraw,
    camera: Camera,
    spots: Iterable[Spot],
    width: float,
    colour: Colour,
    lift: float = 1.0,
) -> None:
    points = [camera.place(*spot, lift) for spot in spots]
    pen.line(points, fill=colour, width=max(1, int(width * camera.scale)), joint="curve")


def _ellipse(pen: ImageDraw.ImageDraw, x: float, y: float, across: float, up: float, colour: Colour) -> None:
    pen.ellipse((x - across, y - up, x + across, y + up), fill=colour)


def _shade(colour: Colour, factor: float) -> Colour:
    red, green, blue = (min(255, int(part * factor)) for part in colour)
    return red, green, blue


def _mix(one: Colour, other: Colour, share: float) -> Colour:
    red, green, blue = (int(a + (b - a) * share) for a, b in zip(one, other, strict=True))
    return red, green, blue
