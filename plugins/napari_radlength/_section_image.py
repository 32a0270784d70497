"""Which image, how good it is, and how its grey values are shown. Nothing here is ever measured on."""

from __future__ import annotations

from html import escape
from typing import Any

from qtpy.QtCore import QSignalBlocker, Qt
from qtpy.QtWidgets import QCheckBox, QListWidget, QSlider, QVBoxLayout

from napari_radlength._display import PRESETS
from napari_radlength._recent_menu import recent_button
from napari_radlength._section_result import finding_line
from napari_radlength._widgets import FIRST, Section, button, choices, enable, label, row, spin
from radlength.finding import Finding
from radlength.session import Session

STORED = "the file does not tell it: tick it where metal and bone look dark; the image is shown and traced accordingly"


NO_PITCH = "pixel pitch: not stated"
PITCH = "size of a pixel of the detector, from its papers; without an instrument the length rests on it"


class ImageSection(Section):
    """The image, its quality, its display, and the other images of the folder."""

    def __init__(self, dock: Any) -> None:
        super().__init__("Image")
        self.facts = label("radlength_image_facts")
        self.quality = label("radlength_image_quality")
        self.preset = choices("radlength_preset", "how grey values are shown", list(PRESETS))
        self.invert = QCheckBox("invert")
        self.invert.setObjectName("radlength_invert")
        self.stored = QCheckBox("the file stores bone dark")
        self.stored.setObjectName("radlength_stored_inverted")
        self.stored.setToolTip(STORED)
        self.pitch = spin("radlength_pitch", "pixel pitch of the detector", 0.0, 0.2, 0.001)
        self.pitch.setDecimals(4)
        self.pitch.setPrefix("pixel pitch ")
        self.pitch.setSpecialValueText(NO_PITCH)
        self.pitch.setToolTip(PITCH)
        self.gamma = QSlider(Qt.Orientation.Horizontal)
        self.gamma.setObjectName("radlength_gamma")
        self.gamma.setAccessibleName("gamma of the display")
        self.gamma.setToolTip("gamma of the display; 1 in the middle")
        self.gamma.setRange(-10, 10)
        self.gamma.setMinimumWidth(40)
        self.turn_left = button("left", "radlength_turn_left", lambda: dock.turn(1), tip="turn the view left")
        self.turn_right = button(
            "right", "radlength_turn_right", lambda: dock.turn(3), tip="turn the view right"
        )
        self.flip = button("flip", "radlength_flip", dock.flip, tip="flip the view left to right")
        self.whole = button("whole", "radlength_whole", dock.fit, tip="show the whole image")
        self.images = QListWidget()
        self.images.setObjectName("radlength_images")
        self.images.setAccessibleName("images in order of time")
        self.images.setMaximumHeight(90)
        self.open = button(
            "Open…", "radlength_open", dock.ask_for_images, tip="open images, or the file of a case"
        )
        self.folder = button(
            "Folder…",
            "radlength_open_folder",
            dock.ask_for_folder,
            tip="open the images of a folder, or its case",
        )
        self.recent = recent_button(dock)
        self.carry = button("Bring marks over", "radlength_carry", dock.carry_marks)
        self.beside = button(
            "Side by side", "radlength_beside", dock.toggle_beside, tip="with the image before: key B"
        )
        self._arrange()
        self._connect(dock)

    def _arrange(self) -> None:
        column = QVBoxLayout(self)
        column.addWidget(self.facts)
        column.addWidget(self.pitch)
        column.addWidget(self.quality)
        column.addLayout(row(self.preset, self.invert, self.gamma))
        column.addWidget(self.stored)
        column.addLayout(row(self.turn_left, self.turn_right, self.flip, self.whole))
        column.addWidget(self.images)
        column.addLayout(row(self.beside, self.carry))
        column.addLayout(row(self.open, self.folder, self.recent))

    def _connect(self, dock: Any) -> None:
        self.preset.activated.connect(lambda _index: dock.show_grey())
        self.invert.toggled.connect(lambda _on: dock.show_grey())
        self.stored.toggled.connect(dock.say_inverted)
        self.pitch.valueChanged.connect(dock.state_pitch)
        self.gamma.valueChanged.connect(lambda _value: dock.show_grey())
        self.images.currentRowChanged.connect(dock.show_image)

    def show_session(self, session: Session | None) -> None:
        """Show what is known of the image."""
        here = session is not None
        for control in (
            self.preset,
            self.invert,
            self.gamma,
            self.turn_left,
            self.turn_right,
            self.flip,
            self.whole,
        ):
            enable(control, here, FIRST)
        self._show_stored(session)
        self._show_pitch(session)
        self.facts.setText(FIRST if session is None else _facts(session))
        self.quality.setVisible(here and bool(self.quality.text()))

    def _show_stored(self, session: Session | None) -> None:
        """Ask which way greys are stored where a file cannot tell; a header that says so is believed."""
        facts = None if session is None else session.radiograph.facts
        unknown = facts is not None and facts.format != "dicom" and facts.photometric != "MONOCHROME1"
        self.stored.setVisible(unknown)
        with QSignalBlocker(self.stored):
            self.stored.setChecked(session is not None and session.inverted)

    def _show_pitch(self, session: Session | None) -> None:
        """Ask for the pixel pitch where the file has none; what is stated can be typed over."""
        self.pitch.setVisible(session is not None and session.may_state_pitch)
        if session is not None and not self.pitch.lineEdit().isModified():
            with QSignalBlocker(self.pitch):
                self.pitch.setValue(session.measured_image.scale.row_mm or 0.0)

    def show_images(self, labels: list[str], current: int, carry: str, beside: str) -> None:
        """Show the images of a folder in order of time.

        Parameters
        ----------
        labels
            One line an image.
        current
            Which is shown.
        carry
            Why marks cannot be brought over from the image before; empty where they can.
        beside
            Why the image before cannot be shown at the side; empty where it can.
        """
        self.images.setVisible(len(labels) > 1)
        self.carry.setVisible(len(labels) > 1)
        enable(self.carry, not carry, carry)
        self.beside.setVisible(len(labels) > 1)
        enable(self.beside, not beside, beside)
        with QSignalBlocker(self.images):
            if [self.images.item(n).text() for n in range(self.images.count())] != labels:
                self.images.clear()
                self.images.addItems(labels)
                for n, words in enumerate(labels):
                    self.images.item(n).setToolTip(words)
            self.images.setCurrentRow(current)

    def show_quality(self, findings: tuple[Finding, ...] | None) -> None:
        """Show doubts about the image; ``None`` while they are looked for."""
        if findings is None:
            self.quality.setText("looking at the quality of the image …")
        elif not findings:
            self.quality.setText("quality: no doubt in what can be computed")
        else:
            self.quality.setText("".join(map(finding_line, findings)))
        self.quality.setVisible(True)


def _facts(session: Session) -> str:
    radiograph = session.radiograph
    rows, columns = radiograph.shape
    lines = [
        f"<b>{escape(radiograph.name)}</b>",
        f"{rows} × {columns} pixels. {escape(radiograph.scale.words)}",
    ]
    return "<br>".join(lines) + "".join(map(finding_line, radiograph.findings))
