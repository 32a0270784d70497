"""The command line: one module a command. Thin: it reads words, calls the core, prints.

Processes of a batch import this module with the program that started them: it loads no command before it runs one.
"""

from __future__ import annotations

import sys


def main() -> None:
    """Run ``radlength``."""
    try:
        from radlength.cli.app import build_app

        for stream in (sys.stdout, sys.stderr):
            if hasattr(stream, "reconfigure"):
                stream.reconfigure(encoding="utf-8", errors="replace")
        build_app()(prog_name="radlength")
    except KeyboardInterrupt:
        sys.exit(130)
    except OSError as exc:  # what a command writes it speaks of itself: this is help, or a usage error
        if "--debug" in sys.argv:
            raise
        sys.exit(
            f"radlength: the output cannot be written: {exc.strerror or exc}; check the disk and the rights"
        )
