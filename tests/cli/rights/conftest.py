"""An accepted job, copied from one made once; papers to file; a drawn signature."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

JOB = "follow-the-kelp"
PLACES = {
    "Kelp trail, Otter Sound": "Skerrow Marine Reserve",
    "Seabird cliff, Kittiwake Head": "Kittiwake Head Trust",
    "Shore sauna, Selkie Bay": "Selkie Bay Sauna",
}


@pytest.fixture(scope="session")
def accepted(starter_studio: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A studio whose quote for the job was accepted on 2027-02-08; copied, never worked in.

    Its terms say that the licence rests while an invoice stays unpaid after a last reminder.
    """
    from datetime import date

    from bizkit.services.quoting.quotes import accept_quote, draft_quote, send_quote
    from bizkit.services.studio.studio_folder import StudioFolder

    path = tmp_path_factory.mktemp("accepted") / "studio"
    shutil.copytree(starter_studio, path)
    brief = path / "briefs" / f"{JOB}.toml"
    text = brief.read_text(encoding="utf-8")
    # A swimmer who is not of the studio, so that somebody has to assign something.
    brief.write_text(
        text.replace('{ roles = ["safety_swimmer"] }', '{ person = "Brodie Lunn", roles = ["safety_swimmer"] }'),
        "utf-8",
    )
    with (path / "studio.toml").open("a", encoding="utf-8") as file:
        file.write("\n[late]\nsuspends_licence = true\n")
        file.write('[[late.reference_rates]]\non = 2027-06-30\nrate = 4\nsource = "invented"\n')
    folder = StudioFolder(path.resolve(), who="Ailsa Gannet")
    draft_quote(folder, brief, date(2027, 1, 26))
    send_quote(folder, JOB, date(2027, 1, 26))
    accept_quote(folder, JOB, date(2027, 2, 8))
    return path


@pytest.fixture
def studio(accepted: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "studio"
    shutil.copytree(accepted, folder)
    monkeypatch.chdir(folder)
    return folder


@pytest.fixture
def job(studio: Path) -> str:
    return JOB


#: kind of holding -> the form of ours that it is signed on.
FORMS = {
    "talent_release": "model_release", "location_permission": "location_permission", "crew_assignment":
    "crew_assignment", "property_release": "property_release", "performer_consent": "performer_consent",
}  # fmt: skip
TERMS = ("--media", "--where", "--from", "--until", "--months", "--without-end", "--terms")
#: Kinds whose form is another one where a parent or guardian signs.
FOR_GUARDIANS = ("talent_release", "performer_consent")
LENGTHS = ("--until", "--months", "--without-end", "--terms")


@pytest.fixture
def by_form(bizkit: Any, job: str) -> Callable[..., list[object]]:
    """`by_form("talent_release", "Finn", "--until", "2029-12-31")` writes our form; the option that files by it."""

    def write(kind: str, about: str, *terms: object) -> list[object]:
        done = bizkit("papers", "form", FORMS[kind], job, "--about", about, *terms, "--on", "2027-05-01", "--json")
        assert done.code == 0, done.err
        return ["--form", done.data["number"]]

    return write


@pytest.fixture
def hold(bizkit: Any, job: str, scan: Path, by_form: Callable[..., list[object]]) -> Callable[..., Any]:
    """`hold("talent_release", "Finn", ...)` files a signed paper of 2027-05-14, or with other options.

    With media and countries it is filed by its terms, without an end where none is said; else by the number of our
    form, which asks for what else is said of the terms.
    """

    def add(kind: str, about: str, *more: object, signed: str = "2027-05-14", on: str = "2027-05-20") -> Any:
        options = list(more)
        if "--media" in options or "--terms" in options or kind not in FORMS:
            options += [] if any(one in options for one in LENGTHS) else ["--without-end"]
        else:
            terms = [one for place, one in enumerate(options) if {one, *options[place - 1 : place]} & set(TERMS)]
            options = [one for one in options if one not in terms]
            guardian = options.index("--guardian") if "--guardian" in options and kind in FOR_GUARDIANS else None
            young = options[guardian : guardian + 2] if guardian is not None else []
            options += by_form(kind, about, *terms, *young)
        # Each on a sheet of its own, unless --scan says which.
        paper = scan.with_name(f"signed-{len(list(scan.parent.glob('signed-*.pdf')))}.pdf")
        paper.write_bytes(scan.read_bytes() + f"% {paper.stem}\n".encode())
        done = bizkit(
            "holding", "add", job, "--kind", kind, "--about", about, "--signed", signed, "--scan", paper, *options,
            "--on", on, "--json",
        )  # fmt: skip
        assert done.code == 0, done.err
        return done.data

    return add


@pytest.fixture(scope="session")
def held(accepted: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The accepted job with everything held and said: it could be granted. Copied, never worked in."""
    from datetime import date

    from reportlab.pdfgen.canvas import Canvas

    from bizkit.services.rights.filing import add_holding_paper
    from bizkit.services.rights.forms import Wanted, write_form
    from bizkit.services.rights.needs import say_shown
    from bizkit.services.rights.signed_paper import Allowed, Signed
    from bizkit.services.studio.studio_folder import StudioFolder

    path = tmp_path_factory.mktemp("held") / "studio"
    shutil.copytree(accepted, path)
    paper = path.parent / "signed.pdf"
    canvas = Canvas(str(paper), invariant=True)
    canvas.drawString(72, 720, "Signed by everybody")
    canvas.save()
    folder = StudioFolder(path.resolve(), who="Ailsa Gannet")
    on = date(2027, 5, 20)
    papers = [("location_permission", place, owner, 14) for place, owner in PLACES.items()]
    papers += [("talent_release", "Eilidh Rendall", "", 14), ("crew_assignment", "Brodie Lunn", "", 9)]
    for kind, about, by, day in papers:
        form = write_form(folder, JOB, Wanted(FORMS[kind], date(2027, 5, 1), subject=about))["number"]
        signed = Signed(on=date(2027, 5, day), scan=paper, by=by, allows=Allowed(form=form))
        add_holding_paper(folder, kind, JOB, about, on, signed=signed)
    say_shown(folder, JOB, ["all"], {"music": ["none"]}, on)
    return path


@pytest.fixture
def clear(held: Path, studio: Path) -> str:
    """Everything is held and said: the job could be granted."""
    shutil.copytree(held, studio, dirs_exist_ok=True)
    return JOB


@pytest.fixture(scope="session")
def in_force(held: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The job granted on 2027-06-14 and paid in full on 2027-06-20. Copied, never worked in."""
    from datetime import date

    from bizkit.services.billing.invoices import issue_invoice
    from bizkit.services.billing.issuing import Asked
    from bizkit.services.billing.payments import record_payment
    from bizkit.services.rights.granting import grant_licence
    from bizkit.services.studio.studio_folder import StudioFolder

    path = tmp_path_factory.mktemp("in-force") / "studio"
    shutil.copytree(held, path)
    folder = StudioFolder(path.resolve(), who="Ailsa Gannet")
    issue_invoice(folder, JOB, date(2027, 2, 8))
    record_payment(folder, "GL-2027-0001", date(2027, 3, 1))
    grant_licence(folder, JOB, date(2027, 6, 14))
    issue_invoice(folder, JOB, date(2027, 6, 14), stage=2, asked=Asked(reason="agreed"))
    record_payment(folder, "GL-2027-0002", date(2027, 6, 20))
    return path


@pytest.fixture
def live(in_force: Path, studio: Path) -> str:
    """The number of a licence in force from 2027-07-01."""
    shutil.copytree(in_force, studio, dirs_exist_ok=True)
    return "LC-2027-0001"


@pytest.fixture
def paid(bizkit: Any, job: str, studio: Path, tmp_path: Path) -> Callable[[str], None]:
    """`paid("2027-07-05")` delivers, invoices everything and has it paid in full on that day."""

    def pay(on: str) -> None:
        bizkit("invoice", "issue", job, "--on", "2027-02-08")
        bizkit("invoice", "paid", "GL-2027-0001", "--on", "2027-03-01")
        done = bizkit("invoice", "issue", job, "--stage", "2", "--reason", "agreed", "--on", "2027-06-14")
        assert done.code == 0, done.err
        done = bizkit("invoice", "paid", "GL-2027-0002", "--on", on)
        assert done.code == 0, done.err

    return pay


@pytest.fixture
def in_german(studio: Path) -> Callable[[], str]:
    """The text of the licence certificate issued last, drawn in German."""
    from io import BytesIO

    import pypdf

    from bizkit.papers.render import render
    from bizkit.services.studio.filing import asset_reader
    from bizkit.services.studio.studio_folder import StudioFolder
    from bizkit.store.issued import by_number

    def draw() -> str:
        folder = StudioFolder(studio)
        with folder.book.read() as work:
            document = by_number(work, "LC-2027-0001").document
        german = {**document, "language": "de", "locale": "de_DE"}
        pages = pypdf.PdfReader(BytesIO(render(german, own=None, asset=asset_reader(folder)))).pages
        return " ".join(" ".join(page.extract_text() for page in pages).split())

    return draw


@pytest.fixture
def signature(tmp_path: Path) -> Path:
    """A drawn line, dark on a clear ground."""
    from PIL import Image, ImageDraw

    picture = Image.new("RGBA", (400, 120), (0, 0, 0, 0))
    ImageDraw.Draw(picture).line(
        [(10, 90), (60, 20), (90, 100), (200, 90), (390, 60)], fill=(20, 20, 80, 255), width=5
    )
    path = tmp_path / "signature.png"
    picture.save(path)
    return path
