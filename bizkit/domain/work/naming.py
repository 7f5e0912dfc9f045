"""How delivered files are named: a pattern of fixed text and words in braces.

    {job}_{cut}_{aspect}_{seconds}_{version}    follow-the-kelp_hero_16x9_60s_v2

Each word has one form, so that the name can be read back into its parts; fixed text stands for itself.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from bizkit.domain.errors import BadInput, NotFound

#: word -> (its form as a regular expression, an example)
WORDS = {
    "aspect": (r"[0-9]{1,3}(?:-[0-9]{1,2})?x[0-9]{1,3}", "16x9"),
    "captions": (r"clean|captioned|sidecar|embedded|burned-in", "clean"),
    "client": (r"[a-z0-9]+(?:-[a-z0-9]+)*", "skerrow-islands"),
    "cut": (r"[a-z0-9]+(?:-[a-z0-9]+)*", "hero"),
    "date": (r"[0-9]{4}[0-9]{2}[0-9]{2}", "20270601"),
    "job": (r"[a-z0-9]+(?:-[a-z0-9]+)*", "follow-the-kelp"),
    "language": (r"[a-z]{2,3}", "en"),
    "number": (r"[0-9]{2,5}", "007"),
    "seconds": (r"[0-9]{1,4}s", "60s"),
    "size": (r"[0-9]{2,5}x[0-9]{2,5}", "1920x1080"),
    "version": (r"v[0-9]{1,3}", "v2"),
}
_WORD = re.compile(r"\{([^{}]*)\}")


@dataclass(frozen=True, slots=True)
class NamePattern:
    """A pattern for a file name without its ending.

    >>> NamePattern.of("{job}_{version}").parts("follow-the-kelp_v2")
    {'job': 'follow-the-kelp', 'version': 'v2'}
    >>> NamePattern.of("{job}_{version}").parts("Final FINAL 2") is None
    True
    """

    text: str

    @classmethod
    def of(cls, text: str) -> NamePattern:
        """Raises NotFound for an unknown word, BadInput for a word used twice, stray braces or a path."""
        words = _WORD.findall(text)
        for word in words:
            if word not in WORDS:
                raise NotFound("word in braces", word, WORDS, field="name")
            if words.count(word) > 1:
                raise BadInput(wanted="each word in braces once", got=f"{{{word}}} twice", field="name")
        fixed = _WORD.sub("", text)
        if not text or len(text) > 200 or any(mark in fixed for mark in "{}/\\") or not fixed.isprintable():
            raise BadInput(
                wanted='a file name pattern such as "{job}_{cut}_{version}"', got=text or "nothing", field="name"
            )
        return cls(text)

    @property
    def words(self) -> tuple[str, ...]:
        """The words in braces, in order."""
        return tuple(_WORD.findall(self.text))

    def parts(self, name: str) -> dict[str, str] | None:
        """The words of `name` (no folder, no ending), or None when it does not follow the pattern."""
        form = ""
        for at, piece in enumerate(_WORD.split(self.text)):
            form += f"(?P<{piece}>{WORDS[piece][0]})" if at % 2 else re.escape(piece)
        found = re.fullmatch(form, name[:255], re.ASCII)
        return found.groupdict() if found else None

    def name(self, words: Mapping[str, str]) -> str:
        """The file name for `words`. Raises BadInput when a word is missing or not of its form.

        >>> NamePattern.of("{cut}_{seconds}").name({"cut": "hero", "seconds": "60s"})
        'hero_60s'
        """
        for word in _WORD.findall(self.text):
            form, example = WORDS[word]
            if not re.fullmatch(form, words.get(word, ""), re.ASCII):
                raise BadInput(wanted=f"a {word} such as {example}", got=words.get(word, ""), field=word)
        return _WORD.sub(lambda found: words[found[1]], self.text)

    @property
    def example(self) -> str:
        """A name that follows the pattern."""
        return self.good({})

    def good(self, words: Mapping[str, str]) -> str:
        """A name that follows the pattern and has these words; examples stand for the others.

        >>> NamePattern.of("{job}_{number}_{version}").good({"job": "follow-the-kelp", "version": "v1"})
        'follow-the-kelp_007_v1'
        """
        return self.name({word: example for word, (_, example) in WORDS.items()} | dict(words))
