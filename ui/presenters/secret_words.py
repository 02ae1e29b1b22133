"""What is said where a unit wants a secret: what is asked for, and what it means to use it twice."""

from enum import StrEnum

from fleet.model.meeting import LockedUnit
from ui.presenters.words import count_words

_WITH_NAME = ("basic", "digest")
SHARED = (
    "These units then share a password: whoever learns it at one of them has them all. "
    "Better give each its own."
)
NOT_SHOWN = "It is kept with this machine's secrets, and stands in no database, log or record."


class SecretKind(StrEnum):
    """What a person types."""

    PASSWORD = "User and password"  # noqa: S105 - the words on a button, no secret
    TOKEN = "Token"  # noqa: S105 - the same
    KEY = "Key"


def secret_kinds(unit: LockedUnit) -> tuple[SecretKind, ...]:
    """Return what can be typed for a unit, in the order of what its description offers."""
    kinds = (_kind(each) for each in unit.kinds)
    return tuple(dict.fromkeys(kinds)) or (SecretKind.PASSWORD,)


def asked_words(unit: LockedUnit) -> str:
    """Say why a secret is asked for: none is kept, it was for elsewhere, or it was refused."""
    if unit.refused:
        return "The one that was given was refused. It isn't tried again by itself."
    if unit.kept_under:
        return (
            f"It says that it is {unit.kept_under}. The {_noun(secret_kinds(unit)[0])} kept for that one "
            "wasn't for this address, and wasn't sent here: anybody can say that, and would have it then. "
            "Make sure that it is the unit, by its label and its address. Then send the kept one here, "
            "or type it."
        )
    return "It lets nobody read it without."


def open_way_words(unit: LockedUnit) -> str:
    """Say that what is typed can be overheard on its way; "" where it can't, or isn't sent as it is."""
    if unit.address.startswith(("https:", "mqtts:", "wss:")) or unit.kinds == ("digest",):
        return ""
    return "It goes over the network unencrypted: whoever listens there can read it."


def same_words(others: int) -> str:
    """Name the tick that tries the same secret elsewhere."""
    return f"Try the same for {count_words(others, 'other locked unit')} as well"


def missing_words(kind: SecretKind, user: str, secret: str) -> str:
    """Say what is missing before anything is sent; "" for nothing."""
    if not secret:
        return f"Nothing was sent: the {_noun(kind)} is missing."
    if kind is SecretKind.PASSWORD and not user.strip():
        return "Nothing was sent: the user is missing."
    return ""


def outcome_words(taken: int, refused: tuple[str, ...]) -> str:
    """Say what came of a secret that was tried at several units."""
    done = f"{count_words(taken, 'unit')} let us in."
    return done if not refused else f"{done} Refused by {', '.join(refused)}."


def _kind(offered: str) -> SecretKind:
    if offered in _WITH_NAME:
        return SecretKind.PASSWORD
    return SecretKind.TOKEN if offered == "bearer" else SecretKind.KEY


def _noun(kind: SecretKind) -> str:
    return "password" if kind is SecretKind.PASSWORD else kind.value.lower()
