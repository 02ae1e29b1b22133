"""Why no unit is heard, judged from what trying brought to light (see `trying` for how it is tried).

The causes look alike from the ladder and need different hands. What tells them apart, in this order:

1. heard            something is heard: nothing to look for.
2. no network       no interface is up, or nobody on the network answers, not even its gateway.
3. wrong interface  units are heard on another interface, or known ones answer in another's network.
4. own firewall     our own question, sent to everybody, doesn't come back to a listener beside it.
5. not passed on    machines answer a question put to them alone, or by TCP, and not one put to everybody.
6. kept apart       known units don't answer, nor does any neighbour, while the gateway does.
7. no units         others are heard and no unit is; or nothing speaks for any of the causes above.

Where two causes would look the same by these trials, the sentence says so, and `tried` shows the figures.
"""

from collections.abc import Collection

from fleet.discovery.tried import Answer, Trials, told_of
from fleet.model.meeting import Diagnosis, Obstacle


def judge(trials: Trials) -> Diagnosis:
    """Return the cause that the trials show, with its figures and what to do."""
    for rule in (_heard, _no_network, _wrong_interface, _firewall, _not_passed_on, _kept_apart):
        found = rule(trials)
        if found is not None:
            obstacle, reason, next_step = found
            return Diagnosis(obstacle, reason, next_step, tuple(told_of(trials)))
    reason, next_step = _no_units(trials)
    return Diagnosis(Obstacle.NO_UNITS, reason, next_step, tuple(told_of(trials)))


_LET_THROUGH = (
    "Let the access point or switch pass multicast on (224.0.0.251, UDP port 5353), "
    "or add units by address."
)

_Found = tuple[Obstacle, str, str] | None


def _heard(trials: Trials) -> _Found:
    if trials.heard:
        reason = f"{_units(trials.heard)} heard on {_choice(trials)}."
        return Obstacle.NONE, reason, "Nothing needs to be done."
    units = sum(each.units for each in trials.ours if each.others)
    if units:
        reason = f"{_units(units)} heard on {_choice(trials)} when asked once more."
        return Obstacle.NONE, reason, "Scan again."
    return None


def _no_network(trials: Trials) -> _Found:
    outside = [each for each in trials.up if not each.loopback]
    wants_loopback = any(each.name in trials.chosen_names for each in trials.up if each.loopback)
    if not outside and not (wants_loopback and trials.chosen):
        return (
            Obstacle.NO_NETWORK,
            "No interface of this machine is up and has an address.",
            "Plug the cable in or join the units' Wi-Fi, and try again.",
        )
    if trials.gateway_there is False and not trials.somebody and trials.echo:
        return (
            Obstacle.NO_NETWORK,
            f"{_choice(trials)} is up, and nobody answers on it, not even the gateway {trials.gateway}.",
            "Look at the cable, the switch and the Wi-Fi that was joined.",
        )
    return None


def _wrong_interface(trials: Trials) -> _Found:
    step = "Choose {} to listen on, and try again."
    names = sorted({each.name for each in trials.up if not each.loopback})
    if not trials.chosen_names:
        reason = f"{trials.chosen} isn't up on this machine; {', '.join(names)} is."
        return Obstacle.WRONG_INTERFACE, reason, step.format(" or ".join(names))
    for hearing in trials.elsewhere:
        if hearing.units:
            reason = (
                f"{_units(hearing.units)} heard on {hearing.interface}, none on {_choice(trials)}."
            )
            return Obstacle.WRONG_INTERFACE, reason, step.format(hearing.interface)
    if any(each.behind in trials.chosen_names for each in trials.known):
        return None
    behind = [each for each in trials.known if each.behind]
    if not behind:
        return None
    there = sum(each.answer is not Answer.NOTHING for each in behind)
    reason = (
        f"{len(behind)} of {len(trials.known)} known units lie in the network of {behind[0].behind}, "
        f"none in that of {_choice(trials)}; {there} of them answered."
    )
    return Obstacle.WRONG_INTERFACE, reason, step.format(behind[0].behind)


def _firewall(trials: Trials) -> _Found:
    deaf = [each.interface for each in trials.ours if each.asked and not each.echo]
    if not deaf or trials.echo or trials.others:
        return None
    return (
        Obstacle.OWN_FIREWALL,
        f"A question that this machine sent to everybody on {', '.join(deaf)} didn't come back to itself.",
        "Let UDP port 5353 in through this machine's firewall.",
    )


def _not_passed_on(trials: Trials) -> _Found:
    if trials.others or not trials.echo:
        return None
    here = [each for each in trials.reached if each.behind in trials.chosen_names]
    nobody = "nobody is heard through multicast."
    if here:
        reason = f"{len(here)} of {_known(trials)} answer at their address, and {nobody}"
        return Obstacle.MULTICAST_BLOCKED, reason, _LET_THROUGH
    if trials.alone:
        reason = f"{_machines(trials.alone)} answered this machine alone, and {nobody}"
        return Obstacle.MULTICAST_BLOCKED, reason, _LET_THROUGH
    if trials.reached:
        reason = (
            f"{len(trials.reached)} of {_known(trials)} answer from another network than that of "
            f"{_choice(trials)}; what they say to everybody stays there."
        )
        return Obstacle.MULTICAST_BLOCKED, reason, "Join their network, or add units by address."
    return None


def _kept_apart(trials: Trials) -> _Found:
    silent = [each for each in trials.known if each.behind in trials.chosen_names]
    if not silent or trials.somebody or not trials.gateway_there or not trials.echo:
        return None
    reason = (
        f"The gateway {trials.gateway} answers; of {_known(trials)} none does, nor any neighbour. "
        "Units without power would look the same: a glance at one tells."
    )
    step = "Join a network that isn't for guests, or have its client isolation turned off."
    return Obstacle.ISOLATED, reason, step


def _no_units(trials: Trials) -> tuple[str, str]:
    """Return what is left to say where no other cause shows, and what can't be told apart by it."""
    power = "See whether the units have power and are on this network."
    if trials.others and trials.reached:
        reason = (
            f"{_machines_are(trials.others)} heard, and {len(trials.reached)} of {_known(trials)} answer "
            "at their address, but none advertises itself."
        )
        return reason, "Add these units by address; restarting one may bring its advert back."
    if trials.others:
        return (
            f"{_machines_are(trials.others)} heard on {_choice(trials)}, and none of them is a unit.",
            power,
        )
    if not any(each.asked for each in trials.ours):
        reason = f"Nothing could be asked on {_choice(trials)}: {_first_reason(trials)}."
        return reason, "Choose another interface, or add a unit by address."
    if trials.known and trials.neighbours:
        reason = (
            f"Of {_known(trials)} none answers, while {_machines(trials.neighbours)} of this network can "
            "be reached. Some access points answer in the name of those that they keep apart."
        )
        return reason, power
    if trials.known:
        reason = (
            f"Of {_known(trials)} none answers, nobody else does, and no gateway is known to compare with. "
            "Units without power and a network that keeps its guests apart can't be told apart so."
        )
        return reason, power
    reason = (
        f"Nobody is heard on {_choice(trials)}, and no unit is known that could be asked at its address. "
        "Whether there is none, or the network keeps it from being heard, can't be told apart so."
    )
    return reason, "Add one unit by address and try again: then it can."


def _first_reason(trials: Trials) -> str:
    return next((each.reason for each in trials.ours if each.reason), "no interface is open")


def _choice(trials: Trials) -> str:
    return ", ".join(sorted(trials.chosen_names)) or trials.chosen or "any interface"


def _units(count: int) -> str:
    return "1 unit is" if count == 1 else f"{count} units are"


def _known(trials: Trials) -> str:
    return "1 known unit" if len(trials.known) == 1 else f"{len(trials.known)} known units"


def _machines(addresses: Collection[str]) -> str:
    return "1 other machine" if len(addresses) == 1 else f"{len(addresses)} other machines"


def _machines_are(addresses: Collection[str]) -> str:
    return f"{_machines(addresses)} {'is' if len(addresses) == 1 else 'are'}"
