"""Files kept by their content: whole, once, and checked when they are opened."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.workbench.blobs import BlobDamaged, BlobMissing, BlobStore


@pytest.fixture
def store(tmp_path: Path) -> BlobStore:
    return BlobStore(tmp_path / "kept")


@given(st.binary(max_size=5000))
def test_what_is_put_comes_back(tmp_path_factory: pytest.TempPathFactory, content: bytes) -> None:
    store = BlobStore(tmp_path_factory.getbasetemp() / "all")
    name = store.put(content, ".bin")
    assert name == hashlib.sha256(content).hexdigest()
    assert store.read_verified(name, ".bin") == content


def test_the_same_content_is_kept_once_under_a_folder_of_its_first_two_digits(store: BlobStore) -> None:
    first, second = store.put(b"sheet", ".pdf"), store.put(b"sheet", ".pdf")
    assert first == second
    assert [path.relative_to(store.folder).as_posix() for path in store.paths()] == [f"{first[:2]}/{first}.pdf"]


def test_what_is_missing_or_damaged_is_told(store: BlobStore) -> None:
    name = store.put(b"sheet", ".pdf")
    with pytest.raises(BlobMissing, match="is not in the folder"):
        store.open_verified("0" * 64, ".pdf")
    store.path_of(name, ".pdf").write_bytes(b"sheep")
    with pytest.raises(BlobDamaged, match="damaged"):
        store.open_verified(name, ".pdf")


def test_putting_it_again_mends_a_damaged_file(store: BlobStore) -> None:
    name = store.put(b"sheet", ".pdf")
    store.path_of(name, ".pdf").write_bytes(b"sheep")
    store.put(b"sheet", ".pdf")
    assert store.read_verified(name, ".pdf") == b"sheet"


BAD_NAMES = [("../etc", ".pdf"), ("A" * 64, ".pdf"), ("0" * 64, "/../x"), ("0" * 64, "")]


@pytest.mark.parametrize(("name", "suffix"), BAD_NAMES)
def test_no_name_leads_out_of_the_folder(store: BlobStore, name: str, suffix: str) -> None:
    with pytest.raises(ValueError, match="is no"):
        store.path_of(name, suffix)


def test_a_write_that_fails_leaves_nothing(store: BlobStore, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(number: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(OSError, match="No space"):
        store.put(b"sheet", ".pdf")
    assert [path for path in store.folder.rglob("*") if path.is_file()] == []


def test_unfinished_files_are_no_files(store: BlobStore) -> None:
    name = store.put(b"sheet", ".pdf")
    (store.folder / name[:2] / ".unfinished-x").write_bytes(b"half")
    assert [path.stem for path in store.paths()] == [name]
    store.remove(name, ".pdf")
    store.remove(name, ".pdf")
    assert list(store.paths()) == []
