# ruff: noqa: TID252 - the lazy loader reads this file and knows relative names only
from .live import Tracer
from .trace import Trace, trace_canal

__all__ = [
    "Trace",
    "Tracer",
    "trace_canal",
]
