"""The command line: one module a command. Thin: it reads words, calls the core, prints.

Processes of a batch import this module with the program that started them: it loads no command before it runs one.
"""

from __future__ import annotations

import sys


def main() -> None:
    """Run ``radlength``."""
    from radlength.cli.app import build_app

    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    build_app()(prog_name="radlength")
