"""Small parts of the dock, made one way: named for tests and for screen readers, narrow, wrapping."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from qtpy.QtCore import QEvent, QObject, Qt, QTimer
from qtpy.QtWidgets import (
    QComboBox,
    QGroupBox,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QStyle,
    QStyleOptionComboBox,
    QStylePainter,
    QToolTip,
    QWidget,
)

from napari_radlength._fields import PAGES, Number
from napari_radlength._keys import key_of

OPENS = (Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Home, Qt.Key.Key_End)
FIRST = "Open a radiograph: drop a file on the window."


class Section(QGroupBox):
    """A titled section."""

    def __init__(self, title: str) -> None:
        super().__init__(title)
        self.setObjectName(f"radlength_{title.split(maxsplit=1)[0].lower()}")
        self.setAccessibleName(title)


class Words(QLabel):
    """A label that is laid out again only when its words change: a drag says the same again and again.

    A form gives a label that wraps the height of one line; it keeps as much as its words need, and no more.
    """

    def setText(self, text: str) -> None:
        """Show words."""
        if text != self.text():
            super().setText(text)
            self._fit()

    def resizeEvent(self, event: Any) -> None:
        """Keep the height that the words need at the new width."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        if self.wordWrap():
            # Qt counts what is kept among what is needed: it would never give any back
            self.setMinimumHeight(0)
            self.setMinimumHeight(max(self.heightForWidth(self.width()), 0))


class Choices(QComboBox):
    """A list that only a choice changes: neither the wheel nor a letter or an arrow, keys of the image, does.

    An arrow opens the list. Chosen from with the mouse, it gives the keys back to the image. Words too long for it are
    shortened in the middle, since names of canals and instruments differ at their ends; its tip tells all of them.
    """

    def __init__(self) -> None:
        super().__init__()
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._by_mouse = False
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(self.clearFocus)

    def wheelEvent(self, event: Any) -> None:
        """Leave the wheel to the scroll area."""
        event.ignore()

    def shown(self) -> str:
        """Return the choice as it is drawn."""
        option = self._option()
        part = QStyle.SubControl.SC_ComboBoxEditField
        room = self.style().subControlRect(QStyle.ComplexControl.CC_ComboBox, option, part, self).width()
        return self.fontMetrics().elidedText(self.currentText(), Qt.TextElideMode.ElideMiddle, room)

    def _option(self) -> QStyleOptionComboBox:
        option = QStyleOptionComboBox()
        self.initStyleOption(option)
        return option

    def paintEvent(self, _event: Any) -> None:
        """Draw the list, and its choice as far as there is room."""
        painter, option = QStylePainter(self), self._option()
        option.currentText = self.shown()
        painter.drawComplexControl(QStyle.ComplexControl.CC_ComboBox, option)
        painter.drawControl(QStyle.ControlElement.CE_ComboBoxLabel, option)
        painter.end()

    def event(self, event: Any) -> bool:
        """Tell the whole choice where it is shortened and nothing else is to be said."""
        if event.type() == QEvent.Type.ToolTip and not self.toolTip() and self.shown() != self.currentText():
            QToolTip.showText(event.globalPos(), self.currentText(), self)
            return True
        return bool(super().event(event))

    def showPopup(self) -> None:
        """Open the list as wide as its longest choice."""
        view = self.view()
        view.setMinimumWidth(view.sizeHintForColumn(0) + view.verticalScrollBar().sizeHint().width())
        super().showPopup()

    def mousePressEvent(self, event: Any) -> None:
        """Open the list."""
        self._by_mouse = True
        super().mousePressEvent(event)

    def hidePopup(self) -> None:
        """Close the list."""
        super().hidePopup()
        if self._by_mouse:
            self._soon.start()

    def keyPressEvent(self, event: Any) -> None:
        """Open the list on an arrow; leave letters, digits, signs and pages to the image."""
        self._by_mouse = False
        if event.text().strip() and event.text().isprintable():
            self.typed(event.text(), event)
        elif event.key() in OPENS:
            self.showPopup()
        elif event.key() in PAGES:
            event.ignore()
        else:
            super().keyPressEvent(event)

    def typed(self, text: str, event: Any) -> None:
        """Leave what is typed to the image."""
        del text
        event.ignore()


class Teeth(Choices):
    """A list of teeth whose two digits can be typed, however slowly: nothing is taken before the second."""

    def __init__(self) -> None:
        super().__init__()
        self.digits = ""

    def typed(self, text: str, event: Any) -> None:
        """Take a digit."""
        if not text.isdigit():
            event.ignore()
            return
        self.digits += text
        if len(self.digits) < 2:
            self._say(f"tooth {self.digits}_")
            return
        tooth, self.digits = self.digits, ""
        index = self.findText(tooth)
        self._say("" if index >= 0 else f"{tooth} is no tooth of ISO 3950")
        if index >= 0:
            self.setCurrentIndex(index)
            self.activated.emit(index)

    def focusOutEvent(self, event: Any) -> None:
        """Forget a digit alone."""
        self.digits = ""
        super().focusOutEvent(event)

    def _say(self, words: str) -> None:
        QToolTip.showText(self.mapToGlobal(self.rect().bottomLeft()), words, self)


def label(name: str, *, bold: bool = False, larger: float = 1.0) -> QLabel:
    """Return a label that wraps and whose words can be selected.

    Parameters
    ----------
    name
        Object name.
    bold
        Whether it is bold.
    larger
        Times the size of the usual font, so that it follows the user's font.
    """
    made = Words()
    made.setObjectName(name)
    made.setWordWrap(True)
    made.setTextFormat(Qt.TextFormat.RichText if larger == 1.0 else Qt.TextFormat.PlainText)
    made.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    made.setMinimumWidth(10)
    made.setProperty("radlength_larger", larger)
    font = made.font()
    font.setBold(bold)
    if larger != 1.0:
        font.setPointSizeF(font.pointSizeF() * larger)
        made.setStyleSheet(f"font-size: {font.pointSizeF():.1f}pt; font-weight: bold;")
    elif bold:
        made.setStyleSheet("font-weight: bold;")
    made.setFont(font)
    return made


def button(text: str, name: str, do: Callable[[], object], *, tip: str = "", action: str = "") -> QPushButton:
    """Return a button; clicking it does not take the keys from the image, and Enter presses it where Tab led to it.

    Parameters
    ----------
    text, name
        What stands on it, and its object name.
    do
        What a click does.
    tip
        What it does, in words.
    action
        The action of a key that does the same: the tip tells the key.
    """
    made = QPushButton(text)
    made.setObjectName(name)
    made.setAccessibleName(tip or text)
    made.setProperty("radlength_tip", tip)
    made.setProperty("radlength_action", action)
    made.setToolTip(tip_of(made))
    made.setFocusPolicy(Qt.FocusPolicy.TabFocus)
    made.setAutoDefault(True)
    made.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
    made.setMinimumWidth(made.fontMetrics().horizontalAdvance(text) + 14)
    made.clicked.connect(lambda _checked=False: do())
    return made


def choices(
    name: str, words: str, entries: Sequence[str] = (), kind: Callable[[], Choices] = Choices
) -> Choices:
    """Return a list that may be narrower than its longest choice, so that the dock stays narrow.

    On Linux the name of a list is its current choice for a screen reader, so the words are its description too.
    """
    box = kind()
    box.setObjectName(name)
    box.setAccessibleName(words)
    box.setAccessibleDescription(words)
    box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
    box.setMinimumContentsLength(6)
    box.addItems(list(entries))
    return box


def spin(name: str, words: str, low: float, high: float, step: float) -> Number:
    """Return a field for millimetres that tells only finished numbers."""
    field = Number()
    field.setObjectName(name)
    field.setAccessibleName(words)
    field.setRange(low, high)
    field.setSingleStep(step)
    field.setDecimals(2)
    field.setSuffix(" mm")
    field.setKeyboardTracking(False)
    field.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    field.installEventFilter(_NoWheel(field))
    return field


class _NoWheel(QObject):
    """Keeps the wheel from changing a length that the pointer only passes; a field that is entered is typed over."""

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Leave the wheel to the scroll area unless the field has the focus."""
        if event.type() == QEvent.Type.Wheel and not watched.hasFocus():  # type: ignore[attr-defined]
            event.ignore()
            return True
        if event.type() == QEvent.Type.FocusIn:
            QTimer.singleShot(0, watched.selectAll)  # type: ignore[attr-defined]
        return False


def row(*widgets: Any) -> QHBoxLayout:
    """Return widgets side by side."""
    line = QHBoxLayout()
    line.setSpacing(4)
    for widget in widgets:
        line.addWidget(widget)
    return line


def tip_of(control: QWidget) -> str:
    """Return what a control that is enabled says of itself, with the key as it is bound now."""
    tip, action = (str(control.property(f"radlength_{name}") or "") for name in ("tip", "action"))
    parts = [tip, f"key {key_of(action)}" if action else ""]
    return ": ".join(part for part in parts if part)


def show_tips(root: QWidget) -> None:
    """Tell the keys of the buttons below a widget as they are bound now."""
    for control in root.findChildren(QPushButton):
        if control.property("radlength_action") and control.isEnabled():
            control.setToolTip(tip_of(control))


def enable(control: Any, possible: bool, why_not: str) -> None:
    """Enable a control; a disabled one says why."""
    control.setEnabled(possible)
    control.setToolTip(tip_of(control) if possible else why_not)


def set_items(box: QComboBox, entries: Sequence[str], current: int) -> None:
    """Show entries, touching the list only where it differs."""
    if [box.itemText(n) for n in range(box.count())] != list(entries):
        box.clear()
        box.addItems(list(entries))
    box.setCurrentIndex(current)
