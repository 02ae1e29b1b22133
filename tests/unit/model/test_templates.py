import pytest

from fleet.model.templates import Level, Origin


@pytest.mark.parametrize(
    ("origin", "words"),
    [
        (Origin(Level.SITE), "site"),
        (Origin(Level.ROOM, "den"), "room den"),
        (
            Origin(Level.ROOM_KIND, "bedroom", "static modules"),
            "room kind bedroom, static modules",
        ),
        (
            Origin(Level.UNIT, "U03", by="A. N.", why="the client asked for it"),
            "unit U03, decided by A. N. because the client asked for it",
        ),
        (Origin(Level.UNIT, "U03", by="A. N."), "unit U03, decided by A. N."),
        (Origin(Level.UNIT, "U03", why="written down by nobody"), "unit U03"),
    ],
)
def test_an_origin_says_level_subject_and_who_decided(origin, words):
    assert origin.words == words


def test_levels_stand_from_the_farthest_to_the_nearest():
    assert [*Level] == ["site", "room kind", "room", "unit"]
