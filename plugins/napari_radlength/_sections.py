"""The sections of the dock in working order, in one place."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from napari_radlength._section_canals import CanalSection
from napari_radlength._section_case import CaseSection
from napari_radlength._section_confirm import ConfirmSection
from napari_radlength._section_exercise import ExerciseSection
from napari_radlength._section_image import ImageSection
from napari_radlength._section_record import RecordSection
from napari_radlength._section_reference import ReferenceSection
from napari_radlength._section_result import ResultSection
from napari_radlength._section_shape import ShapeSection
from napari_radlength._section_views import ViewsSection
from napari_radlength._widgets import Section

SECTIONS: tuple[tuple[str, Callable[[Any], Section]], ...] = (
    ("image", ImageSection),
    ("reference", ReferenceSection),
    ("canal", CanalSection),
    ("result", lambda _dock: ResultSection()),
    ("confirm", ConfirmSection),
    ("shape", ShapeSection),
    ("views", ViewsSection),
    ("record", RecordSection),
    ("case", CaseSection),
    ("exercise", ExerciseSection),
)
"""Name of the section in the dock, and what makes it of the dock.

A section that has a method ``show_dock(dock)`` is told after every change of the marks or of the image.
"""
