"""Known lengths to millimetres: references in the canal and beside it, and the image header."""

from radlength.scale.frame import Frame
from radlength.scale.image_scale import image_scale
from radlength.scale.model import Method, Scale, header_scale, reference_scale, scale_for
from radlength.scale.reference import STAMPED_LIMIT_MM, Placement, Reference

__all__ = [
    "STAMPED_LIMIT_MM",
    "Frame",
    "Method",
    "Placement",
    "Reference",
    "Scale",
    "header_scale",
    "image_scale",
    "reference_scale",
    "scale_for",
]
