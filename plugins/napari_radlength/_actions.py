"""What buttons, fields and keys for marking do: each goes to the marker or the session."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from qtpy.QtWidgets import QPushButton

from napari_radlength._layers import SessionLayers
from napari_radlength._marking import Marker, Role
from napari_radlength._viewer import middle_of
from radlength.session import Session

STEP, PUSH, STRIDE = 0.1, 1.0, 10.0
"""Pixels an arrow key moves a point by, with Shift, and with Ctrl."""


class MarkingActions:
    """The part of the dock that marks."""

    _session: Session | None
    _marker: Marker | None
    _layers: SessionLayers | None
    _viewer: Any
    reference: Any
    canal: Any
    _told: Callable[[Callable[[], None]], None]
    _refresh: Callable[[], None]
    window: Any

    def keys_changed(self) -> None:
        """Say the keys as they are bound now."""
        self._refresh()

    def _mark(self, do: Callable[[Marker], None]) -> None:
        marker = self._marker
        if marker is not None:
            marker.put_back()
            self._told(lambda: do(marker))
            if self._layers is not None:
                self._layers.activate()

    def keys_to_image(self) -> None:
        """Take the keys from a button: on it an arrow would go to the next field, and Enter press it again."""
        here = self.window().focusWidget()
        if isinstance(here, QPushButton):
            here.clearFocus()

    def _edit(self, do: Callable[[Session], None]) -> None:
        session = self._session
        if session is not None:
            if self._marker is not None:
                self._marker.put_back()
            self._told(lambda: do(session))

    def _forget_note(self) -> None:
        if self._marker is not None:
            self._marker.note = ""

    def undo(self) -> None:
        """Take the last step back, and what was said of it."""
        self._forget_note()
        self._edit(lambda session: session.undo())

    def redo(self) -> None:
        """Do the step again."""
        self._forget_note()
        self._edit(lambda session: session.redo())

    def mark_reference(self) -> None:
        """Let clicks mark the reference."""
        self.keys_to_image()
        self._mark(lambda marker: marker.use("reference"))

    def mark_canal(self) -> None:
        """Let clicks mark the canal."""
        self.keys_to_image()
        self._mark(lambda marker: marker.use("canal"))

    def go_on(self) -> None:
        """Accept what is proposed and go on; a reference without a length, or a canal without a tooth, asks for it."""
        self.canal.tooth.clearFocus()
        self.keys_to_image()
        self._mark(lambda marker: marker.go_on())
        if self._session is None or self._marker is None:
            return
        reference, canal = self._session.annotation.reference, self._session.annotation.canal
        if self._marker.tool == "reference" and len(reference.path_px) > 1 and not reference.length_mm:
            self.reference.length.setFocus()
            self.reference.length.selectAll()
        elif self._marker.tool == "canal" and len(canal.path_px) > 1 and not canal.tooth:
            self.canal.tooth.setFocus()

    def length_typed(self) -> None:
        """Give the keys back to the image after the length was typed; an open trace is not accepted by that."""
        self.reference.length.interpretText()
        self.reference.length.clearFocus()
        found = self._session.proposal if self._session is not None else None
        if found is None or found.what == "reference":
            self._mark(lambda marker: marker.go_on())

    def drop(self) -> None:
        """Put a point that is dragged back; else drop what is proposed, or stop marking."""
        if self._marker is not None and self._marker.dragged is not None:
            self._told(self._marker.put_back)
        else:
            self._mark(lambda marker: marker.drop())

    def take_back(self) -> None:
        """Take the last click back."""
        self._mark(lambda marker: marker.take_back())

    def take_back_reference(self) -> None:
        """Take the last click on the reference back."""
        self._take_back("reference")

    def take_back_canal(self) -> None:
        """Take the last click on the canal back."""
        self._take_back("canal")

    def _take_back(self, role: Role) -> None:
        self._mark(lambda marker: marker.use(role))
        self._mark(lambda marker: marker.take_back())

    def delete_point(self) -> None:
        """Delete the chosen point."""
        self._mark(lambda marker: marker.delete_chosen())

    def trace(self) -> None:
        """Trace again through the clicks."""
        self.keys_to_image()
        self._mark(lambda marker: marker.propose(marker.tool or "canal", asked=True))

    def toggle_assist(self) -> None:
        """Tracing by the program on or off."""
        self.canal.assist.toggle()

    def set_assist(self, on: bool) -> None:
        """Trace between clicks, or leave them as they are."""
        if self._marker is not None:
            self._marker.assist = on
            self._edit(lambda session: session.discard())

    def next_canal(self) -> None:
        """Go to an empty canal, or add one."""
        self.keys_to_image()
        self._mark(lambda marker: marker.next_canal())

    def other_canal(self) -> None:
        """Make the canal current that was marked after this one."""
        self.keys_to_image()
        if self._session is not None:
            marks = self._session.annotation
            self.select((marks.current + 1) % len(marks.canals))

    def remove_canal(self) -> None:
        """Remove the current canal, and what was said of it."""
        self._forget_note()
        self._edit(lambda session: session.remove_canal())

    def select(self, index: int) -> None:
        """Make another canal current."""
        self._mark(lambda marker: marker.select(index))
        self._refresh()

    def set_tooth(self, tooth: str) -> None:
        """Give the current canal a tooth."""
        self._mark(lambda marker: marker.set_tooth(tooth))

    def set_name(self, name: str) -> None:
        """Give the current canal a name."""
        if self._session is not None and name != self._session.annotation.canal.name:
            tooth = self._session.annotation.canal.tooth
            self._edit(lambda session: session.rename_canal(tooth, name))
            self.canal.name.setText(self._session.annotation.canal.name)

    def edit_canal(self, **changes: Any) -> None:
        """Change fields of the current canal."""
        self._edit(lambda session: session.apply(session.with_canal(**changes)))

    def edit_reference(self, **changes: Any) -> None:
        """Change fields of the current reference; one beside the tooth lies in no canal."""
        if changes.get("placement") == "beside":
            changes["canal"] = None
        self._edit(lambda session: session.apply(session.with_reference(**changes)))

    def state_pitch(self, pitch_mm: float) -> None:
        """State the pixel pitch of the detector; zero states nothing and shows what is stated."""
        if pitch_mm:
            self._edit(lambda session: session.state_pitch(pitch_mm))
        self._refresh()

    def edit_shape(self, **changes: Any) -> None:
        """Say what is known of the instrument's shape; a tip that the program placed is looked for again."""

        def edit(marker: Marker) -> None:
            marker.refuse_proposal(of="canal")
            marker.session.apply(marker.session.with_reference(**changes))
            if marker.session.proposal is None:
                marker.propose("reference")

        self._mark(edit)
        self._refresh()

    def add_reference(self) -> None:
        """Give the current canal a reference of its own."""
        self.keys_to_image()

        def add(marker: Marker) -> None:
            marker.refuse_proposal(of="reference")
            marker.session.add_reference()
            marker.use("reference")

        self._mark(add)

    def choose_reference(self, name: str) -> None:
        """Let another reference measure the current canal, or none."""

        def choose(marker: Marker) -> None:
            marker.refuse_proposal(of="reference")
            session = marker.session
            names = [one.name for one in session.annotation.references]
            session.apply(session.with_canal(reference=name if name in names else None))

        self._mark(choose)
        self._refresh()

    def place_point(self) -> None:
        """Place the next point without the mouse, the first in the middle of what is seen."""
        self.keys_to_image()
        image = self._layers.image if self._layers is not None else None
        if image is not None:
            middle = image.world_to_data(middle_of(self._viewer))[-2:]
            self._mark(lambda marker: marker.place(middle))

    def _choose(self, step: int) -> None:
        self.keys_to_image()
        self._mark(lambda marker: marker.choose(step))

    def next_point(self) -> None:
        """Choose the next point."""
        self._choose(1)

    def previous_point(self) -> None:
        """Choose the point before."""
        self._choose(-1)

    def nudge(self, rows: float, columns: float) -> None:
        """Move the chosen point by steps on the screen: up is up, however the view is turned."""
        if self._layers is not None and self._layers.image is not None:
            image = self._layers.image
            move = [
                one - zero
                for one, zero in zip(
                    image.world_to_data((rows, columns)), image.world_to_data((0, 0)), strict=True
                )
            ]
            size = max(map(abs, move)) or 1.0
            rows, columns = (part / size * max(abs(rows), abs(columns)) for part in move)
        self._mark(lambda marker: marker.nudge(rows, columns))

    def nudge_up(self) -> None:
        """Move the chosen point up."""
        self.nudge(-STEP, 0)

    def nudge_down(self) -> None:
        """Move it down."""
        self.nudge(STEP, 0)

    def nudge_left(self) -> None:
        """Move it left."""
        self.nudge(0, -STEP)

    def nudge_right(self) -> None:
        """Move it right."""
        self.nudge(0, STEP)

    def push_up(self) -> None:
        """Move the chosen point up by a pixel."""
        self.nudge(-PUSH, 0)

    def push_down(self) -> None:
        """Move it down by a pixel."""
        self.nudge(PUSH, 0)

    def push_left(self) -> None:
        """Move it left by a pixel."""
        self.nudge(0, -PUSH)

    def push_right(self) -> None:
        """Move it right by a pixel."""
        self.nudge(0, PUSH)

    def stride_up(self) -> None:
        """Move the chosen point up by ten pixels."""
        self.nudge(-STRIDE, 0)

    def stride_down(self) -> None:
        """Move it down by ten pixels."""
        self.nudge(STRIDE, 0)

    def stride_left(self) -> None:
        """Move it left by ten pixels."""
        self.nudge(0, -STRIDE)

    def stride_right(self) -> None:
        """Move it right by ten pixels."""
        self.nudge(0, STRIDE)
