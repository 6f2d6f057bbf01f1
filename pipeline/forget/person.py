"""A person who is to be forgotten: the spellings of the name, and what stands in their place."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from hashlib import sha256
from html import escape
from unicodedata import normalize

from pipeline.common.refusal import WrongUsage
from pipeline.store.proof.seals import fresh_salt

FEWEST_LETTERS = 2
"""Of a spelling: initials are two; a single letter stands in every second cell."""
MARK_DIGITS = 8


@dataclass(frozen=True)
class Person:
    """Somebody who is to be forgotten.

    Attributes:
        spellings: the ways in which the name is written.
        token: what stands in its place: the same for every spelling, another for every person and every forgetting.
    """

    spellings: tuple[str, ...]
    token: str

    @cached_property
    def pattern(self) -> re.Pattern[str]:
        """Finds the name as a whole word, in any case, however its words are parted; in JSON and XML as well."""
        ways = {way for one in self.spellings for way in _ways(one)}
        every = "|".join(sorted(ways, key=len, reverse=True))
        return re.compile(rf"(?<!\w)(?:{every})(?!\w)", re.IGNORECASE)

    def stands_in(self, text: str) -> bool:
        """Whether the name stands in a text."""
        return self.pattern.search(text) is not None

    def gone_from(self, text: str) -> str:
        """The text with the token in place of the name."""
        return self.pattern.sub(self.token, text)


def person(spellings: Sequence[str]) -> Person:
    """The person of these spellings.

    The token is a hash of the name under a salt that is kept nowhere: nobody can try names against it.

    Raises:
        WrongUsage: a spelling says too little to be found.
    """
    told = tuple(dict.fromkeys(" ".join(one.split()) for one in spellings))
    for one in told or ("",):
        if sum(letter.isalpha() for letter in one) < FEWEST_LETTERS:
            raise WrongUsage(f"“{one}” is too short to be found as a name.", "Name the person as the records do.")
    salt = fresh_salt(0)
    mark = sha256(bytes.fromhex(salt) + told[0].casefold().encode()).hexdigest()[:MARK_DIGITS]
    return Person(told, f"forgotten-{mark}")


def _ways(spelling: str) -> set[str]:
    """A spelling as a pattern: as it stands, as JSON writes it and as XML does; accents within or beside letters.

    Source: Unicode Standard Annex 15, forms NFC and NFD.
    """
    forms = {normalize(form, spelling) for form in ("NFC", "NFD")} | {spelling}
    written = {way for one in forms for way in (one, json.dumps(one)[1:-1], escape(one), escape(one, quote=False))}
    return {r"\s+".join(re.escape(word) for word in one.split()) for one in written}
