"""The studio's logo: a picture file, kept under its SHA-256 so that an issued paper can always be drawn again."""

from __future__ import annotations

from bizkit.domain.errors import BadInput
from bizkit.services.studio.filing import write_whole
from bizkit.services.studio.scan_file import check_picture
from bizkit.services.studio.source_file import MB, read_source
from bizkit.services.studio.studio_folder import MARK, StudioFolder
from bizkit.store.canonical import sha256

#: A logo is no larger; a picture of 1,500 x 400 on every paper is enough.
MOST_BYTES = 20 * MB


def keep_logo(folder: StudioFolder) -> str:
    """Keep a copy of the logo in papers/scans and return its SHA-256; empty when the studio has none.

    Raises BadInput when the file is missing, is no PNG or JPEG or does not open.
    """
    name = folder.studio.logo
    if not name:
        return ""
    try:
        content = read_source(folder.path / name, "a picture", most=MOST_BYTES)
    except BadInput as error:
        what = "a PNG or JPEG in the studio folder, of 20 MB or less"
        raise BadInput(wanted=what, got=f"{name} ({error.got})", field="logo", where=MARK) from None
    kind = {b"\x89PNG": ".png", b"\xff\xd8\xff": ".jpg"}.get(content[:4] if content[:1] == b"\x89" else content[:3])
    if kind is None:
        raise BadInput(wanted="a PNG or JPEG", got=f"{name}, another kind of file", field="logo", where=MARK)
    check_picture(content, name, wanted="a PNG or JPEG that opens", field="logo", hint=f"It is named in {MARK}")
    digest = sha256(content)
    kept = folder.papers / "scans" / f"{digest}{kind}"
    if not kept.exists():
        write_whole(kept, content)
    return digest
