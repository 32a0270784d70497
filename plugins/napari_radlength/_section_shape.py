"""What a size and taper would leave of the current canal: diameters in words, the outline on the image."""

from __future__ import annotations

from html import escape
from typing import Any

from qtpy.QtWidgets import QVBoxLayout

from napari_radlength._fields import Line
from napari_radlength._section_result import finding_line
from napari_radlength._widgets import FIRST, Section, button, enable, label
from radlength.length import Estimate
from radlength.session import Session
from radlength.shape import Preview

SHOWN_MM = (0, 1, 3, 5, 10)
"""Distances from the end of the working length whose diameter is told."""

HINT = "Size and taper as 25/.06, or 25/.06@2 + 30/.04. Diameters are nominal; the outline is projected."
NO_LENGTH = "It needs a working length: mark the canal and state where it ends."


class ShapeSection(Section):
    """One option at a time, until a mark moves: then it is shown no more."""

    def __init__(self, dock: Any) -> None:
        super().__init__("Shape")
        self.option = Line("25/.06")
        self.option.setObjectName("radlength_option")
        self.option.setAccessibleName("size and taper of the instruments")
        self.option.returnPressed.connect(dock.show_shape)
        self.option.textChanged.connect(dock.drop_shape)
        self.show_button = button(
            "Show on the canal", "radlength_show_shape", dock.show_shape, tip="outline on the canal"
        )
        self.words = label("radlength_shape_words")
        self._of: object = None
        column = QVBoxLayout(self)
        column.addWidget(self.option)
        column.addWidget(self.show_button)
        column.addWidget(self.words)

    def show_session(self, session: Session | None, found: Estimate | None) -> None:
        """Take back what was shown of another estimate, and say whether there is something to show."""
        possible = found is not None and found.working_length is not None
        why = FIRST if session is None else NO_LENGTH
        enable(self.option, possible, why)
        enable(self.show_button, possible, why)
        if found is None or self._of != _marks(found):
            self._of = None
            self.words.setText(escape(HINT if possible else why))

    @property
    def is_shown(self) -> bool:
        """Whether something is shown that still belongs to the marks."""
        return self._of is not None

    def drop(self) -> None:
        """Show nothing any more; what is told belongs to what was typed."""
        if self.is_shown:
            self._of = None
            self.words.setText(escape(HINT))

    def show_preview(self, found: Estimate, preview: Preview) -> None:
        """Tell diameters, and every doubt."""
        self._of = _marks(found)
        (option,) = preview.options
        wide = ", ".join(f"{option.canal.diameter_mm(at):.2f} at {at}" for at in SHOWN_MM)
        lines = [f"<b>{escape(option.text)}</b> {escape(option.colours)}: mm wide {wide} mm from the end."]
        if option.cone is not None:
            lines.append(f"It goes with {escape(option.cone.cone.label)}.")
        self.words.setText(" ".join(lines) + "".join(map(finding_line, preview.findings)))


def _marks(found: Estimate) -> object:
    """Return what an outline follows from."""
    return found.canal, found.reference, found.terminus
