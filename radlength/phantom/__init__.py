"""Simulated radiographs whose true lengths are known, drawn from a seed.

Nothing in this room estimates anything, and nothing that estimates reads a scene: only pixels or marks
go over.
"""

from radlength.phantom.curve import Bends, CanalCurve, canal_curve
from radlength.phantom.draw import Draw
from radlength.phantom.marks import Marks, draw_marks, simulate_marks
from radlength.phantom.population import random_scene
from radlength.phantom.projection import Camera, View, project, second_exposure, shifted_view, unsharpness_mm
from radlength.phantom.scene import KINDS, Ball, Instrument, Kind, Marker, Rod, Scene, Shown

__all__ = [
    "KINDS",
    "Ball",
    "Bends",
    "Camera",
    "CanalCurve",
    "Draw",
    "Instrument",
    "Kind",
    "Marker",
    "Marks",
    "Rod",
    "Scene",
    "Shown",
    "View",
    "canal_curve",
    "draw_marks",
    "project",
    "random_scene",
    "second_exposure",
    "shifted_view",
    "simulate_marks",
    "unsharpness_mm",
]
