"""Small networks of our own in network namespaces (ip-netns(8)): a switch, and machines on it.

A namespace is a whole network stack: nothing that happens in one is seen outside. The network is one of
those that RFC 5737 keeps for examples.
"""

import contextlib
import functools
import itertools
import os
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
NETWORK = "198.51.100"
_numbers = itertools.count()


@dataclass(frozen=True)
class Machine:
    """A namespace with an interface `eth0` on the switch's port `port`."""

    namespace: str
    switch: str
    port: str
    address: str

    def run(self, *command: str) -> str:
        """Run a command in here and return what it printed."""
        return _run("ip", "netns", "exec", self.namespace, *command)

    def start(self, script: str, *arguments: str) -> subprocess.Popen[str]:
        """Start one of our scripts in here."""
        return subprocess.Popen(
            ["ip", "netns", "exec", self.namespace, sys.executable, "-m", script, *arguments],
            cwd=ROOT,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def link_local(self) -> str:
        """Return the link-local IPv6 address of `eth0`."""
        said = self.run("ip", "-6", "-o", "addr", "show", "dev", "eth0", "scope", "link")
        return said.split()[3].partition("/")[0]

    def on_port(self, *options: str) -> None:
        """Set options of the switch's port that leads here."""
        _run("bridge", "-n", self.switch, "link", "set", "dev", self.port, *options)


@contextlib.contextmanager
def network() -> Iterator["Network"]:
    """Make a network, and take all of it down in the end."""
    made = Network(f"wd{os.getpid()}n{next(_numbers)}")
    try:
        made.begin()
        yield made
    finally:
        made.end()


class Network:
    """A switch and the machines on it."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._namespaces: list[str] = []
        self._running: list[subprocess.Popen[str]] = []

    def begin(self) -> None:
        """Make the switch."""
        self._namespace("sw")
        _run("ip", "-n", f"{self._name}sw", "link", "add", "br0", "type", "bridge")
        _run("ip", "-n", f"{self._name}sw", "link", "set", "br0", "up")

    def machine(self, number: int, *, address: bool = True) -> Machine:
        """Put a machine on the switch, with the address of a number."""
        namespace, switch, port = f"{self._name}m{number}", f"{self._name}sw", f"p{number}"
        self._namespace(f"m{number}")
        _run(
            "ip",
            "netns",
            "exec",
            namespace,
            "sh",
            "-c",
            "echo 0 >/proc/sys/net/ipv6/conf/default/accept_dad",
        )
        _run(
            "ip",
            "link",
            "add",
            "eth0",
            "netns",
            namespace,
            "type",
            "veth",
            "peer",
            "name",
            port,
            "netns",
            switch,
        )
        _run("ip", "-n", switch, "link", "set", port, "master", "br0", "up")
        machine = Machine(namespace, switch, port, f"{NETWORK}.{number}")
        if address:
            _run("ip", "-n", namespace, "addr", "add", f"{machine.address}/24", "dev", "eth0")
        _run("ip", "-n", namespace, "link", "set", "eth0", "up")
        return machine

    def unit(self, number: int, *options: str) -> Machine:
        """Put a unit on the switch: it advertises itself and answers by TCP."""
        machine = self.machine(number)
        self.advertise(machine, f"unit-{number}._wot._tcp", machine.address, *options)
        return machine

    def advertise(self, machine: Machine, *arguments: str) -> subprocess.Popen[str]:
        """Let a machine say something until the end, and wait until it has."""
        running = self.started(machine, "tests.faults.networked_unit", *arguments)
        assert running.stdout.readline() == "ready\n"
        return running

    def started(self, machine: Machine, script: str, *arguments: str) -> subprocess.Popen[str]:
        """Start a script that goes on until its input ends, which is in the end."""
        running = machine.start(script, *arguments)
        self._running.append(running)
        return running

    def end(self) -> None:
        """End what runs, then take the namespaces down."""
        for running in self._running:
            running.stdin.close()
            running.wait(20)
            running.stdout.close()
        for namespace in self._namespaces:
            subprocess.run(["ip", "netns", "del", namespace], check=False)

    def _namespace(self, suffix: str) -> None:
        _run("ip", "netns", "add", self._name + suffix)
        self._namespaces.append(self._name + suffix)
        _run("ip", "-n", self._name + suffix, "link", "set", "lo", "up")


@functools.cache
def obstacle_to_networks() -> str:
    """Return why no network of our own can be made here, "" where it can."""
    if sys.platform != "linux" or os.geteuid() != 0:
        return "network namespaces are made by root on Linux alone"
    try:
        with network() as made:
            made.machine(2)
    except (OSError, subprocess.CalledProcessError) as reason:
        return f"no network namespace can be made here: {reason}"
    return ""


def _run(*command: str) -> str:
    return subprocess.run(command, check=True, capture_output=True, text=True, cwd=ROOT).stdout
