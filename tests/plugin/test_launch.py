"""The window of ``radlength view``: opened, or refused in words."""

import gc
import os
import subprocess
import sys

import pytest
from qtpy.QtCore import QThreadPool

from napari_radlength import _launch
from napari_radlength._screen import SCREENS
from radlength.errors import ImageError, RadlengthError

pytestmark = pytest.mark.gui


@pytest.mark.usefixtures("own_app")
def test_launch_opens_the_image_in_a_window(image_file, monkeypatch):
    import napari

    seen = []

    def run():
        viewer = napari.current_viewer()
        seen.append((viewer.title, viewer.layers[0].name))
        viewer.close()

    monkeypatch.setattr(napari, "run", run)
    folder = image_file.parent
    assert _launch.launch(folder, folder / "records") == 0
    assert seen == [(f"radlength: {folder.name}", "tooth.png")]
    QThreadPool.globalInstance().waitForDone(20000)
    gc.collect()


INTERRUPTED = """
import os, signal, sys
import napari
from qtpy.QtCore import QTimer
from radlength.cli import main
run = napari.run
def soon():
    QTimer.singleShot(1500, lambda: os.kill(os.getpid(), signal.SIGINT))
    run()
napari.run = soon
sys.argv = ["radlength", "view", sys.argv[1]]
main()
"""


@pytest.mark.skipif(os.name != "posix", reason="signals of Windows are others")
def test_an_interrupt_from_the_keyboard_closes_the_window_and_leaves_the_image_alone(image_file):
    before = image_file.read_bytes()
    done = subprocess.run(
        [sys.executable, "-c", INTERRUPTED, str(image_file)],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 130
    assert "Traceback" not in done.stderr
    assert image_file.read_bytes() == before


def test_launch_refuses_where_there_is_no_screen(image_file, monkeypatch):
    for name in SCREENS:
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(_launch.sys, "platform", "linux")
    with pytest.raises(
        RadlengthError, match=r"no screen to open a window on; a desktop, .*; without one, measure"
    ):
        _launch.launch(image_file)


def test_launch_refuses_a_folder_without_images(tmp_path):
    with pytest.raises(ImageError, match="no image in this folder"):
        _launch.launch(tmp_path)
