"""What is weak about the ways into units, in sentences: which units, why it matters, what to do."""

from collections.abc import Iterable, Mapping, Sequence

MOST_NAMED = 8
"""More units than this are counted, not named one by one."""

_READABLE = ("over http", "over ws", "over mqtt")


def weak_access(access: Mapping[str, str], shared: Iterable[Sequence[str]] = ()) -> tuple[str, ...]:
    """Say what is weak, a sentence or two each, the worst first; nothing where nothing is.

    Args:
        access: unit label → how it lets people in, as `Reading.access` words it: "open",
            "password over http", "digest password over http", "token over https", ...; "" for
            unknown.
        shared: groups of labels (or keys) that have one secret.
    """
    sentences = [
        _open([label for label, words in access.items() if _is_open(words)]),
        *(_shared(group) for group in shared if len(group) > 1),
        _readable([label for label, words in access.items() if _is_readable(words)]),
        _answered([label for label, words in access.items() if _is_digest(words)]),
    ]
    return tuple(sentence for sentence in sentences if sentence)


# ETSI EN 303 645, provision 5.5-1 (communication by best-practice cryptography): flagged where anybody
# can write, and where a secret or what it opens can be read on the way. Provision 5.1-1 (passwords
# unique to each unit): flagged where several share one.


def _is_open(words: str) -> bool:
    return words.split(" ", maxsplit=1)[0] == "open"


def _is_readable(words: str) -> bool:
    return words.endswith(_READABLE) and not _is_open(words) and not _is_digest(words)


def _is_digest(words: str) -> bool:
    return words.startswith("digest password over ") and words.endswith(_READABLE)


def _open(labels: Sequence[str]) -> str:
    if not labels:
        return ""
    takes, its = ("takes", "it has") if len(labels) == 1 else ("take", "they have")
    return (
        f"{_named(labels)} {takes} orders from anybody on the network: whoever joins it can watch "
        f"people and change settings. Set a password where {its} one, and keep visitors on another "
        "network."
    )


def _shared(group: Sequence[str]) -> str:
    return (
        f"{_named(group)} have one password: whoever learns it from one gets into all of them. Give "
        "each its own."
    )


def _readable(labels: Sequence[str]) -> str:
    if not labels:
        return ""
    sends, them, serves = (
        ("sends its secret", "it", "it serves")
        if len(labels) == 1
        else ("send their secrets", "them", "they serve")
    )
    return (
        f"{_named(labels)} {sends} unencrypted: anybody on the network can read {them} on the way and "
        f"get in later. Switch https on where {serves} it, use no secret of theirs elsewhere, and "
        "keep visitors on another network."
    )


def _answered(labels: Sequence[str]) -> str:
    if not labels:
        return ""
    keeps, serves = (
        ("keeps its password to itself but sends", "it serves")
        if len(labels) == 1
        else ("keep their passwords to themselves but send", "they serve")
    )
    return (
        f"{_named(labels)} {keeps} everything else unencrypted: anybody on the network can read what "
        f"is sensed, and try out short passwords at leisure. Switch https on where {serves} it, and "
        "choose long passwords."
    )


def _named(labels: Sequence[str]) -> str:
    if len(labels) == 1:
        return labels[0]
    if len(labels) > MOST_NAMED:
        return f"{', '.join(labels[:MOST_NAMED])} and {len(labels) - MOST_NAMED} more"
    return f"{', '.join(labels[:-1])} and {labels[-1]}"
