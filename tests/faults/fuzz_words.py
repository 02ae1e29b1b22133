"""Words, names, numbers and bytes that readers have stumbled over somewhere, to put into sound input."""

TOKENS = (
    b"NaN", b"-Infinity", b"1e999", b"-0", b"1" * 30, b"0.1e-400", b"null", b"true", b'""', b"[]", b"{}",
    b'"\\ud800"', b"\\u0000", b"\\u202e", b"\xff\xfe", b"\xef\xbb\xbf", b"\0", b"{{X}}", b'{"a":1,"a":2}',
    b'"//evil.example/x"', b'"http://127.0.0.1:1/"', b'"file:///etc/passwd"', b'"{+a*}"', b'"$ref"',
    b"[" * 70, b"]" * 70, b",", b":", b"\n\n", b"\r", b"data:", b"id:\0", b"retry: 99999999999",
)  # fmt: skip
WORDS = (
    "", "x", "\0", "\u202e", "\ud83d", "<b>", "a" * 3000, "..", "../../x", "//evil.example/x",
    "\\\\evil\\x", "http://evil.example/", "http://[::1]:1/x", "http://[", "http://user@evil.example:80x/", "file:///x",
    "javascript:x", "ws://evil.example/x", "wss://192.0.2.7:8080/x", "mqtt://evil.example/t", "mqtts://b/x",
    "x{?a,b}", "{+a}", "{/a*}", "{a:99999}", "{", "}", "{?a", "{!a}", "{a,,b}", "%", "%zz", "?#", "#x",
    "pres:Settings", "pres:HoldTime", "pres:SensorX", "pres:TargetFrame", "pres:PresenceUnit", "oneOf",
    "integer", "number", "object", "array", "string", "boolean", "qunit:CentiM", "qunit:DEG_F", "furlong",
    "readproperty", "writeproperty", "observeproperty", "invokeaction", "sse", "longpoll", "basic", "combo",
    "apikey", "(a+)+$", "[", "^x{1,9999}$", "if-match", "GET", "PUT", "CONNECT", "text/plain; x=y",
    "a/b\r\nc", "2026-11-25T12:00:00Z", "9999-12-31T23:59:60Z", "0000-00-00T00:00:00Z",
)  # fmt: skip
NAMES = (
    "@context", "@type", "id", "title", "base", "forms", "href", "op", "type", "properties", "items",
    "oneOf", "anyOf", "allOf", "required", "enum", "const", "default", "minimum", "maximum", "multipleOf",
    "pattern", "minItems", "maxItems", "unit", "readOnly", "writeOnly", "observable", "uriVariables",
    "contentType", "response", "subprotocol", "htv:methodName", "pres:concurrency", "security",
    "securityDefinitions", "scheme", "in", "name", "input", "output", "data", "actions", "events", "$ref",
    "format",
    "pres:parts", "property", "at", "when", "atLeast", "pres:factor", "pres:words", "pres:absent",
    "pres:pollEvery", "mqv:topic", "mqv:filter", "mqv:qos", "mqv:retain", "mqv:controlPacket",
)  # fmt: skip
NUMBERS = (
    0, 1, -1, 2**31, 2**53, 2**64 - 1, -(2**63), 10**19, 0.5, -0.0, 1e-300, 1e300, 1.7e308, 3.0, True,
    False, None,
)  # fmt: skip
