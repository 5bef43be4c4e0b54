"""Outputs appear whole or not at all, and never over an input."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from renet import files
from renet.errors import InputError
from renet.files import Output


def test_reads_all_bytes(tmp_path: Path) -> None:
    target = tmp_path / "a"
    target.write_bytes(b"\r\n\x00x")
    assert files.read(target) == b"\r\n\x00x"


def test_missing_file_and_folder_are_clear(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such file"):
        files.read(tmp_path / "none")
    with pytest.raises(InputError, match="is a folder"):
        files.read(tmp_path)


def test_what_the_system_refuses_is_told_in_its_words(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"x")
    with pytest.raises(InputError, match="cannot be read: not a directory"):
        files.read(tmp_path / "a" / "b")


def test_the_size_of_a_file_and_of_none(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"xyz")
    assert [files.size(tmp_path / name) for name in ("a", "b")] == [3, 0]


def test_a_file_that_another_one_names_lies_in_its_folder(tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "a").write_bytes(b"x")
    assert files.read_inside(tmp_path / "in", "a") == b"x"
    for name in ("../a", "a\0", "/etc/passwd"):
        with pytest.raises(InputError, match="lies outside the folder"):
            files.inside(tmp_path / "in", name)


def test_writes_all_and_leaves_no_parts(tmp_path: Path) -> None:
    outputs = [Output(tmp_path / "deep" / name, name.encode()) for name in ("a", "b", "c")]
    files.write_all(outputs)
    assert sorted(p.name for p in (tmp_path / "deep").iterdir()) == ["a", "b", "c"]
    assert (tmp_path / "deep" / "b").read_bytes() == b"b"


def test_an_input_is_never_overwritten_even_through_a_link(tmp_path: Path) -> None:
    source = tmp_path / "board"
    source.write_bytes(b"old")
    link = tmp_path / "link"
    link.symlink_to(source)
    hard = tmp_path / "hard"
    os.link(source, hard)
    for target in (source, link, hard):
        with pytest.raises(InputError, match="never overwritten"):
            files.write_all([Output(target, b"new")], [source])
    assert source.read_bytes() == b"old"


@pytest.mark.parametrize("step", ["write", "rename"])
def test_a_fault_leaves_nothing_half_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    """The second of three outputs fails; no part stays, and no target is torn."""
    calls = {"n": 0}
    real = {"write": os.fsync, "rename": Path.replace}[step]

    def fail(*args: object) -> object:
        calls["n"] += 1
        if calls["n"] == 2:
            raise OSError(28, "No space left on device")
        return real(*args)  # type: ignore[operator]

    old = tmp_path / "a"
    old.write_bytes(b"old a")
    monkeypatch.setattr(*((os, "fsync", fail) if step == "write" else (Path, "replace", fail)))
    outputs = [Output(tmp_path / name, f"new {name}".encode()) for name in ("a", "b", "c")]
    with pytest.raises(InputError, match="no space left"):
        files.write_all(outputs)
    monkeypatch.undo()
    left = {p.name: p.read_bytes() for p in tmp_path.iterdir()}
    assert left == {"a": b"old a"}


def test_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "taken").write_bytes(b"")
    with pytest.raises(InputError, match="cannot be written"):
        files.write_all([Output(tmp_path / "taken" / "x", b"")])


def test_where_there_are_no_hard_links_the_old_file_is_copied(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, calls = os.replace, {"n": 0}

    def no_link(*args: object, **named: object) -> None:
        raise OSError(1, "Operation not permitted")

    def second_fails(*args: object) -> None:
        calls["n"] += 1
        if calls["n"] == 2:
            raise OSError(5, "Input/output error")
        real(*args)  # type: ignore[arg-type]

    for name in "ab":
        (tmp_path / name).write_bytes(b"old")
    monkeypatch.setattr(os, "link", no_link)
    monkeypatch.setattr(os, "replace", second_fails)
    with pytest.raises(InputError, match="nothing is written"):
        files.write_all([Output(tmp_path / name, b"new") for name in "ab"])
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == {"a": b"old", "b": b"old"}


def test_what_cannot_be_taken_back_is_told_and_the_old_file_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, calls = os.replace, {"n": 0}

    def all_but_first_fail(*args: object) -> None:
        calls["n"] += 1
        if calls["n"] > 1:
            raise OSError(5, "Input/output error")
        real(*args)  # type: ignore[arg-type]

    (tmp_path / "a").write_bytes(b"old")
    monkeypatch.setattr(os, "replace", all_but_first_fail)
    with pytest.raises(InputError, match="but a could not be taken back"):
        files.write_all([Output(tmp_path / name, b"new") for name in "ab"])
    found = {p.name.partition("-a")[2]: p.read_bytes() for p in tmp_path.iterdir()}
    assert found == {"": b"new", ".old.part": b"old"}
