"""Refusals that say back what they were sent: a careless server quotes the request, password and all.

What a unit says when it refuses is shown, journaled and signed for, so such an answer keeps its status and
loses its words. A unit that means harm could disguise what it knows; against that nothing helps but to
give it no password that opens anything else.
"""

import base64
import json
from dataclasses import replace
from urllib.parse import quote

from fleet.link.connections import Answer
from fleet.model.credentials import Credential

_SUCCESSES_UNTIL = 300


def hushed(answer: Answer, credential: Credential | None) -> Answer:
    """Return an answer; of a refusal that holds the secret that was sent, only what isn't words.

    Args:
        answer: as it came.
        credential: what the request carried, None for nothing.
    """
    if credential is None or answer.status < _SUCCESSES_UNTIL:
        return answer
    said_back = any(shape in answer.body for shape in _shapes(credential))
    return replace(answer, body=b"") if said_back else answer


def _shapes(credential: Credential) -> frozenset[bytes]:
    """Return the ways in which a server would quote a secret without meaning harm."""
    secret = credential.secret
    pair = f"{credential.user}:{secret}".encode("utf-8", "surrogatepass")
    texts = {
        secret,
        json.dumps(secret)[1:-1],
        json.dumps(secret, ensure_ascii=False)[1:-1],
        quote(secret, errors="surrogatepass"),
        quote(secret, safe="", errors="surrogatepass"),
        base64.b64encode(pair).decode().rstrip("="),
    }
    shapes = {text.encode("utf-8", "surrogatepass") for text in texts}
    return frozenset(shapes | {secret.encode("latin-1", "ignore")} - {b""})
