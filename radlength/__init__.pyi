# ruff: noqa: TID252 - the lazy loader reads this file and knows relative names only
from ._version import __version__
from .errors import (
    ImageError,
    MarkError,
    PhantomError,
    RadlengthError,
    RecordError,
    ReportError,
    ScaleError,
    TradeError,
)
from .finding import Finding
from .imaging import Radiograph, read_radiograph
from .length import (
    Canal,
    Confirmation,
    Estimate,
    MarkedView,
    Terminus,
    TwoViewEstimate,
    confirm_length,
    estimate_length,
    estimate_two_views,
)
from .length.simulate import simulate_length
from .quantity import Quantity, round_for_stop
from .record import Case, Record, canal_state, load_case, load_record, save_case, save_record
from .report import annotated_picture
from .scale import Reference
from .uncertainty import Marking

__all__ = [
    "Canal",
    "Case",
    "Confirmation",
    "Estimate",
    "Finding",
    "ImageError",
    "MarkError",
    "MarkedView",
    "Marking",
    "PhantomError",
    "Quantity",
    "Radiograph",
    "RadlengthError",
    "Record",
    "RecordError",
    "Reference",
    "ReportError",
    "ScaleError",
    "Terminus",
    "TradeError",
    "TwoViewEstimate",
    "__version__",
    "annotated_picture",
    "canal_state",
    "confirm_length",
    "estimate_length",
    "estimate_two_views",
    "load_case",
    "load_record",
    "read_radiograph",
    "round_for_stop",
    "save_case",
    "save_record",
    "simulate_length",
]
