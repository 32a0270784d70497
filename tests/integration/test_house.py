"""The house stands: the core loads without windows, quickly, and the wheel holds what it must."""

import subprocess
import sys
import zipfile
from pathlib import Path

ROOT = Path(__file__).parents[2]


def run(code):
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout


def test_importing_radlength_loads_nothing_heavy():
    heavy = "('numpy', 'scipy', 'cv2', 'pydicom', 'pydantic', 'skimage', 'napari', 'qtpy', 'rich')"
    assert run(f"import radlength, sys; print([m for m in {heavy} if m in sys.modules])").strip() == "[]"


def test_the_whole_core_loads_no_window():
    code = (
        "import radlength, sys; [getattr(radlength, name) for name in radlength.__all__]; import radlength.session;"
        "print([m for m in ('napari', 'qtpy', 'PySide6', 'matplotlib', 'PIL') if m in sys.modules])"
    )
    assert run(code).strip() == "[]"


def test_the_wheel_holds_both_packages_and_their_data(tmp_path):
    command = [
        sys.executable,
        "-m",
        "build",
        "--wheel",
        "--no-isolation",
        "--outdir",
        str(tmp_path),
        str(ROOT),
    ]
    subprocess.run(command, capture_output=True, check=True)
    wheel = next(tmp_path.glob("*.whl"))
    names = set(zipfile.ZipFile(wheel).namelist())
    wanted = {
        "radlength/py.typed",
        "radlength/__init__.pyi",
        "radlength/demo/invented-premolar.png",
        "radlength/demo/tooth036-projection.marks.json",
        "radlength/record/schema/radlength-record-2.schema.json",
        "napari_radlength/napari.yaml",
    }
    assert wanted <= names
    beside = {path.relative_to(ROOT).as_posix() for path in (ROOT / "radlength").rglob("*") if path.is_file()}
    code = {name for name in beside if "__pycache__" in name or name.endswith((".py", ".pyc"))}
    assert len(beside - code) > 8
    assert beside - code <= names
    assert not any(name.startswith(("tests/", "fixtures/")) for name in names)
    unpacked = tmp_path / "unpacked"
    zipfile.ZipFile(wheel).extractall(unpacked)
    code = f"import sys; sys.path.insert(0, {str(unpacked)!r}); sys.argv = ['radlength', 'demo', '--out', 'made']"
    code += "; from radlength.cli import main; main()"
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=True,
    )
    assert "working length" in done.stdout
    assert (tmp_path / "made" / "invented-premolar-marked.png").stat().st_size > 100_000


def test_no_public_name_of_a_room_is_the_name_of_a_module_in_it():
    """A module that was imported would hide the function."""
    import importlib
    import pkgutil

    import radlength

    for found in pkgutil.walk_packages(radlength.__path__, "radlength."):
        if found.ispkg and found.name != "radlength.scale":  # its image_scale is bound when the room loads
            room = importlib.import_module(found.name)
            modules = {module.name for module in pkgutil.iter_modules(room.__path__)}
            assert modules.isdisjoint(getattr(room, "__all__", ())), found.name
