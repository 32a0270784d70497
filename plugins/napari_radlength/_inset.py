"""A magnifier at the cursor while something is marked."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from qtpy.QtCore import QPoint, QRect, Qt
from qtpy.QtGui import QColor, QImage, QPainter, QPen, QPixmap
from qtpy.QtWidgets import QLabel, QWidget

HALF, TIMES, APART = 10, 6, 24
"""Pixels of the image to each side, screen pixels for each of them, and the way from the cursor."""


class Inset(QLabel):
    """A small window with the image under the cursor, six times as large; the mouse passes through."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setObjectName("radlength_inset")
        self.setAccessibleName("magnified image at the cursor")
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        side = (2 * HALF + 1) * TIMES
        self.setFixedSize(side, side)
        self.setStyleSheet("border: 1px solid #888888;")
        self.hide()

    def show_at(
        self, grey: NDArray[np.float32], row: float, column: float, cursor: QPoint, room: QRect
    ) -> None:
        """Show the image around a point beside the cursor.

        Parameters
        ----------
        grey
            0 to 1, as it is shown, shape (rows, columns).
        row, column
            Pixels.
        cursor
            Where the cursor is in the parent.
        room
            The part of the parent that it stays in.
        """
        self.setPixmap(magnified(grey, row, column))
        x, y = cursor.x() + APART, cursor.y() - APART - self.height()
        if x + self.width() > room.right() + 1:
            x = cursor.x() - APART - self.width()
        self.move(max(x, room.left()), y if y > room.top() else cursor.y() + APART)
        self.show()
        self.raise_()


def magnified(grey: NDArray[np.float32], row: float, column: float) -> QPixmap:
    """Return the surroundings of a point, magnified, with cross hairs at the point itself."""
    side = 2 * HALF + 1
    middle = round(row), round(column)
    rows = np.arange(middle[0] - HALF, middle[0] + HALF + 1)
    columns = np.arange(middle[1] - HALF, middle[1] + HALF + 1)
    inside = ((rows >= 0) & (rows < grey.shape[0]))[:, None] & ((columns >= 0) & (columns < grey.shape[1]))
    part = grey[np.ix_(rows.clip(0, grey.shape[0] - 1), columns.clip(0, grey.shape[1] - 1))]
    values = np.where(inside, np.clip(part, 0, 1) * 255, 0).astype(np.uint8)
    image = QImage(values.tobytes(), side, side, side, QImage.Format.Format_Grayscale8)
    pixmap = QPixmap.fromImage(
        image.scaled(side * TIMES, side * TIMES, mode=Qt.TransformationMode.SmoothTransformation)
    )
    x = (column - middle[1] + HALF + 0.5) * TIMES
    y = (row - middle[0] + HALF + 0.5) * TIMES
    painter = QPainter(pixmap)
    painter.setPen(QPen(QColor("#f0e442"), 1))
    end = side * TIMES
    for gap in (-1, 1):
        painter.drawLine(round(x), round(y + 6 * gap), round(x), 0 if gap < 0 else end)
        painter.drawLine(round(x + 6 * gap), round(y), 0 if gap < 0 else end, round(y))
    painter.end()
    return pixmap
