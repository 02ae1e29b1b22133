"""Colours of drawings and of the window: on paper, on drafting blue-grey, and for a printer.

The hues stem from the colour set of M. Okabe and K. Ito, which people with any common colour vision
tell apart; darkened for paper so that words in them keep a contrast of 4.5 to 1 (WCAG 2.2, 1.4.3).
"""

from dataclasses import dataclass

from fleet.drawing.primitives import Role

_LUMINANCE_WEIGHTS = (0.2126, 0.7152, 0.0722)
_LINEAR_BELOW = 0.04045


@dataclass(frozen=True, slots=True)
class Palette:
    """Colours as `#rrggbb`, by what they are for."""

    name: str
    paper: str
    desk: str
    ink: str
    soft: str
    line: str
    chosen: str
    blue: str
    vermilion: str
    green: str
    ochre: str


LIGHT = Palette(
    "light",
    paper="#FBFAF5",
    desk="#F0EEE6",
    ink="#1D2328",
    soft="#5A6670",
    line="#CFCBBE",
    chosen="#DDE8F0",
    blue="#0067A5",
    vermilion="#B84300",
    green="#00714F",
    ochre="#8A5B00",
)

DARK = Palette(
    "dark",
    paper="#16212B",
    desk="#101921",
    ink="#E8EEF2",
    soft="#9FB2C0",
    line="#2E4050",
    chosen="#23384A",
    blue="#56B4E9",
    vermilion="#F08A4B",
    green="#2FC79B",
    ochre="#F0B429",
)

PRINT = Palette(
    "print",
    paper="#FFFFFF",
    desk="#FFFFFF",
    ink="#000000",
    soft="#404040",
    line="#B0B0B0",
    chosen="#E8E8E8",
    blue="#00507F",
    vermilion="#8F3400",
    green="#00573D",
    ochre="#6B4700",
)


def colour_of(role: Role, palette: Palette) -> str:
    """Return the colour of a role as `#rrggbb`."""
    match role:
        case Role.VIEW | Role.DOORWAY:
            return palette.blue
        case Role.WATCH:
            return palette.green
        case Role.IGNORE | Role.UNIT_LOOK:
            return palette.vermilion
        case Role.FOUND:
            return palette.ochre
        case Role.DOOR | Role.MARK | Role.DIMENSION:
            return palette.soft
        case Role.GRID:
            return palette.line
        case _:
            return palette.ink


def contrast(one: str, other: str) -> float:
    """Return the contrast of two `#rrggbb` colours, 1 to 21 (WCAG 2.2, "contrast ratio")."""
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


def _luminance(colour: str) -> float:
    parts = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    linear = (p / 12.92 if p <= _LINEAR_BELOW else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return sum(w * part for w, part in zip(_LUMINANCE_WEIGHTS, linear, strict=True))
