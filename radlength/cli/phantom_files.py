"""Files of a simulated image: made apart and put in their place together, never over others."""

from __future__ import annotations

import filecmp
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from radlength.clean import refused
from radlength.errors import PhantomError


@contextmanager
def made_apart(out: Path) -> Iterator[Path]:
    """Yield an empty folder within another one, which is made if missing and left as it was.

    Raises
    ------
    PhantomError
        The folder cannot be made or written to.
    """
    there = out.exists()
    try:
        out.mkdir(parents=True, exist_ok=True)
        apart = TemporaryDirectory(prefix=".radlength-", dir=out)
    except OSError as exc:
        raise PhantomError(
            f"the folder {out} cannot be written to: {refused(exc)}",
            "a folder that is there, or can be made",
            "name another folder",
            code="phantom-folder",
        ) from exc
    try:
        with apart as place:
            yield Path(place)
    except PhantomError as exc:
        if exc.code != "phantom-folder":
            raise
        wrong = exc.wrong.replace(apart.name, str(out))
        raise PhantomError(wrong, exc.allowed, exc.remedy, code=exc.code) from exc
    finally:
        if not there and not any(out.iterdir()):
            out.rmdir()


def moved(files: Sequence[Path], out: Path) -> list[Path]:
    """Move files into a folder and return where they are.

    Raises
    ------
    PhantomError
        One of that name is there with other contents: an image of other options, or marks that were changed.
    """
    for file in files:
        there = out / file.name
        if there.exists() and not filecmp.cmp(file, there, shallow=False):
            raise PhantomError(
                "a file of that name is there, made with other options or changed since",
                "a new folder, or one that holds the same",
                "name another folder, or move the file away",
                code="phantom-there",
                subject=str(there),
            )
    return [file.replace(out / file.name) for file in files]
