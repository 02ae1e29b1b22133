"""An invented presence unit served by a general-purpose program that knows nothing of us: `wotpy`.

Runs in the peer's own environment. Listens on loopback alone, prints one line of JSON with the address of
its description, and tells at /asked what it was asked (that is ours; no unit has it).

    python server.py [--host-in-addresses NAME]
"""

import argparse
import asyncio
import json
import sys

import tornado.httpserver
import tornado.netutil
import tornado.web
from wotpy.protocols.http.server import HTTPServer
from wotpy.wot.servient import Servient, TDHandler

REPORT_EVERY_S = 0.25
X = {"@type": "pres:SensorX", "type": "integer", "unit": "qunit:MilliM"}
Y = {"@type": "pres:SensorY", "type": "integer", "unit": "qunit:MilliM"}

FRAME = {
    "@type": "pres:TargetFrame",
    "type": "object",
    "readOnly": True,
    "observable": True,
    "properties": {
        "number": {"@type": "pres:ReportNumber", "type": "integer"},
        "targets": {
            "type": "array",
            "items": {"type": "object", "properties": {"x": X, "y": Y}},
        },
    },
}
ABOUT = {
    "@type": "pres:Identity",
    "type": "object",
    "readOnly": True,
    "observable": False,
    "properties": {
        "serial": {"@type": "pres:SerialNumber", "type": "string"},
        "module": {"@type": "pres:ModuleType", "type": "string"},
    },
}
TUNING = {
    "@type": "pres:Settings",
    "type": "object",
    "readOnly": False,
    "observable": True,
    "properties": {
        "hold": {"@type": "pres:HoldTime", "type": "integer", "minimum": 1, "maximum": 3600},
        "reach": {
            "@type": "pres:MaxDistance",
            "type": "number",
            "unit": "qunit:M",
            "minimum": 0.5,
            "maximum": 6,
        },
    },
    "required": ["hold", "reach"],
}
REGIONS = {
    "@type": "pres:AreaSet",
    "type": "object",
    "readOnly": False,
    "observable": False,
    "properties": {
        "areas": {
            "type": "array",
            "items": {
                "type": "object",
                "properties": {
                    "id": {"@type": "pres:AreaId", "type": "string"},
                    "kind": {
                        "@type": "pres:AreaKind",
                        "type": "string",
                        "enum": ["watch", "ignore"],
                    },
                    "shape": {"type": "string", "const": "rectangle"},
                    "min": {"type": "object", "properties": {"x": X, "y": Y}},
                    "max": {"type": "object", "properties": {"x": X, "y": Y}},
                },
                "required": ["id", "kind", "shape", "min", "max"],
            },
        }
    },
    "required": ["areas"],
}
UNIT = {
    "@context": [
        "https://www.w3.org/2022/wot/td/v1.1",
        {"pres": "https://walkdown.example/presence#", "qunit": "http://qudt.org/vocab/unit/"},
    ],
    "@type": "pres:PresenceUnit",
    "id": "urn:uuid:0c0b3f0a-6d3a-4a57-8f6e-51f6b6a6c0de",
    "title": "invented-unit",
    "security": ["way"],
    "securityDefinitions": {"way": {"scheme": "nosec"}},
    "properties": {"about": ABOUT, "tuning": TUNING, "regions": REGIONS, "frame": FRAME},
    "actions": {
        "blink": {
            "@type": "pres:Identify",
            "input": {
                "type": "object",
                "properties": {"seconds": {"type": "integer", "minimum": 1, "maximum": 60}},
                "required": ["seconds"],
            },
        }
    },
}
HOLDS = {
    "about": {"serial": "WP-0001", "module": "T"},
    "tuning": {"hold": 30, "reach": 4.5},
    "regions": {
        "areas": [
            {
                "id": "1",
                "kind": "watch",
                "shape": "rectangle",
                "min": {"x": -900, "y": 500},
                "max": {"x": 600, "y": 2500},
            }
        ]
    },
    "frame": {"number": 0, "targets": []},
}


class LoopbackServer(HTTPServer):
    """The peer's HTTP server on a free port of loopback, which notes what it is asked."""

    def __init__(self):
        self.sockets = tornado.netutil.bind_sockets(0, "127.0.0.1")
        self.asked = []
        super().__init__(port=self.sockets[0].getsockname()[1])

    async def start(self, servient=None):
        """Listen where the port was taken, and serve the description beside the properties."""
        self._servient = servient
        self.app.add_handlers(
            r".*",
            [
                (r"/asked", Asked, {"asked": self.asked}),
                (r"/(?P<thing_url_name>[^\/]+)", TDHandler, {"servient": servient}),
            ],
        )
        self.app.settings["log_function"] = lambda _: None
        self._server = tornado.httpserver.HTTPServer(self._note)
        self._server.add_sockets(self.sockets)

    def _note(self, request):
        if request.path != "/asked":
            self.asked.append({"method": request.method, "path": request.path})
        return self.app(request)


class Asked(tornado.web.RequestHandler):
    """Tells what was asked so far."""

    def initialize(self, asked):
        self.asked = asked

    def get(self):
        self.write(json.dumps(self.asked))


async def blink(_parameters):
    """Blink, which nobody sees."""


async def main(host):
    """Serve until told to stop."""
    server = LoopbackServer()
    servient = Servient(hostname=host, catalogue_port=None)
    servient.add_server(server)
    unit = (await servient.start()).produce(json.dumps(UNIT))
    for name, value in HOLDS.items():
        await unit.properties[name].write(value)
    unit.set_action_handler("blink", blink)
    unit.expose()
    sys.stdout.write(json.dumps({"url": f"http://127.0.0.1:{server.port}/invented-unit"}) + "\n")
    sys.stdout.flush()
    number = 0
    while True:
        await asyncio.sleep(REPORT_EVERY_S)
        number += 1
        await unit.properties["frame"].write({"number": number, "targets": [{"x": 1, "y": 2400}]})


if __name__ == "__main__":
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--host-in-addresses", default="127.0.0.1")
    asyncio.run(main(asked.parse_args().host_in_addresses))
