"""The second page of a new campaign: the waves with their rules, and who is left out."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from fleet.engine.campaign_plan import CampaignPlan
from fleet.model.snapshot import HouseState, ItemState
from ui.presenters.campaign_plan_rows import (
    LeftOut,
    downgrade_note,
    left_out_rows,
    plan_note,
    wave_sections,
)
from ui.widgets.section_pane import SectionPane
from ui.widgets.state_glyph import glyph_icon
from ui.windows.dialog_parts import banner, button, wrapped


class WavesPage(QWidget):
    """Waves and those left out.

    Signals:
        vouch_asked: a LeftOut whose match nobody knows.
        downgrade_asked: an older build may be meant.
    """

    vouch_asked = Signal(object)
    downgrade_asked = Signal()

    def __init__(self) -> None:
        """Show nothing yet."""
        super().__init__()
        self._left_out: tuple[LeftOut, ...] = ()
        self.note, self.waves = wrapped(""), SectionPane("Waves")
        self.caution, self.cautioned = banner("notice", ItemState.LOOK)
        self.left_out = QListWidget()
        self.left_out.setAccessibleName("Units that are left out, and why")
        self.left_out.setWordWrap(True)
        self.left_out.setSpacing(2)
        self.heading = wrapped("Left out", bold=True)
        self.vouch = button(
            "Say whether it goes together …", "Say whether build and unit go together"
        )
        self.downgrade = button("An older build is meant …", "Say that an older build is meant")
        line = QHBoxLayout()
        for one in (self.vouch, self.downgrade):
            line.addWidget(one)
        line.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.caution)
        layout.addWidget(self.note)
        layout.addWidget(self.waves, 3)
        layout.addWidget(self.heading)
        layout.addWidget(self.left_out, 1)
        layout.addLayout(line)
        self.left_out.currentRowChanged.connect(lambda _: self._offer())
        self.left_out.itemActivated.connect(lambda _: self._ask())
        self.vouch.clicked.connect(self._ask)
        self.downgrade.clicked.connect(self.downgrade_asked)

    def show_plan(self, house: HouseState, plan: CampaignPlan) -> None:
        """Show a plan."""
        self._left_out = left_out_rows(house, plan)
        self.note.setText(plan_note(plan))
        self.cautioned.setText(downgrade_note(plan))
        self.caution.setVisible(plan.terms.allow_downgrade)
        self.waves.show_sections(wave_sections(house, plan))
        self.left_out.clear()
        for one in self._left_out:
            text = f"{one.label}: {one.why}"
            waits = one.may_vouch or one.may_go_back
            state = ItemState.LOOK if waits else ItemState.NOT_TESTED
            item = QListWidgetItem(glyph_icon(state), text, self.left_out)
            item.setData(Qt.ItemDataRole.AccessibleTextRole, f"{state}: {text}")
        for part in (self.heading, self.left_out):
            part.setVisible(bool(self._left_out))
        self.vouch.setVisible(any(one.may_vouch for one in self._left_out))
        self.downgrade.setVisible(any(one.may_go_back for one in self._left_out))
        first = next((n for n, one in enumerate(self._left_out) if one.may_vouch), 0)
        self.left_out.setCurrentRow(first if self._left_out else -1)
        self._offer()

    def _current(self) -> LeftOut | None:
        at = self.left_out.currentRow()
        return self._left_out[at] if 0 <= at < len(self._left_out) else None

    def _offer(self) -> None:
        one = self._current()
        self.vouch.setEnabled(one is not None and one.may_vouch)

    def _ask(self) -> None:
        one = self._current()
        if one is not None and one.may_vouch:
            self.vouch_asked.emit(one)
        elif one is not None and one.may_go_back:
            self.downgrade_asked.emit()
