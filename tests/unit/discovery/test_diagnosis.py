"""The table of causes: what the trials brought, and what is made of it."""

from dataclasses import replace

import pytest

from fleet.discovery.diagnosis import judge
from fleet.discovery.tried import Answer, Hearing, Known, Trials
from fleet.model.meeting import Interface, Obstacle

WIRED = Interface("eth0", "198.51.100.2", "198.51.100.0/24")
WIRELESS = Interface("wlan0", "203.0.113.2", "203.0.113.0/24")
LOOPBACK = Interface("lo", "127.0.0.1", "127.0.0.0/8", loopback=True)

QUIET = Hearing("eth0")
DEAF = Hearing("eth0", echo=False)
CROWD = Hearing("eth0", others=frozenset({"198.51.100.8", "198.51.100.9"}))
UNITS_ALONE = Hearing("eth0", alone=frozenset({"198.51.100.11"}), units=1)
MUTE = Hearing("eth0", asked=False, echo=False, reason="Operation not permitted")

SILENT = Known("http://198.51.100.11/td", "eth0", Answer.NOTHING)
ANSWERS = replace(SILENT, answer=Answer.ANSWERS)
REFUSES = replace(SILENT, answer=Answer.REFUSES)
ROUTED = Known("http://10.9.9.9/td", "", Answer.ANSWERS)
ELSEWHERE = Known("http://203.0.113.11/td", "wlan0", Answer.ANSWERS)
ELSEWHERE_SILENT = replace(ELSEWHERE, answer=Answer.NOTHING)

BASE = Trials(
    chosen="198.51.100.2",
    chosen_names=frozenset({"eth0"}),
    up=(WIRED, WIRELESS, LOOPBACK),
    hearings=(QUIET,),
    gateway="198.51.100.1",
    gateway_there=True,
)
NOBODY_CHOSEN = frozenset()
ON_WIRELESS = Hearing("wlan0", units=2)
NO_GATEWAY = {"gateway": "", "gateway_there": None}
NEIGHBOUR = frozenset({"198.51.100.7"})


@pytest.mark.parametrize(
    ("changes", "obstacle", "words"),
    [
        ({"heard": 3}, Obstacle.NONE, "3 units are heard on eth0"),
        ({"hearings": (replace(CROWD, units=1),)}, Obstacle.NONE, "when asked once more"),
        ({"up": (), "chosen_names": NOBODY_CHOSEN}, Obstacle.NO_NETWORK, "No interface"),
        ({"up": (LOOPBACK,), "chosen_names": NOBODY_CHOSEN}, Obstacle.NO_NETWORK, "No interface"),
        ({"gateway_there": False}, Obstacle.NO_NETWORK, "not even the gateway 198.51.100.1"),
        ({"chosen_names": NOBODY_CHOSEN}, Obstacle.WRONG_INTERFACE, "198.51.100.2 isn't up"),
        ({"hearings": (QUIET, ON_WIRELESS)}, Obstacle.WRONG_INTERFACE, "2 units are heard on wlan0"),
        ({"known": (ELSEWHERE,)}, Obstacle.WRONG_INTERFACE, "1 of them answered"),
        ({"known": (ELSEWHERE_SILENT,)}, Obstacle.WRONG_INTERFACE, "0 of them answered"),
        ({"hearings": (DEAF,), "known": (SILENT,)}, Obstacle.OWN_FIREWALL, "eth0"),
        ({"hearings": (DEAF,), "known": (ANSWERS,)}, Obstacle.OWN_FIREWALL, "eth0"),
        ({"hearings": (DEAF,), "gateway_there": False}, Obstacle.OWN_FIREWALL, "eth0"),
        ({"known": (ANSWERS, SILENT)}, Obstacle.MULTICAST_BLOCKED, "1 of 2 known units"),
        ({"known": (REFUSES,)}, Obstacle.MULTICAST_BLOCKED, "1 of 1 known unit"),
        ({"hearings": (UNITS_ALONE,)}, Obstacle.MULTICAST_BLOCKED, "answered this machine alone"),
        ({"known": (ROUTED,)}, Obstacle.MULTICAST_BLOCKED, "from another network"),
        ({"known": (SILENT,)}, Obstacle.ISOLATED, "Units without power would look the same"),
        ({"known": (SILENT,), "neighbours": NEIGHBOUR}, Obstacle.NO_UNITS, "can be reached"),
        ({"known": (SILENT,), **NO_GATEWAY}, Obstacle.NO_UNITS, "no gateway is known"),
        ({"known": (SILENT,), "hearings": (CROWD,)}, Obstacle.NO_UNITS, "2 other machines are heard"),
        ({"known": (ANSWERS,), "hearings": (CROWD,)}, Obstacle.NO_UNITS, "none advertises itself"),
        ({"hearings": (MUTE,)}, Obstacle.NO_UNITS, "Operation not permitted"),
        ({"hearings": ()}, Obstacle.NO_UNITS, "no interface is open"),
        ({}, Obstacle.NO_UNITS, "can't be told apart"),
    ],
)  # fmt: skip
def test_the_cause_that_the_trials_show(changes, obstacle, words):
    found = judge(replace(BASE, **changes))
    assert found.obstacle is obstacle
    assert words in found.reason
    assert found.next_step.endswith(".")


def test_loopback_that_was_chosen_is_a_network():
    trials = replace(BASE, chosen="lo", chosen_names=frozenset({"lo"}), up=(LOOPBACK,), gateway="")
    assert judge(trials).obstacle is Obstacle.NO_UNITS


def test_everything_that_was_tried_is_told():
    trials = replace(
        BASE,
        hearings=(CROWD, replace(MUTE, interface="wlan0")),
        known=(SILENT, ROUTED),
        neighbours=frozenset(f"198.51.100.{n}" for n in range(30, 37)),
    )
    told = judge(trials).tried
    assert told[0] == "Interfaces that are up: eth0 198.51.100.2, wlan0 203.0.113.2, lo 127.0.0.1."
    assert "heard through multicast: 198.51.100.8, 198.51.100.9" in told[1]
    assert told[2] == "wlan0: couldn't ask everybody (Operation not permitted)."
    assert told[3] == "http://198.51.100.11/td, in the network of eth0: doesn't answer."
    assert told[4] == "http://10.9.9.9/td, in no network of this machine: answers."
    assert told[5] == "Gateway 198.51.100.1: answers."
    assert told[6].endswith("and 2 more.")


@pytest.mark.parametrize(("there", "said"), [(False, "doesn't answer"), (None, "can't be told")])
def test_a_gateway_that_does_not_answer_and_one_that_can_not_be_judged_are_told_apart(there, said):
    told = judge(replace(BASE, gateway_there=there)).tried
    assert said in next(line for line in told if line.startswith("Gateway"))
    assert "Gateway: none is known." in judge(replace(BASE, gateway="")).tried
