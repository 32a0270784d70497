"""Words of a command line that say nothing: a path left empty would be the current folder."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import typer


def refuse_empty_paths(command: Any, words: Sequence[str]) -> None:
    """Refuse a file or folder given as an empty word, as a script writes one for a variable that is not set.

    Parameters
    ----------
    command
        The command, whose options tell which of them take a path.
    words
        What is typed after its name.

    Raises
    ------
    typer.BadParameter
        A path, or an argument of whatever kind, is empty.
    """
    options = {name: param for param in command.params for name in param.opts if name.startswith("-")}
    for before, word in zip(("", *words), words, strict=False):
        if word == "":
            option = options.get(before)
            at_place = option is None or option.is_flag
        elif word.startswith("--") and word.endswith("="):
            option, at_place = options.get(word[:-1]), False
        else:
            continue
        if at_place or (option is not None and option.type_descriptor.is_path):
            name = "an argument" if option is None or at_place else option.opts[0]
            raise typer.BadParameter(f"{name} is empty; a file or a folder, '.' for the folder you are in")
