"""Words in the dock stand out from their ground: 4.5 to 1 at least (WCAG 2.2, success criterion 1.4.3), in both themes.

Controls that are disabled are left out, as the criterion does.
"""

import numpy as np
import pytest
from qtpy.QtGui import QImage
from qtpy.QtWidgets import (
    QApplication,
    QCheckBox,
    QComboBox,
    QDoubleSpinBox,
    QLabel,
    QLineEdit,
    QPushButton,
    QWidget,
)

from napari_radlength._dock import open_dock

pytestmark = pytest.mark.gui
KINDS = QLabel, QPushButton, QCheckBox, QComboBox, QDoubleSpinBox, QLineEdit


def luminance(colours):
    """Return the relative luminance of sRGB colours, shape (N, 3), 0 to 255, as WCAG 2.2 defines it."""
    share = np.asarray(colours, dtype=float) / 255
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    return linear @ [0.2126, 0.7152, 0.0722]


def contrast(widget):
    """Return the greatest contrast of a widget's pixels with the colour that most of them have."""
    picture = widget.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    rows = np.frombuffer(picture.constBits(), np.uint8).reshape(picture.height(), -1, 4)
    colours, counts = np.unique(rows[:, : picture.width(), 2::-1].reshape(-1, 3), axis=0, return_counts=True)
    light = luminance(colours)
    ground = light[counts.argmax()]
    return float(((np.maximum(light, ground) + 0.05) / (np.minimum(light, ground) + 0.05)).max())


def words_of(widget):
    """Return what is written on a widget, the example in an empty field included."""
    told = getattr(widget, "text", None) or widget.currentText
    return told() or getattr(widget, "placeholderText", str)()


@pytest.mark.parametrize("theme", ["dark", "light"])
def test_words_stand_out_from_their_ground(make_napari_viewer, case_folder, theme):
    viewer = make_napari_viewer(show=True)
    dock = open_dock(viewer)
    dock.open_images([case_folder])
    viewer.theme = theme
    dock.exercise.setVisible(True)
    for field in dock.findChildren(QLineEdit):
        if field.placeholderText():
            field.clear()
            field.show()
    QApplication.processEvents()
    seen = [
        one
        for one in dock.findChildren(QWidget)
        if isinstance(one, KINDS)
        and one.isEnabled()
        and one.width() > 20
        and one.height() > 8
        and words_of(one).strip()
    ]
    assert sum(isinstance(one, QLineEdit) and not one.text() for one in seen) >= 2
    low = {(one.objectName(), round(contrast(one), 2)) for one in seen if contrast(one) < 4.5}
    assert low == set()
    dock.hide()
