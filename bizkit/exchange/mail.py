"""A mail ready to send, as a `.eml` file that the user's own mail program opens as a draft."""

from __future__ import annotations

import mimetypes
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime, parseaddr

from bizkit.domain.errors import BadInput


@dataclass(frozen=True, slots=True)
class Attachment:
    """A file to send. name: a plain file name."""

    name: str
    data: bytes


def mail_draft(
    *,
    sender: tuple[str, str],
    to: Sequence[tuple[str, str]],
    subject: str,
    text: str,
    attachments: Sequence[Attachment] = (),
    written_at: datetime,
    cc: Sequence[tuple[str, str]] = (),
    reply_to: tuple[str, str] | None = None,
) -> bytes:
    """The draft by RFC 5322 and MIME. sender, to, cc, reply_to: (name, address).

    No Message-ID: the program that sends it gives one. The same input gives the same bytes. Raises BadInput for a
    wrong address, a line break in the subject or a name, no recipient, or an attachment name with a path in it.
    """
    if not to:
        raise BadInput(wanted="somebody to send it to", got="nobody", field="to")
    if written_at.tzinfo is None:
        raise BadInput(wanted="a time with its zone", got=written_at, field="written_at")
    mail = EmailMessage(policy=SMTP)
    mail["From"] = _address(sender, "from")
    mail["To"] = [_address(who, "to") for who in to]
    if cc:
        mail["Cc"] = [_address(who, "cc") for who in cc]
    if reply_to:
        mail["Reply-To"] = _address(reply_to, "reply_to")
    mail["Subject"] = _header(subject, "subject")
    mail["Date"] = format_datetime(written_at)
    mail["X-Unsent"] = "1"
    mail.set_content(text)
    for attachment in attachments:
        _attach(mail, attachment)
    _fix_boundary(mail, subject)
    return mail.as_bytes()


def _header(text: str, field: str) -> str:
    if any(ord(sign) < 32 or ord(sign) == 127 for sign in text):
        raise BadInput(wanted="text on one line", got=text, field=field)
    if not text.strip():
        raise BadInput(wanted="text", got="nothing", field=field)
    return text.strip()


def _address(who: tuple[str, str], field: str) -> Address:
    name, address = who
    if name:
        _header(name, field)
    if not address.isascii() or parseaddr(address)[1] != address or address.count("@") != 1:
        raise BadInput(wanted="an address such as office@example.com", got=address, field=field)
    local, _, domain = address.partition("@")
    try:
        return Address(name.strip(), local, domain)
    except (ValueError, IndexError) as error:
        raise BadInput(wanted="an address such as office@example.com", got=address, field=field) from error


def _attach(mail: EmailMessage, attachment: Attachment) -> None:
    name = _header(attachment.name, "attachment")
    if "/" in name or "\\" in name or name.startswith("."):
        raise BadInput(wanted="a plain file name", got=name, field="attachment")
    kind = mimetypes.guess_type(name)[0] or "application/octet-stream"
    main, _, sub = kind.partition("/")
    if main == "text":
        # As bytes all the same: a mail program may not change line ends or encoding of an invoice.
        main, sub = "application", "xml" if name.endswith(".xml") else "octet-stream"
    mail.add_attachment(attachment.data, maintype=main, subtype=sub, filename=name)


def _fix_boundary(mail: EmailMessage, seed: str) -> None:
    """The sign between parts made from the content instead of by chance, so that the bytes are always the same."""
    import hashlib

    if mail.is_multipart():
        inner = b"".join(part.as_bytes() for part in mail.iter_parts())
        digest = hashlib.sha256(seed.encode() + inner).hexdigest()[:40]
        mail.set_boundary(f"=_{digest}")
