"""Signing on screen: a paper filled in, a drawn signature placed on it, the whole kept by its SHA-256.

Who signed when, who witnessed it, and that it was drawn are kept with the paper; the picture of the signature is on
the paper alone. Whether a drawn signature is enough for a kind of paper is for your local law to say.
"""

from __future__ import annotations

import io
import tempfile
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any, Final

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.services.rights.signed_paper import Allowed, Signed
from bizkit.services.studio.source_file import read_source
from bizkit.services.studio.studio_folder import StudioFolder

#: kind of holding -> the paper that is signed for it, and where on it the signature goes.
PAPERS: Final[dict[str, tuple[str, str]]] = {
    "talent_release": ("model_release", "person"),
    "location_permission": ("location_permission", "holder"),
    "property_release": ("property_release", "owner"),
    "crew_assignment": ("crew_assignment", "person"),
    "performer_consent": ("performer_consent", "person"),
}
MOST_BYTES: Final = 5_000_000
MOST_PIXELS: Final = 6000


def sign_paper(
    folder: StudioFolder,
    kind: str,
    job: str,
    about: str,
    on: date,
    *,
    signature: Path,
    by: str = "",
    guardian: str = "",
    born: date | None = None,
    under_18: bool = False,
    witness: str = "",
    allows: Allowed | None = None,
    conditions: Sequence[str] = (),
    client_conditions: Sequence[str] = (),
    details: Path | None = None,
) -> dict[str, Any]:
    """Fill in the paper of a kind of holding, place a drawn signature (a PNG or JPEG) on it, and file it.

    What it prints as allowed is what is held. Raises BadInput for an empty picture or one that is none, RuleBroken
    for somebody under 18 without a guardian.
    """
    from bizkit.papers.render import render
    from bizkit.services.rights.forms import form_document
    from bizkit.services.rights.holdings import add_holding_paper, asked_scope
    from bizkit.services.shooting.jobs import the_job
    from bizkit.services.studio.filing import asset_reader
    from bizkit.services.studio.toml_file import sha256_of_bytes

    if kind not in PAPERS:
        raise NotFound("kind of paper that is signed on screen", kind, PAPERS, field="--kind")
    image = drawn_signature(signature)
    digest = sha256_of_bytes(image)
    form, role = PAPERS[kind]
    signed = Signed(
        on=on, scan=signature, by=by, guardian=guardian, born=born, under_18=under_18, allows=allows or Allowed(),
        conditions=tuple(conditions), client_conditions=tuple(client_conditions), witness=witness, how="drawn",
    )  # fmt: skip
    signed.check(on)
    document = form_document(
        folder, form, job, subject=about, guardian=guardian, minor=signed.minor, details=details, on=on
    )
    (signer, *_) = signed.signers(kind, about)
    with folder.book.read() as work:
        row = the_job(work, job)
    scope = signed.allows.scope(on, asked_scope(row, kind, folder.studio.media), folder.studio.media)
    if "scope" in document:
        document["scope"] = _printed(scope)
    document["conditions"] = [*document.get("conditions", ()), *conditions]
    document["client_conditions"] = [*document.get("client_conditions", ()), *client_conditions]
    party = {"name": signer.name, "signed_on": on.isoformat(), "image": digest}
    document["signatures"] = {"guardian" if guardian else role: party}
    if witness:
        document["signatures"]["witness"] = {"name": witness, "signed_on": on.isoformat()}
    if role in ("holder", "owner"):
        document[role] = {**document[role], "name": signer.name}
    if born and "person" in document:
        document["person"]["born_on"] = born.isoformat()
    read = asset_reader(folder)

    def asset(name: str) -> bytes:
        return image if name == digest else read(name)

    content = render(document, own=folder.own_templates, asset=asset)
    with tempfile.TemporaryDirectory() as place:
        paper = Path(place) / f"{kind}.pdf"
        paper.write_bytes(content)
        filed = Signed(
            on=on, scan=paper, by=by, guardian=guardian, born=born, under_18=under_18, allows=signed.allows,
            conditions=tuple(document["conditions"]), client_conditions=tuple(document["client_conditions"]),
            witness=witness, how="drawn",
        )  # fmt: skip
        return add_holding_paper(folder, kind, job, about, on, signed=filed)


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


def _printed(scope: Any) -> dict[str, Any]:
    """The one box of a scope as the paper prints it. Raises RuleBroken for several."""
    from bizkit.domain.rights.territory import describe

    if len(scope.boxes) != 1:
        raise RuleBroken("a paper signed on screen says one thing: file one of several parts as a scan, with --terms")
    (box,) = scope.boxes
    return {
        "media": sorted(box.media),
        "territory": {"phrase": describe(box.countries), "codes": sorted(box.countries)},
        "starts": box.term.start.isoformat(),
        "ends": "" if box.term.open else box.term.end.isoformat(),
        "months": None,
    }
