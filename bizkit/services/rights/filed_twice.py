"""A paper that lies on file already: the same command given twice must not make two papers of one."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from bizkit.domain.errors import RuleBroken
from bizkit.services.rights.holdings import OUT

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.rights.holding import Holding

#: Members of a paper that are of its filing and not of the paper.
_OF_FILING = {"key", "signing"}


def refuse_filed(work: Connection, row: Mapping[str, Any], paper_id: int) -> None:
    """Refuse a signed or valid paper that another row holds to the letter: its scan, its day, all that it says.

    row: as it is about to be written. Papers that were withdrawn or corrected are none. Raises RuleBroken.
    """
    from bizkit.store.jobs import holdings

    if not row["paper"]:
        return
    for one in holdings(work, key=row["job"], kinds=(row["kind"],)):
        if int(one.id) == paper_id or one.status in OUT or one.paper != row["paper"]:
            continue
        same = (one.subject, one.signed_on, one.expires_on) == (row["subject"], row["signed_on"], row["expires_on"])
        if same and _said(one.data) == _said(row["data"]):
            raise RuleBroken(
                f"paper {one.id} is this one already, with the same scan: nothing was filed. See what is on file "
                f"with bizkit holding list {row['job']}"
            )


def refuse_form_used(work: Connection, job: str, number: str, subject: str, paper_id: int, reason: str) -> None:
    """Refuse a second paper about somebody by the number of one form, unless a reason says why.

    A form for nobody by name is copied and signed by many, once by each; a better scan is a correction. Raises
    RuleBroken.
    """
    from bizkit.store.jobs import holdings

    for one in holdings(work, key=job) if number and not reason.strip() else ():
        same = (one.data.get("form"), one.subject) == (number, subject)
        if same and int(one.id) != paper_id and one.status not in OUT:
            raise RuleBroken(
                f"the form {number} is on file as paper {one.id}, signed on {one.signed_on}: if this is a better "
                f"scan of it, correct that paper with bizkit holding correct {job} {one.id} --scan; if somebody else "
                "signed, or it was signed anew, write a form with a number of its own, or say why with --reason"
            )


def refuse_withdrawn(work: Connection, holding: Holding, reason: str) -> None:
    """Refuse a scan that is on file as a paper on which consent was taken back: one sheet does not give it again.

    A sheet that others signed too, of whom nobody took it back, is filed with a reason. Raises RuleBroken.
    """
    from bizkit.store.jobs import holdings

    for one in holdings(work, kinds=(holding.kind,)):
        if one.status == "withdrawn" and one.paper == holding.document and not reason.strip():
            raise RuleBroken(
                f"the same scan is on file as paper {one.id} of {one.job}, on which consent was taken back: have a "
                "new one signed; where it shows somebody else's signature too, file that with --reason"
            )


def _said(data: Mapping[str, Any]) -> str:
    """What a paper says, as the book keeps it."""
    from bizkit.store.canonical import canonical

    return canonical({name: value for name, value in data.items() if name not in _OF_FILING})
