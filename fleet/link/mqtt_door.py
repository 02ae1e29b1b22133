"""Being let in by a broker: the version of the protocol, the certificate, and when a try is given up.

1. MQTT 5 is tried first. A broker that refuses that version, or breaks off before it answered at all, is
   tried with 3.1.1; one that has once spoken 5 is held to it unless it refuses.
2. Over TLS the certificate is held against what is known before name and password go out. The first one
   that a broker shows is trusted and kept.
3. All of it together has one limit; a broker that says nothing isn't asked a second time.
"""

import asyncio
import socket
from dataclasses import dataclass

from fleet.link import mqtt_words as words
from fleet.link.mqtt_client import Deliver, MqttClient, NotAcceptedError, Version
from fleet.link.mqtt_framing import BoundedSocket
from fleet.link.mqtt_limits import BrokerLimits
from fleet.link.mqtt_opening import BrokerAddress, fingerprint_of, open_socket
from fleet.link.pinning import CertificateChangedError, Pinning
from fleet.model.credentials import Credential

_WHY = {
    False: "nothing answers at its address",
    True: "nothing answers there, or nothing that speaks TLS",
}


@dataclass(frozen=True, slots=True)
class Door:
    """Opens connections to one broker.

    Attributes:
        address: the broker's.
        pinning: holds its certificate against what is known.
        limits: bounds on the waits.
        deliver: takes the messages of every connection.
    """

    address: BrokerAddress
    pinning: Pinning
    limits: BrokerLimits
    deliver: Deliver

    async def open(
        self, spoken: Version | None, credential: Credential | None
    ) -> MqttClient | NotAcceptedError | words.Trouble:
        """Make one try.

        Args:
            spoken: the version that it spoke last; None at first.
            credential: what lets us in, or None.

        Returns:
            The connection; or the broker's refusal, or why there is none.
        """
        first = spoken or Version.V5
        try:
            async with asyncio.timeout(self.limits.ready_s):
                outcome = await self._open_in(first, credential)
                if first is Version.V5 and _wants_older(outcome, known=spoken is not None):
                    outcome = await self._open_in(Version.V311, credential)
                return outcome
        except TimeoutError:
            return words.gone(self.address.origin, "it said nothing in time")

    async def _open_in(
        self, version: Version, credential: Credential | None
    ) -> MqttClient | NotAcceptedError | words.Trouble:
        try:
            connected = await open_socket(self.address)
        except OSError:
            return words.gone(self.address.origin, _WHY[self.address.secure])
        bounded = BoundedSocket(connected, self.limits.packet_bytes)
        if self.address.secure and (unknown := self._other_certificate(connected)):
            bounded.close()
            return unknown
        client = MqttClient(bounded, self.address, version, credential, self.limits, self.deliver)
        try:
            await client.open()
        except NotAcceptedError as refused:
            await client.end()
            return refused
        except BaseException:
            await client.end()
            raise
        return client

    def _other_certificate(self, connected: socket.socket) -> words.Trouble | None:
        """Hold the certificate against what is known; keep it where nothing is."""
        shown, key = fingerprint_of(connected), self.address.origin
        try:
            self.pinning.hold((key,), shown, key)
        except CertificateChangedError:
            return words.changed(key, lambda subject: self.pinning.hold((key,), shown, subject))
        return None


def _wants_older(outcome: MqttClient | NotAcceptedError | words.Trouble, *, known: bool) -> bool:
    """Say whether a broker refused because of the version, as far as that can be told."""
    if not isinstance(outcome, NotAcceptedError):
        return False
    return words.is_wrong_version(outcome.code) or (outcome.code is None and not known)
