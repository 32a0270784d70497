# ruff: noqa: TID252 - the lazy loader reads this file and knows relative names only
from .ball import FoundBall, find_ball
from .beads import FoundBeads, find_beads
from .instrument import FoundInstrument, find_instrument
from .live import Tracer
from .scale_bar import FoundBar, find_scale_bar
from .suggest import Suggestion, suggest_apex, suggest_stop_face
from .trace import Trace, trace_canal
from .wire_ends import FoundWire, find_wire_ends

__all__ = [
    "FoundBall",
    "FoundBar",
    "FoundBeads",
    "FoundInstrument",
    "FoundWire",
    "Suggestion",
    "Trace",
    "Tracer",
    "find_ball",
    "find_beads",
    "find_instrument",
    "find_scale_bar",
    "find_wire_ends",
    "suggest_apex",
    "suggest_stop_face",
    "trace_canal",
]
