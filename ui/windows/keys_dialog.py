"""The keys that somebody here spoke of: whose shelves are used, by whose word, and a word on another."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QWidget,
)

from fleet.model.errors import PlanError, WalkdownError
from fleet.shelf.trust import TrustWord, fingerprint_from
from ui.bridge.session import Session
from ui.presenters.fingerprints import grouped
from ui.presenters.key_words import NO_KEYS, TRUST, WITHDRAW, KeyRow, key_rows
from ui.widgets.state_glyph import glyph_icon
from ui.widgets.theme import figure_font
from ui.windows.dialog_parts import (
    FIGURE_POINTS,
    TroubleLine,
    buddied,
    button,
    follow,
    set_out,
    wrapped,
)
from ui.windows.key_question import AskOfKey, ask_trust, ask_withdrawal
from ui.windows.reason_dialog import ReasonDialog

_LEAD = "Builds come from shelves. A shelf is used only while somebody here trusts the key that signed it."


class KeysDialog(QDialog):
    """Keys, the fingerprint of the chosen one, and what can be said of it.

    Attributes:
        question: the question about a key that is open, or was open last.
    """

    def __init__(self, session: Session, *, read_only: bool, parent: QWidget | None = None) -> None:
        """Ask for the keys.

        Args:
            session: the engine.
            read_only: another program holds the inventory, so nothing can be said here.
            parent: the window.
        """
        super().__init__(parent)
        self._session, self._read_only = session, read_only
        self._rows: tuple[KeyRow, ...] = ()
        self.question: ReasonDialog | None = None
        self.setWindowTitle("Shelf keys")
        self.keys, self.figures = QListWidget(), QLabel()
        self.keys.setAccessibleName("Keys that signed shelves")
        self.keys.setWordWrap(True)
        self.keys.setSpacing(2)
        self.figures.setFont(figure_font(FIGURE_POINTS))
        self.figures.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.none, self.trouble = wrapped(NO_KEYS), TroubleLine()
        self.trust = button(f"{TRUST} …", "Trust the chosen key again")
        self.withdraw = button(f"{WITHDRAW} …", "Withdraw trust in the chosen key")
        self.typed = QLineEdit()
        self.typed.setAccessibleName("Fingerprint of another key")
        self.typed.setPlaceholderText("fingerprint of another key, as its owner gave it")
        self.trust_typed = button("Trust it …", "Trust the key whose fingerprint is typed")
        self.trust_typed.setEnabled(not read_only)
        self._lay_out()
        self.keys.currentRowChanged.connect(lambda _: self._show_chosen())
        self.trust.clicked.connect(lambda: self._ask(ask_trust, self._chosen()))
        self.withdraw.clicked.connect(lambda: self._ask(ask_withdrawal, self._chosen()))
        self.trust_typed.clicked.connect(self._ask_typed)
        self._refresh()

    def _lay_out(self) -> None:
        chosen, other, foot = QHBoxLayout(), QHBoxLayout(), QHBoxLayout()
        chosen.addWidget(self.figures, 1)
        for one in (self.trust, self.withdraw):
            chosen.addWidget(one, 0, Qt.AlignmentFlag.AlignBottom)
        other.addWidget(buddied("Another &key", self.typed))
        other.addWidget(self.typed, 1)
        other.addWidget(self.trust_typed)
        close = button("Close", default=True)
        close.clicked.connect(self.accept)
        foot.addStretch(1)
        foot.addWidget(close)
        set_out(
            self,
            wrapped("Shelf keys", points=16, bold=True),
            wrapped(_LEAD),
            self.none,
            self.keys,
            chosen,
            other,
            self.trouble,
            foot,
            stretched=3,
        )
        self.resize(720, 480)

    def _refresh(self) -> None:
        operation = self._session.run(lambda visit: visit.shelf_keys())
        follow(self._session, operation, self, self._show, self._fail)

    def _show(self, words: tuple[TrustWord, ...]) -> None:
        self._rows = key_rows(words)
        self.keys.clear()
        for row in self._rows:
            item = QListWidgetItem(glyph_icon(row.state), row.text, self.keys)
            item.setData(Qt.ItemDataRole.AccessibleTextRole, row.text)
        self.none.setVisible(not self._rows)
        self.keys.setVisible(bool(self._rows))
        self.keys.setCurrentRow(0 if self._rows else -1)
        self._show_chosen()

    def _show_chosen(self) -> None:
        at = self.keys.currentRow()
        row = self._rows[at] if 0 <= at < len(self._rows) else None
        figures = grouped(row.fingerprint) if row else ""
        self.figures.setText(figures)
        self.figures.setAccessibleName(f"Fingerprint of the chosen key: {figures}")
        self.figures.setVisible(row is not None)
        self.trust.setVisible(row is not None and not row.trusted)
        self.withdraw.setVisible(row is not None and row.trusted)
        for one in (self.trust, self.withdraw):
            one.setEnabled(not self._read_only)

    def _chosen(self) -> str:
        at = self.keys.currentRow()
        return self._rows[at].fingerprint if 0 <= at < len(self._rows) else ""

    def _ask_typed(self) -> None:
        try:
            fingerprint = fingerprint_from(self.typed.text())
        except PlanError as reason:
            self.trouble.tell(reason)
            return
        self._ask(ask_trust, fingerprint)

    def _ask(self, ask: AskOfKey, fingerprint: str) -> None:
        self.trouble.say("")
        self.question = ask(self._session, fingerprint, self, self._said)
        self.question.open()

    def _said(self) -> None:
        self.typed.clear()
        self._refresh()

    def _fail(self, error: WalkdownError) -> None:
        self.trouble.tell(error)
