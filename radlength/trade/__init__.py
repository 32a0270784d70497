"""Tables of the trade, each with its source: cautions, teeth, instruments, named rules."""

from radlength.trade.accuracy import posterior_caution
from radlength.trade.anatomy import AnatomicalBand, anatomical_band
from radlength.trade.cautions import CAUTION, CAUTION_SHORT, NOT_CONFIRMED
from radlength.trade.fill import FillRule, FillVerdict, fill_rule, fill_rules
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
from radlength.trade.tooth_lengths import RANGE_SOURCE, ToothLength, tooth_length

__all__ = [
    "CAUTION",
    "CAUTION_SHORT",
    "ISO_TEETH",
    "LENGTHS_MM",
    "LENGTH_MARKS_MM",
    "LENGTH_TOLERANCE_MM",
    "LENGTH_TOLERANCE_STATUS",
    "NOT_CONFIRMED",
    "RANGE_SOURCE",
    "SIZES",
    "AnatomicalBand",
    "FillRule",
    "FillVerdict",
    "MagnificationPrior",
    "RepeatRule",
    "Status",
    "TerminusTable",
    "ToothLength",
    "Verdict",
    "anatomical_band",
    "arch",
    "check_tooth",
    "colour",
    "diameter_mm",
    "fill_rule",
    "fill_rules",
    "from_universal",
    "is_deciduous",
    "is_posterior",
    "magnification_prior",
    "posterior_caution",
    "repeat_rule",
    "repeat_rules",
    "side",
    "terminus_table",
    "terminus_tables",
    "to_universal",
    "tooth_length",
    "tooth_name",
    "usual_canals",
]
