import pytest

from fleet.description.problems import problem_sentence

PROBLEM = "application/problem+json"


@pytest.mark.parametrize(
    ("status", "kind", "body", "sentence"),
    [
        (
            422,
            PROBLEM,
            b'{"title": "Out of range.", "detail": "holdTime > 3600"}',
            "Out of range: holdTime › 3600 (422).",
        ),
        (409, PROBLEM + "; charset=utf-8", b'{"title": "Busy"}', "Busy (409)."),
        (409, "application/json", b'"no\\u202e"', "no (409)."),
        (500, "text/plain", b"it broke.\r\n", "it broke (500)."),
        (500, "text/html", b"<h1>no</h1>", "it failed inside (500)."),
        (404, PROBLEM, b'{"title": 3}', "it has nothing there (404)."),
        (404, PROBLEM, b"[1]", "it has nothing there (404)."),
        (404, PROBLEM, b"{", "it has nothing there (404)."),
        (799, "", b"", "it gave no reason (799)."),
    ],
)
def test_a_refusal_becomes_one_sentence(status, kind, body, sentence):
    assert problem_sentence(status, kind, body) == sentence
