"""A JPEG without the marker at its end (ITU-T T.81, table B.1: EOI) is shown if nothing else is missing."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image

from continuity.photos.pictures import UnreadablePhoto, make_full, make_renditions, upright_srgb
from tests.photos.pictures import encoded

END = b"\xff\xd9"

KINDS: dict[str, dict[str, object]] = {
    "as phones write it": {"quality": 90},
    "colours in full": {"quality": 85, "subsampling": 0, "optimize": True},
    "in pieces": {"quality": 85, "restart_marker_blocks": 5},
}


def _skin_and_wall() -> Image.Image:
    """Soft and rough, and at the bottom, where files are cut, one plain colour."""
    across, down = np.meshgrid(np.linspace(40, 220, 333), np.linspace(30, 200, 217))
    rough = np.random.default_rng(7).normal(0, 6, (217, 333, 3))
    pixels = np.stack([across, down, 255 - across], axis=2) + rough
    pixels[180:] = (150, 110, 90)
    return Image.fromarray(pixels.clip(0, 255).astype(np.uint8))


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("missing", [1, 2])
def test_what_lacks_only_its_end_is_shown(kind: str, missing: int) -> None:
    whole = encoded(_skin_and_wall(), "JPEG", **KINDS[kind])
    assert whole.endswith(END)
    cut = whole[:-missing]
    assert make_renditions(cut, "image/jpeg") == make_renditions(whole, "image/jpeg")
    assert make_full(cut, "image/jpeg") == make_full(whole, "image/jpeg")
    assert upright_srgb(cut, "image/jpeg")[0].tobytes() == upright_srgb(whole, "image/jpeg")[0].tobytes()


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_cut_inside_its_picture_is_not(kind: str) -> None:
    """At every byte of the last rows, and here and there before."""
    whole = encoded(_skin_and_wall(), "JPEG", **KINDS[kind])
    start = whole.rindex(b"\xff\xda") + 14
    for length in (*range(start, len(whole) - 200, 401), *range(len(whole) - 200, len(whole) - 3)):
        with pytest.raises(UnreadablePhoto, match="truncated"):
            make_renditions(whole[:length], "image/jpeg")


def test_of_one_in_several_scans_nobody_knows_whether_another_was_to_follow() -> None:
    progressive = encoded(_skin_and_wall(), "JPEG", progressive=True)
    scans = [at for at in range(len(progressive) - 1) if progressive[at : at + 2] == b"\xff\xda"]
    for length in (scans[-1], len(progressive) - 2):
        with pytest.raises(UnreadablePhoto, match="truncated"):
            make_renditions(progressive[:length], "image/jpeg")
