"""Turning the bytes a phone sent into pictures fit to keep and show: decoded for real, upright, stripped.

Plain functions, no database. Decoding is bounded: at most `MAXIMUM_PIXELS`, only the formats a phone's
camera gives.
"""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass

from PIL import Image, ImageOps, UnidentifiedImageError
from PIL.JpegImagePlugin import JpegImageFile, get_sampling

MAXIMUM_PIXELS = 50_000_000
FORMATS = {"image/jpeg": "JPEG", "image/png": "PNG", "image/webp": "WEBP"}
LARGE_EDGE, SMALL_EDGE = 2000, 480


class UnreadablePhoto(ValueError):
    """The bytes are not a picture that can be kept; the message says why."""


@dataclass(frozen=True)
class Renditions:
    """``full`` has every pixel, in the format it came in; ``large`` and ``small`` are WebP with a long edge
    of at most 2000 and 480 pixels. All are upright and carry no metadata but the colour profile."""

    full: bytes
    large: bytes
    small: bytes
    width: int
    height: int


def make_renditions(raw: bytes, media_type: str) -> Renditions:
    """Decode ``raw`` and give its renditions. Raises `UnreadablePhoto` for what is not such a picture."""
    picture, encoding = _decoded(raw, media_type)
    upright = ImageOps.exif_transpose(picture)
    profile = picture.info.get("icc_profile")
    full = _encoded(upright, FORMATS[media_type], profile, **encoding)
    flat = upright.convert("RGB") if upright.mode not in {"RGB", "L"} else upright
    large = flat.copy()
    large.thumbnail((LARGE_EDGE, LARGE_EDGE), Image.Resampling.LANCZOS)
    small = large.copy()
    small.thumbnail((SMALL_EDGE, SMALL_EDGE), Image.Resampling.LANCZOS)
    return Renditions(
        full=full,
        large=_encoded(large, "WEBP", profile, quality=82),
        small=_encoded(small, "WEBP", profile, quality=78),
        width=upright.width,
        height=upright.height,
    )


def _decoded(raw: bytes, media_type: str) -> tuple[Image.Image, dict[str, object]]:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            picture = Image.open(io.BytesIO(raw), formats=[FORMATS[media_type]])
            if picture.width * picture.height > MAXIMUM_PIXELS:
                raise UnreadablePhoto("The picture has more than 50 million pixels.")
            encoding: dict[str, object] = {}
            if isinstance(picture, JpegImageFile):
                # Written again with its own tables, a JPEG loses next to nothing.
                encoding = {"qtables": picture.quantization, "subsampling": max(get_sampling(picture), 0)}
            elif media_type == "image/webp":
                encoding = {"quality": 95}
            picture.load()
    except UnreadablePhoto:
        raise
    except (UnidentifiedImageError, Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise UnreadablePhoto(f"This is not a {media_type} picture that can be read: {error}.") from None
    except Exception as error:
        # A decoder meets whatever strangers send; none of its many errors may be more than "unreadable".
        raise UnreadablePhoto(f"The picture cannot be decoded: {error}.") from None
    return picture, encoding


def _encoded(picture: Image.Image, format_name: str, profile: bytes | None, **options: object) -> bytes:
    bare = (
        picture if format_name != "JPEG" or picture.mode in {"RGB", "L", "CMYK"} else picture.convert("RGB")
    )
    bare.info = {}
    buffer = io.BytesIO()
    bare.save(buffer, format_name, icc_profile=profile, **options)
    return buffer.getvalue()
