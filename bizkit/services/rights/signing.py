"""Signing on screen: a paper filled in, a drawn signature placed on it, the whole kept by its SHA-256.

Who signed when, who witnessed it, and that it was drawn are kept with the paper; the picture of the signature is on
the paper alone. Whether a drawn signature is enough for a kind of paper is for your local law to say.
"""

from __future__ import annotations

import io
import tempfile
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Final

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.rights.paper_terms import PARTS
from bizkit.services.rights.signed_paper import OPTIONS, Allowed, Signed
from bizkit.services.studio.source_file import read_source
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.services.rights.holdings import Filed


MOST_BYTES: Final = 5_000_000
MOST_PIXELS: Final = 6000


def sign_paper(
    folder: StudioFolder,
    kind: str,
    job: str,
    about: str,
    on: date,
    signed: Signed,
    *,
    works: Sequence[str] = (),
    details: Path | None = None,
) -> Filed:
    """Fill in the paper of a kind of holding, place a drawn signature on it, and file it under its number.

    signed: who signs what and when; its scan is the signature, a PNG or JPEG. What the paper prints as allowed is
    what is held. Raises BadInput for an empty picture or one that is none, and for details that name somebody else
    than who signs; RuleBroken for somebody under 18 without a guardian.
    """
    from bizkit.papers.render import render
    from bizkit.services.job.jobs import the_job
    from bizkit.services.rights.filing import ToFile, put_paper
    from bizkit.services.rights.forms import Wanted, form_of, number
    from bizkit.services.rights.numbered_forms import PAPERS
    from bizkit.services.studio.filing import asset_reader
    from bizkit.store.canonical import sha256

    if kind not in PAPERS:
        raise NotFound("kind of paper that is signed on screen", kind, PAPERS, field="--kind")
    image = drawn_signature(signed.scan)
    digest = sha256(image)
    signed.check(on)
    paper, role = PAPERS[kind]
    read = asset_reader(folder)
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        row = the_job(work, job)
        wanted = Wanted(
            paper, on, subject=about, by=signed.by, guardian=signed.guardian,
            minor=signed.under_18, born=signed.born, details=details, allows=signed.allows,
            conditions=signed.conditions, client_conditions=signed.client_conditions,
        )  # fmt: skip
        form = form_of(folder, work, row, wanted)
        said, document = form.wanted, form.document
        for part in form.terms.unsaid if form.terms else ():
            raise BadInput(wanted=PARTS[part], got="nothing", field=OPTIONS[part])
        number(folder, work, stamp, form)
        signed = replace(
            signed, by=said.by, guardian=said.guardian, born=said.born, guardian_born=said.guardian_born,
            under_18=said.minor, conditions=(), client_conditions=(), allows=Allowed(form=document["number"]),
        )  # fmt: skip
        (signer, *_) = signed.signers(kind, said.subject)
        party = {"name": signer.name, "signed_on": on.isoformat(), "image": digest}
        apart = signed.guardian and "guardian" in document
        document["signatures"] = {"guardian" if apart else role: party}
        if signed.witness:
            document["signatures"]["witness"] = {"name": signed.witness, "signed_on": on.isoformat()}
        if role in ("holder", "owner"):
            document[role] = {**document[role], "name": signer.name}
        content = render(
            document, own=folder.own_templates, asset=lambda name: image if name == digest else read(name)
        )
        with tempfile.TemporaryDirectory() as place:
            file = Path(place) / f"{kind}.pdf"
            file.write_bytes(content)
            filed = replace(signed, scan=file)
            return put_paper(folder, work, stamp, row, ToFile(kind, said.subject, filed, works=works))


def drawn_signature(path: Path) -> bytes:
    """The picture of a signature as it stands. Raises BadInput for no picture, a huge one, or an empty one."""
    from PIL import Image, ImageStat, UnidentifiedImageError

    def wrong(got: object) -> BadInput:
        return BadInput(wanted="a drawn signature as PNG or JPEG", got=got, field="--signature", where=path.name)

    content = read_source(
        path, "a drawn signature as PNG or JPEG", most=MOST_BYTES, field="--signature", where=path.name
    )
    try:
        with Image.open(io.BytesIO(content), formats=("PNG", "JPEG")) as picture:
            if max(picture.size) > MOST_PIXELS:
                raise wrong(f"a picture of {picture.size[0]} x {picture.size[1]}")
            on_white = Image.new("RGBA", picture.size, "white")
            on_white.alpha_composite(picture.convert("RGBA"))
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, Image.DecompressionBombError):
        raise wrong("another kind of file") from None
    low, high = ImageStat.Stat(on_white.convert("L")).extrema[0]
    if high - low < 32:
        raise wrong("an empty picture")
    return content
