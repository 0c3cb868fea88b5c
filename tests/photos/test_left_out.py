"""Place, device, serial number, maker's note and thumbnail: in the file that came, in none that is served."""

from __future__ import annotations

import io
import struct

import exifread
import pillow_heif
import pytest
from PIL import Image, ImageCms

from continuity.bootstrap.places import FRONTEND
from continuity.photos.pictures import make_full, make_renditions
from tests.builders import Show, photo, photos, sha256_of
from tests.photos.pictures import FORMATS, MARKS, drawing, with_everything
from tests.photos.worker import prepare_photos

# What exifread calls them.
TOLD = {
    "Image Make",
    "GPS GPSLatitude",
    "EXIF MakerNote",
    "EXIF BodySerialNumber",
    "EXIF LensSerialNumber",
    "JPEGThumbnail",
}
JPEG_START = b"\xff\xd8\xff"


def _tags(raw: bytes) -> dict[str, object]:
    return dict(exifread.process_file(io.BytesIO(raw)))


def _chunks(webp: bytes) -> list[bytes]:
    """The names of a WebP's chunks (RIFF container: a name, a length, and the content at even lengths)."""
    found, at = [], 12
    while at + 8 <= len(webp):
        found.append(webp[at : at + 4])
        (length,) = struct.unpack_from("<I", webp, at + 4)
        at += 8 + length + length % 2
    return found


def _segments(jpeg: bytes) -> list[int]:
    """The markers of a JPEG up to the coded picture (ITU-T T.81, annex B)."""
    found, at = [], 2
    while jpeg[at + 1] != 0xDA:
        found.append(jpeg[at + 1])
        at += 2 + int.from_bytes(jpeg[at + 2 : at + 4])
    return found


@pytest.mark.parametrize("media_type", FORMATS)
def test_it_was_all_in_there(media_type: str) -> None:
    """Otherwise the tests below would say nothing."""
    raw = with_everything(drawing(), media_type, 6)
    assert [mark for mark in MARKS if mark not in raw] == []
    if media_type in {"image/jpeg", "image/png"}:
        # The other two it does not find in the files that Pillow and libheif write.
        assert set(_tags(raw)) >= TOLD


@pytest.mark.parametrize("orientation", [1, 6])
@pytest.mark.parametrize("media_type", FORMATS)
def test_no_file_that_is_served_tells_of_it(show: Show, media_type: str, orientation: int) -> None:
    raw = with_everything(drawing(640, 480), media_type, orientation)
    show.set_artist.send_ok(show.application(show.copies[0], photos=photos(photo(raw, media_type))))
    show.set_artist.send_file(raw)
    prepare_photos()
    for rendition in ("small", "large", "full"):
        response = show.continuity.account.client.get(
            show.continuity.path(f"photos/{sha256_of(raw)}/{rendition}")
        )
        served = b"".join(response.streaming_content)  # type: ignore[attr-defined]
        assert _tags(served) == {}, rendition
        for mark in (*MARKS, b"Exif", b"EXIF", b"eXIf", b"xmp", b"XMP ", b"ICC_PROFILE", b"acsp"):
            assert mark not in served, (rendition, mark)
        assert served.count(JPEG_START) == (1 if served.startswith(JPEG_START) else 0)
        picture = Image.open(io.BytesIO(served))
        assert dict(picture.getexif()) == {}
        if picture.format == "WEBP":
            assert _chunks(served) in ([b"VP8 "], [b"VP8L"])
        if picture.format == "JPEG":
            # The picture's own tables and size, and the JFIF heading: nothing with words in it.
            assert set(_segments(served)) <= {0xE0, 0xDB, 0xC0, 0xC4}


def test_a_profile_that_names_its_device_goes_too() -> None:
    """Profiles carry a description; this one's is exchanged for a mark of the same length."""
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    profile = srgb.replace("sRGB".encode("utf-16-be"), "PhNe".encode("utf-16-be"))
    assert profile != srgb
    raw = io.BytesIO()
    drawing().save(raw, "JPEG", icc_profile=profile)
    made = make_renditions(raw.getvalue(), "image/jpeg")
    for served in (made.small, made.large, make_full(raw.getvalue(), "image/jpeg")):
        assert "PhNe".encode("utf-16-be") not in served
        assert "icc_profile" not in Image.open(io.BytesIO(served)).info


PHONE_PICTURES = FRONTEND / "test" / "pictures"


def test_what_the_phone_has_taken_out_of_a_camera_s_jpeg() -> None:
    """The phone app's own tests check that `camera.stripped.jpg` is what it makes of `camera.jpg`. Only EXIF
    says that it is in Adobe RGB, before and after."""
    before, after = ((PHONE_PICTURES / f"camera{kind}.jpg").read_bytes() for kind in ("", ".stripped"))
    assert b"Secret" in before
    assert b"Secret" not in after
    kept = Image.open(io.BytesIO(after)).getexif()
    assert (dict(kept.get_ifd(0x8769))[0xA001], kept.get_ifd(0xA005)) == (0xFFFF, {1: "R03"})
    made = make_renditions(before, "image/jpeg")
    assert make_renditions(after, "image/jpeg") == made
    as_if_srgb = after.replace(b"R03", b"R98")
    assert make_renditions(as_if_srgb, "image/jpeg") != made


def test_what_the_phone_has_taken_out_of_a_heic() -> None:
    """The phone app's own tests check that `phone.stripped.heic` is what it makes of `phone.heic`."""
    pillow_heif.register_heif_opener()
    files = [(PHONE_PICTURES / name).read_bytes() for name in ("phone.heic", "phone.stripped.heic")]
    before, after = (Image.open(io.BytesIO(raw)) for raw in files)
    assert before.info["xmp"]
    assert before.getexif()[0x010F] == "Secret-device"
    assert set(after.info["xmp"]) == {0}
    assert set(after.getexif()) <= {0x0112}
    assert b"Secret" not in files[1]
    # Not a pixel differs, it is as upright as it was, and its colours mean what they did.
    assert after.size == before.size == (96, 64)
    assert after.tobytes() == before.tobytes()
    assert after.info["icc_profile"] == before.info["icc_profile"]
    assert make_renditions(files[0], "image/heic") == make_renditions(files[1], "image/heic")
