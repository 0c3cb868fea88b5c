"""A measurement from the phone to the feed: entries, photos in pieces, the workers, numbers."""

from __future__ import annotations

import threading
from typing import Any

import numpy as np
import pytest

from continuity.match.measuring import measure_all
from continuity.match.models import ColourMeasurement
from tests.builders import Json, Show, new_id, photo, photos, sha256_of
from tests.match.scenes import as_jpeg
from tests.photos.worker import prepare_photos

WIDTH, HEIGHT = 640, 480
GREY, PIECE, SKIN = (0.15, 0.8), (0.5, 0.5), (0.75, 0.5)


def make_up(piece: tuple[float, float, float], light: tuple[float, float, float], seed: int) -> bytes:
    """A photo of flat colours in linear light, drawn here: a card, a piece, skin; with a little grain."""
    scene = np.full((HEIGHT, WIDTH, 3), (0.30, 0.19, 0.14))
    scene[300:, :200] = 0.18
    scene[150:330, 230:410] = piece
    grain = 1 + 0.01 * np.random.default_rng(seed).standard_normal(scene.shape)
    return as_jpeg(scene * light * grain, quality=92)


def spot(at: tuple[float, float], radius: float = 0.05) -> Json:
    return {"x": at[0], "y": at[1], "radius": radius}


def measured(application: str, raw: bytes, **more: Any) -> Json:
    return {
        "application": application,
        "sha256": sha256_of(raw),
        "card": {"sort": "grey", "spot": spot(GREY)},
        **more,
    }


def measurement(show: Show, then: Json, now: Json, **more: Any) -> Json:
    return {
        "look": show.look,
        "then": then,
        "now": now,
        "patches": {
            new_id(): {"role": "piece", "name": "Brow", "then": spot(PIECE), "now": spot(PIECE)},
            new_id(): {"role": "skin", "name": "Forehead", "then": spot(SKIN), "now": spot(SKIN)},
        },
        **more,
    }


def look() -> int:
    return measure_all(threading.Event())


@pytest.fixture
def two(show: Show) -> tuple[Json, Json, bytes, bytes]:
    """Two photos of one look in two lights, not sent yet: the entries of their sheets, and their bytes."""
    then = make_up((0.28, 0.15, 0.11), (1.0, 0.9, 0.7), 1)
    now = make_up((0.28, 0.15, 0.11), (0.7, 0.75, 0.9), 2)
    first = show.application(show.copies[0], photos=photos(photo(then)))
    second = show.application(show.copies[1], photos=photos(photo(now)))
    show.set_artist.send_ok(first, second)
    return first, second, then, now


def test_from_the_phone_to_the_feed(show: Show, two: tuple[Json, Json, bytes, bytes]) -> None:
    first, second, then, now = two
    document = measurement(show, measured(first["record"], then), measured(second["record"], now))
    made = show.continuity.make("colour_measurement", document)
    assert show.set_artist.record(made)["derived"]["colour"]["state"] == "awaiting"
    assert look() == 0
    show.set_artist.send_file(then)
    prepare_photos()
    assert look() == 0, "the other photo has not come"
    assert show.set_artist.send_piece(now, 0, 1000).body["state"] == "awaited"
    assert show.set_artist.send_piece(now, 1000, len(now)).body["state"] == "stored"
    assert look() == 0, "nobody has looked at the other photo yet"
    prepare_photos()
    before = show.set_artist.cursor()
    assert look() == 1
    (told,) = show.set_artist.changes(after=before)
    colour = told["derived"]["colour"]
    assert (told["id"], colour["state"], colour["reasons"]) == (made, "measured", [])
    piece, skin = (
        next(key for key, patch in document["patches"].items() if patch["role"] == role)
        for role in ("piece", "skin")
    )
    for key in (piece, skin):
        assert colour["patches"][key]["delta_e"] < 1
        assert colour["patches"][key]["words"] == "not_visible"
        assert 0 < colour["patches"][key]["uncertainty"] < 3
        assert 0 < colour["then"]["patches"][key]["spread"] < 5
    # From linear light 0.28, 0.15, 0.11 by IEC 61966-2-1 and CIE L*a*b*, worked out with colour-science.
    assert colour["now"]["patches"][piece]["lab"] == pytest.approx([48.85, 12.28, 13.89], abs=1.5)
    assert abs(colour["contrast"]["change"]) < 1
    assert colour["contrast"]["words"] in {"not_visible", "close"}
    assert look() == 0, "it is measured once"


def test_measured_again_it_is_the_same(show: Show, two: tuple[Json, Json, bytes, bytes]) -> None:
    first, second, then, now = two
    entry = show.set_artist.entry(
        "colour_measurement",
        measurement(show, measured(first["record"], then), measured(second["record"], now)),
    )
    show.set_artist.send_ok(entry)
    for raw in (then, now):
        show.set_artist.send_file(raw)
    prepare_photos()
    assert look() == 1
    before = show.continuity.record(entry["record"])["derived"]
    show.continuity.send_ok(show.continuity.edit(entry, {"note": "Once more"}))
    assert show.continuity.record(entry["record"])["derived"]["colour"]["state"] == "awaiting"
    assert look() == 1
    assert show.continuity.record(entry["record"])["derived"] == before


def test_a_production_s_own_bounds_give_the_words(show: Show, two: tuple[Json, Json, bytes, bytes]) -> None:
    first, second, _, now = two
    production = show.head.record(show.production)
    bounds = {"colour_not_visible": 0.001, "colour_close": 0.002, "colour_visible": 0.003}
    show.head.send_ok(show.head.entry("production", bounds, show.production, production["revision"]))
    changed = make_up((0.2, 0.2, 0.2), (1, 1, 1), 3)
    third = show.application(show.copies[2], photos=photos(photo(changed)))
    show.set_artist.send_ok(third)
    made = show.set_artist.make(
        "colour_measurement",
        measurement(show, measured(second["record"], now), measured(third["record"], changed)),
    )
    for raw in (now, changed):
        show.set_artist.send_file(raw)
    prepare_photos()
    look()
    patches = show.set_artist.record(made)["derived"]["colour"]["patches"]
    assert {patch["words"] for patch in patches.values()} == {"wrong"}
    assert first["record"]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"card": {"sort": "none"}}, "no card"),
        ({"card": {"sort": "grey", "spot": spot(GREY, 0.001)}}, "too small"),
        ({"card": {"sort": "grey", "spot": spot((0.31, 0.8), 0.1)}}, "not one plain surface"),
    ],
)
def test_what_cannot_be_measured_is_said(
    show: Show, two: tuple[Json, Json, bytes, bytes], change: Json, words: str
) -> None:
    first, second, then, now = two
    made = show.set_artist.make(
        "colour_measurement",
        measurement(show, measured(first["record"], then), measured(second["record"], now, **change)),
    )
    for raw in (then, now):
        show.set_artist.send_file(raw)
    prepare_photos()
    assert look() == 1
    colour = show.set_artist.record(made)["derived"]["colour"]
    assert colour["state"] == "cannot_be_measured"
    assert colour["patches"] == colour["now"]["patches"] == {}
    assert colour["contrast"] is None
    assert all(reason.startswith("Today's photo") for reason in colour["reasons"])
    assert not colour["may_pass"], "the same photo says the same another time"
    assert any(words in reason for reason in colour["reasons"])
    assert look() == 0


def test_a_file_that_is_no_picture_is_said(show: Show, two: tuple[Json, Json, bytes, bytes]) -> None:
    first, _, then, _ = two
    broken = then[: len(then) // 2]
    third = show.application(show.copies[2], photos=photos(photo(broken)))
    show.set_artist.send_ok(third)
    made = show.set_artist.make(
        "colour_measurement",
        measurement(show, measured(first["record"], then), measured(third["record"], broken)),
    )
    for raw in (then, broken):
        show.set_artist.send_file(raw)
    prepare_photos()
    assert look() == 1
    colour = show.set_artist.record(made)["derived"]["colour"]
    assert colour["state"] == "cannot_be_measured"
    assert "cannot be read" in colour["reasons"][0]


def test_one_that_is_taken_back_is_not_measured(show: Show, two: tuple[Json, Json, bytes, bytes]) -> None:
    first, second, then, now = two
    entry = show.set_artist.entry(
        "colour_measurement",
        measurement(show, measured(first["record"], then), measured(second["record"], now)),
    )
    show.set_artist.send_ok(entry, show.set_artist.edit(entry, {}, withdrawn="The wrong card"))
    for raw in (then, now):
        show.set_artist.send_file(raw)
    prepare_photos()
    assert look() == 0
    assert ColourMeasurement.objects.get().state == "awaiting"


def test_a_photo_of_the_skin_after_removal_is_never_measured(
    show: Show, two: tuple[Json, Json, bytes, bytes]
) -> None:
    """Its colour would tell everybody of the performer's skin."""
    first, second, then, now = two
    removed = make_up((0.4, 0.2, 0.15), (1, 1, 1), 4)
    third = show.application(show.copies[2], photos=photos(photo(removed, moment="removed")))
    show.set_artist.send_ok(third)
    document = measurement(show, measured(first["record"], then), measured(third["record"], removed))
    (result,) = show.set_artist.send(show.set_artist.entry("colour_measurement", document))
    assert (result["result"], result["code"], result["field"]) == ("refused", "not_allowed", "now.sha256")

    # One that becomes such a photo after it was asked for.
    made = show.set_artist.make(
        "colour_measurement",
        measurement(show, measured(first["record"], then), measured(second["record"], now)),
    )
    (item,) = second["patch"]["photos"]
    show.set_artist.send_ok(show.set_artist.edit(second, {"photos": {item: {"moment": "removed"}}}))
    for raw in (then, now):
        show.set_artist.send_file(raw)
    prepare_photos()
    assert look() == 1
    colour = show.continuity.record(made)["derived"]["colour"]
    assert colour["state"] == "cannot_be_measured"
    assert colour["patches"] == {}


def test_a_photo_that_is_not_on_the_sheet(show: Show, two: tuple[Json, Json, bytes, bytes]) -> None:
    first, second, then, _ = two
    document = measurement(show, measured(first["record"], then), measured(second["record"], then))
    (result,) = show.set_artist.send(show.set_artist.entry("colour_measurement", document))
    assert (result["code"], result["field"]) == ("unknown_reference", "now.sha256")
