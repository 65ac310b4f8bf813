"""Pages beyond loopback: nobody in without the passphrase, nothing typed lost, no other host name answered to."""

from __future__ import annotations

import re
import shutil
import ssl
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
import zxingcpp
from argon2 import PasswordHasher
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client, override_settings
from PIL import Image

from vanewise.aircraft import layouts
from vanewise.aircraft.writing import write_description
from vanewise.errors import InputError
from vanewise.jobs import aircraft as aircraft_job
from vanewise.store import journal, passphrase
from vanewise.store.home import Home
from vanewise.web import lan, signin
from vanewise.web.sessions import Sessions, Throttle

WORDS = "gasket pelican onward tin"


@pytest.fixture
def guarded(home: Home, monkeypatch: pytest.MonkeyPatch) -> Iterator[Home]:
    # The cost of the hash is the library's matter; here it would only make the tests slow.
    monkeypatch.setattr(passphrase, "_hasher", lambda: PasswordHasher(time_cost=1, memory_cost=1024, parallelism=1))
    passphrase.set_passphrase(home, WORDS)
    monkeypatch.setattr(signin, "sessions", Sessions())
    monkeypatch.setattr(signin, "throttle", Throttle())
    with override_settings(VANEWISE_SIGN_IN=True):
        yield home
    home.passphrase_file.unlink()


def sign_in(client: Client, words: str = WORDS, **more: str) -> Any:
    return client.post("/sign-in/", {"passphrase": words, "back": "/", **more})


@pytest.mark.parametrize("words", ["", "short words", "aaaaaaaaaaaaaaaaaaaa", "x" * 201])
def test_weak_words_are_refused(home: Home, words: str) -> None:
    with pytest.raises(InputError, match="15 to 200"):
        passphrase.set_passphrase(home, words)
    assert not passphrase.is_set(home)


def test_the_words_are_kept_only_as_a_hash_for_the_owner(guarded: Home) -> None:
    kept = guarded.passphrase_file.read_text(encoding="ascii")
    assert kept.startswith("$argon2id$")
    assert "pelican" not in kept
    if sys.platform != "win32":
        assert guarded.passphrase_file.stat().st_mode & 0o077 == 0


@pytest.mark.parametrize("path", ["/", "/a/x/", "/a/x/pictures/" + "a" * 64 + "/", "/nowhere/", "/start/"])
def test_no_page_without_signing_in(guarded: Home, client: Client, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 401
    assert b"Passphrase" in answer.content


def test_in_with_the_words_and_out_again(guarded: Home, client: Client) -> None:
    answer = sign_in(client, back="/about/")
    assert (answer.status_code, answer["Location"]) == (302, "/about/")
    cookie = answer.cookies[signin.COOKIE]
    assert cookie["httponly"]
    assert cookie["samesite"] == "Lax"
    assert client.get("/").status_code == 200
    copied = Client()
    copied.cookies[signin.COOKIE] = cookie.value
    client.post("/sign-out/")
    assert client.get("/").status_code == 401
    assert copied.get("/").status_code == 401, "signed out is signed out for a copied cookie too"


def test_another_passphrase_ends_every_session(guarded: Home, client: Client) -> None:
    sign_in(client)
    passphrase.set_passphrase(guarded, "another four words here")
    assert client.get("/").status_code == 401


def test_wrong_words_are_slowed_down(guarded: Home, client: Client) -> None:
    codes = [sign_in(client, "not the right words").status_code for _ in range(Throttle.FREE + 1)]
    assert codes == [401] * Throttle.FREE + [429]
    # The right words have to wait as well, or the wait would tell them from wrong ones.
    answer = sign_in(client)
    assert answer.status_code == 429
    assert int(answer["Retry-After"]) > 0


@pytest.mark.parametrize("back", ["https://elsewhere.example/", "//elsewhere.example/", "/\\elsewhere.example", "x"])
def test_it_leads_to_no_other_site(guarded: Home, client: Client, back: str) -> None:
    assert sign_in(client, back=back)["Location"] == "/"


def test_what_was_typed_when_a_session_ended_can_still_be_sent(guarded: Home, client: Client) -> None:
    craft = aircraft_job.keep(write_description(layouts.make("suction-one-pump")), author="Ada")
    head = journal.head(craft)
    told = {"words": "Lamp slow <b>again</b>.", "author": "Ada", "head": head}
    address = f"/a/{craft}/reports/new/"
    refused = client.post(address, urlencode(told), content_type="application/x-www-form-urlencoded")
    assert refused.status_code == 401
    assert journal.head(craft) == head
    fields = dict(re.findall(r'name="(kept-[a-z]+)" value="([^"]*)"', refused.content.decode()))
    assert fields["kept-words"] == "Lamp slow &lt;b&gt;again&lt;/b&gt;."
    back = client.post(
        "/sign-in/", {"passphrase": WORDS, "back": address, **{f"kept-{name}": value for name, value in told.items()}}
    )
    assert f'action="{address}"' in back.content.decode()
    assert "<b>again" not in back.content.decode()
    assert client.post(address, told).status_code == 302


def test_a_file_is_not_read_before_signing_in(guarded: Home, client: Client) -> None:
    upload = SimpleUploadedFile("x.jpg", b"\xff\xd8\xff" + bytes(1000))
    assert client.post("/a/x/jobs/y/photos/", {"photo": upload, "author": "Ada"}).status_code == 401
    assert list(guarded.files.iterdir()) == []


def test_forms_need_their_token(guarded: Home) -> None:
    client = Client(enforce_csrf_checks=True)
    assert client.post("/sign-in/", {"passphrase": WORDS}).status_code == 403
    token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', client.get("/sign-in/").content.decode())
    assert token is not None
    assert client.post("/sign-in/", {"passphrase": WORDS, "csrfmiddlewaretoken": token[1]}).status_code == 302
    assert client.post("/who/", {"author": "Eve"}).status_code == 403


@pytest.mark.parametrize("host", ["elsewhere.example", "192.0.2.7", "testserver.elsewhere.example"])
def test_no_other_host_name_is_answered_to(guarded: Home, client: Client, host: str) -> None:
    assert client.get("/sign-in/", headers={"host": host}).status_code == 400


def test_on_loopback_nobody_is_asked(client: Client) -> None:
    assert client.get("/").status_code == 200


@pytest.mark.parametrize("name", ["*", "http://hangar.local", "hangar.local:80", ".local", "", "a/b"])
def test_a_name_with_more_in_it_is_refused(name: str) -> None:
    with pytest.raises(InputError, match="host name"):
        lan.check_name(name)


def test_the_qr_on_the_terminal_reads_as_the_address() -> None:
    address = "http://hangar.local:8137/"
    rows = lan.qr(address).rstrip("\n").split("\n")
    halves = {"█": (255, 255), "▀": (255, 0), "▄": (0, 255), " ": (0, 0)}
    picture = Image.new("L", (len(rows[0]), 2 * len(rows)))
    for y, row in enumerate(rows):
        for x, sign in enumerate(row):
            for half in (0, 1):
                picture.putpixel((x, 2 * y + half), halves[sign][half])
    scaled = picture.resize((picture.width * 8, picture.height * 8), Image.Resampling.NEAREST)
    assert [found.text for found in zxingcpp.read_barcodes(scaled)] == [address]


def start(home: Path, *words: str) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "vanewise", "serve", "--home", str(home), "--lan", "--port", "8620", *words]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def test_it_does_not_start_without_a_passphrase(tmp_path: Path) -> None:
    refused = start(tmp_path / "home")
    out, err = refused.communicate(timeout=60)
    assert (refused.returncode, out) == (2, "")
    assert "vanewise passphrase --home" in err


def test_with_a_certificate_of_ones_own_it_speaks_tls(tmp_path: Path) -> None:
    openssl = shutil.which("openssl")
    if openssl is None:
        pytest.skip("no openssl here to make a certificate with")
    certificate, key, home = tmp_path / "own.pem", tmp_path / "own.key", Home(tmp_path / "home").prepare()
    subject = ["-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost,IP:127.0.0.1", "-days", "2"]
    make = [openssl, "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes", *subject]
    subprocess.run([*make, "-out", certificate, "-keyout", key], check=True, capture_output=True)
    passphrase.set_passphrase(home, WORDS)
    server = start(home.path, "--certificate", str(certificate), "--key", str(key))
    try:
        assert server.stdout is not None
        told = ""
        while "(Ctrl-C ends)" not in told:
            line = server.stdout.readline()
            assert line, server.stderr.read() if server.stderr else ""
            told += line
        assert "Plain http" not in told
        address = re.findall(r"https://127\.0\.0\.1:\d+/", told)[-1]
        context = ssl.create_default_context(cafile=str(certificate))
        with urllib.request.urlopen(address + "about/", context=context, timeout=30) as page:
            assert page.status == 200
            assert b"Vanewise" in page.read()
    finally:
        server.terminate()
        server.wait(timeout=20)
        for stream in (server.stdout, server.stderr):
            if stream is not None:
                stream.close()
