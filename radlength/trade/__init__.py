"""Tables of the trade, each with its source: cautions, teeth, instruments, named rules."""

from radlength.trade.accuracy import posterior_caution
from radlength.trade.anatomy import AnatomicalBand, anatomical_band
from radlength.trade.cautions import CAUTION, CAUTION_SHORT, NOT_CONFIRMED
from radlength.trade.cones import CONE_SOURCE, ConeLimit, cone_limit
from radlength.trade.curvature_classes import CurvatureRule, curvature_rule, curvature_rules
from radlength.trade.fill import FillRule, FillVerdict, fill_rule, fill_rules
from radlength.trade.instrument_shape import Instrument, parse_instrument, tapers_to_table
from radlength.trade.instruments import (
    LENGTH_MARKS_MM,
    LENGTH_TOLERANCE_MM,
    LENGTH_TOLERANCE_STATUS,
    LENGTHS_MM,
    SIZES,
    colour,
    diameter_mm,
)
from radlength.trade.magnification import MagnificationPrior, magnification_prior
from radlength.trade.needles import NEEDLE_NOTE, Needle, needle, needle_gauges
from radlength.trade.repeat import RepeatRule, Verdict, repeat_rule, repeat_rules
from radlength.trade.status import Status
from radlength.trade.teeth import (
    ISO_TEETH,
    arch,
    check_tooth,
    from_universal,
    is_deciduous,
    is_posterior,
    side,
    to_universal,
    tooth_name,
    usual_canals,
)
from radlength.trade.terminus import TerminusTable, terminus_table, terminus_tables
from radlength.trade.tip_shapes import TIP_FORMS, TipOffset, tip_offset
from radlength.trade.tooth_lengths import RANGE_SOURCE, ToothLength, tooth_length

__all__ = [
    "CAUTION",
    "CAUTION_SHORT",
    "CONE_SOURCE",
    "ISO_TEETH",
    "LENGTHS_MM",
    "LENGTH_MARKS_MM",
    "LENGTH_TOLERANCE_MM",
    "LENGTH_TOLERANCE_STATUS",
    "NEEDLE_NOTE",
    "NOT_CONFIRMED",
    "RANGE_SOURCE",
    "SIZES",
    "TIP_FORMS",
    "AnatomicalBand",
    "ConeLimit",
    "CurvatureRule",
    "FillRule",
    "FillVerdict",
    "Instrument",
    "MagnificationPrior",
    "Needle",
    "RepeatRule",
    "Status",
    "TerminusTable",
    "TipOffset",
    "ToothLength",
    "Verdict",
    "anatomical_band",
    "arch",
    "check_tooth",
    "colour",
    "cone_limit",
    "curvature_rule",
    "curvature_rules",
    "diameter_mm",
    "fill_rule",
    "fill_rules",
    "from_universal",
    "is_deciduous",
    "is_posterior",
    "magnification_prior",
    "needle",
    "needle_gauges",
    "parse_instrument",
    "posterior_caution",
    "repeat_rule",
    "repeat_rules",
    "side",
    "tapers_to_table",
    "terminus_table",
    "terminus_tables",
    "tip_offset",
    "to_universal",
    "tooth_length",
    "tooth_name",
    "usual_canals",
]
