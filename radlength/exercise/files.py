"""Sets, truths and attempts as files: canonical JSON, digests, and refusals with the place of the fault."""

from __future__ import annotations

import contextlib
import hashlib
import json
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from radlength.clean import refused
from radlength.errors import RadlengthError
from radlength.exercise.models import Attempt, ExerciseSet, SealedTruth, Task
from radlength.exercise.refusal import ExerciseError
from radlength.imaging import Radiograph, read_radiograph
from radlength.record.made import first_error, shown
from radlength.whole_file import put_whole

SET_FILE = "set.json"
MOST_BYTES = 20_000_000
Model = TypeVar("Model", bound=BaseModel)


def canonical(data: Any) -> bytes:
    """Return plain data as bytes that depend on nothing but the data.

    Examples
    --------
    >>> canonical({"b": 1, "a": [2.5]})
    b'{"a":[2.5],"b":1}'
    """
    text = json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return text.encode()


def edition_of(exercises: ExerciseSet) -> str:
    """Return the digest of everything in a set but its seal: another word, another edition."""
    data = exercises.model_dump(mode="json", exclude={"seal_sha256"})
    return hashlib.sha256(canonical(data)).hexdigest()


def dump_truth(truth: SealedTruth) -> bytes:
    """Return the bytes of a teacher's file."""
    return canonical(truth.model_dump(mode="json")) + b"\n"


def seal_of(data: bytes) -> str:
    """Return the seal of the bytes of a teacher's file."""
    return hashlib.sha256(data).hexdigest()


def save_set(exercises: ExerciseSet, folder: Path) -> Path:
    """Write the set file into a folder and return its path."""
    text = json.dumps(exercises.model_dump(mode="json"), indent=1, ensure_ascii=False) + "\n"
    return _write(folder / SET_FILE, text.encode())


def load_set(folder: Path) -> ExerciseSet:
    """Return the set in a folder, or of a set file.

    Raises
    ------
    ExerciseError
        No such file, or not a set.
    """
    path = folder if _is_file(folder) else folder / SET_FILE
    if not path.is_file():
        raise ExerciseError(
            "there is no set of exercises here",
            f"a folder that holds {SET_FILE}, or that file",
            "name the folder that was handed out",
            code="exercise-none",
            subject=shown(str(folder)),
        )
    return _parsed(ExerciseSet, _read(path), path.name, "set")


def folder_of(path: Path) -> Path:
    """Return the folder of a set that is named by its folder or by its file."""
    return path.parent if _is_file(path) else path


def _is_file(path: Path) -> bool:
    """Whether a path is meant as the file of a set: a folder may be called anything."""
    return path.suffix == ".json" and not path.is_dir()


def answers_beside(folder: Path) -> Path:
    """Return where the teacher's file of a set is looked for: beside its folder, never in it."""
    named = folder if folder.name not in ("", "..") else folder.resolve()
    return named.with_name(f"{named.name}.answers.json")


def save_truth(data: bytes, path: Path) -> Path:
    """Write a teacher's file so that only its owner reads it, where the system can."""
    written = _write(path, data, private=True)
    with contextlib.suppress(OSError):
        written.chmod(0o600)
    return written


def load_truth(path: Path, exercises: ExerciseSet) -> SealedTruth:
    """Return the answers to a set.

    Raises
    ------
    ExerciseError
        Not a teacher's file, that of another set or edition, or one that was changed after the set was made.
    """
    data = _read(path)
    truth = _parsed(SealedTruth, data, path.name, "truth")
    if truth.set != exercises.set or truth.edition != edition_of(exercises):
        raise ExerciseError(
            "the answers are those of another set, or the set was changed",
            "the teacher's file that was made with this set",
            "take the set again from where it was published",
            code="truth-other-set",
            subject=path.name,
        )
    if seal_of(data) != exercises.seal_sha256:
        raise ExerciseError(
            "the answers were changed after the set was made",
            "the file as it was written",
            "take it from a backup, or make the set again",
            code="truth-edited",
            subject=path.name,
        )
    return truth


def secret_of(path: Path) -> str:
    """Return the secret in the teacher's file of an assessment.

    Raises
    ------
    ExerciseError
        Not a teacher's file, or of a set that was drawn from no secret.
    """
    secret = _parsed(SealedTruth, _read(path), path.name, "truth").secret
    if secret is None:
        raise ExerciseError(
            "the set of these answers was drawn from no secret",
            "the teacher's file of an assessment",
            "leave it out: a secret is made for you",
            code="exercise-secret",
            subject=shown(path.name),
        )
    return secret


def dump_attempt(attempt: Attempt) -> bytes:
    """Return the bytes of an attempt, its digest last."""
    data = attempt.model_dump(mode="json")
    data["digest"] = hashlib.sha256(canonical(data)).hexdigest()
    return (json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()


def save_attempt(attempt: Attempt, path: Path) -> Path:
    """Write an attempt and return its path."""
    return _write(path, dump_attempt(attempt))


def refuse_losing(path: Path, attempt: Attempt) -> None:
    """Refuse to write an attempt over a file that is none, or over answers that it does not hold.

    Raises
    ------
    ExerciseError
        Something would be lost.
    """
    if not path.exists():
        return
    try:
        old = load_attempt(path)
    except ExerciseError as exc:
        raise ExerciseError(
            "another file is there, and no attempt",
            "a new file, or this learner's attempt",
            "choose another name",
            code="attempt-other-file",
            subject=shown(path.name),
        ) from exc
    same = (old.set, old.edition, old.learner) == (attempt.set, attempt.edition, attempt.learner)
    lost = {answer.task for answer in old.answers} - {answer.task for answer in attempt.answers}
    if lost or not same:
        what = (
            f"answers to {', '.join(sorted(lost))} are there that"
            if same
            else "another attempt is there that"
        )
        raise ExerciseError(
            f"{what} would be lost",
            remedy="move the file away, or choose another name",
            code="attempt-lost",
            subject=shown(path.name),
        )


def load_attempt(path: Path) -> Attempt:
    """Return the attempt in a file.

    Raises
    ------
    ExerciseError
        Not an attempt, or one that was changed after it was written. The digest guards against accidents and
        quick edits; somebody with this program can make a new one.
    """
    return parse_attempt(_read(path), path.name)


def parse_attempt(data: bytes, name: str) -> Attempt:
    """Return the attempt in the bytes of a file; see :func:`load_attempt`."""
    raw = _json(data, name)
    digest = raw.pop("digest", None)
    try:
        whole = digest == hashlib.sha256(canonical(raw)).hexdigest()
    except (ValueError, RecursionError):
        whole = False
    attempt = _checked(Attempt, raw, name, "attempt")
    if not whole:
        raise ExerciseError(
            "the attempt was changed after it was written",
            "the file as radlength wrote it",
            "ask the learner for the original file",
            code="attempt-edited",
            subject=shown(name),
        )
    return attempt


def open_image(folder: Path, task: Task) -> Radiograph:
    """Return the image of an exercise.

    Raises
    ------
    ExerciseError
        Its pixels are not those the set was made with.
    """
    radiograph = read_radiograph(folder / task.image)
    if radiograph.pixel_sha256 != task.pixel_sha256:
        raise ExerciseError(
            "the pixels are not those the set was made with",
            "the image as it was published",
            "take the set again from where it was published",
            code="exercise-image",
            subject=task.image,
        )
    return radiograph


def _parsed(kind: type[Model], data: bytes, name: str, what: str) -> Model:
    return _checked(kind, _json(data, name), name, what)


def read_object(path: Path) -> dict[str, Any]:
    """Return the JSON object in a file.

    Raises
    ------
    ExerciseError
        It cannot be read, is larger than 20 MB, or holds something else.
    """
    return _json(_read(path), path.name)


def _json(data: bytes, name: str) -> dict[str, Any]:
    try:
        raw = json.loads(data)
    except (ValueError, RecursionError) as exc:
        raise ExerciseError(
            "this is not JSON", "UTF-8 JSON", code="exercise-json", subject=shown(name)
        ) from exc
    if not isinstance(raw, dict):
        raise ExerciseError(
            "this is not a JSON object", "one object in braces", code="exercise-json", subject=shown(name)
        )
    return raw


def _checked(kind: type[Model], raw: dict[str, Any], name: str, what: str) -> Model:
    try:
        return kind.model_validate_json(json.dumps(raw, allow_nan=False), strict=True)
    except ValidationError as exc:
        raise ExerciseError(
            f"not a usable {what}: {first_error(exc)}", code=f"{what}-field", subject=shown(name)
        ) from exc
    except RadlengthError as exc:
        raise ExerciseError(exc.wrong, exc.allowed, code=exc.code, subject=shown(name)) from exc
    except (ValueError, RecursionError) as exc:
        raise ExerciseError(
            "a number that is none, or too many brackets", code="exercise-json", subject=shown(name)
        ) from exc


def _read(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as exc:
        raise ExerciseError(
            f"cannot be read: {refused(exc)}",
            remedy="check the path and the rights",
            code="exercise-unreadable",
            subject=shown(str(path)),
        ) from exc
    if len(data) > MOST_BYTES:
        raise ExerciseError(
            f"larger than {MOST_BYTES // 1_000_000} MB", code="exercise-large", subject=shown(path.name)
        )
    return data


def _write(path: Path, data: bytes, *, private: bool = False) -> Path:
    """Write whole or not at all."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        put_whole(path, data, flush=True, private=private)
    except OSError as exc:
        raise ExerciseError(
            f"cannot be written: {refused(exc)}",
            remedy="check the folder and its rights",
            code="exercise-unwritable",
            subject=shown(str(path)),
        ) from exc
    return path
