"""The rights of the demo's job: a gap found and closed, the licence granted, asked about and certified."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.errors import RuleBroken
from bizkit.services.rights.certificates import certificate
from bizkit.services.rights.clearance import check_rights
from bizkit.services.rights.granting import grant_licence
from bizkit.services.rights.holdings import MUSIC, add_holding_paper
from bizkit.services.rights.needs import say_shown
from bizkit.services.rights.renewals import list_ending
from bizkit.services.rights.signed_paper import Allowed, Signed
from bizkit.services.rights.uses import check_use
from bizkit.services.studio.filing import write_whole
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.services.demo.playing import Step

JOB = "follow-the-kelp"
TUNE = "Slack Water"


def find_and_close_gap(folder: StudioFolder) -> Iterator[Step]:
    """The tune is named, its papers turn out to be missing, then the composer's licence comes."""
    from bizkit.services.demo.playing import Step

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
    signed = Signed(on=on, scan=paper, by="Mairi Eider", allows=Allowed(media=("online",), where=("Europe",)))
    for kind in MUSIC:
        add_holding_paper(folder, kind, JOB, TUNE, on, signed=signed)
    yield Step(
        on,
        f"bizkit holding add {JOB} --kind music --about '{TUNE}' --by 'Mairi Eider' --signed {on} "
        f"--media online --where Europe --scan {paper.name}",
        "composition and recording licensed by one paper",
    )
    found = check_rights(folder, JOB, on)
    yield Step(on, f"bizkit rights check {JOB}", "cleared" if found["cleared"] else found["gaps"][0]["text"])
    done = grant_licence(folder, JOB, on)
    yield Step(on, f"bizkit rights grant {JOB}", f"{done['number']} granted, waiting for full payment")


def prove_licence(folder: StudioFolder, on: date) -> Iterator[Step]:
    """Paid in full: the certificate says so; two uses are asked about; the end comes near."""
    from bizkit.services.demo.playing import Step

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


def _said(answer: dict[str, object]) -> str:
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
