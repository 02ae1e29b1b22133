"""What a unit asks for when it turns a request away: WWW-Authenticate (RFC 9110 §11.6.1).

A header may hold several challenges and a challenge several parameters, both parted by commas; a word
without "=" begins a new challenge. What isn't written so is skipped.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

_WORD = r"[!#$%&'*+.^_`|~0-9A-Za-z-]+"
_PART = re.compile(
    rf"\s*,?\s*(?P<word>{_WORD})"
    rf'(?:\s*=\s*(?:"(?P<quoted>(?:[^"\\]|\\.)*)"|(?P<bare>{_WORD}(?=\s*(?:,|$)))))?'
)
_ESCAPED = re.compile(r"\\(.)")
_MOST_CHARS = 8192
_MOST_CHALLENGES = 8


@dataclass(frozen=True, slots=True)
class Challenge:
    """One way in that a unit offers.

    Attributes:
        kind: basic, digest, bearer or another word, in lower case.
        parameters: by name in lower case.
    """

    kind: str
    parameters: Mapping[str, str]


def read_challenges(headers: Sequence[str]) -> tuple[Challenge, ...]:
    """Return the challenges of all WWW-Authenticate headers of an answer, in their order."""
    found: list[tuple[str, dict[str, str]]] = []
    for header in headers:
        begun = False
        for part in _PART.finditer(header[:_MOST_CHARS]):
            value = part["bare"] if part["quoted"] is None else _ESCAPED.sub(r"\1", part["quoted"])
            if value is None:
                found.append((part["word"].lower(), {}))
                begun = True
            elif begun:
                found[-1][1].setdefault(part["word"].lower(), value)
    return tuple(Challenge(kind, said) for kind, said in found[:_MOST_CHALLENGES])
