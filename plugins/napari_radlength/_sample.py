"""Sample data: the invented case of the demo."""

from __future__ import annotations

from importlib import resources
from typing import Any

from napari_radlength._convert import image_layer
from radlength.imaging import read_radiograph


def invented_premolar() -> list[tuple[Any, ...]]:
    """Return the invented premolar as an image layer."""
    with resources.as_file(resources.files("radlength").joinpath("demo", "invented-premolar.png")) as path:
        return [image_layer(read_radiograph(path))]
