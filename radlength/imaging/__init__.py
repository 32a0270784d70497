"""Read a file into a :class:`Radiograph`: stored grey values, pixel hash, header scale, findings."""

from radlength.imaging.radiograph import FileFacts, Grey, HeaderScale, Radiograph, pixel_hash
from radlength.imaging.read import read_radiograph

__all__ = ["FileFacts", "Grey", "HeaderScale", "Radiograph", "pixel_hash", "read_radiograph"]
