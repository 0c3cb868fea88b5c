"""`python -m tests.e2e.bench_compare`: how fast the compare screen opens, and how smoothly it moves.

In the Chromium of the tests, at the size of a phone and with its processor slowed four times, with two
photos of 12 megapixels of which the phone keeps the large pictures. Prints, for each way of looking, the
frames a second while a finger drags and while two pinch, and the milliseconds from the tap to both photos on
screen. Measure on a quiet machine, and several times.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import statistics
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image
from playwright.sync_api import CDPSession, Page, expect, sync_playwright

from continuity.bootstrap import chromium
from tests.e2e.phone import CHROMIUM_FLAGS, HANDSET, Phone
from tests.e2e.served import Served, expect_soon, manage, serve

Json = dict[str, Any]

SLOWED = 4
FRAMES_WANTED, OPENS_WITHIN = 50, 300
SIZE = (4032, 3024)
WAYS = ("Side by side", "Wipe", "Blink", "Difference")

WATCH = """
() => {
  const photo = document.querySelector(".stage .photo");
  window.watched = { at: [], moved: [] };
  const look = (at) => {
    watched.at.push(at);
    watched.moved.push(photo.style.transform);
    window.watching = requestAnimationFrame(look);
  };
  window.watching = requestAnimationFrame(look);
}
"""
WATCHED = "() => { cancelAnimationFrame(watching); return JSON.stringify(watched); }"

OPEN = """
async (hash) => {
  const frame = () => new Promise(requestAnimationFrame);
  const begun = performance.now();
  location.hash = hash;
  while (document.querySelectorAll(".stage .photo canvas").length < 2) await frame();
  // Drawn with the frame after the one in which they were put there.
  await frame();
  await frame();
  return performance.now() - begun;
}
"""


@dataclass(frozen=True)
class Movement:
    """From the first to the last frame in which the photos moved: the page's ``frames`` a second, in what
    ``share`` of them they moved, the ``slow`` one of 20 in milliseconds, and the frames a second that the
    compositor has ``drawn``."""

    frames: float
    share: float
    slow: float
    drawn: float


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=3)
    options = parser.parse_args()
    browser_path = chromium.find()
    with tempfile.TemporaryDirectory() as folder:
        data_dir = Path(folder) / "data"
        data_dir.mkdir()
        manage(data_dir, "migrate", "--verbosity", "0")
        manage(data_dir, "load_demo")
        with serve(data_dir) as served, sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=browser_path, args=CHROMIUM_FLAGS)
            context = browser.new_context(**HANDSET, base_url=served.url)
            phone = Phone(context, context.new_page())
            phone.open()
            phone.sign_in("artist")
            address = _two_photos(phone, served, Path(folder))
            print(f"Chromium {browser.version}, slowed {SLOWED} times; load of the machine {_load()}")
            _measure(phone.page, address, options.runs)
            print(f"load of the machine {_load()}")
            browser.close()


def _two_photos(phone: Phone, served: Served, folder: Path) -> str:
    """Puts two photos of 12 megapixels on a sheet; the address at which they are compared."""
    phone.sitting("Tamsin Oakhollow", "Cut brow, fresh").click()
    phone.tap("Start")
    photos = {
        angle: _photo(folder / f"{angle}.jpg", seed) for seed, angle in enumerate(("Front", "Close-up"))
    }
    phone.add_photos("Applied", photos)
    expect_soon(lambda: len(_large_photos(served)), len(photos))
    phone.expect_not_sent(0)
    (look, first), (_, second) = _large_photos(served)
    for sha256 in (first, second):
        _wait_for_large(phone.page, sha256)
    return f"#/match/{look}/compare?then={first}&now={second}"


def _large_photos(served: Served) -> list[tuple[str, str]]:
    """The look and the sha256 of every photo that is no drawing of the demo."""
    return [
        (sheet["look"], photo["sha256"])
        for sheet in served.documents("application").values()
        for photo in sheet.get("photos", {}).values()
        if photo["size"] > 1_000_000
    ]


def _photo(path: Path, seed: int) -> Path:
    """A picture with something to see at every scale, as skin has."""
    chance = np.random.default_rng(seed)
    picture = np.full((SIZE[1], SIZE[0], 3), (176.0, 138.0, 116.0))
    for cell in (1, 8, 64, 512):
        shape = (SIZE[1] // cell + 1, SIZE[0] // cell + 1, 1)
        grain = chance.normal(0, 4 + 2 * math.log2(cell), shape).repeat(cell, 0).repeat(cell, 1)
        picture += grain[: SIZE[1], : SIZE[0]]
    Image.fromarray(picture.clip(0, 255).astype(np.uint8)).save(path, "JPEG", quality=88)
    return path


def _wait_for_large(page: Page, sha256: str) -> None:
    path = f"/api/productions/{_session_of(page)['productions'][0]['id']}/photos/{sha256}/large"
    expect_soon(lambda: page.evaluate("async (path) => (await fetch(path)).ok", path), True)


def _session_of(page: Page) -> Json:
    session: Json = page.evaluate("async () => (await fetch('/api/session')).json()")
    return session


def _measure(page: Page, address: str, runs: int) -> None:
    devtools = page.context.new_cdp_session(page)
    # Once without being timed: the large pictures are fetched and kept.
    page.evaluate(OPEN, address)
    expect(page.get_by_text("small picture")).to_have_count(0, timeout=30_000)
    devtools.send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
    first, again = [], []
    for _ in range(runs):
        page.goto("/#/match")
        page.reload()
        expect(page.get_by_role("heading", name="Match", exact=True)).to_be_visible()
        page.wait_for_timeout(1500)
        first.append(page.evaluate(OPEN, address))
        for _ in range(5):
            page.evaluate("location.hash = '#/match'")
            expect(page.get_by_role("heading", name="Match", exact=True)).to_be_visible()
            page.wait_for_timeout(700)
            again.append(page.evaluate(OPEN, address))
    _tell_opening("opened for the first time since the app was started", first)
    _tell_opening("opened again", again)
    for way in WAYS:
        page.get_by_role("radio", name=way).check(force=True)
        if way == "Blink":
            page.get_by_role("button", name="Stop").click()
        for what in ("drag", "pinch"):
            _tell_movement(way, what, [_moved(page, devtools, what) for _ in range(runs)])


def _tell_opening(what: str, times: list[float]) -> None:
    print(
        f"{what}: {statistics.median(times):.0f} ms (median of {len(times)}; {min(times):.0f} to "
        f"{max(times):.0f}); wanted under {OPENS_WITHIN}"
    )


def _moved(page: Page, devtools: CDPSession, what: str) -> Movement:
    page.get_by_role("button", name="show the whole").click()
    box = page.locator(".stage > .stage").bounding_box()
    assert box
    x, y = box["x"] + box["width"] / 4, box["y"] + box["height"] / 2
    touch = {"x": x, "y": y, "gestureSourceType": "touch"}
    if what == "drag":
        for _ in range(6):
            page.get_by_role("button", name="Nearer").click()
    drawn: list[float] = []
    complete: list[Json] = []

    def collect(data: Json) -> None:
        drawn.extend(event["ts"] for event in data["value"] if event["name"] == "DrawFrame")

    devtools.on("Tracing.dataCollected", collect)
    devtools.once("Tracing.tracingComplete", lambda told: complete.append(told))
    devtools.send("Tracing.start", {"categories": "disabled-by-default-devtools.timeline.frame"})
    page.evaluate(WATCH)
    if what == "drag":
        there = {"xDistance": 60, "yDistance": -140, "speed": 300, "repeatCount": 4, "repeatDelayMs": 0}
        devtools.send("Input.synthesizeScrollGesture", {**touch, **there, "preventFling": True})
    else:
        devtools.send("Input.synthesizePinchGesture", {**touch, "scaleFactor": 3.0, "relativeSpeed": 250})
    watched = json.loads(page.evaluate(WATCHED))
    devtools.send("Tracing.end")
    while not complete:
        page.wait_for_timeout(20)
    devtools.remove_listener("Tracing.dataCollected", collect)
    at, where = watched["at"], watched["moved"]
    moved = [frame for frame in range(1, len(at)) if where[frame] != where[frame - 1]]
    first, last = moved[0] - 1, moved[-1]
    steps = np.diff(at[first : last + 1])
    return Movement(
        frames=1000 * len(steps) / float(steps.sum()),
        share=len(moved) / len(steps),
        slow=float(np.percentile(steps, 95)),
        drawn=1e6 * (len(drawn) - 1) / (max(drawn) - min(drawn)),
    )


def _tell_movement(way: str, what: str, movements: list[Movement]) -> None:
    print(
        f"{way}, {what}: {min(one.frames for one in movements):.1f} frames/s at worst of {len(movements)}, "
        f"median {statistics.median(one.frames for one in movements):.1f}; the photos moved in "
        f"{100 * statistics.median(one.share for one in movements):.0f} % of them; one frame of 20 took "
        f"{statistics.median(one.slow for one in movements):.0f} ms or more; drawn by the compositor "
        f"{statistics.median(one.drawn for one in movements):.1f}/s; wanted {FRAMES_WANTED} or more"
    )


def _load() -> str:
    return f"{os.getloadavg()[0]:.1f} on {os.cpu_count()} processors"


if __name__ == "__main__":
    main()
