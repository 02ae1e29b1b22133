"""Fingerprints of certificates and keys, in groups that two people can read to each other."""

import re

_DIGEST = re.compile(r"(?<![0-9A-Fa-f])(?:[0-9A-Fa-f]{2}[: ]?){31}[0-9A-Fa-f]{2}(?![0-9A-Fa-f])")
_GROUP, _GROUPS_A_LINE = 4, 4
NONE_SHOWN = "None: it speaks without one now."


def grouped(sha256: str) -> str:
    """Return a digest in groups of four signs, four groups a line, in capitals."""
    signs = re.sub(r"[^0-9A-Fa-f]", "", sha256).upper()
    groups = [signs[at : at + _GROUP] for at in range(0, len(signs), _GROUP)]
    lines = [groups[at : at + _GROUPS_A_LINE] for at in range(0, len(groups), _GROUPS_A_LINE)]
    return "\n".join(" ".join(line) for line in lines)


def first_group(sha256: str) -> str:
    """Return how a digest begins, for a sentence beside which it stands in full."""
    return f"{grouped(sha256)[:_GROUP]}…"


def without_fingerprints(text: str) -> str:
    """Return a text whose digests are cut to their first group: they stand beside it in full."""
    cut = _DIGEST.sub(lambda found: first_group(found.group()), text)
    return cut.replace("….", "…")
