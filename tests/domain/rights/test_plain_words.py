"""The sentences of a licence, word by word: they are what a client reads."""

import tomllib
from decimal import Decimal

import pytest

from bizkit.domain.rights.licence_request import LicenceRequest


def sentences(text: str, *titles: str) -> list[str]:
    base = 'media = ["owned_channels", "paid_social"]\nterritory = "United Kingdom and Ireland"\n'
    tree = tomllib.loads((base if "buy_out" not in text else "") + text, parse_float=Decimal)
    return LicenceRequest.read(tree, where="brief.toml").sentences(titles)


def test_a_plain_licence_reads_in_seven_sentences():
    assert sentences("starts = 2027-07-01\nmonths = 12", "the film", "the stills") == [
        "You may use the film and the stills in these media: own channels and paid social.",
        "You may do so for audiences in: United Kingdom and Ireland.",
        "It runs from 1 July 2027 to 30 June 2028, both days included.",
        "It is not exclusive: we may license the same pictures to others.",
        "You may not edit the pictures without asking us first.",
        "You may not pass this licence on or let others use the pictures for their own purposes.",
        "Anything else needs a new agreement; ask us and we will name the price.",
    ]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("months = 12", "It begins on the day our invoices are paid in full and runs for 12 months."),
        ("months = 1", "It begins on the day our invoices are paid in full and runs for one month."),
        ("open_end = true", "It begins on the day our invoices are paid in full and runs without an end."),
        (
            "until = 2027-12-31",
            "It begins on the day our invoices are paid in full and runs until 31 December 2027, that day included.",
        ),
        ("starts = 2027-07-01\nopen_end = true", "It runs from 1 July 2027 without an end."),
        (
            "starts = 2027-07-01\nmonths = 1\non_full_payment = true",
            "It runs from 1 July 2027 to 31 July 2027, both days included. This licence takes effect only when our "
            "invoices are paid in full.",
        ),
        (
            "first_use_by = 2027-10-01\nmonths = 3",
            "It runs for 3 months, counted from the day you first use them, at the latest from 1 October 2027.",
        ),
        ("months = 1", "You may use everything we deliver in these media: own channels and paid social."),
        (
            "months = 1\nexclusivity = 'sole'",
            "Nobody else gets the same use from us during that time; we may still show the work as our own.",
        ),
        (
            "months = 1\nexclusivity = 'sector'\nsector = 'island tourism'",
            "Nobody else in this line of business gets the same use from us during that time: island tourism.",
        ),
        (
            "months = 1\nedits = true",
            "You may shorten, crop and subtitle the pictures; you may not change what they say.",
        ),
        ("months = 1\ntransfer = true", "You may pass this licence on whole, once, if you tell us to whom."),
        ("months = 1\naffiliates = ['A Ltd', 'B Ltd']", "A Ltd and B Ltd may use them on the same terms."),
        ("months = 1\ncredit = 'Gannet & Lark Films'", "Where names are given, credit: Gannet & Lark Films."),
        ("months = 1\nlimits = ['politics', 'tobacco']", "Not for: politics or tobacco."),
        (
            "months = 1\nclips = [{title = 'a', seconds = 4}, {title = 'b', seconds = 2.5}]",
            "It includes 2 archive clips, 6.5 seconds in all, on the same terms.",
        ),
        (
            "months = 1\nclips = [{title = 'a', seconds = 4}]",
            "It includes one archive clip, 4 seconds in all, on the same terms.",
        ),
        ("buy_out = true", "You may do so everywhere in the world."),
        ("buy_out = true", "You may use everything we deliver in these media: all media."),
    ],
)
def test_each_thing_agreed_has_its_sentence(text, says):
    assert says in sentences(text)
