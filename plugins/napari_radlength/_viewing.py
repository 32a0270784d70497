"""What the buttons and keys for looking do: which image, how turned, how bright. Nothing of it reaches a length."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from qtpy.QtWidgets import QWidget

from napari_radlength._display import gamma_of, shown
from napari_radlength._layers import SessionLayers
from napari_radlength._marking import Marker
from napari_radlength._notify import told
from napari_radlength._viewer import fit_view, flatten, turned
from radlength.geometry import CARRIED
from radlength.session import Session

if TYPE_CHECKING:
    from napari.components import ViewerModel


class ViewingActions(QWidget):
    """The part of the dock that looks."""

    _viewer: ViewerModel
    _session: Session | None
    _layers: SessionLayers | None
    _inset: Any
    image: Any
    shape: Any
    _marker: Marker | None
    _mark: Any
    say: Any

    def show_shape(self) -> None:
        """Lay the instruments typed in the section along the current canal; nothing of it is kept."""
        session = self._session
        found = session.estimate()[0] if session is not None else None
        if session is None or found is None or found.working_length is None:
            return
        from radlength.shape import Wanted, make_preview

        self.drop_shape()
        with told():
            wanted = Wanted(options=(self.shape.option.text(),))
            preview = make_preview(found, wanted, radiograph=session.measured_image)
            self.shape.show_preview(found, preview)
            laid = preview.options[0].laid
            if self._layers is not None:
                ends = np.stack([laid.left_px[0], laid.right_px[0]])
                self._layers.show_outline((laid.left_px, laid.right_px, ends))

    def drop_shape(self, _text: object = None) -> None:
        """Show no instruments any more."""
        self.shape.drop()
        if self._layers is not None:
            self._layers.show_outline(())

    def fit(self) -> None:
        """Show the whole image, flat."""
        flatten(self._viewer)
        fit_view(self._viewer)

    def turn(self, quarter: int) -> None:
        """Turn the view; no mark and no length knows of it."""
        layer = self._layers.image if self._layers is not None else None
        if layer is not None:
            layer.affine = turned(layer, quarter=quarter)
            fit_view(self._viewer)

    def flip(self) -> None:
        """Flip the view left to right; no mark and no length knows of it."""
        layer = self._layers.image if self._layers is not None else None
        if layer is not None:
            layer.affine = turned(layer, flip=True)

    def show_grey(self) -> None:
        """Show grey values as the display controls say."""
        layer = self._layers.image if self._layers is not None else None
        if layer is None or self._session is None:
            return
        grey, window = shown(self._session.radiograph.display(), self.image.preset.currentText())
        layer.data = grey
        layer.contrast_limits = window
        layer.gamma = gamma_of(self.image.gamma.value())
        inverted = self.image.invert.isChecked() != self._session.inverted
        layer.colormap = "gray_r" if inverted else "gray"
        self._inset.show_grey(grey, window, inverted=inverted)

    def say_inverted(self, on: bool) -> None:
        """Say that the file stores its greys the other way round: it is shown and traced so; an open trace anew."""
        session = self._session
        if session is not None and session.inverted != on:
            session.say_inverted(on)
            found = session.proposal
            if self._marker is not None and found is not None and found.method != CARRIED:
                self._mark(lambda marker: marker.propose(found.what, asked=True))
            self.show_grey()

    def next_preset(self) -> None:
        """Show grey values the next way."""
        box = self.image.preset
        box.setCurrentIndex((box.currentIndex() + 1) % box.count())
        self.show_grey()

    def toggle_invert(self) -> None:
        """Dark for bright."""
        self.image.invert.toggle()

    def toggle_marks(self) -> None:
        """Hide or show every mark."""
        if self._layers is not None:
            self._layers.toggle()
            self.say()

    def toggle_inset(self) -> None:
        """Magnifier on or off."""
        self._inset.toggle()
