"""The server that sends the studio's mail, where it wants bizkit to send: the `[mail]` table of its settings.

Without it bizkit writes mails as files for the studio's own mail program. The password is never in a file: it comes
from the environment (BIZKIT_MAIL_PASSWORD).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bizkit.domain.fields import Fields

#: How the connection is kept private; "none" is for a server on the same machine.
SECURITY: Final = ("tls", "starttls", "none")


@dataclass(frozen=True, slots=True)
class MailServer:
    """host and port: where it listens. security: one of `SECURITY`. user: empty where nobody logs in."""

    host: str
    port: int
    security: str = "tls"
    user: str = ""

    @classmethod
    def read(cls, fields: Fields) -> MailServer:
        """From the `[mail]` table. Raises BadInput."""
        security = fields.choice("security", SECURITY, "tls")
        usual = {"tls": 465, "starttls": 587, "none": 25}[security]
        server = cls(
            fields.text("host"),
            fields.whole("port", usual, least=1, most=65535),
            security,
            fields.text("user", "", blank=True),
        )
        fields.done()
        return server
