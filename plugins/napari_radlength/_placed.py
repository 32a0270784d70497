"""Who placed the points of a canal or a reference, in words. Pure: no Qt, no napari."""

from __future__ import annotations

from radlength.clean import counted
from radlength.geometry import CARRIED
from radlength.session import CanalDraft, ReferenceDraft


def placed_words(draft: CanalDraft | ReferenceDraft) -> str:
    """Return how many points there are, and where not all are a person's on this image, whose they are.

    Examples
    --------
    >>> from radlength.geometry import Assist
    >>> placed_words(CanalDraft(path_px=((0, 0), (1, 0))))
    '2 points'
    >>> over = Assist(0, 0, CARRIED, "1", 0.0)
    >>> traced = Assist(1, 1, "canal trace", "1", 0.9)
    >>> placed_words(CanalDraft(path_px=((0, 0), (1, 0), (2, 0)), assists=(over, traced)))
    '3 points: 1 by a person, 1 by the program, 1 brought over from another image'
    """
    over = sum(one.count for one in draft.assists if one.method == CARRIED)
    program = sum(one.count for one in draft.assists) - over
    count = len(draft.path_px)
    said = counted(count, "point")
    if not program + over:
        return said
    parts = [f"{count - program - over} by a person"]
    parts += [f"{program} by the program"] * bool(program)
    parts += [f"{over} brought over from another image"] * bool(over)
    return f"{said}: {', '.join(parts)}"
