"""A file is written whole or not at all."""

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
