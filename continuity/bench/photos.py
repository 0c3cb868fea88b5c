"""How long a photo's renditions take beside a plain script, and what a burst of photos does to records."""

from __future__ import annotations

import hashlib
import io
import sqlite3
import statistics
import struct
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from django.conf import settings
from PIL import Image
from uuid6 import uuid7

from continuity.bench.installation import CannotMeasure, Installation
from continuity.bench.phone import HAPPENED_AT, Crew, Json, Phone, timed_push
from continuity.bench.sync import percentile
from continuity.photos.decoder import NICE
from continuity.photos.decoding import Decoder

Work = TypeVar("Work")

SIZE = (4000, 3000)
QUALITY = 88
RUNS = 15
PHONES = 8
PHOTOS_A_PHONE = 25
PIECE = 512 * 1024
"""As the phone app sends them."""

MADE_WITHIN = 600.0

PLAIN = """
import io, os, sys, time
from PIL import Image
os.nice(int(sys.argv.pop()))
source, target = sys.argv[1:]
for _ in sys.stdin:
    start = time.perf_counter()
    large = Image.open(source)
    large.draft("RGB", (2000, 1500))
    large.thumbnail((2000, 2000), Image.Resampling.LANCZOS, reducing_gap=2.0)
    large.save(target + "-large.webp", quality=82)
    large.thumbnail((480, 480), Image.Resampling.LANCZOS, reducing_gap=2.0)
    large.save(target + "-small.webp", quality=78)
    print(time.perf_counter() - start, flush=True)
"""
"""The fastest way to the same two files that Pillow knows: the JPEG is decoded at half its size, and the
small one is made of the large."""


@dataclass(frozen=True)
class TwoRenditions:
    """Seconds for one photo of 12 million pixels, from file to files, medians of runs that took turns; and
    the most memory the decoder had, in MB."""

    ours: float
    plain: float
    memory: float


@dataclass(frozen=True)
class Burst:
    """95th percentiles of the record's own request, in seconds: of one phone alone, of all phones without a
    photo, and of all phones with their photos. ``sent`` is how long the photos took to come, ``made`` until
    all their renditions were made; ``lost`` is how many have none; ``memory`` is the most that the worker and
    its decoder had, in MB."""

    alone: float
    without: float
    during: float
    sent: float
    made: float
    photos: int
    lost: int
    memory: float


def photo_of_a_phone(seed: int = 0) -> bytes:
    """A JPEG of 12 million pixels and about 3 MB. Another ``seed`` is another file of the same picture."""
    soft = Image.effect_noise((500, 375), 60).resize(SIZE, Image.Resampling.BICUBIC)
    grain = Image.effect_noise(SIZE, 10)
    grey = Image.blend(soft, grain, 0.25)
    picture = Image.merge("RGB", (grey, grey.transpose(Image.Transpose.ROTATE_180), soft))
    buffer = io.BytesIO()
    picture.save(buffer, "JPEG", quality=QUALITY)
    return with_seed(buffer.getvalue(), seed)


def with_seed(raw: bytes, seed: int) -> bytes:
    """The same JPEG with a number in a comment."""
    return raw[:2] + b"\xff\xfe" + struct.pack(">HI", 6, seed) + raw[2:]


def two_renditions() -> TwoRenditions:
    """Raises `CannotMeasure` when the plain script's files are not the very same."""
    with (
        tempfile.TemporaryDirectory(prefix="bench-", dir=settings.DATA_DIR) as made_in,
        Decoder() as decoder,
    ):
        directory = Path(made_in)
        source, target = directory / "photo.jpg", directory / "plain"
        source.write_bytes(photo_of_a_phone())
        plain = subprocess.Popen(
            [sys.executable, "-c", PLAIN, str(source), str(target), str(NICE)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        ours_times, plain_times = [], []
        with plain:
            for _ in range(RUNS + 1):
                plain_times.append(_asked(plain))
                start = time.perf_counter()
                made = decoder.renditions(source.read_bytes(), "image/jpeg")
                for name, content in (("large", made.large), ("small", made.small)):
                    (directory / f"ours-{name}.webp").write_bytes(content)
                ours_times.append(time.perf_counter() - start)
            memory = _most_memory(decoder.process_id)
            if plain.stdin is not None:
                plain.stdin.close()
        for name in ("large", "small"):
            files = [directory / f"{whose}-{name}.webp" for whose in ("ours", "plain")]
            if files[0].read_bytes() != files[1].read_bytes():
                raise CannotMeasure(f"The plain script's {name} picture is another.")
    # The first of each also starts a process, and reads its libraries.
    return TwoRenditions(statistics.median(ours_times[1:]), statistics.median(plain_times[1:]), memory)


def burst(installation: Installation, port: int) -> Burst:
    """Eight phones, each with 25 records of a photo: the record, its photo in pieces, the next."""
    crew = Crew(Phone(port, installation.password))
    count = PHONES * PHOTOS_A_PHONE
    raw = photo_of_a_phone()
    phones = [Phone(port, installation.password) for _ in range(PHONES)]

    def records_only(phone: Phone, entries: list[Json]) -> list[float]:
        return [timed_push(phone, crew.entries_path, crew.body([entry]), 1) for entry in entries]

    def with_photos(phone: Phone, work: list[tuple[Json, bytes]]) -> list[float]:
        times = []
        for entry, photo in work:
            times.append(timed_push(phone, crew.entries_path, crew.body([entry]), 1))
            _send_photo(phone, crew.production, photo)
        return times

    alone = records_only(phones[0], crew.applications(2 * PHOTOS_A_PHONE))[PHOTOS_A_PHONE:]
    entries = crew.applications(count)
    without = _at_once(phones, records_only, [entries[number::PHONES] for number in range(PHONES)])
    files = [with_seed(raw, seed) for seed in range(1, count + 1)]
    sheets = [_with_photo(entry, photo) for entry, photo in zip(crew.applications(count), files, strict=True)]
    work = list(zip(sheets, files, strict=True))
    start = time.perf_counter()
    during = _at_once(phones, with_photos, [work[number::PHONES] for number in range(PHONES)])
    sent = time.perf_counter() - start
    memory = _wait_until_made(installation, count)
    made = time.perf_counter() - start
    # The server has hung up on a phone that said nothing for so long; it calls again by itself.
    phones[0].close()
    lost = sum(not _is_shown(phones[0], crew.production, photo) for photo in files)
    for phone in (*phones, crew.phone):
        phone.close()
    return Burst(
        alone=percentile(alone, 0.95),
        without=percentile(without, 0.95),
        during=percentile(during, 0.95),
        sent=sent,
        made=made,
        photos=count,
        lost=lost,
        memory=memory,
    )


def _asked(process: subprocess.Popen[str]) -> float:
    if process.stdin is None or process.stdout is None:
        raise CannotMeasure("The plain script does not answer.")
    process.stdin.write("\n")
    process.stdin.flush()
    return float(process.stdout.readline())


def _most_memory(process_id: int | None) -> float:
    """The peak of a process's resident memory in MB."""
    for line in Path(f"/proc/{process_id}/status").read_text().splitlines():
        if line.startswith("VmHWM:"):
            return int(line.split()[1]) * 1024 / 1e6
    raise CannotMeasure("The system does not say how much memory a process has had.")


def _with_photo(entry: Json, photo: bytes) -> Json:
    manifest = {
        "sha256": hashlib.sha256(photo).hexdigest(),
        "size": len(photo),
        "media_type": "image/jpeg",
        "angle": "front",
        "moment": "applied",
        "taken_at": HAPPENED_AT,
    }
    return {**entry, "patch": {**entry["patch"], "photos": {str(uuid7()): manifest}}}


def _send_photo(phone: Phone, production: str, photo: bytes) -> None:
    path = f"/api/productions/{production}/files/{hashlib.sha256(photo).hexdigest()}"
    state = phone.ask("GET", path)["state"]
    for first in range(0, len(photo), PIECE):
        piece = photo[first : first + PIECE]
        where = f"bytes {first}-{first + len(piece) - 1}/{len(photo)}"
        state = phone.ask(
            "PUT", path, piece, {"Content-Type": "application/octet-stream", "Content-Range": where}
        )["state"]
    if state != "stored":
        raise CannotMeasure(f"A photo is {state} after its last piece.")


def _is_shown(phone: Phone, production: str, photo: bytes) -> bool:
    sha256 = hashlib.sha256(photo).hexdigest()
    return all(
        phone.has(f"/api/productions/{production}/photos/{sha256}/{rendition}")
        for rendition in ("small", "large", "full")
    )


def _at_once(
    phones: list[Phone], do: Callable[[Phone, list[Work]], list[float]], shares: list[list[Work]]
) -> list[float]:
    times: list[float] = []
    faults: list[Exception] = []

    def run(phone: Phone, share: list[Work]) -> None:
        try:
            times.extend(do(phone, share))
        except Exception as fault:
            faults.append(fault)

    threads = [
        threading.Thread(target=run, args=(phone, share)) for phone, share in zip(phones, shares, strict=True)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if faults:
        raise CannotMeasure(f"A phone was not answered: {faults[0]}")
    return times


def _wait_until_made(installation: Installation, count: int) -> float:
    """The most memory of the worker and its decoder in MB. Raises `CannotMeasure` if they take too long."""
    until = time.monotonic() + MADE_WITHIN
    memory = 0.0
    while time.monotonic() < until:
        memory = max(memory, sum(_most_memory(each) for each in _workers(installation)))
        connection = sqlite3.connect(installation.data_dir / "continuity.sqlite3", timeout=20)
        (made,) = connection.execute(
            "SELECT count(*) FROM photos_photofile WHERE renditions = 'made' AND \"full\" = 'made'"
        ).fetchone()
        connection.close()
        if made == count:
            return memory
        time.sleep(0.5)
    raise CannotMeasure(f"After {MADE_WITHIN:.0f} s the worker has made {made} of {count} photos.")


def _workers(installation: Installation) -> list[int]:
    """The worker of this installation, and its decoder."""
    found: dict[int, int] = {}
    for status in Path("/proc").glob("[0-9]*/stat"):
        try:
            process = int(status.parent.name)
            found[process] = int(status.read_text().rpartition(")")[2].split()[1])
        except (OSError, ValueError):
            continue
    ours = []
    ours_in = f"CONTINUITY_DATA_DIR={installation.data_dir}".encode()
    for process in found:
        try:
            command = Path(f"/proc/{process}/cmdline").read_bytes().split(b"\0")
            environment = Path(f"/proc/{process}/environ").read_bytes()
        except OSError:
            continue
        if b"prepare_photos" in command and ours_in in environment:
            ours += [process, *(child for child, parent in found.items() if parent == process)]
    return ours
