"""Photos come in as they are and are kept as nothing but the picture."""

from __future__ import annotations

import random
import struct
import zlib
from io import BytesIO

import photos_made as made
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageCms

from setwright.workbench.photos import cleaning
from setwright.workbench.photos.cleaning import Cleaned, PhotoRefused, checked, cleaned

KINDS = ["JPEG", "PNG", "WEBP", "HEIF"]
KEPT = {"JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/jpeg", "HEIF": "image/jpeg"}
UPRIGHT = made.corners(made.drawing())

# What EXIF's orientation says of the stored rows and columns (Exif 2.32, section 4.6.4), as the way to store an
# upright picture under each of the eight values.
STORED = {
    1: None,
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_270,
}


def opened(photo: Cleaned) -> Image.Image:
    image = Image.open(BytesIO(photo.content))
    image.load()
    return image


@pytest.mark.parametrize("kind", KINDS)
def test_a_photo_becomes_a_clean_picture(kind: str) -> None:
    photo = cleaned(made.with_everything(kind), "IMG_1.jpg")
    image = opened(photo)
    assert (photo.media_type, photo.width, photo.height) == (KEPT[kind], 96, 64)
    assert image.size == (96, 64)
    assert made.same_colours(made.corners(image), UPRIGHT)
    assert photo.suffix == {"image/jpeg": ".jpg", "image/png": ".png"}[photo.media_type]


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_but_the_picture_stays(kind: str) -> None:
    coming = made.with_everything(kind)
    assert made.CAMERA.encode() in coming  # otherwise this test would show nothing
    photo = cleaned(coming, "a")
    for trace in (made.CAMERA.encode(), b"Exif", b"eXIf", b"GPS", b"attic", b"iCCP", b"ICC_PROFILE", b"Created by"):
        assert trace not in photo.content
    image = opened(photo)
    assert not image.getexif()
    assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


@pytest.mark.parametrize("kind", KINDS)
def test_the_day_is_read_before_it_goes(kind: str) -> None:
    assert cleaned(made.with_everything(kind), "a").taken == "2024-05-02T19:04:00+01:00"


@pytest.mark.parametrize("orientation", STORED)
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_photo_is_kept_upright(kind: str, orientation: int) -> None:
    how = STORED[orientation]
    stored = made.drawing() if how is None else made.drawing().transpose(how)
    photo = cleaned(made.with_everything(kind, orientation, stored), "a")
    assert (photo.width, photo.height) == (96, 64)
    assert made.same_colours(made.corners(opened(photo)), UPRIGHT)


def test_a_telephones_heic_is_kept_upright() -> None:
    stored = made.drawing().transpose(Image.Transpose.ROTATE_90)
    photo = cleaned(made.with_everything("HEIF", 6, stored), "IMG_0001.HEIC")
    assert (photo.width, photo.height) == (96, 64)
    assert made.same_colours(made.corners(opened(photo)), UPRIGHT)


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_an_upright_picture_keeps_every_point(kind: str) -> None:
    coming = made.with_everything(kind)
    before = Image.open(BytesIO(coming)).convert("RGB")
    assert opened(cleaned(coming, "a")).convert("RGB").tobytes() == before.tobytes()


def test_a_progressive_jpeg_keeps_every_point() -> None:
    coming = made.encoded(made.drawing(333, 217), "JPEG", progressive=True, quality=70, comment=b"attic")
    photo = cleaned(coming, "a")
    assert opened(photo).tobytes() == Image.open(BytesIO(coming)).tobytes()
    assert b"attic" not in photo.content


def test_a_turned_jpeg_keeps_its_tables() -> None:
    coming = made.encoded(made.drawing(), "JPEG", quality=61, subsampling=2, exif=made.notes(3).tobytes())
    before, after = Image.open(BytesIO(coming)), opened(cleaned(coming, "a"))
    assert after.quantization == before.quantization


@pytest.mark.parametrize("kind", KINDS)
def test_cleaning_twice_changes_nothing(kind: str) -> None:
    once = cleaned(made.with_everything(kind, 1), "a")
    assert cleaned(once.content, "a").content == once.content
    assert checked(once.content, "a").sha256 == once.sha256


def test_what_was_not_cleaned_is_not_taken_for_it() -> None:
    with pytest.raises(PhotoRefused, match="not a cleaned copy"):
        checked(made.with_everything("JPEG"), "a")


def test_the_same_photo_has_the_same_name() -> None:
    coming = made.with_everything("HEIF")
    assert cleaned(coming, "a.heic").sha256 == cleaned(coming, "b.heic").sha256


def test_the_format_is_what_the_content_says() -> None:
    assert cleaned(made.with_everything("PNG"), "photo.jpg").media_type == "image/png"


def test_colours_of_a_wide_profile_are_brought_to_srgb() -> None:
    profile = wide_profile()
    image = Image.new("RGB", (32, 32), (60, 180, 60))
    photo = cleaned(made.encoded(image, "PNG", icc_profile=profile), "a")
    srgb = ImageCms.createProfile("sRGB")
    wanted = ImageCms.profileToProfile(image, ImageCms.ImageCmsProfile(BytesIO(profile)), srgb).getpixel((9, 9))
    found = opened(photo).getpixel((9, 9))
    assert found == wanted
    assert found != (60, 180, 60)
    assert b"iCCP" not in photo.content


def wide_profile() -> bytes:
    """An RGB profile whose red and green are exchanged with sRGB's: what it means cannot be overlooked."""
    content = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    count = struct.unpack_from(">I", content, 128)[0]
    tags = {bytes(content[132 + 12 * i : 136 + 12 * i]): 132 + 12 * i for i in range(count)}
    red, green = tags[b"rXYZ"], tags[b"gXYZ"]
    content[red + 4 : red + 12], content[green + 4 : green + 12] = (
        content[green + 4 : green + 12],
        content[red + 4 : red + 12],
    )
    return bytes(content.replace("sRGB".encode("utf-16-be"), "Wide".encode("utf-16-be")))


def test_a_damaged_profile_says_nothing_about_the_colours() -> None:
    image = Image.new("RGB", (32, 32), (60, 180, 60))
    photo = cleaned(made.encoded(image, "PNG", icc_profile=b"no profile at all"), "a")
    assert opened(photo).getpixel((9, 9)) == (60, 180, 60)


def test_damaged_notes_do_not_keep_the_picture_out() -> None:
    coming = made.encoded(made.drawing(), "JPEG", exif=b"Exif\0\0no notes at all")
    assert cleaned(coming, "a").taken is None


def test_printing_colours_become_screen_colours() -> None:
    photo = cleaned(made.encoded(made.drawing().convert("CMYK"), "JPEG", quality=95), "a")
    assert opened(photo).mode == "RGB"
    assert made.same_colours(made.corners(opened(photo)), UPRIGHT, within=60)


def test_what_shows_the_ground_through_lies_on_white_as_jpeg() -> None:
    clear = Image.new("RGBA", (40, 40), (0, 0, 0, 0))
    photo = cleaned(made.encoded(clear, "WEBP", lossless=True), "a")
    assert min(opened(photo).getpixel((5, 5))) > 250


def test_a_transparent_png_stays_so() -> None:
    palette = made.drawing().convert("P", palette=Image.Palette.ADAPTIVE, colors=8)
    photo = cleaned(made.encoded(palette, "PNG", transparency=0), "a")
    assert opened(photo).info["transparency"] == 0


def test_grey_of_sixteen_bits_is_turned_with_its_tones() -> None:
    grey = Image.new("I;16", (40, 20), 0x8000)
    photo = cleaned(made.encoded(grey, "PNG", exif=made.notes(6).tobytes()), "a")
    assert (photo.width, photo.height) == (20, 40)
    assert opened(photo).convert("L").getpixel((3, 3)) == 127


def test_two_pictures_in_one_file_leave_the_first() -> None:
    second = Image.new("RGB", (96, 64), (1, 2, 3))
    coming = made.encoded(made.drawing(), "MPO", save_all=True, append_images=[second], quality=90)
    photo = cleaned(coming, "a")
    assert len(photo.content) < len(coming)
    assert made.same_colours(made.corners(opened(photo)), UPRIGHT)


def test_what_stands_behind_the_picture_goes() -> None:
    for kind in ("JPEG", "PNG"):
        coming = made.with_everything(kind) + b"<script>alert(1)</script>"
        assert b"script" not in cleaned(coming, "a").content


# Refusals


def refusal(content: bytes, name: str = "IMG_7.jpg") -> str:
    with pytest.raises(PhotoRefused) as refused:
        cleaned(content, name)
    assert refused.value.message.startswith(name)
    assert "\n" not in refused.value.message
    return refused.value.message


@pytest.mark.parametrize(
    "content",
    [
        b"just words",
        b"%PDF-1.4\n%%EOF",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"GIF89a\x01\x00\x01\x00\x80\x00\x00\x00\x00\x00\xff\xff\xff!\xf9\x04\x01\x00\x00\x00\x00,",
        b"PK\x03\x04" + bytes(60),
    ],
    ids=["words", "pdf", "svg", "gif", "zip"],
)
def test_what_is_no_photo_is_refused(content: bytes) -> None:
    assert refusal(content) == "IMG_7.jpg is not a photo in one of the formats JPEG, PNG, WebP and HEIC"


def test_pictures_in_other_formats_are_refused() -> None:
    for kind in ("GIF", "TIFF", "BMP"):
        assert "formats JPEG" in refusal(made.encoded(made.drawing(), kind))


def test_nothing_is_refused() -> None:
    assert refusal(b"") == "IMG_7.jpg is empty"


def test_a_file_too_large_is_refused_before_it_is_looked_into() -> None:
    too_large = made.with_everything("JPEG") + bytes(cleaning.LARGEST_BYTES)
    assert refusal(too_large) == "IMG_7.jpg has 40.0 MB; a photo can have up to 40 MB"


def png_header(width: int, height: int) -> bytes:
    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    header = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")


@pytest.mark.filterwarnings("ignore::PIL.Image.DecompressionBombWarning")
@pytest.mark.parametrize(("width", "height"), [(8000, 7501), (12000, 9000), (50000, 50000), (2**31 - 1, 2**31 - 1)])
def test_too_many_points_are_refused_by_the_header_alone(width: int, height: int) -> None:
    assert "60 megapixels" in refusal(png_header(width, height))


def test_a_jpeg_with_two_headers_is_measured_by_what_would_be_drawn() -> None:
    """Whoever writes a small size first and a huge one behind it must not get past the bound."""
    coming = bytearray(made.encoded(made.drawing(), "JPEG"))
    frame = coming.index(b"\xff\xc0")
    length = struct.unpack_from(">H", coming, frame + 2)[0]
    second = bytearray(coming[frame : frame + 2 + length])
    struct.pack_into(">HH", second, 5, 65000, 65000)
    scan = coming.index(b"\xff\xda")
    refusal(bytes(coming[:scan] + second + coming[scan:]))


@pytest.mark.parametrize("kind", KINDS)
def test_a_file_that_breaks_off_is_refused(kind: str) -> None:
    whole = made.with_everything(kind, image=made.drawing(240, 160))
    cuts = [*random.Random(3).sample(range(1, len(whole)), 40), len(whole) - 1]
    for cut in cuts:
        message = refusal(whole[:cut])
        assert "send it again" in message or "formats JPEG" in message


@settings(max_examples=60)
@given(kind=st.sampled_from(KINDS), flips=st.lists(st.tuples(st.floats(0, 1), st.integers(0, 255)), max_size=12))
def test_a_changed_file_gives_a_picture_or_a_refusal(kind: str, flips: list[tuple[float, int]]) -> None:
    content = bytearray(made.with_everything(kind))
    for place, value in flips:
        content[min(int(place * len(content)), len(content) - 1)] = value
    try:
        photo = cleaned(bytes(content), "a")
    except PhotoRefused:
        return
    assert opened(photo).size == (photo.width, photo.height)


@settings(max_examples=60)
@given(
    head=st.sampled_from([b"", b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"RIFF\x40\0\0\0WEBP"]),
    tail=st.binary(max_size=200),
)
def test_noise_is_refused(head: bytes, tail: bytes) -> None:
    refusal(head + tail + b".")
