"""A file is written whole or not at all."""

import os
import stat

import pytest

from setwright.files import FileProblems
from setwright.files.writing import write_text


def test_line_ends_and_letters_arrive_as_they_are(tmp_path):
    path = tmp_path / "new.toml"
    write_text(path, "µ\r\n½\n")
    assert path.read_bytes() == "µ\r\n½\n".encode()
    assert [one.name for one in tmp_path.iterdir()] == ["new.toml"]


def test_a_file_that_exists_is_kept_unless_told_otherwise(tmp_path):
    path = tmp_path / "old.toml"
    path.write_text("mine")
    path.chmod(0o640)
    with pytest.raises(FileProblems, match="--force"):
        write_text(path, "other")
    assert path.read_text() == "mine"
    write_text(path, "other", overwrite=True)
    assert path.read_text() == "other"
    assert path.stat().st_mode & 0o777 == 0o640


def test_a_folder_that_is_not_there_is_named(tmp_path):
    with pytest.raises(FileProblems, match="cannot be written"):
        write_text(tmp_path / "nowhere" / "new.toml", "x")


def test_a_folder_in_the_files_place_is_named(tmp_path):
    (tmp_path / "taken").mkdir()
    with pytest.raises(FileProblems, match="cannot be written"):
        write_text(tmp_path / "taken", "x", overwrite=True)
    assert [one.name for one in tmp_path.iterdir()] == ["taken"]


def test_saving_keeps_mode_and_bytes(tmp_path):
    path = tmp_path / "set.toml"
    path.write_bytes(b"old")
    path.chmod(0o640)
    write_text(path, 'a = 1\r\nb = "\u00fc"\n', replacing="old")
    assert path.read_bytes() == 'a = 1\r\nb = "ü"\n'.encode()
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert os.listdir(tmp_path) == ["set.toml"]


def test_saving_a_new_file(tmp_path):
    write_text(tmp_path / "new.toml", "a = 1\n", replacing="whatever")
    assert (tmp_path / "new.toml").read_text() == "a = 1\n"


def test_saving_through_a_link_changes_the_file_behind_it(tmp_path):
    (tmp_path / "real.toml").write_text("old")
    (tmp_path / "link.toml").symlink_to(tmp_path / "real.toml")
    write_text(tmp_path / "link.toml", "new", overwrite=True)
    assert (tmp_path / "link.toml").is_symlink()
    assert (tmp_path / "real.toml").read_text() == "new"


def test_a_file_changed_meanwhile_is_not_overwritten(tmp_path):
    path = tmp_path / "set.toml"
    path.write_text("somebody else's")
    with pytest.raises(FileProblems, match="has been changed since it was read"):
        write_text(path, "mine", replacing="old")
    path.write_bytes(b"\xff")
    with pytest.raises(FileProblems, match="no longer UTF-8"):
        write_text(path, "mine", replacing="old")
    assert path.read_bytes() == b"\xff"


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_failure_leaves_the_old_file_and_nothing_else(tmp_path, monkeypatch, step):
    path = tmp_path / "set.toml"
    path.write_text("old")

    def fails(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, step, fails)
    with pytest.raises(FileProblems, match="No space left on device"):
        write_text(path, "new", overwrite=True)
    assert path.read_text() == "old"
    assert os.listdir(tmp_path) == ["set.toml"]
