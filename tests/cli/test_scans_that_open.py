"""What is filed as a signed paper or a receipt is a file that opens."""

from __future__ import annotations

import io
import struct
import zlib

import pytest
from PIL import Image

JOB = "follow-the-kelp"
ON = ("--on", "2027-05-14")


def picture(form):
    out = io.BytesIO()
    Image.effect_noise((160, 120), 60).convert("RGB").save(out, form)
    return out.getvalue()


def png(width, height):
    """A PNG that claims a size and holds one line (PNG specification, section 11.2.2)."""

    def chunk(name, data):
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 99)) + chunk(b"IEND", b"")
    )


def spoiled(content):
    """A byte in the middle changed, so that its check sum is another."""
    middle = len(content) // 2
    return content[:middle] + bytes([content[middle] ^ 0xFF]) + content[middle + 1 :]


BAD = {
    "nine bytes.pdf": lambda scan: b"%PDF-1.7\n",
    "half.pdf": lambda scan: scan[: len(scan) // 2],
    "half.png": lambda scan: picture("PNG")[:9000],
    "half.jpg": lambda scan: picture("JPEG")[:2000],
    "no size.png": lambda scan: png(0, 0),
    "huge.png": lambda scan: png(65_000, 65_000),
    "spoiled.png": lambda scan: spoiled(picture("PNG")),
    "words.pdf": lambda scan: b"signed, honestly",
}

DOORS = {
    "release": ("release", "add", JOB, "--who", "Isla", "--signed", "2027-05-14", *ON, "--scan"),
    "holding": (
        "holding",
        "add",
        JOB,
        "--kind",
        "insurance",
        "--about",
        "Ours",
        "--from",
        "2027-01-01",
        *ON,
        "--scan",
    ),
    "receipt": ("cost", "add", JOB, "--kind", "boat", "--amount", "80.00", *ON, "--receipt"),
    "overhead": ("overhead", "add", "Harbour dues", "30.00", *ON, "--receipt"),
    "evidence": ("evidence", "add", "skerrow-islands-tourism", "--what", "register", *ON, "--scan"),
}


@pytest.mark.parametrize("door", DOORS)
def test_a_file_that_does_not_open_is_not_filed(bizkit, job, scan, studio, tmp_path, door):
    for name, make in BAD.items():
        path = tmp_path / name
        path.write_bytes(make(scan.read_bytes()))
        done = bizkit(*DOORS[door], path)
        assert (done.code, done.out, done.err.count("\n")) == (2, "", 1), (name, done)
        assert f"{name}: wanted a scan (PDF, PNG or JPEG), got " in done.err, (name, done.err)
    assert not list((studio / "papers" / "scans").glob("*"))


@pytest.mark.parametrize("form", ["PNG", "JPEG"])
def test_a_picture_that_opens_is_filed(bizkit, job, studio, tmp_path, form):
    path = tmp_path / f"receipt.{form.lower()}"
    path.write_bytes(picture(form))
    assert bizkit(*DOORS["receipt"], path).code == 0
    assert len(list((studio / "papers" / "scans").iterdir())) == 1
