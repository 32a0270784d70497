"""The command line: one module a command. Thin: it reads words, calls the core, prints."""

from __future__ import annotations

import sys

from radlength.cli.app import build_app


def main() -> None:
    """Run ``radlength``."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    build_app()(prog_name="radlength")
