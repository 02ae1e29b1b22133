"""What lets us into a unit. A secret never shows in a representation, a log or a traceback."""

from dataclasses import dataclass, field
from typing import Protocol


@dataclass(frozen=True, slots=True)
class Credential:
    """A name and a secret.

    Attributes:
        secret: the password, the token or the key.
        user: the name that goes with a password; "" for a token or a key.
    """

    secret: str = field(repr=False)
    user: str = ""


class CredentialSource(Protocol):
    """Where a link asks for what lets it in."""

    def credential_for(self, key: str) -> Credential | None:
        """Return what is kept under a key (an id, a certificate or an origin), or None."""
