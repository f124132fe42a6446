"""Keeps pictures and gives them out: the file first, then its row, so that a row always has a whole file."""

from __future__ import annotations

from collections.abc import Collection
from typing import BinaryIO

from django.conf import settings

from setwright.workbench.blobs import BlobMissing, BlobStore
from setwright.workbench.photos.cleaning import SUFFIXES, Cleaned, PhotoRefused, checked
from setwright.workbench.photos.models import Blob


def files() -> BlobStore:
    """The folder of the pictures' files."""
    return BlobStore(settings.DATA_DIR / "photos")


def keep(photo: Cleaned) -> Blob:
    """Keep a cleaned picture. When this returns it is on the disk; the same picture is kept once.

    Inside a transaction that is rolled back, the file stays without a row, which harms nothing. Raises OSError where
    the disk is full or the folder may not be written to.
    """
    sha256 = files().put(photo.content, photo.suffix)
    blob, _ = Blob.objects.get_or_create(
        sha256=sha256,
        defaults={
            "media_type": photo.media_type,
            "width": photo.width,
            "height": photo.height,
            "size": len(photo.content),
        },
    )
    return blob


def take_over(content: bytes, sha256: str, name: str = "") -> Blob:
    """Keep a picture that another Setwright cleaned, under its own hash.

    Raises PhotoRefused where the content is not what the hash says or is not a cleaned picture.
    """
    photo = checked(content, name or sha256)
    if photo.sha256 != sha256:
        raise PhotoRefused(name or sha256, "is not the picture its name says: the SHA-256 differs")
    return keep(photo)


def blobs_of(names: Collection[str]) -> dict[str, Blob]:
    """What is known of the pictures of these hashes; those that are not kept are left out."""
    return {blob.sha256: blob for blob in Blob.objects.filter(sha256__in=set(names))}


def opened(blob: Blob) -> BinaryIO:
    """The picture's file, held against its hash. Raises BlobMissing or BlobDamaged."""
    return files().open_verified(blob.sha256, SUFFIXES[blob.media_type])


def content_of(sha256: str) -> bytes:
    """The content of a kept picture, held against its hash. Raises BlobMissing or BlobDamaged."""
    blob = Blob.objects.filter(sha256=sha256).first()
    if blob is None:
        raise BlobMissing(sha256, f"There is no picture {sha256[:12]}… in this place.")
    return files().read_verified(sha256, SUFFIXES[blob.media_type])
