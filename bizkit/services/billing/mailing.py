"""Mails that are ready to send: the right paper, its XML where wanted, and a few words, as a file or by a server."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypedDict

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.mail_server import MailServer
from bizkit.services.billing.einvoices import Claims
from bizkit.services.job.job_client import client_of_paper
from bizkit.services.studio.studio_folder import MARK, StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.exchange.mail import Attachment
    from bizkit.store.issued import Issued

#: Where the password of the mail server comes from.
PASSWORD = "BIZKIT_MAIL_PASSWORD"
#: What a mail without an electronic invoice claims.
_NO_CLAIM: Final[Claims] = {"claims": "", "peppol_gaps": [], "xrechnung_gaps": []}


def write_mail(
    folder: StudioFolder,
    name: str,
    on: date,
    *,
    out: Path | None = None,
    to: Sequence[str] = (),
    electronic: str = "",
    by_server: bool = False,
) -> MailWritten:
    """Write the mail that carries an issued paper or letter; with `by_server`, send it as well.

    name: the number of a quote (or its key), invoice or credit note, or the name of a letter. to: addresses, else the
    client's.
    electronic: a form of `einvoices.FORMATS` to attach; the client's own wish without it. Raises NotFound,
    BadInput where the client has no address, RuleBroken where the server is not set or does not take it.
    """
    from bizkit.exchange.mail import mail_draft
    from bizkit.services.billing.mail_text import mail_text
    from bizkit.services.studio.filing import write_whole
    from bizkit.services.studio.out_file import check_out
    from bizkit.store.events import record
    from bizkit.store.offers import quote_named

    stamp = folder.stamp(on)
    if out is not None:
        check_out(folder, out, b"")
    with folder.book.work() as work:
        quote = quote_named(work, name)
        name = quote.number if quote else name
        document, about, attachments, claimed = _gather(folder, work, name, electronic)
        client = client_of_paper(folder, work, document)
        addresses = list(to) or ([client.email] if client.email else [])
        if not addresses:
            raise BadInput(
                wanted="an address",
                got="none",
                field="email",
                where=f"clients/{client.key}.toml",
                hint="Or give --to",
            )
        if not folder.studio.email:
            raise BadInput(wanted="the studio's address", got="none", field="email", where=MARK)
        subject, text = mail_text(folder, document)
        mail = mail_draft(
            sender=(folder.studio.name, folder.studio.email),
            to=[(client.contact if one == client.email else "", one) for one in addresses],
            subject=subject,
            text=text,
            attachments=attachments,
            written_at=datetime.combine(on, time(9), UTC),
        )
        path = out or folder.path / "mail" / f"{attachments[0].name.rpartition('.')[0]}.eml"
        record(
            work, stamp, "mailed" if by_server else "wrote mail", about, name=name, to=addresses,
            attached=[one.name for one in attachments],
        )  # fmt: skip
        # Last of all: where anything before fails, nothing was sent, and no mail lies there.
        if by_server:
            _send(_server(folder), mail, folder.studio.email, addresses)
        else:
            write_whole(path, mail)
    try:
        if by_server:
            write_whole(path, mail)
    except OSError as error:
        raise RuleBroken(
            f"{name} was sent to {', '.join(addresses)}, but its copy {path} could not be written: "
            f"{error.strerror or error}; do not send it again"
        ) from None
    return {
        "name": name,
        "to": addresses,
        "subject": subject,
        "text": text,
        "attached": [{"name": one.name, "bytes": len(one.data)} for one in attachments],
        "file": str(path),
        "sent": by_server,
        **claimed,
    }


def _gather(
    folder: StudioFolder, work: Connection, name: str, electronic: str
) -> tuple[Mapping[str, Any], str, list[Attachment], Claims]:
    """The paper, what it is about, the files that go with it, and what an electronic invoice among them claims."""
    from bizkit.exchange.mail import Attachment
    from bizkit.services.billing import einvoices
    from bizkit.services.studio.leaving import letter_paper
    from bizkit.store.issued import by_number, every
    from bizkit.store.letters import letter_named, letters
    from bizkit.store.offers import quote_named

    issued: Issued[Any] | None = quote_named(work, name) or by_number(work, name)
    if issued is not None:
        if issued.kind not in ("invoice", "credit_note", "quote"):
            raise RuleBroken(f"{name} is a {issued.kind.replace('_', ' ')}: send it by hand")
        wish = electronic
        if not wish and issued.kind != "quote":
            wish = client_of_paper(folder, work, issued.document).einvoice
        if not wish:
            return issued.document, issued.key, [_paper(folder, work, issued)], _NO_CLAIM
        einvoices.check_format(wish)
        if issued.kind == "quote":
            raise RuleBroken("a quote is no electronic invoice: send it without --einvoice")
        paper = _paper(folder, work, issued)
        content = einvoices.electronic(folder, issued, wish, paper.data)
        claimed = einvoices.claims_of(issued, wish)
        if wish == "hybrid":
            return issued.document, issued.key, [Attachment(paper.name, content)], claimed
        attached = [paper, Attachment(f"{Path(paper.name).stem}.xml", content)]
        return issued.document, issued.key, attached, claimed
    letter = letter_named(work, name)
    if letter is None:
        known = [one.number for one in every(work)] + [one.name for one in letters(work)]
        raise NotFound("paper (number or name)", name, known, field="NUMBER")
    if electronic:
        raise RuleBroken(f"a {letter.kind.replace('_', ' ')} is no electronic invoice: send it without --einvoice")
    attached = [Attachment(f"{letter.name}.pdf", letter_paper(folder, work, letter))]
    if letter.kind == "reminder":
        for one in letter.document["invoices"]:
            found = by_number(work, one["number"])
            if found is not None:
                attached.append(_paper(folder, work, found))
    return letter.document, letter.about, attached, _NO_CLAIM


def _paper(folder: StudioFolder, work: Connection, issued: Issued[Any]) -> Attachment:
    """The issued PDF as it was filed. Raises RuleBroken when it is another."""
    from bizkit.exchange.mail import Attachment
    from bizkit.services.studio.leaving import issued_paper
    from bizkit.services.studio.paper_names import pdf_name

    return Attachment(pdf_name(issued.document), issued_paper(folder, work, issued))


def _server(folder: StudioFolder) -> MailServer:
    server = folder.studio.mail
    if server is None:
        raise RuleBroken(
            f"{MARK}: no [mail] table says which server sends: send the written file with your own mail program, "
            "or add host, port, security and user there"
        )
    if server.user and not os.environ.get(PASSWORD):
        raise RuleBroken(f"the password of {server.user} is wanted in the environment as {PASSWORD}")
    return server


def _send(server: MailServer, mail: bytes, sender: str, to: Sequence[str]) -> None:
    """Hand a mail to the server. Raises RuleBroken in one line when it does not take it."""
    import smtplib
    import ssl

    try:
        context = ssl.create_default_context()
        connect = smtplib.SMTP_SSL if server.security == "tls" else smtplib.SMTP
        more: dict[str, Any] = {"context": context} if server.security == "tls" else {}
        with connect(server.host, server.listens_on, timeout=30, **more) as session:
            if server.security == "starttls":
                session.starttls(context=context)
            if server.user:
                session.login(server.user, os.environ[PASSWORD])
            session.sendmail(sender, list(to), mail)
    except (OSError, smtplib.SMTPException) as error:
        raise RuleBroken(f"{server.host}: the mail was not sent: {error}") from None


class MailWritten(Claims):
    """A mail written, or sent."""

    name: str
    to: list[str]
    subject: str
    text: str
    attached: list[AttachedFile]
    file: str
    sent: bool


class AttachedFile(TypedDict):
    """A file that goes with a mail."""

    name: str
    bytes: int
