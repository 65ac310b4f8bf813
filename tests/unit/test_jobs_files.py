"""The command line's edge to disk: what is read is bounded, what is written is there whole or not at all."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from vanewise.errors import InputError
from vanewise.jobs import files


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_every_file_of_an_answer_is_written(tmp_path: Path) -> None:
    files.write_all(tmp_path / "new" / "folder", {"a.json": b"{}", "inner/b.pdf": b"%PDF"})
    assert (tmp_path / "new/folder/a.json").read_bytes() == b"{}"
    assert (tmp_path / "new/folder/inner/b.pdf").read_bytes() == b"%PDF"


def test_one_name_that_cannot_be_written_keeps_all_from_being_written(tmp_path: Path) -> None:
    (tmp_path / "a.json").write_bytes(b"old")
    (tmp_path / "b.json").mkdir()
    with pytest.raises(InputError) as caught:
        files.write_all(tmp_path, {"a.json": b"new", "b.json": b"new"})
    assert "folder" in caught.value.problems[0].found
    assert (tmp_path / "a.json").read_bytes() == b"old"
    assert names(tmp_path) == ["a.json", "b.json"]


@pytest.mark.parametrize("call", ["fsync", "replace"])
def test_a_full_disk_leaves_what_was_there(call: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*words: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    (tmp_path / "a.json").write_bytes(b"old")
    monkeypatch.setattr(os, call, full)
    with pytest.raises(InputError) as caught:
        files.write_all(tmp_path, {"a.json": b"new", "b.json": b"new"})
    assert "No space left" in caught.value.problems[0].found
    assert names(tmp_path) == ["a.json"] and (tmp_path / "a.json").read_bytes() == b"old"


@pytest.mark.skipif(os.name == "nt", reason="permissions of another kind")
def test_a_new_file_has_the_permissions_the_person_gives_new_files(tmp_path: Path) -> None:
    """A file for the club's folder must not end up readable by its writer alone, nor by all where he forbids it."""
    before = os.umask(0o027)
    try:
        files.write_new(tmp_path / "a.toml", "x", force=False)
    finally:
        os.umask(before)
    assert (tmp_path / "a.toml").stat().st_mode & 0o777 == 0o640


def test_a_broken_link_counts_as_a_name_taken(tmp_path: Path) -> None:
    (tmp_path / "a.toml").symlink_to(tmp_path / "nowhere")
    with pytest.raises(InputError):
        files.write_new(tmp_path / "a.toml", "x", force=False)


def test_the_largest_file_is_read_and_one_byte_more_is_not(tmp_path: Path) -> None:
    file = tmp_path / "a.toml"
    file.write_bytes(b"#" * files.LARGEST)
    assert len(files.read_text(file)) == files.LARGEST
    file.write_bytes(b"#" * (files.LARGEST + 1))
    with pytest.raises(InputError):
        files.read_text(file)


def test_a_byte_order_mark_is_no_part_of_the_text(tmp_path: Path) -> None:
    file = tmp_path / "a.toml"
    file.write_bytes(b"\xef\xbb\xbfduty")
    assert files.read_text(file) == "duty"


def test_records_are_kept_where_the_person_says(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("VANEWISE_HOME", str(tmp_path / "hangar"))
    assert files.default_home() == tmp_path / "hangar"
    monkeypatch.delenv("VANEWISE_HOME")
    monkeypatch.setattr(Path, "home", lambda: tmp_path)
    assert files.default_home() == tmp_path / "vanewise"
