"""Edits of a session by name: each makes new marks, and most of them one undo step."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import replace
from typing import Any

from radlength.imaging import Radiograph
from radlength.session.drafts import Annotation, CanalDraft, ReferenceDraft, points
from radlength.session.edits import (
    with_canal_added,
    with_canal_changed,
    with_canal_removed,
    with_canal_renamed,
    with_reference_added,
    with_reference_changed,
)
from radlength.session.handles import carried


class Edits:
    """The edits of a session; it says how marks are kept and shown."""

    radiograph: Radiograph
    _kept: Annotation

    def apply(self, new: Annotation, *, run: Hashable | None = None) -> None:
        """Make the marks `new`."""
        raise NotImplementedError

    def cancel(self) -> None:
        """Show what is kept."""
        raise NotImplementedError

    def with_canal_path(self, path: Sequence[Sequence[float]], marks: Annotation | None = None) -> Annotation:
        """Return marks, those kept by default, with another path of the current canal.

        A program's point that has not moved stays one.
        """
        marks = marks or self._kept
        return with_canal_changed(marks, **_edited(marks.canal, path))

    def with_reference_path(
        self, path: Sequence[Sequence[float]], marks: Annotation | None = None
    ) -> Annotation:
        """Return marks with another path of the current reference, as :meth:`with_canal_path` does."""
        marks = marks or self._kept
        return with_reference_changed(marks, **_edited(marks.reference, path))

    def with_canal(self, **changes: Any) -> Annotation:
        """Return the marks with fields of the current canal changed."""
        return with_canal_changed(self._kept, **changes)

    def with_reference(self, **changes: Any) -> Annotation:
        """Return the marks with fields of the current reference changed."""
        return with_reference_changed(self._kept, **changes)

    def add_canal(self, tooth: str, name: str) -> None:
        """Add an empty canal and make it current.

        Raises
        ------
        MarkError
            The tooth has a canal of that name.
        """
        self.apply(with_canal_added(self._kept, tooth, name))

    def rename_canal(self, tooth: str, name: str) -> None:
        """Give the current canal another tooth or name.

        Raises
        ------
        MarkError
            The tooth has another canal of that name, or the name is empty.
        """
        self.apply(with_canal_renamed(self._kept, tooth, name))

    def add_reference(self) -> None:
        """Add an empty reference that measures the current canal."""
        self.apply(with_reference_added(self._kept))

    def state_pitch(self, pitch_mm: float) -> None:
        """State the pixel pitch of the detector, down and across, where the file has none.

        Once it is in the record another one can be stated in its place, but it is not taken away.

        Parameters
        ----------
        pitch_mm
            In millimetres.

        Raises
        ------
        ImageError
            A pitch that no intra-oral detector has, or the file states a scale.
        """
        self.radiograph.with_stated_pitch(pitch_mm, pitch_mm)
        self.apply(replace(self._kept, pitch_mm=pitch_mm))

    def remove_canal(self) -> None:
        """Remove the current canal; the last one is only emptied."""
        self.apply(with_canal_removed(self._kept))

    def select(self, index: int) -> None:
        """Make another canal current. Not an undo step."""
        self._kept = replace(self._kept, current=index)
        self.cancel()

    def take_back(self, what: str) -> None:
        """Remove the last click of the ``"canal"`` or the ``"reference"``."""
        if what == "canal":
            self.apply(self.with_canal_path(self._kept.canal.handles_px[:-1]))
        else:
            self.apply(self.with_reference_path(self._kept.reference.handles_px[:-1]))


def _edited(draft: CanalDraft | ReferenceDraft, path: Sequence[Sequence[float]]) -> dict[str, Any]:
    new = points(path)
    return {"path_px": new, "assists": carried(new, draft.path_px, draft.assists)}
