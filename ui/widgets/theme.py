"""The look of the window: our two palettes on Qt's Fusion style, and the fonts that come with it.

The platform's own scheme is unknown on a bare screen, so nothing of it is used.
"""

from pathlib import Path
from typing import Literal

from PySide6.QtGui import QColor, QFont, QFontDatabase, QPalette
from PySide6.QtWidgets import QApplication, QStyleFactory, QWidget

from fleet.drawing.palette import DARK, LIGHT, Palette
from fleet.shipped import resources

Scheme = Literal["light", "dark"]

FAMILY = "B612"
MONO_FAMILY = "B612 Mono"
TEXT_POINTS = 10.0

_PALETTES: dict[Scheme, Palette] = {"light": LIGHT, "dark": DARK}
_Role = QPalette.ColorRole


def apply_theme(app: QApplication, scheme: Scheme) -> Palette:
    """Give the whole program one of our looks; returns its colours."""
    load_fonts()
    colours = _PALETTES[scheme]
    style = QStyleFactory.create("Fusion")
    app.setStyle(style)
    app.setFont(text_font())
    app.setProperty("walkdown_scheme", scheme)
    app.setPalette(_qt_palette(colours))
    app.setStyleSheet(_rules(colours) + _icons(colours, scheme))
    return colours


def colours_now() -> Palette:
    """Return the colours in force; the light ones before any were set."""
    app = QApplication.instance()
    return DARK if app is not None and app.property("walkdown_scheme") == "dark" else LIGHT


def load_fonts() -> None:
    """Make the shipped fonts known to Qt, once in a process."""
    if FAMILY in QFontDatabase.families():
        return
    for path in sorted(Path(resources() / "fonts").glob("*.otf")):
        QFontDatabase.addApplicationFont(str(path))


def text_font(points: float = TEXT_POINTS, *, strong: bool = False) -> QFont:
    """Return the font for words."""
    font = QFont(FAMILY)
    font.setPointSizeF(points)
    font.setBold(strong)
    return font


def figure_font(points: float = TEXT_POINTS) -> QFont:
    """Return the font for columns of figures, every sign of one width."""
    font = QFont(MONO_FAMILY)
    font.setPointSizeF(points)
    return font


def soften(widget: QWidget) -> None:
    """Write a widget's words in the soft colour, for what is said beside the matter."""
    widget.setProperty("soft", True)  # noqa: FBT003  (Qt's own signature)


def enlarge(control: QWidget) -> None:
    """Make a button as high as a thumb is wide, 12 mm at 96 pixels an inch, in larger type."""
    control.setProperty("large", True)  # noqa: FBT003  (Qt's own signature)


def text_pairs(colours: Palette) -> list[tuple[str, str, str]]:
    """Return name, colour of words and colour of the ground for each pair that the window may use.

    Vermilion words never stand on a chosen row: on paper's chosen blue they reach 4.4 to 1 only. A glyph
    may, since a shape needs 3 to 1.
    """
    words = ("ink", "soft", "blue", "vermilion", "green", "ochre")
    grounds = ("paper", "desk", "chosen")
    pairs = [
        (f"{word} on {ground}", getattr(colours, word), getattr(colours, ground))
        for word in words
        for ground in grounds
        if (word, ground) != ("vermilion", "chosen")
    ]
    return [*pairs, ("words on a main button", colours.paper, colours.blue)]


def _qt_palette(colours: Palette) -> QPalette:
    palette = QPalette()
    for role, colour in {
        _Role.Window: colours.paper,
        _Role.WindowText: colours.ink,
        _Role.Base: colours.paper,
        _Role.AlternateBase: colours.desk,
        _Role.Text: colours.ink,
        _Role.PlaceholderText: colours.soft,
        _Role.Button: colours.paper,
        _Role.ButtonText: colours.ink,
        _Role.BrightText: colours.vermilion,
        _Role.Highlight: colours.chosen,
        _Role.HighlightedText: colours.ink,
        _Role.ToolTipBase: colours.desk,
        _Role.ToolTipText: colours.ink,
        _Role.Link: colours.blue,
        _Role.LinkVisited: colours.blue,
        _Role.Accent: colours.blue,
        _Role.Light: colours.paper,
        _Role.Midlight: colours.line,
        _Role.Mid: colours.line,
        _Role.Dark: colours.soft,
        _Role.Shadow: colours.ink,
    }.items():
        palette.setColor(role, QColor(colour))
    for role in (_Role.WindowText, _Role.Text, _Role.ButtonText, _Role.HighlightedText):
        palette.setColor(QPalette.ColorGroup.Disabled, role, QColor(colours.soft))
    return palette


def _rules(colours: Palette) -> str:
    """Return what a palette can't say: edges that stay visible, and which key has the focus.

    Edges of boxes and buttons are soft, not line: 1.4.11 of WCAG asks 3 to 1 of what shows a control.
    """
    return f"""
    QPushButton, QToolButton {{ border: 1px solid {colours.ink}; border-radius: 3px;
        padding: 4px 12px; min-height: 22px; background: {colours.paper}; color: {colours.ink}; }}
    QPushButton:hover, QToolButton:hover {{ background: {colours.chosen}; }}
    QPushButton:pressed, QToolButton:checked {{ background: {colours.chosen};
        border-bottom: 3px solid {colours.blue}; }}
    QPushButton:default, QPushButton[main="true"] {{ background: {colours.blue};
        color: {colours.paper}; border-color: {colours.blue}; }}
    QPushButton:disabled, QToolButton:disabled {{ color: {colours.soft};
        border: 1px dashed {colours.soft}; background: {colours.desk}; }}
    QPushButton:focus, QToolButton:focus {{ border: 2px solid {colours.blue}; padding: 3px 11px; }}
    QPushButton:default:focus, QPushButton[main="true"]:focus {{ border-color: {colours.ink}; }}
    QLineEdit, QComboBox, QAbstractSpinBox {{ border: 1px solid {colours.soft}; padding: 3px 6px;
        background: {colours.paper}; color: {colours.ink}; min-height: 22px; }}
    QLineEdit:focus, QComboBox:focus, QAbstractSpinBox:focus {{ border: 2px solid {colours.blue}; }}
    QLineEdit:disabled, QComboBox:disabled, QAbstractSpinBox:disabled {{ color: {colours.soft};
        border: 1px dashed {colours.soft}; background: {colours.desk}; }}
    QCheckBox::indicator, QTableView::indicator, QTreeView::indicator, QListView::indicator {{
        width: 14px; height: 14px;
        border: 2px solid {colours.ink}; background: {colours.paper}; }}
    QCheckBox::indicator:focus {{ border-color: {colours.blue}; }}
    QTableView, QTableWidget {{ gridline-color: {colours.soft}; }}
    QHeaderView::section {{ background: {colours.desk}; color: {colours.ink}; border: none;
        border-bottom: 1px solid {colours.ink}; padding: 4px 8px; }}
    QTableCornerButton::section {{ background: {colours.desk}; border: none; }}
    QPushButton[large="true"], QToolButton[large="true"] {{ min-height: 38px; font-size: 12pt; }}
    QRadioButton::indicator {{ width: 16px; height: 16px; border: 2px solid {colours.ink};
        border-radius: 10px; background: {colours.paper}; }}
    QRadioButton::indicator:checked {{ background: {colours.blue}; }}
    QRadioButton::indicator:focus {{ border-color: {colours.blue}; }}
    QFrame#band {{ border: 3px solid {colours.blue}; background: {colours.paper}; }}
    QFrame#shout {{ border: 3px solid {colours.vermilion}; background: {colours.paper}; }}
    QFrame#notice {{ border: 2px solid {colours.ochre}; background: {colours.paper}; }}
    QPushButton[quiet="true"] {{ border: none; text-decoration: underline; padding: 4px 6px; }}
    QPushButton[quiet="true"]:focus {{ border: 2px solid {colours.blue}; padding: 2px 4px; }}
    QListView, QTableView {{ outline: none; }}
    QTableView {{ border: 1px solid {colours.soft}; }}
    QTableView:focus {{ border: 2px solid {colours.blue}; }}
    QListView {{ border: 1px solid {colours.soft}; background: {colours.paper}; }}
    QListView::item:selected {{ background: {colours.chosen}; color: {colours.ink};
        border: none; }}
    QListView:focus {{ border: 2px solid {colours.blue}; }}
    QPlainTextEdit {{ border: 1px solid {colours.soft}; background: {colours.paper};
        color: {colours.ink}; }}
    QPlainTextEdit:focus {{ border: 2px solid {colours.blue}; }}
    QLabel[soft="true"] {{ color: {colours.soft}; }}
    QProgressBar {{ border: 1px solid {colours.ink}; background: {colours.paper};
        color: {colours.ink}; text-align: center; }}
    QProgressBar::chunk {{ background: {colours.chosen}; border-right: 3px solid {colours.blue}; }}
    QToolTip {{ border: 1px solid {colours.ink}; background: {colours.desk}; color: {colours.ink}; }}
    """


def _icons(colours: Palette, scheme: Scheme) -> str:
    """Return what needs a drawing: a tick says by shape, not by its fill alone, that it is set."""
    folder = Path(resources() / "icons").as_posix()
    return f"""
    QCheckBox::indicator:checked, QTableView::indicator:checked, QTreeView::indicator:checked,
    QListView::indicator:checked {{
        background: {colours.blue}; image: url("{folder}/tick-{scheme}.svg"); }}
    QAbstractSpinBox::up-button, QAbstractSpinBox::down-button {{ subcontrol-origin: padding; width: 26px;
        border-left: 1px solid {colours.soft}; background: {colours.paper}; }}
    QAbstractSpinBox::up-button {{ subcontrol-position: top right; }}
    QAbstractSpinBox::down-button {{ subcontrol-position: bottom right; }}
    QAbstractSpinBox::up-button:hover, QAbstractSpinBox::down-button:hover {{
        background: {colours.chosen}; }}
    QAbstractSpinBox::up-arrow {{ image: url("{folder}/up-{scheme}.svg"); width: 12px; height: 12px; }}
    QAbstractSpinBox::down-arrow {{ image: url("{folder}/down-{scheme}.svg"); width: 12px; height: 12px; }}
    QComboBox::drop-down {{ border: none; width: 26px; }}
    QComboBox::down-arrow {{ image: url("{folder}/down-{scheme}.svg"); width: 12px; height: 12px; }}
    """
