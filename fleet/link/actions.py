"""Actions of a unit: done at once, or going on after their answer (201, Location, ActionStatus).

The rules are those of WoT Profiles (Working Draft of 30 September 2025): an ActionStatus says pending,
running, completed or failed, with an output or an error (Problem Details). A status is asked for on the
unit's own origin, wherever its address points. A unit that restarted may have forgotten it.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from fleet.description.documents import Json, as_object, parse_json
from fleet.description.requests import Request, status_request
from fleet.description.texts import plain_text
from fleet.description.things import Thing
from fleet.link.asking import Options
from fleet.link.connections import Answer
from fleet.model.errors import UnitError

GONE = frozenset({404, 410})
_CREATED = 201
_STATES = frozenset({"pending", "running", "completed", "failed"})


class StatusGoneError(UnitError):
    """The unit no longer knows of an action that it had begun."""


@dataclass(frozen=True, slots=True)
class ActionStatus:
    """How an action stands.

    Attributes:
        state: pending, running, completed or failed.
        output: what came of it, as the unit has it.
        error: why it failed, in words; "" for no reason.
        status_request: what to ask to hear more; None where there is no more to hear.
    """

    state: str
    output: Json = None
    error: str = ""
    status_request: Request | None = None


@dataclass(frozen=True, slots=True)
class Invoked:
    """An action that was invoked.

    Attributes:
        name: the unit's own name for it.
        status: how it stood when the unit answered.
        options: what lets us in, to ask for its status.
    """

    name: str
    status: ActionStatus
    options: Options = ()


def first_status(thing: Thing, request: Request, answer: Answer) -> ActionStatus:
    """Return how an action stands by the answer to its request.

    What the unit says beside "it began" is taken as far as it can be read: the action may be running.

    Raises:
        UnitError: the address of its status is none.
    """
    said = _said(answer, thing.subject)
    if answer.status != _CREATED:
        return ActionStatus("completed", said)
    envelope = as_object(said)
    location = answer.headers.get("location") or envelope.get("href")
    more = status_request(thing, request, location) if isinstance(location, str) else None
    return _status(envelope, more) or ActionStatus("pending", status_request=more)


def next_status(answer: Answer, asked: Request, subject: str) -> ActionStatus:
    """Return how an action stands by the answer to a request for its status.

    Raises:
        UnitError: the answer is no ActionStatus.
    """
    status = _status(as_object(parse_json(answer.body, subject=subject)), asked)
    if status is None:
        raise UnitError(
            "it doesn't say how the action stands.",
            subject=subject,
            stands="The action may be running.",
            next_step="Read the unit to see what came of it.",
        )
    return status


def gone(name: str, subject: str) -> StatusGoneError:
    """Return the error for a status that the unit no longer has."""
    return StatusGoneError(
        f"it no longer knows how {name!r} stands; it may have restarted meanwhile.",
        subject=subject,
        stands="Whether the action was completed isn't known from this.",
        next_step="Read the unit to see what came of it.",
    )


def _status(envelope: Mapping[str, Json], asked: Request | None) -> ActionStatus | None:
    # Drafts of WoT Profiles have had both names for it.
    named = (envelope.get(key) for key in ("state", "status"))
    state = next((word for word in named if isinstance(word, str) and word in _STATES), None)
    if state is None:
        return None
    over = state in {"completed", "failed"}
    return ActionStatus(
        state, envelope.get("output"), _reason(envelope.get("error")), None if over else asked
    )


def _reason(error: Json) -> str:
    if isinstance(error, str):
        return plain_text(error)
    words = [as_object(error).get(key) for key in ("title", "detail")]
    return plain_text(": ".join(word for word in words if isinstance(word, str) and word))


def _said(answer: Answer, subject: str) -> Json:
    """Return an answer's JSON; None for none, as an action may answer anything once it was done."""
    try:
        return parse_json(answer.body, subject=subject) if answer.body else None
    except UnitError:
        return None
