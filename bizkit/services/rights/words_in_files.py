"""The words in files of any kind, packed ones too, to be searched for a name; and the files that nobody can search.

Texts are read in UTF-8, UTF-16 and Windows-1252; of zip (so of .docx and .odt), tar and gzip every member; of mail
heads, text and attachments; of a SQLite file, such as a copy of the book, all its bytes; of a PDF its title.
"""

from __future__ import annotations

import codecs
import email
import email.policy
import gzip
import html
import io
import mimetypes
import re
import tarfile
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterator
from pathlib import PurePath
from typing import BinaryIO, Final

#: So much of a text is held at once, in letters; pieces overlap, as a name may stand where they meet.
_PIECE, _OVERLAP = 4_000_000, 400
#: So much of a file that is no text is searched, in bytes: what cameras and programs write of it stands there.
_HEAD_BYTES = 1_000_000
#: A PDF or mail is read whole up to this size, in bytes, and a packed file is opened.
_WHOLE_BYTES = 200_000_000
#: Packed files inside packed files are opened so deep.
_DEEP = 4
_BOMS: Final = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_SEALED: Final = (".7z", ".rar", ".gpg", ".pgp", ".age", ".kdbx", ".p7m", ".dmg", ".xz", ".bz2", ".zst")
_DAMAGED: Final = (OSError, EOFError, ValueError, RuntimeError, zlib.error, zipfile.BadZipFile, tarfile.TarError)
#: What a PDF says of itself, as text in brackets or as hexadecimal digits.
_SAID: Final = re.compile(rb"/(?:Title|Subject|Author|Keywords)\s*(?:\(((?:\\.|[^\\)])*)\)|<([0-9A-Fa-f\s]+)>)", re.S)


def words_in(file: BinaryIO, name: str, closed: Counter[str], deep: int = 0) -> Iterator[str]:
    """The words of a file in pieces, names of packed ones among them. name: its own, for its ending.

    closed: takes in what could not be looked into, by kind, each file once.
    """
    head = file.read(4096)
    file.seek(0)
    ending = PurePath(name).suffix.casefold()
    try:
        if (
            head.startswith((b"PK\x03\x04", b"PK\x05\x06"))
            or head.startswith(b"\x1f\x8b")
            or head[257:262] == b"ustar"
        ):
            if deep < _DEEP:
                yield from _of_packed(file, head, name, closed, deep + 1)
            else:
                closed["packed or encrypted file"] += 1
        elif head.startswith(b"%PDF-"):
            closed["PDF"] += 1
            yield from _of_pdf(file.read(_WHOLE_BYTES))
        elif ending == ".eml":
            yield from _of_mail(file.read(_WHOLE_BYTES), closed, deep)
        elif head.startswith(b"SQLite format 3\0"):
            yield from _pieces(file, "utf-8")
        elif encoding := _encoding(head):
            yield from _of_text(file, encoding)
        else:
            closed[_kind(ending)] += 1
            content = file.read(_HEAD_BYTES)
            yield content.decode("utf-8", "replace")
            yield content.decode("utf-16-le", "replace")
    except _DAMAGED:
        closed["damaged or unreadable file"] += 1


def _encoding(head: bytes) -> str:
    """How a text that begins so is written; empty for what is no text."""
    for mark, encoding in _BOMS:
        if head.startswith(mark):
            return encoding
    if b"\0" in head:
        odd, even = head[1::2].count(0), head[::2].count(0)
        if max(odd, even) * 4 > len(head) and not min(odd, even):  # letters of the West in two bytes each
            return "utf-16-le" if odd else "utf-16-be"
        return ""
    odd_signs = sum(byte < 32 and byte not in b"\t\n\r\f\x1b" for byte in head)
    return "utf-8" if odd_signs * 50 <= len(head) else ""


def _of_text(file: BinaryIO, encoding: str) -> Iterator[str]:
    foreign = False
    for text in _pieces(file, encoding):
        foreign = foreign or "\ufffd" in text
        yield text
        if "<" in text or "&" in text:  # a name may be set in parts, or written by the names of its letters
            yield html.unescape(re.sub(r"<[^<>]*>", "", text))
            yield html.unescape(re.sub(r"<[^<>]*>", " ", text))
    if foreign and encoding == "utf-8":
        file.seek(0)
        yield from _pieces(file, "cp1252")


def _pieces(file: BinaryIO, encoding: str) -> Iterator[str]:
    decoder, before = codecs.getincrementaldecoder(encoding)("replace"), ""
    while content := file.read(_PIECE):
        text = before + decoder.decode(content)
        yield text
        before = text[-_OVERLAP:]


def _of_packed(file: BinaryIO, head: bytes, name: str, closed: Counter[str], deep: int) -> Iterator[str]:
    if head.startswith(b"\x1f\x8b"):
        with gzip.GzipFile(fileobj=file) as inside:
            yield from words_in(inside, name.removesuffix(".gz"), closed, deep)  # type: ignore[arg-type]
    elif head.startswith(b"PK"):
        with zipfile.ZipFile(file) as archive:
            for one in archive.infolist():
                yield _words_of(one.filename)
                if one.flag_bits & 1:
                    closed["packed or encrypted file"] += 1
                elif one.file_size > _WHOLE_BYTES:
                    closed[_kind(PurePath(one.filename).suffix)] += 1
                elif not one.is_dir():
                    with archive.open(one) as packed:
                        yield from words_in(packed, one.filename, closed, deep)  # type: ignore[arg-type]
    else:
        with tarfile.open(fileobj=file) as tape:
            for member in tape:
                yield _words_of(member.name)
                packed_file = tape.extractfile(member) if member.isfile() else None
                if packed_file is not None:
                    yield from words_in(packed_file, member.name, closed, deep)  # type: ignore[arg-type]


def _of_pdf(content: bytes) -> Iterator[str]:
    for text, digits in _SAID.findall(content):
        raw = bytes.fromhex("".join(digits.decode().split())) if digits and not len(digits) % 2 else _unescaped(text)
        yield raw.decode("utf-16" if raw.startswith((b"\xfe\xff", b"\xff\xfe")) else "cp1252", "replace")


def _unescaped(text: bytes) -> bytes:
    """The bytes of a text in a PDF: ISO 32000-1 section 7.3.4.2, from memory."""
    letters = {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f", b"\n": b""}

    def meant(match: re.Match[bytes]) -> bytes:
        sign = match[1]
        return bytes([int(sign, 8) & 255]) if sign.isdigit() else letters.get(sign, sign)

    return re.sub(rb"\\([0-7]{1,3}|.)", meant, text, flags=re.S)


def _of_mail(content: bytes, closed: Counter[str], deep: int) -> Iterator[str]:
    """The heads, the texts and what is attached, however they are encoded in it."""
    mail = email.message_from_bytes(content, policy=email.policy.default)
    yield content.decode("utf-8", "replace")
    yield "\n".join(str(mail.get(name, "")) for name in ("From", "To", "Cc", "Subject"))
    for part in mail.walk():
        packed = part.get_payload(decode=True)
        if isinstance(packed, bytes):
            name = part.get_filename() or part.get_content_type().replace("/", ".")
            yield _words_of(name)
            yield from words_in(io.BytesIO(packed), name, closed, deep + 1) if deep < _DEEP else ()


def _words_of(name: str) -> str:
    """A file name without its ending, as words."""
    return re.sub(r"[\W_]+", " ", PurePath(name).stem)


def _kind(ending: str) -> str:
    """What kind of file has that ending, in words to be counted."""
    if ending.casefold() in _SEALED:
        return "packed or encrypted file"
    kind = (mimetypes.guess_type(f"x{ending.casefold()}")[0] or "").partition("/")[0]
    return {"image": "picture", "video": "film", "audio": "sound file"}.get(kind, "other file")
