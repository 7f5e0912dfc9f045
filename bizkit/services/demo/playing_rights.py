"""The rights of the demo's job: a gap found and closed, the licence granted, asked about and certified."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from bizkit.domain.errors import RuleBroken
from bizkit.services.rights.certificates import certificate
from bizkit.services.rights.clearance import check_rights
from bizkit.services.rights.filing import add_holding_paper
from bizkit.services.rights.forms import Wanted, write_form
from bizkit.services.rights.granting import grant_licence
from bizkit.services.rights.holdings import MUSIC
from bizkit.services.rights.needs import say_shown
from bizkit.services.rights.renewals import list_ending
from bizkit.services.rights.shoot_papers import add_shoot_paper
from bizkit.services.rights.signed_paper import Allowed, Signed
from bizkit.services.rights.uses import check_use
from bizkit.services.studio.filing import write_whole
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.services.demo.step import Step
    from bizkit.services.rights.uses import WorkAnswer

JOB = "follow-the-kelp"
TUNE = "Slack Water"


CARD = """
back_by = "13:30"
limits = ["the swell is over 1 m", "you see less than 5 m", "the wind blows off the shore"]
exits = ["Slip at the head of the sound", "Sand on the east side, below half tide"]

[call_out]
time = "14:00"
number = "999, ask for the coastguard"
position = "Slip at Otter Sound"

[ashore]
name = "Magnus Isbister"
phone = "07700 900144"

[[team]]
name = "Ailsa Gannet"
role = "Underwater camera"
how = "breath_hold"
swims = "strong, holds the breath to 8 m"
contact = "07700 900112"

[[team]]
name = "Brodie Lunn"
role = "Safety swimmer"
how = "snorkel"
swims = "lifeguard"
contact = "07700 900113"

[[tides]]
what = "High water"
time = "10:40"
height = "4.1 m"

[[light]]
what = "Sunset"
time = "21:32"
"""


def make_ready(folder: StudioFolder) -> Iterator[Step]:
    """What must be valid on the shoot days, a gap among it; the card for the day in the water."""
    from bizkit.services.demo.step import Step

    on = date(2027, 5, 5)
    for kind, about, number, until in (
        ("pilot_id", "Rowan Lark", "GBR-RP-EXAMPLE", date(2031, 2, 1)),
        ("operator_id", "Gannet & Lark Films", "GBR-OP-EXAMPLE", date(2028, 2, 1)),
        ("insurance", "Example Mutual", "EM-7", date(2027, 5, 12)),
    ):
        row = add_shoot_paper(folder, kind, JOB, about, on, starts=date(2027, 2, 1), until=until, number=number)
    yield Step(
        on,
        f"bizkit holding add {JOB} --kind insurance --about 'Example Mutual' --number EM-7 --until 2027-05-12",
        row["warnings"][0],
    )
    add_shoot_paper(
        folder,
        "insurance",
        JOB,
        "Example Mutual",
        on,
        starts=date(2027, 5, 13),
        until=date(2028, 5, 12),
        number="EM-8",
    )
    gaps = check_rights(folder, JOB, on)["shoot"]
    yield Step(on, f"bizkit rights check {JOB}", f"the policy goes on: {len(gaps)} shoot days without a paper")
    details = folder.path / "forms" / "water-card.toml"
    write_whole(details, CARD.lstrip().encode())
    done = write_form(folder, JOB, Wanted("water_day_card", on, day=date(2027, 5, 12), details=details))
    yield Step(
        on,
        f"bizkit papers form water_day_card {JOB} --day 2027-05-12 --details forms/water-card.toml",
        f"forms/{Path(done['file']).name}, for the person ashore",
    )


def find_and_close_gap(folder: StudioFolder) -> Iterator[Step]:
    """The tune is named, its papers turn out to be missing, then the composer's licence comes."""
    from bizkit.services.demo.step import Step

    on = date(2027, 6, 4)
    say_shown(folder, JOB, ["campaign-film", "cut-downs"], {"music": [TUNE]}, on)
    say_shown(folder, JOB, ["sauna-loop"], {"music": ["none"]}, on)
    yield Step(
        on, f"bizkit rights link {JOB} campaign-film cut-downs --music '{TUNE}'", "a tune in the film and its cuts"
    )
    found = check_rights(folder, JOB, on)
    yield Step(on, f"bizkit rights check {JOB}", f"{len(found['gaps'])} gaps, such as: {found['gaps'][0]['text']}")
    try:
        grant_licence(folder, JOB, on)
    except RuleBroken as refused:
        yield Step(on, f"bizkit rights grant {JOB}", f"refused: {refused}")

    on = date(2027, 6, 9)
    paper = folder.path / "incoming" / "slack-water.pdf"
    write_whole(paper, _music_licence())
    allows = Allowed(media=("online",), where=("Europe",), without_end=True)
    signed = Signed(on=on, scan=paper, by="Mairi Eider", allows=allows)
    for kind in MUSIC:
        add_holding_paper(folder, kind, JOB, TUNE, on, signed=signed)
    yield Step(
        on,
        f"bizkit holding add {JOB} --kind music --about '{TUNE}' --by 'Mairi Eider' --signed {on} "
        f"--media online --where Europe --without-end --scan {paper.name}",
        "composition and recording licensed by one paper",
    )
    found = check_rights(folder, JOB, on)
    yield Step(on, f"bizkit rights check {JOB}", "cleared" if found["cleared"] else found["gaps"][0]["text"])
    done = grant_licence(folder, JOB, on)
    yield Step(on, f"bizkit rights grant {JOB}", f"{done['number']} granted, waiting for full payment")


def prove_licence(folder: StudioFolder, on: date) -> Iterator[Step]:
    """Paid in full: the certificate says so; two uses are asked about; the end comes near."""
    from bizkit.services.demo.step import Step

    done = certificate(folder, JOB, on)
    yield Step(on, f"bizkit rights certificate {JOB}", f"revision {done['revision']}, {done['state']}")
    may = check_use(folder, JOB, ["paid_social"], ["IE"], on)
    yield Step(on, f"bizkit rights use {JOB} --media paid_social --where IE", _said(may["works"][0]))
    may = check_use(folder, JOB, ["cinema"], ["GB"], on)
    price = may["extension"]
    cost = f"; the extension costs {price['currency']} {price['net']}" if price and price["net"] else ""
    yield Step(on, f"bizkit rights use {JOB} --media cinema --where GB", _said(may["works"][0]) + cost)
    later = date(2028, 4, 5)
    (soon,) = list_ending(folder, later, 90)
    yield Step(
        on,
        f"bizkit rights ending --within 90d --on {later}",
        f"{soon['number']} ends {soon['ends']}; a renewal costs {soon['currency']} {soon['net']}",
    )


def _said(answer: WorkAnswer) -> str:
    return f"{'yes' if answer['allowed'] else 'no'}, because {answer['because']}"


def _music_licence() -> bytes:
    """A page that stands for the composer's own paper."""
    import io

    from reportlab.pdfgen.canvas import Canvas

    out = io.BytesIO()
    canvas = Canvas(out, invariant=True)
    canvas.drawString(72, 760, f"Licence for the tune {TUNE}, composed, played and recorded by Mairi Eider.")
    canvas.drawString(72, 740, "Online media, Europe, without an end. An invented paper, made for the demo.")
    canvas.save()
    return out.getvalue()
