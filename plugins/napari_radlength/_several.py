"""Several images: which are open, which is shown, and what goes from one to the next."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from qtpy.QtCore import QTimer

from napari_radlength._case_actions import CaseActions
from napari_radlength._convert import CASE_KEY, IMAGE_KEY, image_layer
from napari_radlength._exercise_file import EXERCISE_KEY
from napari_radlength._images import SUFFIXES
from napari_radlength._layers import SessionLayers
from napari_radlength._marking import Marker
from napari_radlength._notify import told
from napari_radlength._quality import QualityWorker
from napari_radlength._recent_menu import keep_in_mind
from napari_radlength._viewer import at_once, empty_layer, fit_view
from radlength.errors import RadlengthError
from radlength.session import Session

if TYPE_CHECKING:
    from napari.components import ViewerModel

    from radlength.imaging import Radiograph


HIDDEN_KEPT = 8
"""Images out of sight that stay in the viewer, ready to be shown again; of others only what was read is kept."""

IMAGE_BACK = "The image was put back: marks and lengths stand on it. Open another one in its place"


def image_layer_of(viewer: ViewerModel, radiograph: Radiograph) -> Any:
    """Return the layer that shows a radiograph, or ``None``."""
    return next((one for one in viewer.layers if one.metadata.get(IMAGE_KEY) is radiograph), None)


class SeveralImages(CaseActions):
    """The part of the dock that knows which images are open."""

    _viewer: ViewerModel
    _marker: Marker | None
    _layers: SessionLayers | None
    _sessions: dict[tuple[str, str], Session]
    _turned: dict[tuple[str, str], Any]
    _quality: QualityWorker
    exercise: Any
    views: Any
    records_dir: Path | None = None

    def _connect(self) -> None:
        raise NotImplementedError

    def _leave(self) -> None:
        raise NotImplementedError

    def _refresh(self, _marks: object = None) -> None:
        raise NotImplementedError

    def _look_for_unsaved(self) -> None:
        raise NotImplementedError

    def say(self) -> None:
        """Say what to do next on the image."""
        raise NotImplementedError

    def take_typed(self) -> None:
        """Take a number or a name that was typed and not entered."""
        raise NotImplementedError

    def show_grey(self) -> None:
        """Show grey values as the display controls say."""
        raise NotImplementedError

    def show_image(self, index: int) -> None:
        """Show one of the opened images; its marks stay as they were left."""
        if not 0 <= index < len(self._shots):
            return
        self.take_typed()
        with told():
            self.show_session(self.session_of(self._shots[index].path))

    def session_of(self, path: Path, *, only_known: bool = False) -> Any:
        """Return the session of an image, opened now where it was not; with `only_known` ``None`` instead.

        One of a picture that is in the file no longer is let go; its unsaved marks stay in a file of their own.

        Raises
        ------
        ImageError, RecordError
            The image or its record cannot be used, or its unsaved marks cannot be kept.
        """
        there = [one for one in self._sessions.values() if one.radiograph.path == path]
        for known in there:
            if only_known or not known.is_exchanged():
                return known
        if only_known:
            return None
        fresh = Session.open(path, records_dir=self.records_dir, show_other=True)
        for gone in there:
            gone.discard()
            gone.keep_unsaved()
            self.forget(gone)
        self._sessions[_key(fresh.radiograph)] = fresh
        return fresh

    def _is_unsaved(self, path: Path) -> bool:
        known = self.session_of(path, only_known=True)
        return known is not None and known.is_unfinished

    def pair_with(self, path: Path | None) -> None:
        """Open the other image of two views; the one that is shown stays."""
        with told():
            if path is not None:
                self.session_of(path)
        self._refresh_sections()

    def show_session(self, session: Session, *, marker: Marker | None = None) -> None:
        """Show an image and its marks; the image layer is added where it is not there yet.

        Parameters
        ----------
        session
            The image and its marks.
        marker
            A hand of its own, of an exercise: then nothing is told of the image's quality either.
        """
        with at_once(self._viewer):
            self._exchange(session, marker or Marker(session))
        self._look_for_unsaved()
        if marker is None:
            keep_in_mind(session.radiograph)
            self._quality.start(session.radiograph)
        self.show_grey()
        fit_view(self._viewer)

    def _exchange(self, session: Session, marker: Marker) -> None:
        """Take the marks of one image out of the viewer, and put another image and its marks in."""
        if self._layers is not None:
            self._layers.remove()
        self._leave()
        self._quality.stop()
        self._session = session
        self._marker = marker
        self._sessions[_key(session.radiograph)] = session
        self._show_only(session)
        self._drop_hidden()
        self._connect()

    def forget(self, session: Session) -> None:
        """Take a session, its marks and its image out of the window; nothing of it is written."""
        if session is self._session:
            if self._layers is not None:
                self._layers.remove()
            self._leave()
            self._quality.stop()
            self._session = self._marker = None
        self._sessions = {key: one for key, one in self._sessions.items() if one is not session}
        layer = image_layer_of(self._viewer, session.radiograph)
        if layer is not None:
            self._viewer.layers.remove(layer)
        self._refresh()

    def _show_only(self, session: Session) -> None:
        """Show the image of a session and hide every other, opened twice too: it could lie over this one."""
        there = False
        for layer in list(self._viewer.layers):
            radiograph = layer.metadata.get(IMAGE_KEY)
            if radiograph is session.radiograph:
                there = layer.visible = True
                layer.translate = (0, 0)
            elif radiograph is not None:
                layer.visible = False
        if not there:
            self._add_layer(session, visible=True)

    def _drop_hidden(self) -> None:
        """Take images out of the viewer that were added longest ago: each keeps its pixels three times over."""
        images = [one for one in self._viewer.layers if one.metadata.get(IMAGE_KEY) is not None]
        hidden = [
            one for one in images if not one.visible and _key(one.metadata[IMAGE_KEY]) in self._sessions
        ]
        for layer in hidden[:-HIDDEN_KEPT]:
            self._keep_turned(layer)
            self._viewer.layers.remove(layer)
            empty_layer(layer)

    def _keep_turned(self, layer: Any) -> None:
        """Keep how an image was turned that is taken out of the viewer, for when it is shown again."""
        radiograph = layer.metadata.get(IMAGE_KEY)
        known = self._sessions.get(_key(radiograph)) if radiograph is not None else None
        if known is not None and known.radiograph is radiograph:
            self._turned[_key(radiograph)] = layer.affine

    def _add_layer(self, session: Session, *, visible: bool) -> Any:
        """Add the image of a session to the viewer, turned as it was, and return its layer."""
        data, settings, _ = image_layer(session.radiograph)
        settings["affine"] = self._turned.get(_key(session.radiograph))
        with self._viewer.layers.events.inserted.blocker(self._on_layer_inserted):
            return self._viewer.add_image(data, **settings, visible=visible)

    def _restore_layers(self) -> None:
        """Make layers again that somebody deleted: marks are in the session, and no length stands without its image."""
        session, layers = self._session, self._layers
        if session is None or layers is None or self._marker is None:
            return
        if layers.image is not None:
            layers.repaint()
            return
        with at_once(self._viewer):
            self._exchange(session, self._marker)
        self.show_grey()
        self._marker.note = IMAGE_BACK
        self.say()

    def _follow_image(self) -> None:
        """Start a session on the newest image layer that carries a radiograph; the same pixels keep their session."""
        radiographs = [layer.metadata.get(IMAGE_KEY) for layer in self._viewer.layers]
        found = next((radiograph for radiograph in reversed(radiographs) if radiograph is not None), None)
        if found is None:
            self._refresh()
            return
        if self._session is not None and found is self._session.radiograph:
            return
        with told():
            known = self._sessions.get(_key(found))
            session = known or self._opened(found)
            if _key(session.radiograph) == _key(found):  # not exchanged between two readings
                session.radiograph = found
            self._add_shot(self._named_with(found) or found.path)
            self.show_session(session)

    def _named_with(self, found: Radiograph) -> Path | None:
        """Return the case or the folder that an image was opened with."""
        layer = image_layer_of(self._viewer, found)
        return layer.metadata.get(CASE_KEY) if layer is not None else None

    def _opened(self, found: Radiograph) -> Session:
        if found.path is None:
            return Session(found)
        return Session.open(found.path, records_dir=self.records_dir, show_other=True)

    def _on_layer_inserted(self, event: Any) -> None:
        if event.value.metadata.get(EXERCISE_KEY) is not None:
            self.exercise.take(event.value)
        elif event.value.metadata.get(IMAGE_KEY) is not None:
            self._follow_image()
        elif _is_picture(event.value):
            layer = event.value
            QTimer.singleShot(0, lambda: self._adopt(layer))

    def _adopt(self, layer: Any) -> None:
        """Open the file of an image that another reader brought in: its own pixels are not those that are measured.

        One that cannot be measured goes below: over an image it would stand beside the lengths of marks it hides.
        """
        if layer not in self._viewer.layers:
            return
        self.take_typed()
        with told():
            try:
                session = self.session_of(Path(layer.source.path))
            except RadlengthError:
                if self._session is not None:
                    self._viewer.layers.move(self._viewer.layers.index(layer), 0)
                raise
            self._viewer.layers.remove(layer)
            self._add_shot(session.radiograph.path)
            self.show_session(session)

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
        if before is not None and self._session is not None and self._marker is not None:
            self._marker.note = ""
            with told():
                self._session.propose_marks(before.annotation, before.radiograph.name)

    def toggle_beside(self) -> None:
        """Show another image at the left of this one, moving and zooming with it; again: this one alone."""
        other = self._beside_or_none()
        if other is None or self._session is None:
            return
        layer = image_layer_of(self._viewer, other.radiograph) or self._add_layer(other, visible=False)
        shown = layer.visible
        self._show_only(self._session)
        layer.visible = not shown
        self._viewer.layers.move(self._viewer.layers.index(layer), 0)
        gap = 0.03 * layer.data.shape[1]
        layer.translate = (
            (0, -(layer.data.shape[1] - 1 + gap) * float(layer.scale[-1])) if layer.visible else (0, 0)
        )
        fit_view(self._viewer)
        self.say()

    def _beside_words(self) -> str:
        """Say which image is which, where another one is shown at the left."""
        here = self._session.radiograph if self._session is not None else None
        aside = [one for one in self._viewer.layers if one.visible and one.translate[-1] < 0]
        radiographs = [one.metadata.get(IMAGE_KEY) for one in aside]
        left = next((one for one in radiographs if one is not None and one is not here), None)
        if here is None or left is None:
            return ""
        return f"Left: {left.name}   Right, with the marks: {here.name}"

    def _beside_or_none(self) -> Session | None:
        """Return the image that goes at the side: the one chosen as the other of two views, else the one before."""
        chosen: Path | None = self.views.chosen
        if chosen is None:
            return self._before_or_none()
        found: Session | None = self.session_of(chosen, only_known=True)
        return found

    def _before_or_none(self) -> Session | None:
        at = self._at()
        path = self._shots[at - 1].path if at > 0 else None
        return next((one for one in self._sessions.values() if path and one.radiograph.path == path), None)


def _is_picture(layer: Any) -> bool:
    """Return whether a layer shows the pixels of a file that may be a radiograph; labels and points do not."""
    from napari.layers import Image

    return isinstance(layer, Image) and Path(layer.source.path or "").suffix.lower() in SUFFIXES


def _key(radiograph: Radiograph) -> tuple[str, str]:
    """Return what tells two images apart: the file and its pixels."""
    return str(radiograph.path or ""), radiograph.pixel_sha256
