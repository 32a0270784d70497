"""Seeds: public ones of the built-in course, and those that follow from a teacher's secret.

A seed of an assessment is the first 128 bits of HMAC-SHA256 over the place of the exercise in the set, keyed with
the secret: whoever knows all images but not the secret knows no seed.
"""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets

from radlength.exercise.refusal import ExerciseError

SECRET_BITS = 256
LEAST_BITS = 128


def new_secret() -> str:
    """Return a fresh secret of 256 bits in hexadecimal."""
    return secrets.token_hex(SECRET_BITS // 8)


def check_secret(secret: str) -> str:
    """Return a secret, if it is long enough and not of one repeated pattern.

    Raises
    ------
    ExerciseError
        Not hexadecimal, shorter than 128 or longer than 512 bits, or fewer than 8 different digits.
    """
    if not re.fullmatch("[0-9a-f]{32,128}", secret) or len(set(secret)) < 8:
        raise ExerciseError(
            "a secret that can be guessed, or is none",
            f"{LEAST_BITS} to 512 random bits, {LEAST_BITS // 4} to 128 hexadecimal digits",
            "leave it out: one is made for you",
            code="exercise-secret",
        )
    return secret


def number_of(secret: str, *place: object) -> int:
    """Return 128 bits as a number that follow from a secret and a place in the set.

    Parameters
    ----------
    secret
        Hexadecimal.
    *place
        What the number is for.

    Examples
    --------
    >>> number_of("00" * 16, "seed", 1) == number_of("00" * 16, "seed", 1)
    True
    >>> number_of("00" * 16, "seed", 1) == number_of("00" * 16, "seed", 2)
    False
    """
    words = "|".join(("radlength-exercise-1", *map(str, place)))
    return int.from_bytes(
        hmac.new(bytes.fromhex(secret), words.encode(), hashlib.sha256).digest()[:16], "big"
    )
