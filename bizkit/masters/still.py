"""Looking at a photograph: size, colour, profile, and what it says about itself."""

from __future__ import annotations

import io
import struct
import warnings
from fractions import Fraction

from PIL import ExifTags, Image, ImageCms, IptcImagePlugin
from PIL.ImageFile import ImageFile

from bizkit.domain.errors import BadInput, one_line
from bizkit.domain.work.facts import Facts, Still
from bizkit.masters.source import Source
from bizkit.masters.xmp import place_in_words, read_xmp

#: Formats that are opened, by their first bytes: (offset, bytes, Pillow's name).
SIGNATURES = (
    (0, b"\xff\xd8\xff", "JPEG"),
    (0, b"\x89PNG\r\n\x1a\n", "PNG"),
    (0, b"II*\0", "TIFF"),
    (0, b"MM\0*", "TIFF"),
    (0, b"II+\0", "TIFF"),
    (0, b"MM\0+", "TIFF"),
    (8, b"WEBP", "WEBP"),
    (4, b"ftypavif", "AVIF"),
)
#: Larger images are refused (a stitched panorama of 300 megapixels passes).
PIXELS_MOST = 300_000_000

_COLOURS = {
    "1": "black and white",
    "L": "grey",
    "LA": "grey",
    "I;16": "grey",
    "I": "grey",
    "F": "grey",
    "P": "palette",
    "RGB": "RGB",
    "RGBA": "RGB",
    "RGBX": "RGB",
    "CMYK": "CMYK",
    "YCbCr": "YCbCr",
    "LAB": "Lab",
}
_EXIF = {
    ExifTags.Base.ImageDescription: "caption",
    ExifTags.Base.Artist: "creator",
    ExifTags.Base.Copyright: "copyright",
}
#: IPTC IIM records, IPTC Photo Metadata Standard 2025.1 (from memory).
_IPTC = {
    (2, 5): "title",
    (2, 80): "creator",
    (2, 110): "credit",
    (2, 116): "copyright",
    (2, 120): "caption",
}
#: Places named by IPTC IIM: sub-location, city, content location name (as above).
_IPTC_PLACES = ((2, 92), (2, 90), (2, 27))
#: Exif's coordinates of the camera and of what it looked at, and the name of the area (CIPA DC-008, from memory).
_GPS = (
    ExifTags.GPS.GPSLatitude,
    ExifTags.GPS.GPSLongitude,
    ExifTags.GPS.GPSDestLatitude,
    ExifTags.GPS.GPSDestLongitude,
    ExifTags.GPS.GPSAreaInformation,
)


def format_of(head: bytes) -> str:
    """Pillow's name of the image format that begins so, or "" when it is none that is looked at."""
    return next((name for at, mark, name in SIGNATURES if head[at : at + len(mark)] == mark), "")


def open_image(source: Source, head: bytes) -> ImageFile:
    """The image that begins with `head`, not yet decoded. Raises BadInput for one with too many pixels."""
    # The bound below says it in our words; Pillow's own would only warn, or stop at half of it.
    Image.MAX_IMAGE_PIXELS = None
    image = Image.open(source.plain(), formats=[format_of(head)])
    if image.width * image.height > PIXELS_MOST:
        raise BadInput(
            wanted=f"an image of {PIXELS_MOST // 1_000_000} megapixels or fewer",
            got=f"{image.width} x {image.height}",
            where=source.path.name,
        )
    return image


def look_at_still(source: Source, head: bytes) -> Facts:
    """Raises BadInput when the file is no image at all; an image that ends early is told in `Facts.damage`."""
    warnings.simplefilter("ignore")
    damage: list[str] = []
    # Image decoders raise a dozen kinds of errors, from SyntaxError to MemoryError; here they all mean the same.
    try:
        image = open_image(source, head)
        still = _still(image, head)
    except BadInput:
        raise
    except Exception as error:
        raise BadInput(
            wanted="an image",
            got=f"something that cannot be read as one ({one_line(error, 60)})",
            where=source.path.name,
            hint="It may be cut off or no image: copy or export it again",
        ) from None
    with image:
        try:
            # A JPEG is decoded at an eighth of its size: it is read to its end all the same.
            image.draft("RGB", (max(1, image.width // 8), max(1, image.height // 8)))
            image.load()
        except Exception as error:
            damage.append(f"the image cannot be decoded to its end ({one_line(error, 80)})")
    return Facts(
        name=source.path.name,
        size_bytes=source.size_bytes,
        sha256=source.sha256(),
        kind="stills",
        container=still.format,
        duration_s=Fraction(0),
        picture=None,
        tracks=(),
        loudness=None,
        captions=(),
        sidecars=(),
        still=still,
        damage=tuple(damage),
    )


def _still(image: ImageFile, head: bytes) -> Still:
    exif = image.getexif()
    width_px, height_px = image.size
    if exif.get(ExifTags.Base.Orientation) in (5, 6, 7, 8):
        width_px, height_px = height_px, width_px
    dpi = image.info.get("dpi", (0, 0))
    return Still(
        # Some cameras and drones put a second picture behind the first: a JPEG all the same.
        format="jpeg" if image.format == "MPO" else (image.format or "").lower(),
        width_px=width_px,
        height_px=height_px,
        colour=_COLOURS.get(image.mode, image.mode),
        bit_depth=_bit_depth(image, head),
        profile=_profile(image, exif),
        per_inch=round(float(dpi[0])) if 0 < float(dpi[0]) < 100_000 else 0,
        metadata=tuple(sorted(_metadata(image, exif).items())),
    )


def _bit_depth(image: ImageFile, head: bytes) -> int:
    """Bits a channel as stored; Pillow itself decodes 16-bit colour to 8."""
    if image.format == "PNG":
        return head[24] if len(head) > 24 else 0
    if image.format == "TIFF":
        bits = image.tag_v2.get(258, (1,))  # type: ignore[attr-defined]
        return int(bits[0] if isinstance(bits, tuple) else bits)
    return 1 if image.mode == "1" else 8


def _profile(image: ImageFile, exif: Image.Exif) -> str:
    """Name of the embedded profile; "sRGB" where only a tag says so; "none"."""
    data = image.info.get("icc_profile")
    if data:
        try:
            described = ImageCms.getProfileDescription(ImageCms.ImageCmsProfile(io.BytesIO(data)))
        except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
            return "unreadable"
        return plain_profile(one_line(described, 60))
    tagged = image.info.get("srgb") is not None or exif.get_ifd(ExifTags.IFD.Exif).get(ExifTags.Base.ColorSpace) == 1
    return "sRGB" if tagged else "none"


def plain_profile(described: str) -> str:
    """The short name of a well-known profile, whoever made it; any other as it calls itself.

    >>> plain_profile("sRGB IEC61966-2.1"), plain_profile("Adobe RGB (1998)")
    ('sRGB', 'Adobe RGB')
    """
    folded = described.lower().replace(" ", "").replace("-", "")
    for mark, name in (
        ("srgb", "sRGB"),
        ("adobergb", "Adobe RGB"),
        ("adobe1998", "Adobe RGB"),
        ("displayp3", "Display P3"),
        ("prophoto", "ProPhoto RGB"),
        ("rommrgb", "ProPhoto RGB"),
        ("rec2020", "Rec. 2020"),
    ):
        if mark in folded:
            return name
    return described


def _metadata(image: ImageFile, exif: Image.Exif) -> dict[str, str]:
    """What the image says about itself: XMP first, then IPTC IIM, then Exif."""
    found: dict[str, str] = {}
    packet = image.info.get("xmp") or image.info.get("XML:com.adobe.xmp") or b""
    if isinstance(packet, str):
        packet = packet.encode()
    found.update(read_xmp(packet))
    try:
        records = IptcImagePlugin.getiptcinfo(image) or {}
    except (OSError, ValueError, KeyError, TypeError, IndexError, SyntaxError, struct.error):
        records = {}
    for key, name in _IPTC.items():
        value = records.get(key)
        _note(found, name, value[0] if isinstance(value, list) and value else value)
    words: dict[str, str] = {}
    for key in _IPTC_PLACES:
        values = records.get(key)
        for number, value in enumerate(values if isinstance(values, list) else [values]):
            _note(words, f"{key}{number}", value)
    for tag, name in _EXIF.items():
        _note(found, name, exif.get(tag))
    details = exif.get_ifd(ExifTags.IFD.Exif)
    _note(found, "taken_on", details.get(ExifTags.Base.DateTimeOriginal))
    _note(found, "camera_serial", details.get(ExifTags.Base.BodySerialNumber))
    if any(tag in exif.get_ifd(ExifTags.IFD.GPSInfo) for tag in _GPS):
        found["position"] = "yes"
    return place_in_words(found, words.values())


def _note(found: dict[str, str], name: str, value: object) -> None:
    if isinstance(value, bytes):
        value = value.decode("utf-8", "replace")
    if isinstance(value, str) and value.strip(" \0") and name not in found:
        found[name] = one_line(value.strip(" \0"), 200)
