"""Which letters can be printed: of any text what the shipped fonts and typst's own can show.

typst leaves a letter out in silence where none of the fonts has it, but for an archival PDF it refuses
it. So a letter beyond Latin is tried once in such a PDF of its own.
"""

import json
import unicodedata

import typst

FONTS = ("B612", "DejaVu Sans Mono", "Libertinus Serif", "New Computer Modern")
"""Ours first, then those that typst brings along: Greek, Cyrillic, Hebrew, Arabic, signs."""

MOST_CHARS = 120
"""No line holds more."""

_JOINERS = "\u200c\u200d"  # without a look of their own, but spelling in Persian and Hindi
_LAST_LATIN = "\u017f"  # Latin Extended-A: the shipped font has all of it
_PROBE = b"""
#let probe = json(bytes(sys.inputs.probe))
#set text(font: probe.fonts, fallback: false)
#probe.letter
"""


class Lettering:
    """Knows which letters can be printed with some fonts; each is tried once."""

    def __init__(self, fonts: typst.Fonts) -> None:
        """Try nothing yet."""
        self._fonts = fonts
        self._known: dict[str, bool] = {}

    def printable(self, said: str) -> str:
        """Return a text in NFC, what can't be printed as "?", and no longer than a line could be.

        Control characters, overrides of direction and half characters count as what can't be.
        """
        letters = unicodedata.normalize("NFC", said)[:MOST_CHARS]
        return "".join(letter if self._prints(letter) else "?" for letter in letters)

    def _prints(self, letter: str) -> bool:
        if letter in _JOINERS:
            return True
        if not letter.isprintable():
            return False
        if letter <= _LAST_LATIN:
            return True
        if letter not in self._known:
            self._known[letter] = self._tried(letter)
        return self._known[letter]

    def _tried(self, letter: str) -> bool:
        # A mark needs what to stand on.
        probe = json.dumps({"letter": "a" + letter, "fonts": FONTS})
        try:
            typst.compile(
                _PROBE,
                font_paths=self._fonts,
                format="pdf",
                pdf_standards="a-2b",
                timestamp=0,  # that standard wants a date, and this page is thrown away
                sys_inputs={"probe": probe},
            )
        except typst.TypstError:
            return False
        return True
