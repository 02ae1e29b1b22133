"""Advertise a number of invented units on one loopback address until ended: `… ADDRESS COUNT`."""

import socket
import sys
import threading

from zeroconf import IPVersion, ServiceInfo, Zeroconf


def main(address: str, count: int) -> None:
    zeroconf = Zeroconf(interfaces=[address], ip_version=IPVersion.V4Only)
    for number in range(count):
        info = ServiceInfo(
            "_wot._tcp.local.",
            f"Bench unit {number:03}._wot._tcp.local.",
            addresses=[socket.inet_aton(address)],
            port=20_000 + number,
            properties={"td": f"/units/{number}", "type": "Thing", "scheme": "http"},
            server=f"bench-{number:03}.local.",
        )
        zeroconf.register_service(info, cooperating_responders=True)
    print("ready", flush=True)
    threading.Event().wait()


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
