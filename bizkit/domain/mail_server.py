"""The server that sends the studio's mail, where it wants bizkit to send: the `[mail]` table of its settings.

Without it bizkit writes mails as files for the studio's own mail program. The password is never in a file: it comes
from the environment (BIZKIT_MAIL_PASSWORD).
"""

from dataclasses import dataclass
from typing import Annotated, Final

from bizkit.domain.inputs.keys import Key

#: How the connection is kept private -> the port it usually has. "none" is for a server on the same machine.
SECURITY: Final = {"tls": 465, "starttls": 587, "none": 25}


@dataclass(frozen=True, slots=True)
class MailServer:
    """Where it listens, and how one logs in. `port` is None for the usual one of its security."""

    host: Annotated[str, Key("The server that takes mails to be sent.", example="smtp.example.com")]
    port: Annotated[
        int | None, Key("Where it listens; without it 465, 587 or 25 by its security.", least=1, most=65535)
    ] = None
    security: Annotated[str, Key("How the connection is kept private.", choices=tuple(SECURITY))] = "tls"
    user: Annotated[str, Key("Who logs in; the password comes from BIZKIT_MAIL_PASSWORD.")] = ""

    @property
    def listens_on(self) -> int:
        """The port said, or the usual one of its security."""
        return self.port if self.port is not None else SECURITY[self.security]
