"""What the buttons and keys for looking do: which image, how turned, how bright. Nothing of it reaches a length."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from qtpy.QtWidgets import QFileDialog, QWidget

from napari_radlength._convert import IMAGE_KEY
from napari_radlength._display import gamma_of, shown
from napari_radlength._images import Shot, shots_in
from napari_radlength._layers import SessionLayers
from napari_radlength._notify import told
from napari_radlength._viewer import fit_view, turned
from radlength.session import Session

if TYPE_CHECKING:
    from napari.components import ViewerModel

    from radlength.imaging import Radiograph


def image_layer_of(viewer: ViewerModel, radiograph: Radiograph) -> Any:
    """Return the layer that shows a radiograph, or ``None``."""
    return next((one for one in viewer.layers if one.metadata.get(IMAGE_KEY) is radiograph), None)


class ViewingActions(QWidget):
    """The part of the dock that looks."""

    _viewer: ViewerModel
    _session: Session | None
    _layers: SessionLayers | None
    _sessions: dict[tuple[str, str], Session]
    _shots: tuple[Shot, ...]
    _inset: Any
    image: Any
    shape: Any
    records_dir: Path | None = None

    def _refresh_sections(self) -> None:
        raise NotImplementedError

    def show_session(self, session: Session) -> None:
        """Show an image and its marks."""
        raise NotImplementedError

    def open_images(self, paths: list[Path]) -> None:
        """Open images, or the images of folders, in order of time; the first is shown."""
        with told():
            self._shots = shots_in(paths)
            if self._shots:
                self.show_image(0)

    def add_images(self, paths: list[Path]) -> None:
        """Add images to those opened; the one that is shown stays."""
        with told():
            self._shots = shots_in([*(shot.path for shot in self._shots), *paths])
            self._refresh_sections()

    def show_image(self, index: int) -> None:
        """Show one of the opened images; its marks stay as they were left."""
        if not 0 <= index < len(self._shots):
            return
        with told():
            path = self._shots[index].path
            known = next((one for one in self._sessions.values() if one.radiograph.path == path), None)
            self.show_session(known or Session.open(path, records_dir=self.records_dir))

    def show_shape(self) -> None:
        """Lay the instruments typed in the section along the current canal; nothing of it is kept."""
        session = self._session
        found = session.estimate()[0] if session is not None else None
        if session is None or found is None or found.working_length is None:
            return
        from radlength.shape import Wanted, make_preview

        with told():
            wanted = Wanted(options=(self.shape.option.text(),))
            preview = make_preview(found, wanted, radiograph=session.measured_image)
            self.shape.show_preview(found, preview)
            laid = preview.options[0].laid
            if self._layers is not None:
                ends = np.stack([laid.left_px[0], laid.right_px[0]])
                self._layers.show_outline((laid.left_px, laid.right_px, ends))

    def ask_for_images(self) -> None:
        """Ask for images and open them."""
        names, _ = QFileDialog.getOpenFileNames(
            self, "Open images", "", "Radiographs (*.png *.jpg *.jpeg *.tif *.tiff *.dcm *.dicom)"
        )
        if names:
            self.open_images([Path(name) for name in names])

    def _at(self) -> int:
        """Return the place of the image that is shown among those opened, -1 where it is none of them."""
        path = self._session.radiograph.path if self._session is not None else None
        return next((n for n, shot in enumerate(self._shots) if shot.path == path), -1)

    def next_image(self) -> None:
        """Show the next image."""
        self.show_image(self._at() + 1)

    def previous_image(self) -> None:
        """Show the image before."""
        self.show_image(self._at() - 1)

    def _before(self) -> Session | None:
        """Return the session of the image before this one, where it was opened and has marks."""
        found = self._before_or_none()
        return found if found is not None and any(c.path_px for c in found.annotation.canals) else None

    def carry_marks(self) -> None:
        """Propose the marks of the image before on this one."""
        before = self._before()
        if before is not None and self._session is not None:
            with told():
                self._session.propose_marks(before.annotation, before.radiograph.name)

    def toggle_beside(self) -> None:
        """Show the image before at the left of this one, moving and zooming with it; again: this one alone."""
        before = self._before_or_none()
        if before is None or self._session is None:
            return
        layer = image_layer_of(self._viewer, before.radiograph)
        if layer is None:
            return
        layer.visible = not layer.visible
        gap = 0.03 * layer.data.shape[1]
        layer.translate = (
            (0, -(layer.data.shape[1] - 1 + gap) * float(layer.scale[-1])) if layer.visible else (0, 0)
        )
        fit_view(self._viewer)

    def _before_or_none(self) -> Session | None:
        at = self._at()
        path = self._shots[at - 1].path if at > 0 else None
        return next((one for one in self._sessions.values() if path and one.radiograph.path == path), None)

    def fit(self) -> None:
        """Show the whole image."""
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
        layer.colormap = "gray_r" if self.image.invert.isChecked() else "gray"
        self._inset.show_grey(grey, window, inverted=self.image.invert.isChecked())

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

    def toggle_inset(self) -> None:
        """Magnifier on or off."""
        self._inset.toggle()
