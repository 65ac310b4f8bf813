"""Photographs sent in by a form: looked at in a process of their own, kept, shown, marked, backed up."""

from __future__ import annotations

import io
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image, ImageDraw

from vanewise.aircraft import layouts
from vanewise.aircraft.writing import write_description
from vanewise.errors import InputError
from vanewise.jobs import aircraft as aircraft_job
from vanewise.jobs import work
from vanewise.jobs.casebook import open_book
from vanewise.store import backup, files, journal, picture_worker, pictures
from vanewise.store.home import Home

AT = "2026-03-01T10:00:00Z"
HEIC = Path(__file__).with_name("pictures") / "turned.heic"
"""Our own drawing, 96 by 64, written on its side with orientation 6, a place (GPS) and a maker's name in it."""
RED, BLUE = (220, 20, 20), (20, 20, 200)


def turned_jpeg() -> bytes:
    """The same drawing as JPEG, made here."""
    picture = Image.new("RGB", (96, 64), (200, 200, 190))
    draw = ImageDraw.Draw(picture)
    draw.rectangle((0, 0, 31, 31), fill=RED)
    draw.ellipse((50, 20, 90, 60), fill=BLUE)
    facts = Image.Exif()
    facts[0x0112], facts[0x010F] = 6, "Invented"
    place = facts.get_ifd(0x8825)
    place[1], place[2] = "N", (48.0, 11.0, 0.0)
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=92, exif=facts.tobytes())
    return out.getvalue()


def near(one: Any, other: tuple[int, int, int]) -> bool:
    return max(abs(a - b) for a, b in zip(one, other, strict=True)) < 40


@pytest.mark.parametrize("kind", ["jpeg", "heic"])
def test_what_is_shown_stands_upright_and_carries_nothing_else(kind: str) -> None:
    original = HEIC.read_bytes() if kind == "heic" else turned_jpeg()
    assert b"Invented" in original
    made = pictures.make(original)
    shown = Image.open(io.BytesIO(made.shown))
    assert (shown.format, shown.size, made.media_type) == ("JPEG", (64, 96), f"image/{kind}")
    # Orientation 6 means: the first row is the right side (Exif 2.3, tag 274). So red comes to the upper right.
    assert near(shown.getpixel((60, 4)), RED)
    assert near(shown.getpixel((24, 70)), BLUE)
    assert dict(shown.getexif()) == {}
    assert b"Invented" not in made.shown + made.small
    assert not {"exif", "xmp", "icc_profile", "comment"} & shown.info.keys()


def big(side: int) -> bytes:
    out = io.BytesIO()
    Image.new("1", (side, side)).save(out, "PNG")
    return out.getvalue()


@pytest.mark.parametrize(
    ("data", "found"),
    [
        (b"", "empty"),
        (b"<svg onload='alert(1)'/>", "something else"),
        (b"GIF89a" + bytes(100), "something else"),
        (turned_jpeg()[:400], "breaks off"),
        (b"\x89PNG\r\n\x1a\n" + bytes(80), "breaks off"),
        (HEIC.read_bytes()[:900], "breaks off"),
        (big(8000), "more than that"),
        (b"\xff\xd8\xff" + bytes(pictures.LARGEST_BYTES), "million"),
    ],
    ids=["empty", "svg", "gif", "half jpeg", "torn png", "half heic", "64 million pixels", "too many bytes"],
)
def test_what_is_no_picture_is_refused_with_words(data: bytes, found: str) -> None:
    with pytest.raises(InputError, match=found):
        pictures.make(data)


@pytest.mark.skipif(sys.platform != "linux", reason="these limits are Linux's")
def test_the_decoder_gives_up_memory_and_files() -> None:
    code = (
        "import resource as r, picture_worker as w; w.give_up_powers();"
        "print(r.getrlimit(r.RLIMIT_AS)[0], r.getrlimit(r.RLIMIT_CPU)[0], r.getrlimit(r.RLIMIT_FSIZE)[0])\n"
        "try: bytearray(2 * w.MEMORY_BYTES)\n"
        "except MemoryError: print('held')"
    )
    folder = Path(picture_worker.__file__).parent
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=folder)
    limits = f"{picture_worker.MEMORY_BYTES} {picture_worker.CPU_S} 0"
    assert done.stdout.split("\n")[:2] == [limits, "held"]


def test_a_decoder_that_takes_too_long_is_ended(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    slow = tmp_path / "slow.py"
    slow.write_text("import time; time.sleep(60)", encoding="utf-8")
    monkeypatch.setattr(pictures, "WORKER", slow)
    monkeypatch.setattr(pictures, "PATIENCE_S", 0.2)
    with pytest.raises(InputError, match="takes longer"):
        pictures.make(turned_jpeg())


@pytest.fixture
def job(home: Home) -> tuple[str, str]:
    craft = aircraft_job.keep(write_description(layouts.make("suction-one-pump")), author="Ada", at=AT)
    from vanewise.jobs import evidence

    report = evidence.open_report(craft, "No suction.", author="Ada", when="2026-03-01", at=AT)
    package = work.make_package(craft, report, "worn_vanes", place="pump", author="Ada", at=AT)
    return craft, package.id[:12]


def send(client: Client, job: tuple[str, str], data: bytes, **told: str) -> Any:
    craft, key = job
    upload = SimpleUploadedFile("../../etc/x.html", data, content_type="text/html")
    form = {"about": "pump.inlet", "moment": "before", "author": "Ada", "photo": upload, **told}
    return client.post(f"/a/{craft}/jobs/{key}/photos/", form)


def test_a_photograph_is_kept_by_digest_and_shown(client: Client, job: tuple[str, str], home: Home) -> None:
    craft, key = job
    original = turned_jpeg()
    assert send(client, job, original).status_code == 302
    (photo,) = work.job(open_book(craft), key).log.photos
    assert files.read(photo.original)[0] == original
    assert sorted(path.name for path in home.files.rglob("*") if path.is_file()) == sorted(
        digest[2:] for digest in {photo.original, photo.shown, photo.small}
    )
    page = client.get(f"/a/{craft}/jobs/{key}/photos/").content.decode()
    assert f"/a/{craft}/pictures/{photo.small}/" in page
    assert "x.html" not in page
    answer = client.get(f"/a/{craft}/pictures/{photo.shown}/")
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer.content == files.read(photo.shown)[0]


def test_the_same_picture_of_the_same_thing_is_kept_once(client: Client, job: tuple[str, str]) -> None:
    send(client, job, turned_jpeg())
    head = journal.head(job[0])
    send(client, job, turned_jpeg())
    assert journal.head(job[0]) == head


@pytest.mark.parametrize("told", [{"about": ""}, {"moment": "some day"}, {"author": ""}])
def test_nothing_is_kept_of_a_refused_one(
    client: Client, job: tuple[str, str], home: Home, told: dict[str, str]
) -> None:
    head = journal.head(job[0])
    answer = send(client, job, turned_jpeg(), **told)
    assert b"Expected" in answer.content
    assert journal.head(job[0]) == head
    assert [path for path in home.files.rglob("*") if path.is_file()] == []


def test_no_other_file_is_shown_under_an_aircraft(client: Client, job: tuple[str, str]) -> None:
    kept = files.keep(b"somebody else's", media_type="text/html", at=AT)
    assert client.get(f"/a/{job[0]}/pictures/{kept.digest}/").status_code == 400
    assert client.get(f"/a/{job[0]}/pictures/passwd/").status_code == 400


def test_marks_and_an_angle_without_scripts(client: Client, job: tuple[str, str]) -> None:
    craft, key = job
    send(client, job, turned_jpeg())
    (photo,) = work.job(open_book(craft), key).log.photos
    address = f"/a/{craft}/jobs/{key}/photos/{photo.id}/"
    # 340 pixels wide as touched; the picture is 64 by 96, so 340 by 510.
    touched = {"centre": ("170", "255"), "twelve": ("170", "20"), "tip": ("320", "255")}
    for role, (x, y) in touched.items():
        told = {"target": f"{role}:pump.inlet", "at.x": x, "at.y": y, "author": "Ada"}
        assert client.post(address, told).status_code == 302
    assert "3 o'clock" in client.get(address).content.decode().replace("&#x27;", "'")
    told = {"what": "angle", "author": "Ada", "head": journal.head(craft)}
    assert client.post(address, told).status_code == 302
    assert work.job(open_book(craft), key).log.fittings["pump.inlet"].clock_deg == 90.0


def test_sliders_mark_a_hose_end(client: Client, job: tuple[str, str]) -> None:
    craft, key = job
    send(client, job, turned_jpeg())
    (photo,) = work.job(open_book(craft), key).log.photos
    told = {"target": "hose end:firewall_hose|pump.inlet", "across": "250", "down": "750", "author": "Ada"}
    # With a keyboard the picture's own button sends 0, 0; the sliders then count.
    answer = client.post(f"/a/{craft}/jobs/{key}/photos/{photo.id}/", {**told, "at.x": "0", "at.y": "0"})
    assert answer.status_code == 302
    (mark,) = work.job(open_book(craft), key).log.marks
    assert (mark.role, mark.about, mark.x, mark.y) == ("hose end", "firewall_hose|pump.inlet", 0.25, 0.75)


def test_photographs_come_back_from_a_backup(
    client: Client, job: tuple[str, str], home: Home, tmp_path: Path, empty_again: Callable[[], None]
) -> None:
    craft, key = job
    send(client, job, HEIC.read_bytes())
    (photo,) = work.job(open_book(craft), key).log.photos
    backup.backup(tmp_path / "kept.zip", at=AT)
    empty_again()
    shutil.rmtree(home.files)
    home.files.mkdir()
    backup.restore(tmp_path / "kept.zip")
    assert files.read(photo.original)[0] == HEIC.read_bytes()
    assert client.get(f"/a/{craft}/pictures/{photo.shown}/").status_code == 200
