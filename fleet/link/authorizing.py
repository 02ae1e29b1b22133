"""Being let into a unit.

1. Of the options that a description offers, the first is taken that can be served with what is kept; one
   that needs nothing is such an option. A way in that the description doesn't name is followed only
   where it names none at all, and then as the unit's own challenge says.
2. A secret goes to the description's origin alone, and on https only after the certificate was held
   (`fleet.link.asking` sees to both). It is in no message, no representation and no address shown.
3. A secret that whoever gets it can read is sent only where it is kept for that very origin or certificate:
   an id proves nothing (`fleet.link.own_secrets`). One that is kept under the id is told, so that a
   person can say that this is the unit.
4. A secret that was refused isn't tried again until another is kept or a person says so: units lock
   themselves after a few wrong ones. The one exception is a digest whose nonce had worked before:
   a unit that restarted has forgotten it, so the password is tried once more with a new one.
5. A unit that says that it is locked is left alone for as long as it says.
"""

import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from yarl import URL

from fleet.description.problems import problem_sentence
from fleet.description.requests import Request
from fleet.description.security import SecurityOption, SecurityScheme
from fleet.description.texts import plain_text
from fleet.link.challenges import Challenge, read_challenges
from fleet.link.digest import Sent, answerable, digest_answer
from fleet.link.own_secrets import OwnSecrets
from fleet.link.refusals import LockedError, Refusals
from fleet.link.ways_in import (
    WITH_NAME,
    closed_schemes,
    hold_sendable,
    is_served,
    secret_kinds,
    with_header,
    with_secret,
)
from fleet.model.credentials import Credential, CredentialSource
from fleet.model.errors import UnitError

UNAUTHORIZED, FORBIDDEN, TOO_MANY = 401, 403, 429
AT_THE_DOOR = frozenset({UNAUTHORIZED, FORBIDDEN, TOO_MANY})
MOST_TRIES = 3  # without anything, with a digest, and once more with a new nonce
_LONGEST_LOCK_S = 3600
_UNSAID_LOCK_S = 60  # where a unit doesn't say for how long it is locked
_MOST_DIGITS = 6


@dataclass(frozen=True, slots=True, repr=False)
class SecretRequest(Request):
    """A request with a secret in it, which its representation doesn't show."""

    def __repr__(self) -> str:
        """Show the method alone."""
        return f"SecretRequest({self.method})"


@dataclass(frozen=True, slots=True)
class Attempt:
    """A request as it goes out.

    Attributes:
        request: with what lets it in.
        bare: the same without.
        kinds: the ways in that it takes; none where nothing is asked for, so far.
        credential: what it carries, None for nothing.
        known_nonce: a digest whose nonce had worked before.
    """

    request: Request
    bare: Request
    kinds: tuple[str, ...] = ()
    credential: Credential | None = None
    known_nonce: bool = False


@dataclass(frozen=True, slots=True)
class TurnedAway:
    """An answer 401, 403 or 429.

    Attributes:
        status: which.
        challenges: of its WWW-Authenticate headers.
        retry_s: its Retry-After, 0 where it says none.
        said: the refusal in words.
    """

    status: int
    challenges: tuple[Challenge, ...]
    retry_s: int
    said: str


def turned_away(
    status: int, headers: Mapping[str, str], challenges: Sequence[str], body: bytes
) -> TurnedAway:
    """Return an answer as what it means at the door.

    Args:
        status, headers, body: of the answer; names of headers in lower case.
        challenges: each WWW-Authenticate header of its own.
    """
    said = problem_sentence(status, headers.get("content-type", ""), body)
    retry_s = _seconds(headers.get("retry-after", "").strip())
    return TurnedAway(status, read_challenges(challenges), retry_s, said)


class Entry:
    """The way into one unit.

    Attributes:
        subject: how the unit is named in messages.
    """

    def __init__(
        self, source: CredentialSource | None, refusals: Refusals, origin: str, subject: str
    ) -> None:
        """Start outside, at an origin."""
        self.subject = subject
        self._secrets = OwnSecrets(source, origin)
        self._refusals = refusals
        self._challenged: SecurityOption = ()
        self._digest: Challenge | None = None
        self._digest_count = 0
        self._worked_with: Credential | None = None

    @property
    def keys(self) -> tuple[str, ...]:
        """What its secret may be kept under: its id, its certificate, and last its origin."""
        return self._secrets.keys

    @property
    def named_by(self) -> tuple[str, ...]:
        """What its certificate is known under: its id, where it has said one, and last its origin."""
        return tuple(key for key in (self._secrets.id, self._secrets.origin) if key)

    def take_certificate(self, sha256: str) -> None:
        """Take up the certificate that it was held to, by its fingerprint, hex."""
        self._secrets.take_certificate(sha256)

    def take_up(self, subject: str, said_id: str) -> None:
        """Take up how the unit's description names it, and the id that it gives; "" for none."""
        self.subject = subject
        self._secrets.take_id(said_id)

    def attempt(self, request: Request, options: Sequence[SecurityOption]) -> Attempt:
        """Return a request with what lets it in.

        Args:
            request: without any secret.
            options: of its form; none named means that the unit's own challenge decides.

        Raises:
            LockedError: a secret is wanted and none is kept, or the one that is was refused.
            PlanError: the secret can't be sent in the way that is asked for.
            UnitError: none of the ways in can be served.
        """
        option = self._chosen(options)
        if not closed_schemes(option):
            return Attempt(request, request)
        kinds = secret_kinds((option,))
        credential = self._secrets.credential_for(kinds)
        if credential is None:
            raise self._wanted(secret_kinds(options) or kinds)
        self._hold_usable(credential, request, kinds)
        return self._carrying(request, credential, closed_schemes(option), kinds)

    def let_in(self, attempt: Attempt) -> None:
        """Note that an attempt wasn't turned away."""
        self._worked_with = attempt.credential or self._worked_with

    def may_try_again(
        self, attempt: Attempt, options: Sequence[SecurityOption], away: TurnedAway
    ) -> bool:
        """Judge an answer 401, 403 or 429.

        Returns:
            True to send the request once more; False if the answer has nothing to do with the door.

        Raises:
            LockedError: a secret is wanted, or was refused.
            UnitError: the unit wants to be asked in a way that isn't served.
        """
        if away.status == UNAUTHORIZED:
            return self._unauthorized(attempt, options, away)
        if away.status == FORBIDDEN:
            return self._forbidden(attempt, options, away)
        return self._too_many(attempt, options, away)

    def _chosen(self, options: Sequence[SecurityOption]) -> SecurityOption:
        if not _asks_for_secret(options):
            return self._challenged
        served = [option for option in options if option and is_served(option)]
        if self._challenged:  # what needs nothing was tried and didn't do
            served = [option for option in served if closed_schemes(option)]
        if not served:
            raise self._not_served(options)
        return min(served, key=self._secrets.unfitness)

    def _hold_usable(
        self, credential: Credential, request: Request, kinds: tuple[str, ...]
    ) -> None:
        if self._refusals.is_locked(self.keys):
            raise self._locked("it is still locked after wrong passwords.", kinds, kinds)
        if self._refusals.is_refused(self.keys, credential, _name_of(request)):
            raise self._locked("it refused what is kept for it.", kinds, kinds)

    def _carrying(
        self,
        request: Request,
        credential: Credential,
        schemes: Sequence[SecurityScheme],
        kinds: tuple[str, ...],
    ) -> Attempt:
        sent: Request = SecretRequest(request.method, request.url, request.headers, request.body)
        sends = len(schemes)
        for scheme in schemes:
            if scheme.kind != "digest":
                sent = with_secret(sent, credential, scheme, self.subject)
            elif self._digest is not None:
                sent = self._with_digest(sent, credential, self._digest)
            else:
                sends -= 1  # the unit has to challenge first
        known = self._digest is not None and self._worked_with == credential
        return Attempt(sent, request, kinds, credential if sends else None, known)

    def _with_digest(
        self, request: Request, credential: Credential, challenge: Challenge
    ) -> Request:
        hold_sendable(credential, self.subject)
        self._digest_count += 1
        target = URL(request.url).raw_path_qs  # as the client writes it
        answer = digest_answer(
            challenge,
            credential,
            Sent(request.method, target, request.body or b""),
            count=self._digest_count,
            client_nonce=secrets.token_hex(16),
        )
        return with_header(request, "Authorization", answer)

    def _unauthorized(
        self, attempt: Attempt, options: Sequence[SecurityOption], away: TurnedAway
    ) -> bool:
        if attempt.credential is None:
            return self._challenged_by(options, away)
        if self._takes_new_nonce(attempt, away):
            return True
        self._refusals.refuse(self.keys, attempt.credential)
        what = f"it refused what is kept for it: {away.said}"
        raise self._locked(what, self._kinds(options), attempt.kinds)

    def _challenged_by(self, options: Sequence[SecurityOption], away: TurnedAway) -> bool:
        """Follow the challenge to a request that carried nothing."""
        kinds = _kinds_of(away.challenges)
        if _asks_for_secret(options):
            kinds = tuple(kind for kind in kinds if kind in secret_kinds(options))
        if not kinds:
            raise UnitError(
                f"it lets nobody in, and asks for nothing that is served here: {away.said}",
                subject=self.subject,
            )
        offered = [(SecurityScheme("challenge", kind),) for kind in kinds]
        fitting = min(offered, key=self._secrets.unfitness)
        if self._secrets.credential_for(secret_kinds((fitting,))) is None:
            raise self._wanted(kinds)
        self._challenged = fitting
        self._digest, self._digest_count = answerable(away.challenges), 0
        return True

    def _takes_new_nonce(self, attempt: Attempt, away: TurnedAway) -> bool:
        fresh = answerable(away.challenges)
        if self._digest is None or fresh is None:
            return False
        stale = fresh.parameters.get("stale", "").lower() == "true"
        if not (stale or attempt.known_nonce):
            return False
        self._digest, self._digest_count, self._worked_with = fresh, 0, None
        return True

    def _forbidden(
        self, attempt: Attempt, options: Sequence[SecurityOption], away: TurnedAway
    ) -> bool:
        kinds = self._kinds(options)
        if not kinds:
            return False
        if attempt.credential is None:
            raise self._wanted(kinds)
        self._refusals.refuse(self.keys, attempt.credential, _name_of(attempt.bare))
        what = f"it doesn't allow that with what is kept for it: {away.said}"
        raise self._locked(what, kinds, attempt.kinds)

    def _too_many(
        self, attempt: Attempt, options: Sequence[SecurityOption], away: TurnedAway
    ) -> bool:
        if not self._was_wrong(attempt):
            return False  # asked too often, nothing more
        self._refusals.lock(self.keys, away.retry_s or _UNSAID_LOCK_S)
        how_long = f" for {away.retry_s} s" if away.retry_s else ""
        what = f"it is locked{how_long} after wrong passwords: {away.said}"
        raise self._locked(what, self._kinds(options), attempt.kinds)

    def _was_wrong(self, attempt: Attempt) -> bool:
        """Say whether a secret of ours can be what a unit locked itself for."""
        if attempt.credential is not None:
            return attempt.credential != self._worked_with
        return any(
            one != self._worked_with and self._refusals.is_refused(self.keys, one)
            for one in self._secrets.all()
        )

    def _kinds(self, options: Sequence[SecurityOption]) -> tuple[str, ...]:
        return secret_kinds(options) or secret_kinds((self._challenged,))

    def _locked(self, what: str, kinds: tuple[str, ...], taken: tuple[str, ...]) -> LockedError:
        """Word a refusal; another secret is wanted for the ways that were taken, if any were."""
        key = self._secrets.key_for(taken or kinds)
        return LockedError(what, subject=self.subject, key=key, kinds=kinds, refused=True)

    def _wanted(self, kinds: tuple[str, ...]) -> LockedError:
        thing = "password" if set(kinds) & WITH_NAME else "token or key"
        elsewhere = self._secrets.held_back(kinds)
        why = (
            "the one kept for it wasn't for this address; whoever answers here could read it"
            if elsewhere
            else "none is kept"
        )
        return LockedError(
            f"it wants a {thing}, and {why}.",
            subject=self.subject,
            key=self._secrets.key_for(kinds),
            kinds=kinds,
            refused=False,
            kept_under=elsewhere,
            keys=self.keys,
        )

    def _not_served(self, options: Sequence[SecurityOption]) -> UnitError:
        named = sorted({f"{one.kind} in {one.where}" for option in options for one in option})
        return UnitError(
            f"its description offers no way in that is served here, only {plain_text(', '.join(named))}.",
            subject=self.subject,
            stands="Nothing was sent to it.",
        )


def _asks_for_secret(options: Sequence[SecurityOption]) -> bool:
    return any(closed_schemes(option) for option in options)


def _kinds_of(challenges: Sequence[Challenge]) -> tuple[str, ...]:
    """Return the kinds that challenges ask for and that can be served, digest before basic."""
    digest = answerable(challenges) is not None
    offered = {one.kind for one in challenges}
    return ("digest",) * digest + tuple(one for one in ("basic", "bearer") if one in offered)


def _name_of(request: Request) -> str:
    return f"{request.method} {request.url}"


def _seconds(retry_after: str) -> int:
    """Return a Retry-After in seconds; 0 for none, or for a date, as a unit's clock may be wrong."""
    if not retry_after.isdecimal() or len(retry_after) > _MOST_DIGITS:
        return 0
    return min(int(retry_after), _LONGEST_LOCK_S)
