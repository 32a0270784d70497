"""A session on an image of noise with one canal marked: the file states no pixel pitch."""

import cv2
import numpy as np

from radlength.session import Session

CANAL = [
    (20.0, 60.0),
    (180.0, 60.0),
    (340.0, 62.0),
    (500.0, 66.0),
    (660.0, 72.0),
    (740.0, 76.0),
    (800.0, 80.0),
]


def write_noise(path, seed=1):
    cv2.imwrite(str(path), np.random.default_rng(seed).integers(0, 200, (900, 120)).astype(np.uint8))
    return path


def session_on(image):
    made = Session.open(image)
    made.apply(made.with_canal(tooth="11"))
    made.apply(made.with_canal_path(CANAL))
    return made
