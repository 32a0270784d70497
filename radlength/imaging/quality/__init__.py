"""Image quality that pixels alone tell: one measure a file, each with a value, a verdict and a reason.

What needs marks lies in the room of records. No measure, and no number of them, grades an image: that is a person's.
"""

from radlength.imaging.quality.measure import Measure, QualityVerdict, not_measured
from radlength.imaging.quality.pixels import each_pixel_measure, pixel_measures

__all__ = ["Measure", "QualityVerdict", "each_pixel_measure", "not_measured", "pixel_measures"]
