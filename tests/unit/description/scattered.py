"""An invented unit of the scattered kind, described: every reading a property of its own."""

from tests.unit.description.samples import document

BODIES = 2
PLACES = 3


def scalar(path: str, *, write: bool = False, **schema: object) -> dict:
    ops = ["readproperty", "writeproperty"] if write else ["readproperty"]
    return {
        "type": "integer",
        "readOnly": not write,
        **schema,
        "forms": [{"op": ops, "href": path, "pres:pollEvery": 100}],
    }


def readings() -> dict:
    found = {"bodies": scalar("/say/bodies", minimum=0, maximum=BODIES)}
    for body in range(1, BODIES + 1):
        found |= {
            f"body{body}right": scalar(
                f"/say/body{body}/right", **{"@type": "pres:SensorX", "unit": "cm"}
            ),
            f"body{body}away": scalar(
                f"/say/body{body}/away", **{"@type": "pres:SensorY", "unit": "cm"}
            ),
            f"body{body}pace": scalar(
                f"/say/body{body}/pace",
                **{"@type": "pres:RadialSpeed", "type": "number", "unit": "m/s"},
            ),
        }
    return found


def settings() -> dict:
    return {
        "reach": scalar(
            "/keep/reach",
            write=True,
            minimum=5,
            maximum=80,
            **{"@type": "pres:MaxDistance", "unit": "m", "pres:factor": 0.1},
        ),
        "linger": scalar(
            "/keep/linger",
            write=True,
            minimum=1,
            maximum=600,
            **{"@type": "pres:HoldTime", "unit": "s"},
        ),
        "lamp": scalar(
            "/keep/lamp",
            write=True,
            **{
                "@type": "pres:IndicatorLight",
                "type": "string",
                "enum": ["on", "off"],
                "pres:words": {"on": True, "off": False},
            },
        ),
    }


def area_edges() -> dict:
    kinds = {"left": "XStart", "right": "XEnd", "near": "YStart", "far": "YEnd"}
    return {
        f"place{place}{edge}": scalar(
            f"/keep/place{place}/{edge}",
            write=True,
            minimum=-600,
            maximum=600,
            **{"@type": f"pres:Area{kind}", "unit": "cm"},
        )
        for place in range(1, PLACES + 1)
        for edge, kind in kinds.items()
    }


def frame() -> dict:
    parts = [
        {
            "property": f"body{body}{name}",
            "at": f"/targets/{body - 1}/{name}",
            "when": {"property": "bodies", "atLeast": body},
        }
        for body in range(1, BODIES + 1)
        for name in ("right", "away", "pace")
    ]
    return {"@type": "pres:TargetFrame", "readOnly": True, "pres:parts": parts}


def settings_whole() -> dict:
    parts = [{"property": name, "at": f"/{name}"} for name in settings()]
    return {"@type": "pres:Settings", "pres:parts": parts}


def areas_whole() -> dict:
    edges = ("left", "right", "near", "far")
    parts = [
        {"property": f"place{place}{edge}", "at": f"/areas/{place - 1}/{edge}"}
        for place in range(1, PLACES + 1)
        for edge in edges
    ]
    return {
        "@type": "pres:AreaSet",
        "properties": {"areas": {"items": {"pres:absent": dict.fromkeys(edges, 0)}}},
        "pres:parts": parts,
    }


def scattered(**parts: object) -> dict:
    """Return the whole description."""
    return document(
        id="urn:uuid:6f0d5c1e-0000-4000-8000-000000000001",
        properties={
            **readings(),
            **settings(),
            **area_edges(),
            "frame": frame(),
            "settings": settings_whole(),
            "places": areas_whole(),
        },
        **parts,
    )
