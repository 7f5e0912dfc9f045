"""Mail drafts, read back by the standard library's parser."""

from datetime import UTC, datetime
from email import policy
from email.parser import BytesParser

import pytest

from bizkit.domain.errors import BadInput
from bizkit.exchange.mail import Attachment, mail_draft

WRITTEN = datetime(2027, 5, 10, 9, 0, tzinfo=UTC)


def draft(**more):
    details = {
        "sender": ("Gannet & Lark Films", "hello@gannetlark.example"),
        "to": [("Una Flett", "accounts@skerrow.example")],
        "subject": "Invoice GL-2027-0001 – Möwen",
        "text": "Hello Una,\n\nthe invoice is attached. £1,455.49\n",
        "attachments": [
            Attachment("GL-2027-0001.pdf", b"%PDF-1.7\r\n\x00\xff"),
            Attachment("GL-2027-0001.xml", b"<?xml version='1.0'?>\n<a/>"),
        ],
        "written_at": WRITTEN,
    }
    return mail_draft(**{**details, **more})


def parsed(data):
    return BytesParser(policy=policy.default).parsebytes(data)


def test_text_and_attachments_come_back_byte_for_byte():
    mail = parsed(draft())
    assert mail["Subject"] == "Invoice GL-2027-0001 – Möwen"
    assert mail["From"].addresses[0].display_name == "Gannet & Lark Films"
    assert str(mail["To"]) == "Una Flett <accounts@skerrow.example>"
    assert mail["X-Unsent"] == "1"
    assert mail["Date"].datetime == WRITTEN
    text = mail.get_body().get_content().replace("\r\n", "\n")
    assert text == "Hello Una,\n\nthe invoice is attached. £1,455.49\n"
    found = {part.get_filename(): (part.get_content_type(), part.get_content()) for part in mail.iter_attachments()}
    assert found == {
        "GL-2027-0001.pdf": ("application/pdf", b"%PDF-1.7\r\n\x00\xff"),
        "GL-2027-0001.xml": ("application/xml", b"<?xml version='1.0'?>\n<a/>"),
    }
    assert not mail.defects


def test_the_same_input_gives_the_same_bytes():
    assert draft() == draft()


def test_lines_end_as_mail_wants_them_and_stay_short():
    lines = draft(subject="Kelp " * 60, to=[(f"Person {n}", f"p{n}@example.com") for n in range(20)]).split(b"\r\n")
    assert all(len(line) <= 998 and b"\n" not in line for line in lines)


def test_copies_and_replies_go_where_they_should():
    mail = parsed(draft(cc=[("", "rob@gannetlark.example")], reply_to=("", "isla@gannetlark.example")))
    assert str(mail["Cc"]) == "rob@gannetlark.example"
    assert str(mail["Reply-To"]) == "isla@gannetlark.example"


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"subject": "a\r\nBcc: x@example.com"}, "subject: wanted text on one line"),
        ({"to": [("a\nBcc: x@example.com", "b@example.com")]}, "to: wanted text on one line"),
        ({"to": [("", "b@example.com\nBcc: x@example.com")]}, "to: wanted an address"),
        ({"to": [("", "nobody")]}, "to: wanted an address such as"),
        ({"to": [("", "a@b@c")]}, "to: wanted an address such as"),
        ({"to": [("", "a, b@example.com")]}, "to: wanted an address such as"),
        ({"to": []}, "to: wanted somebody to send it to"),
        ({"subject": " "}, "subject: wanted text, got nothing"),
        ({"attachments": [Attachment("../x.pdf", b"")]}, "attachment: wanted a plain file name"),
        ({"attachments": [Attachment("a\nb.pdf", b"")]}, "attachment: wanted text on one line"),
        ({"written_at": datetime(2027, 5, 10)}, "wanted a time with its zone"),
    ],
)
def test_what_could_smuggle_in_a_header_is_refused(change, message):
    with pytest.raises(BadInput, match=message):
        draft(**change)
