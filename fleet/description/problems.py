"""What a unit says when it refuses, as one sentence (Problem Details, RFC 9457).

Some servers answer with plain text or nothing at all; the status then speaks.
"""

from collections.abc import Mapping

from fleet.description.documents import Json, parse_json
from fleet.description.limits import MAX_TEXT_CHARS
from fleet.description.texts import plain_text
from fleet.model.errors import UnitError

_MAX_PROBLEM_BYTES = 16 * 1024

# RFC 9110 §15 and RFC 6585, in our own words.
_PHRASES: Mapping[int, str] = {
    400: "it couldn't read the request",
    401: "it wants another password",
    403: "it doesn't allow that",
    404: "it has nothing there",
    405: "it doesn't take that method",
    409: "not in the state that it is in",
    412: "somebody else changed it meanwhile",
    415: "it doesn't take that kind of content",
    422: "it doesn't take that value",
    428: "it wants to be told what is replaced",
    429: "it was asked too often",
    500: "it failed inside",
    501: "it can't do that",
    503: "it isn't ready",
}


def problem_sentence(status: int, content_type: str, body: bytes) -> str:
    """Return a refusal in words.

    Args:
        status: the HTTP status.
        content_type: of the body, "" where none was given.
        body: as it came.

    Returns:
        Title and detail of Problem Details, else the text of the body, else the status' own phrase;
        always with the status in brackets and a full stop.
    """
    said = _said(content_type.partition(";")[0].strip().lower(), body[:_MAX_PROBLEM_BYTES])
    words = plain_text(said, MAX_TEXT_CHARS) or _phrase(status)
    return f"{words.rstrip('.')} ({status})."


def _said(media_type: str, body: bytes) -> str:
    if media_type.endswith("json"):
        return _of_problem(_parsed(body))
    return body.decode("utf-8", "replace") if media_type == "text/plain" else ""


def _parsed(body: bytes) -> Json:
    try:
        return parse_json(body, subject="")
    except UnitError:
        return None


def _of_problem(problem: Json) -> str:
    if isinstance(problem, str):
        return problem
    if not isinstance(problem, dict):
        return ""
    parts = [problem.get("title"), problem.get("detail")]
    return ": ".join(part.strip().rstrip(".") for part in parts if isinstance(part, str) and part)


def _phrase(status: int) -> str:
    return _PHRASES.get(status, "it gave no reason")
