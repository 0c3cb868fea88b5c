"""Turning the bytes a phone sent into pictures fit to show: decoded for real, upright, in sRGB, stripped.

Plain functions, no database. The pixels are bounded here; memory and time by `decoder`, in whose process
the worker has this done.
"""

from __future__ import annotations

import contextlib
import io
import warnings
from collections.abc import Iterator
from dataclasses import dataclass

from PIL import Image, ImageCms, PngImagePlugin, UnidentifiedImageError
from PIL.JpegImagePlugin import JpegImageFile, get_sampling

from continuity.photos.colour_space import profile_of, why_not_measurable
from continuity.photos.jpeg_end import with_its_end

MAXIMUM_PIXELS = 50_000_000
TOO_MANY_PIXELS = "The picture has more than 50 million pixels."
FORMATS = {
    "image/jpeg": "JPEG",
    "image/png": "PNG",
    "image/webp": "WEBP",
    "image/heic": "HEIF",
    "image/heif": "HEIF",
}
# By EXIF's orientation: Exif 2.3, tag 0x0112. Each turns a picture back that lies in the file that way.
TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
ACROSS = {TURNS[5], TURNS[6], TURNS[7], TURNS[8]}
LARGE_EDGE, SMALL_EDGE = 2000, 480
LARGE_QUALITY, SMALL_QUALITY = 82, 78
REDUCING_GAP = 2.0

# Bytes: a profile with tables may be larger than Pillow allows it to be.
PngImagePlugin.MAX_TEXT_CHUNK = 16_000_000


class UnreadablePhoto(ValueError):
    """The bytes are not a picture that can be shown; the message says why."""


@dataclass(frozen=True)
class Renditions:
    """WebP with a long edge of at most 2000 and 480 pixels, upright, in sRGB, with no metadata at all.
    ``width`` and ``height`` are those of the upright picture in full; ``not_measurable`` says why no colour
    can be measured in it (see `why_not_measurable`)."""

    large: bytes
    small: bytes
    width: int
    height: int
    not_measurable: str


def make_renditions(raw: bytes, media_type: str) -> Renditions:
    """Decode ``raw`` and give its renditions. Raises `UnreadablePhoto` for what is not such a picture."""
    with _reading(media_type):
        picture = _opened(raw, media_type)
        width, height = picture.size
        edges = _fitted(picture.size, LARGE_EDGE)
        if isinstance(picture, JpegImageFile):
            # A JPEG can be decoded at a half, a quarter or an eighth; three quarters of the work are saved.
            picture.draft("RGB", edges)
        picture.load()
        turn = _turn(picture)
        profile, not_measurable = profile_of(picture, raw), why_not_measurable(picture, raw)
        picture = _with_tones(picture)
        picture.thumbnail(edges, Image.Resampling.LANCZOS, reducing_gap=REDUCING_GAP)
        large = _in_srgb(_upright(picture, turn), profile)
        small = large.copy()
        small.thumbnail((SMALL_EDGE, SMALL_EDGE), Image.Resampling.LANCZOS, reducing_gap=REDUCING_GAP)
        if turn in ACROSS:
            width, height = height, width
        return Renditions(
            large=_encoded(large, "WEBP", quality=LARGE_QUALITY),
            small=_encoded(small, "WEBP", quality=SMALL_QUALITY),
            width=width,
            height=height,
            not_measurable=not_measurable,
        )


def make_full(raw: bytes, media_type: str) -> bytes:
    """Every pixel, upright, in sRGB, with no metadata; of the type `full_type` says.
    Raises `UnreadablePhoto` for what is not such a picture."""
    with _reading(media_type):
        picture = _opened(raw, media_type)
        encoding: dict[str, object] = {}
        if isinstance(picture, JpegImageFile):
            # Written again with its own tables, a JPEG loses next to nothing.
            encoding = {"qtables": picture.quantization, "subsampling": max(get_sampling(picture), 0)}
        elif full_type(media_type) == "image/jpeg":
            encoding = {"quality": 92, "subsampling": 0}
        elif media_type == "image/webp":
            encoding = {"quality": 95}
        return _encoded(_whole(picture, raw), FORMATS[full_type(media_type)], **encoding)


def full_type(media_type: str) -> str:
    """The type of `make_full`: a browser need not know HEIC, so what came as that goes out as JPEG."""
    return "image/jpeg" if FORMATS[media_type] == "HEIF" else media_type


def upright_srgb(raw: bytes, media_type: str) -> tuple[Image.Image, str]:
    """The whole picture, upright, in sRGB, in mode RGB or L, with at most `MAXIMUM_PIXELS` pixels; and why no
    colour can be measured in it (see `why_not_measurable`).

    Raises `UnreadablePhoto` for what is not such a picture. It decodes in the caller's own process: what
    was made into renditions before has been through `decoder`, and its bounds, once.
    """
    with _reading(media_type):
        picture = _opened(raw, media_type)
        return _whole(picture, raw), why_not_measurable(picture, raw)


@contextlib.contextmanager
def _reading(media_type: str) -> Iterator[None]:
    """What any decoder raises in here is `UnreadablePhoto`, and no picture may be a bomb."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        try:
            yield
        except (UnreadablePhoto, MemoryError):
            raise
        except UnidentifiedImageError:
            raise UnreadablePhoto(
                f"This is not a picture of the kind {media_type}, or a broken one."
            ) from None
        except (Image.DecompressionBombError, Image.DecompressionBombWarning):
            raise UnreadablePhoto(TOO_MANY_PIXELS) from None
        except Exception as error:
            # A decoder meets whatever strangers send; none of its many errors may be more than this.
            raise UnreadablePhoto(f"The picture cannot be decoded: {error}.") from None


def _opened(raw: bytes, media_type: str) -> Image.Image:
    if FORMATS[media_type] == "HEIF":
        # Only now, because it costs a process that never meets one some megabytes.
        import pillow_heif

        pillow_heif.options.DECODE_THREADS = 1
        pillow_heif.options.THUMBNAILS = False
        pillow_heif.register_heif_opener()
    picture = Image.open(io.BytesIO(raw), formats=[FORMATS[media_type]])
    if picture.width * picture.height > MAXIMUM_PIXELS:
        raise UnreadablePhoto(TOO_MANY_PIXELS)
    return with_its_end(picture, raw) if isinstance(picture, JpegImageFile) else picture


def _whole(picture: Image.Image, raw: bytes) -> Image.Image:
    picture.load()
    turn, profile = _turn(picture), profile_of(picture, raw)
    return _in_srgb(_upright(_with_tones(picture), turn), profile)


def _with_tones(picture: Image.Image) -> Image.Image:
    """A palette's numbers and plain black and white cannot be averaged when a picture is made smaller, and 16
    bits of grey would be clipped to 8 instead of divided."""
    if picture.has_transparency_data and not picture.mode.startswith("I"):
        return picture if picture.mode == "RGBA" else picture.convert("RGBA")
    if picture.mode == "P":
        return picture.convert("RGB")
    if picture.mode.startswith("I"):
        return picture.point(lambda value: value / 257 + 0.5).convert("L")
    return picture.convert("L") if picture.mode == "1" else picture


def _turn(picture: Image.Image) -> Image.Transpose | None:
    """What turns the picture upright, if anything is to."""
    if picture.format == "HEIF":
        # It has been turned by its own `irot` and `imir`; EXIF, if it is there, says the same once more.
        return None
    # Without EXIF, Pillow would believe XMP, which the phone and its browser do not look at.
    for name in ("xmp", "XML:com.adobe.xmp"):
        picture.info.pop(name, None)
    try:
        orientation = picture.getexif().get(0x0112)
    except Exception:
        # An EXIF block that is broken is no reason not to show the picture.
        return None
    return TURNS.get(orientation) if isinstance(orientation, int) else None


def _upright(picture: Image.Image, turn: Image.Transpose | None) -> Image.Image:
    return picture if turn is None else picture.transpose(turn)


def _in_srgb(picture: Image.Image, profile: bytes | None) -> Image.Image:
    if picture.mode == "RGBA":
        picture = _on_white(picture)
    elif picture.mode not in {"RGB", "L", "CMYK"} or (picture.mode == "L" and _is_of_rgb(profile)):
        picture = picture.convert("RGB")
    if profile:
        picture = _converted(picture, profile)
    return picture.convert("RGB") if picture.mode == "CMYK" else picture


def _on_white(picture: Image.Image) -> Image.Image:
    """What somebody has rubbed out of a picture is still in it, and is not to be seen."""
    white = Image.new("RGB", picture.size, (255, 255, 255))
    white.paste(picture, mask=picture.getchannel("A"))
    return white


def _is_of_rgb(profile: bytes | None) -> bool:
    return profile is not None and profile[16:20] == b"RGB "


def _converted(picture: Image.Image, profile: bytes) -> Image.Image:
    try:
        transform = ImageCms.buildTransform(
            ImageCms.ImageCmsProfile(io.BytesIO(profile)),
            ImageCms.createProfile("sRGB"),
            picture.mode,
            "RGB",
            ImageCms.Intent.RELATIVE_COLORIMETRIC,
        )
    except (ImageCms.PyCMSError, OSError):
        # A profile that is broken, or not for such pixels, says nothing about them.
        return picture
    if picture.mode != "RGB":
        return ImageCms.applyTransform(picture, transform) or picture
    if not _is_pointless(transform):
        ImageCms.applyTransform(picture, transform, inPlace=True)
    return picture


def _is_pointless(transform: ImageCms.ImageCmsTransform) -> bool:
    """Whether it is from sRGB to sRGB, as most pictures' is: then no colour moves by more than rounding. Or
    from a broken profile: then white becomes dark."""
    levels = range(0, 256, 15)
    cube = bytes(value for r in levels for g in levels for b in levels for value in (r, g, b))
    probe = Image.frombytes("RGB", (len(cube) // 3, 1), cube)
    ImageCms.applyTransform(probe, transform, inPlace=True)
    found = probe.tobytes()
    return max(found[-3:]) < 128 or max(abs(a - b) for a, b in zip(cube, found, strict=True)) <= 1


def _fitted(size: tuple[int, int], edge: int) -> tuple[int, int]:
    """The size within a square of ``edge``, as `Image.thumbnail` rounds it, never larger than it is."""
    longest = max(size)
    if longest <= edge:
        return size
    return max(1, round(size[0] * edge / longest)), max(1, round(size[1] * edge / longest))


def _encoded(picture: Image.Image, format_name: str, **options: object) -> bytes:
    picture.info = {}
    buffer = io.BytesIO()
    picture.save(buffer, format_name, **options)
    return buffer.getvalue()
