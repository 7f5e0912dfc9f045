"""Where a book is: a file, or the URL of a database; and how it is named in messages, without its password."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from bizkit.domain.errors import BadInput

WANTED = "a database URL such as sqlite:///book.sqlite or postgresql+psycopg://host/name"


@dataclass(frozen=True, slots=True)
class Address:
    """The place of a book."""

    url: URL

    @classmethod
    def of(cls, place: str | Path) -> Address:
        """From the path of a file, whatever signs are in it, or a URL. Raises BadInput that never repeats the URL."""
        if isinstance(place, Path):
            return cls(URL.create("sqlite", database=str(place)))
        try:
            return cls(make_url(place))
        except (ArgumentError, ValueError):
            # It may hold a password, and where is anybody's guess.
            raise BadInput(
                wanted=WANTED,
                got="one that cannot be read",
                field="book.url",
                hint="Write signs such as @ : / in the password as %40 %3A %2F",
            ) from None

    @property
    def file(self) -> Path | None:
        """The file of an SQLite book, None for a server's."""
        return Path(self.url.database or "") if self.url.get_backend_name() == "sqlite" else None

    @property
    def name(self) -> str:
        """The file's name, or the URL without password and options."""
        if self.file is not None:
            return self.file.name
        return self.without_secrets(self.url.set(query={}).render_as_string(hide_password=True))

    def without_secrets(self, said: str) -> str:
        """A message with every part of the URL taken out that is, or may be by a slip, a password."""
        secrets = [self.url.password or "", (self.url.host or "").rpartition("@")[0]]
        for value in self.url.query.values():
            secrets += [value] if isinstance(value, str) else value
        for secret in sorted(filter(None, map(str, secrets)), key=len, reverse=True):
            said = said.replace(secret, "***")
        return said
