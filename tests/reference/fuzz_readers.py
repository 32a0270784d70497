"""Fuzz every reader of files from strangers, by hand and for long.

Run it with ``python tests/reference/fuzz_readers.py --seconds 600 --folder fuzz``. What leads to an error is kept in
the folder, and so are inputs that reach new lines: a later run begins with them. Needs atheris (Linux and macOS).
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from helpers.fuzz import GROUPS, fuzz


def main() -> int:
    """Fuzz and print what was found."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=int, default=600)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--folder", type=Path, default=Path("fuzz"))
    given = parser.parse_args()
    ended = fuzz(GROUPS, given.folder, seconds=given.seconds, seed=given.seed)
    for one in ended:
        print(f"{'-'.join(one.readers)}: {one.tried} inputs, {'FOUND' if one.found else 'nothing found'}")
        if one.found:
            print(one.words)
    return int(any(one.found for one in ended))


if __name__ == "__main__":
    sys.exit(main())
