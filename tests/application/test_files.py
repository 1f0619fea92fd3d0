"""Files are read within a limit and written whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from scheduler.application import files
from scheduler.application.files import new_file, read_bytes, write_bytes
from scheduler.diagnostics import Refused


def test_a_file_of_the_largest_size_is_read_and_one_byte_more_is_not(tmp_path: Path) -> None:
    """Measured before it is read."""
    path = tmp_path / "yard.yaml"
    path.write_bytes(b"x" * 10)
    assert read_bytes(path, largest=10) == b"x" * 10
    with pytest.raises(Refused, match=r"yard\.yaml: the file is 1e-05 MB; the largest that is read is 9e-06 MB"):
        read_bytes(path, largest=9)


def test_a_file_too_large_is_not_opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ten terabytes that a file system only pretends to have are refused at once."""
    path = tmp_path / "sparse.yaml"
    with path.open("wb") as file:
        file.truncate(10**13 if os.name == "posix" else 10**8)

    def opened(*_: object, **__: object) -> None:
        raise AssertionError("it was opened")

    monkeypatch.setattr(Path, "open", opened)
    with pytest.raises(Refused, match="the largest that is read"):
        read_bytes(path)


def test_a_file_that_grows_while_it_is_read_is_read_no_further(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its size was looked at before."""
    path = tmp_path / "log.csv"
    path.write_bytes(b"x" * 100)
    small = tmp_path / "small"
    small.write_bytes(b"x")
    size = small.stat()
    monkeypatch.setattr(Path, "stat", lambda self, **_: size)
    with pytest.raises(Refused, match="the largest that is read"):
        read_bytes(path, largest=50)


@pytest.mark.parametrize(("name", "said"), [("none.yaml", "no such file"), (".", "is a directory")])
def test_what_is_no_file_is_refused_in_words(name: str, said: str, tmp_path: Path) -> None:
    """Nothing there, and a folder; what the system says of it differs."""
    with pytest.raises(Refused, match="cannot be read: ") as refused:
        read_bytes(tmp_path / name)
    assert os.name != "posix" or said in str(refused.value)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with a name are of POSIX")
def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    """Nobody writes into it."""
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(Refused, match="it is a pipe or a device"):
        read_bytes(tmp_path / "pipe")


def test_what_was_there_stays_where_the_new_can_not_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The disk is full as the last bytes go out, and nothing is left beside it."""
    path = tmp_path / "out.ics"
    path.write_text("before")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(files.os, "fsync", full)
    with pytest.raises(Refused, match="cannot be written: no space left on device"):
        write_bytes(path, b"after")
    assert path.read_text() == "before"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.skipif(os.name != "posix", reason="permissions of POSIX")
def test_a_file_has_the_permissions_of_any_new_one_unless_it_is_private(tmp_path: Path) -> None:
    """A calendar is for others too; an address with a secret is not."""
    mask = os.umask(0o022)
    try:
        write_bytes(tmp_path / "open", b"")
        write_bytes(tmp_path / "own", b"", private=True)
    finally:
        os.umask(mask)
    assert [(tmp_path / name).stat().st_mode & 0o777 for name in ("open", "own")] == [0o644, 0o600]


def test_a_new_file_goes_where_the_facts_about_it_are_refused(tmp_path: Path) -> None:
    """And stays where they are recorded."""
    with pytest.raises(RuntimeError, match="not recorded"), new_file(tmp_path / "a.yaml", b"harvest"):
        raise RuntimeError("not recorded")
    with new_file(tmp_path / "b.yaml", b"harvest"):
        pass
    assert [one.name for one in tmp_path.iterdir()] == ["b.yaml"]
