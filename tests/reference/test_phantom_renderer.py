"""The phantom's ray lengths against gVirtualXRay 2 (Vidal et al., an independent polygon renderer on OpenGL).

Optional: skipped where `gvxr` is not installed. Same geometry, same pixels, other code: theirs rasterises triangles,
and now and then lets a pixel on the very silhouette count one face without its partner. Each body is therefore
rendered three times with its facets turned, and the median taken.
"""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from helpers.meshes import ball_mesh, tube_mesh, volume

from radlength.phantom import Camera, random_scene
from radlength.phantom.chords import Tube, add_ball, add_tube
from radlength.phantom.tools import instrument_tube, tangents_at

SHAPE = (700, 520)
TURNS = (0.0, 0.31, 0.67)
VIEWS = {
    "straight": {"theta_deg": 0.0, "phi_deg": 0.0, "horizontal_deg": 0.0, "yaw_deg": 0.0, "roll_deg": 0.0},
    "tilted and shifted": {
        "theta_deg": 25.0,
        "phi_deg": 12.5,
        "horizontal_deg": 20.0,
        "yaw_deg": 5.0,
        "roll_deg": 3.0,
    },
}


@pytest.fixture(scope="module")
def gvxr():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        module = pytest.importorskip("gvxrPython3", exc_type=ImportError).gvxr
    module.createOpenGLContext()
    module.usePointSource()
    module.setMonoChromatic(0.04, "MeV", 1)
    module.setDetectorNumberOfPixels(SHAPE[1], SHAPE[0])
    yield module
    module.destroy()


def rendered(gvxr, vertices, faces, camera):
    """Return millimetres in the body, our orientation: theirs has row 0 at the bottom and columns reversed."""
    middle = camera.pixel_mm(np.array([(SHAPE[0] - 1) / 2, (SHAPE[1] - 1) / 2]))
    gvxr.removePolygonMeshesFromSceneGraph()
    gvxr.setSourcePosition(*map(float, camera.source_mm), "mm")
    gvxr.setDetectorPosition(*map(float, middle), "mm")
    gvxr.setDetectorUpVector(*map(float, -camera.row_axis))
    gvxr.setDetectorRightVector(*map(float, -camera.column_axis))
    gvxr.setDetectorPixelSize(camera.pitch_mm, camera.pitch_mm, "mm")
    gvxr.makeTriangularMesh("body", vertices.ravel().tolist(), faces.ravel().tolist(), "mm")
    gvxr.addPolygonMeshAsInnerSurface("body")
    return np.array(gvxr.computeLBuffer("body"))[::-1, ::-1] * 10.0


def bodies(scene):
    canal = scene.canal()
    s = np.linspace(0, canal.length_mm, 60)
    return {
        "instrument": instrument_tube(scene.instruments[0], canal),
        "root": Tube(canal.at(s), tangents_at(canal, s), np.linspace(3.0, 0.8, 60), stretch=1.2),
    }


def centroid(image):
    rows, columns = np.mgrid[0 : image.shape[0], 0 : image.shape[1]]
    return np.array([(rows * image).sum(), (columns * image).sum()]) / image.sum()


@pytest.mark.parametrize("view", VIEWS, ids=list(VIEWS))
@pytest.mark.parametrize("body", ["instrument", "root", "ball"])
def test_ray_lengths_agree(gvxr, body, view):
    scene = random_scene(3, pitch_mm=0.05, shape_px=SHAPE, bend_deg=30.0, **VIEWS[view])
    camera = Camera.of(scene.view)
    ours = np.zeros(SHAPE, np.float32)
    if body == "ball":
        add_ball(ours, scene.ball, camera)
        meshes = [ball_mesh(scene.ball.centre_mm, scene.ball.diameter_mm / 2, turned=t) for t in TURNS]
    else:
        tube = bodies(scene)[body]
        add_tube(ours, tube, camera)
        meshes = [tube_mesh(tube, turned=t) for t in TURNS]
    assert all(volume(*mesh) > 0 for mesh in meshes)
    theirs = np.median([rendered(gvxr, *mesh, camera) for mesh in meshes], axis=0)
    rms = float(np.sqrt(np.mean((ours - theirs)[(ours > 0) | (theirs > 0)] ** 2)))
    apart = np.abs(centroid(ours) - centroid(theirs)).max()
    print(f"{body}, {view}: centroids {apart:.4f} px apart, ray lengths {rms:.4f} mm rms")
    assert ours.max() > 0.3
    assert apart < 0.02
    assert rms < 0.005
