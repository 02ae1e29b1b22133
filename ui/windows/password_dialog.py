"""A unit that lets nobody read it without a secret: user and password, a token or a key.

What is typed is handed to the engine once and wiped from the field; it is never shown. What is kept for a
unit of that id at another address is sent only by a button of its own, which Enter doesn't press.
"""

from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDialog,
    QFormLayout,
    QHBoxLayout,
    QLineEdit,
    QWidget,
)

from fleet.model.credentials import Credential
from fleet.model.errors import WalkdownError
from fleet.model.meeting import LockedUnit
from ui.bridge.locked_units import send_kept, try_secret
from ui.bridge.session import Session
from ui.presenters.secret_words import (
    NOT_SHOWN,
    SHARED,
    SecretKind,
    asked_words,
    missing_words,
    open_way_words,
    outcome_words,
    same_words,
    secret_kinds,
)
from ui.windows.dialog_parts import (
    Noted,
    TroubleLine,
    buddied,
    button,
    follow,
    keep_together,
    set_out,
    wrapped,
)


class PasswordDialog(QDialog):
    """Asks for what lets us into one unit."""

    def __init__(
        self,
        session: Session,
        unit: LockedUnit,
        others: tuple[LockedUnit, ...] = (),
        *,
        name: str = "",
        parent: QWidget | None = None,
    ) -> None:
        """Ask.

        Args:
            session: the engine.
            unit: the unit.
            others: locked units that the same may be tried at, if a person ticks that.
            name: what the unit is called here, "" for its own title.
            parent: the window.
        """
        super().__init__(parent)
        self._session, self._unit, self._others = session, unit, others
        self.setWindowTitle("Locked unit")
        self.kind, self.user, self.secret = QComboBox(), QLineEdit(), QLineEdit()
        for kind in secret_kinds(unit):
            self.kind.addItem(kind.value, kind)
        self.kind.setAccessibleName("What is typed")
        self.user.setAccessibleName("User")
        self.secret.setEchoMode(QLineEdit.EchoMode.Password)
        self.same = QCheckBox(same_words(len(others)))
        self.same.setAccessibleName(self.same.text())
        self.shared, self.trouble = Noted(SHARED), TroubleLine()
        self.shared.hide()
        self.said = wrapped("")
        self.said.hide()
        self.keep = button("Let us in", "Keep it and read the unit", default=True)
        self.send = button("Send the kept one here", "Send what is kept for this unit's id here")
        self.forget = button("Forget the one kept", "Forget what is kept for this unit")
        self._lay_out(name or unit.title or unit.address)
        self._connect()
        self.same.setVisible(bool(others))
        self.forget.setVisible(unit.refused)
        self.send.setVisible(bool(unit.kept_under))
        self._ask_for()

    def _lay_out(self, name: str) -> None:
        self._form = QFormLayout()
        self._secret_label = buddied("&Password", self.secret)
        self._form.addRow("&What", self.kind)
        self._form.addRow("&User", self.user)
        self._form.addRow(self._secret_label, self.secret)
        self._form.setRowVisible(self.kind, self.kind.count() > 1)
        self.close_it = button("Close")
        buttons = QHBoxLayout()
        buttons.addWidget(self.forget)
        buttons.addStretch(1)
        buttons.addWidget(self.close_it)
        buttons.addWidget(self.send)
        buttons.addWidget(self.keep)
        set_out(
            self,
            wrapped(f"{name} is locked", points=16, bold=True),
            wrapped(self._unit.address),
            wrapped(asked_words(self._unit)),
            self._form,
            Noted(open_way_words(self._unit)),
            wrapped(NOT_SHOWN),
            self.same,
            self.shared,
            self.said,
            self.trouble,
            buttons,
        )
        keep_together(self, 560)

    def _connect(self) -> None:
        self.kind.currentIndexChanged.connect(lambda _: self._ask_for())
        self.same.toggled.connect(self.shared.setVisible)
        self.keep.clicked.connect(self._ask_keep)
        self.send.clicked.connect(self._ask_send)
        self.forget.clicked.connect(self._ask_forget)
        self.close_it.clicked.connect(self.reject)

    def _ask_for(self) -> None:
        kind = self._kind()
        with_user = kind is SecretKind.PASSWORD
        word = "Password" if with_user else kind.value
        self._form.setRowVisible(self.user, with_user)
        self._secret_label.setText(f"&{word}")
        self.secret.setAccessibleName(word)
        (self.user if with_user else self.secret).setFocus()

    def _kind(self) -> SecretKind:
        return SecretKind(str(self.kind.currentData()))

    def _ask_keep(self) -> None:
        kind, user, typed = self._kind(), self.user.text().strip(), self.secret.text()
        missing = missing_words(kind, user, typed)
        if missing:
            self.trouble.say(missing)
            return
        secret = Credential(typed, user if kind is SecretKind.PASSWORD else "")
        self.secret.clear()
        first = self._unit.key
        others = tuple(u.key for u in self._others) if self.same.isChecked() else ()
        self._wait("Asking to be let in …")
        operation = self._session.run(lambda visit: try_secret(visit, secret, first, others))
        follow(self._session, operation, self, lambda r: self._tell(r, 1 + len(others)), self._fail)

    def _ask_send(self) -> None:
        unit, by = self._unit, self._session.by
        self._wait("Asking to be let in …")
        operation = self._session.run(lambda visit: send_kept(visit, unit, by=by))
        follow(self._session, operation, self, lambda _: self.accept(), self._fail)

    def _ask_forget(self) -> None:
        key = self._unit.key
        self._wait("Forgetting it …")
        operation = self._session.run(lambda visit: visit.forget_secret(key))
        follow(self._session, operation, self, lambda _: self._forgotten(), self._fail)

    def _forgotten(self) -> None:
        self._enable()
        self.forget.hide()
        self.said.setText("What was kept for this unit is forgotten.")

    def _tell(self, refused: tuple[str, ...], asked: int) -> None:
        if not refused:
            self.accept()
            return
        self._enable()
        titles = {unit.key: unit.title or unit.address for unit in self._others}
        names = tuple(titles.get(key, key) for key in refused)
        self.said.setText(outcome_words(asked - len(refused), names))
        self.keep.setEnabled(False)

    def _fail(self, error: WalkdownError) -> None:
        self._enable()
        self.said.hide()
        self.trouble.tell(error)
        self.secret.setFocus()

    def _wait(self, words: str) -> None:
        self.trouble.say("")
        self.said.setText(words)
        self.said.show()
        for one in (self.keep, self.send, self.forget):
            one.setEnabled(False)

    def _enable(self) -> None:
        for one in (self.keep, self.send, self.forget):
            one.setEnabled(True)
