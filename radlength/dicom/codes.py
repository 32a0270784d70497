"""Coded words: the standard's own where it has one, ours under a private scheme where it has none.

Source: PS3.16 (DICOM 2025), context groups as named beside each; SNOMED CT codes as PS3.16 uses them. The structure
of the root canal, 3262009, stands in public SNOMED body-site lists but in no context group of DICOM.
"""

from __future__ import annotations

from typing import Any, Final

Triple = tuple[str, str, str]
"""Code value, coding scheme designator, code meaning."""

SCHEME: Final = "99RADLENGTH"
SCHEME_NAME: Final = "radlength, terms of the working length of root canals"

CANAL: Final[Triple] = ("3262009", "SCT", "Structure of root canal of tooth")
CALIBRATION_OBJECT: Final[Triple] = ("122421", "DCM", "Calibration Object")
OBJECT_SIZE: Final[Triple] = ("122423", "DCM", "Calibration Object Size")
FACTOR: Final[Triple] = ("122322", "DCM", "Calibration Factor")
VERTICAL: Final[Triple] = ("111066", "DCM", "Vertical Pixel Spacing")
HORIZONTAL: Final[Triple] = ("111026", "DCM", "Horizontal Pixel Spacing")
PATH_LENGTH: Final[Triple] = ("121211", "DCM", "Path length")
SOURCE: Final[Triple] = ("121112", "DCM", "Source of Measurement")
SELECTED: Final[Triple] = ("260753009", "SCT", "Source")
SOURCE_IMAGE: Final[Triple] = ("121322", "DCM", "Source image for image processing operation")
PROCESSING: Final[Triple] = ("109102", "DCM", "Processing Equipment")
PROCEDURE: Final[Triple] = ("363679005", "SCT", "Imaging procedure")
REPORT: Final[Triple] = ("126000", "DCM", "Imaging Measurement Report")
PROCEDURE_REPORTED: Final[Triple] = ("121058", "DCM", "Procedure reported")
LANGUAGE: Final[Triple] = ("121049", "DCM", "Language of Content Item and Descendants")
ENGLISH: Final[Triple] = ("en", "RFC5646", "English")
OBSERVER_TYPE: Final[Triple] = ("121005", "DCM", "Observer Type")
PERSON: Final[Triple] = ("121006", "DCM", "Person")
DEVICE: Final[Triple] = ("121007", "DCM", "Device")
PERSON_NAME: Final[Triple] = ("121008", "DCM", "Person Observer Name")
DEVICE_UID: Final[Triple] = ("121012", "DCM", "Device Observer UID")
DEVICE_NAME: Final[Triple] = ("121013", "DCM", "Device Observer Name")
DEVICE_MODEL: Final[Triple] = ("121015", "DCM", "Device Observer Model Name")
DEVICE_NUMBER: Final[Triple] = ("121016", "DCM", "Device Observer Serial Number")
LIBRARY: Final[Triple] = ("111028", "DCM", "Image Library")
LIBRARY_GROUP: Final[Triple] = ("126200", "DCM", "Image Library Group")
MODALITY: Final[Triple] = ("121139", "DCM", "Modality")
ROWS: Final[Triple] = ("110910", "DCM", "Pixel Data Rows")
COLUMNS: Final[Triple] = ("110911", "DCM", "Pixel Data Columns")
MEASUREMENTS: Final[Triple] = ("126010", "DCM", "Imaging Measurements")
GROUP: Final[Triple] = ("125007", "DCM", "Measurement Group")
TRACKING: Final[Triple] = ("112039", "DCM", "Tracking Identifier")
TRACKING_UID: Final[Triple] = ("112040", "DCM", "Tracking Unique Identifier")
FINDING_TYPE: Final[Triple] = ("121071", "DCM", "Finding")
FINDING_SITE: Final[Triple] = ("363698007", "SCT", "Finding Site")
MODIFIER: Final[Triple] = ("106233006", "SCT", "Topographical modifier")
ALGORITHM: Final[Triple] = ("111001", "DCM", "Algorithm Name")
ALGORITHM_VERSION: Final[Triple] = ("111003", "DCM", "Algorithm Version")
ALGORITHM_PARAMETERS: Final[Triple] = ("111002", "DCM", "Algorithm Parameters")
MODALITIES: Final[dict[str, Triple]] = {
    "IO": ("IO", "DCM", "Intra-oral Radiography"),
    "DX": ("DX", "DCM", "Digital Radiography"),
    "CR": ("CR", "DCM", "Computed Radiography"),
    "PX": ("PX", "DCM", "Panoramic X-Ray"),
    "OT": ("OT", "DCM", "Other"),
}
"""CID 29, those that are read."""

ABOVE: Final[Triple] = ("371886008", "SCT", "+, range of upper measurement uncertainty")
BELOW: Final[Triple] = ("371885007", "SCT", "-, range of lower measurement uncertainty")
AROUND: Final[Triple] = ("371884006", "SCT", "+/-, range of measurement uncertainty")
"""CID 225, in TID 310."""

MILLIMETRE: Final[Triple] = ("mm", "UCUM", "mm")
PIXELS: Final[Triple] = ("{pixels}", "UCUM", "pixels")
PER_PIXEL: Final[Triple] = ("mm/{pixel}", "UCUM", "mm/pixel")

WORKING_LENGTH: Final[Triple] = ("WL", SCHEME, "Root canal working length")
DECIDED_LENGTH: Final[Triple] = ("WL-DECIDED", SCHEME, "Working length decided by a person")
OFFSET: Final[Triple] = ("TERMINUS-OFFSET", SCHEME, "Terminus, distance back from the radiographic apex")
STANDARD_U: Final[Triple] = ("STD-U", SCHEME, "Standard uncertainty")
RULE: Final[Triple] = ("TERMINUS-RULE", SCHEME, "Terminus rule")
RULE_TABLE: Final[Triple] = ("TERMINUS-TABLE", SCHEME, "Terminus, published table")
RULE_SEEN: Final[Triple] = ("TERMINUS-SEEN", SCHEME, "Terminus, what was observed")
FINDING: Final[Triple] = ("DOUBT", SCHEME, "Doubt about the measurement")
STATUS: Final[Triple] = ("STATUS", SCHEME, "Status of the measurement")
CAUTION_ITEM: Final[Triple] = ("CAUTION", SCHEME, "Caution")
DECIDED_BY: Final[Triple] = ("DECIDED-BY", SCHEME, "Person who decided, and when")
SCALE_SOURCE: Final[Triple] = ("SCALE-SOURCE", SCHEME, "Source of the scale")
SCALE_NAME: Final[Triple] = ("SCALE-NAME", SCHEME, "Reference that measures the canal")
PLACEMENT: Final[Triple] = ("PLACEMENT", SCHEME, "Placement of the reference")
IN_CANAL_OF: Final[Triple] = ("IN-CANAL-OF", SCHEME, "Canal the reference lies in")
REFERENCE_POINT: Final[Triple] = ("REFERENCE-POINT", SCHEME, "Reference point on the crown")
STRAIGHT: Final[Triple] = ("STRAIGHT", SCHEME, "How it is known that the canal does not bend along the beam")
PLACED: Final[Triple] = ("BY-PROGRAM", SCHEME, "Points placed by a program")
SHAPE: Final[Triple] = ("INSTRUMENT-SHAPE", SCHEME, "Shape of the instrument")
PIXEL_HASH: Final[Triple] = ("PIXEL-HASH", SCHEME, "SHA-256 of the pixels that were marked")

SCALES: Final[dict[str, Triple]] = {
    "in_canal": ("SCALE-IN-CANAL", SCHEME, "Instrument of known length in the canal"),
    "borrowed": ("SCALE-BORROWED", SCHEME, "Instrument of known length in another canal"),
    "beside": ("SCALE-BESIDE", SCHEME, "Object of known length beside the canal"),
    "fiducial": ("SCALE-FIDUCIAL", SCHEME, "Image header, calibrated by an object in the image"),
    "geometry": ("SCALE-GEOMETRY", SCHEME, "Image header, corrected for an assumed magnification"),
    "detector": ("SCALE-DETECTOR", SCHEME, "Image header, at the detector, over a usual magnification"),
    "undetermined": ("SCALE-UNKNOWN", SCHEME, "Image header, meaning of its spacing not said"),
    "none": ("SCALE-NONE", SCHEME, "No scale, length in pixels only"),
}
PLACEMENTS: Final[dict[str, Triple]] = {
    "in_canal": ("PLACED-IN-CANAL", SCHEME, "In the canal"),
    "beside": ("PLACED-BESIDE", SCHEME, "Beside the canal"),
}
CANALS: Final[dict[str, Triple]] = {
    name: (name, SCHEME, meaning)
    for name, meaning in {
        "B": "buccal canal", "P": "palatal canal", "L": "lingual canal", "M": "mesial canal", "D": "distal canal",
        "MB": "mesiobuccal canal", "MB1": "first mesiobuccal canal", "MB2": "second mesiobuccal canal",
        "DB": "distobuccal canal", "DL": "distolingual canal", "ML": "mesiolingual canal",
        "MP": "mesiopalatal canal", "DP": "distopalatal canal", "MM": "middle mesial canal",
        "single": "single canal", "middle": "middle canal",
    }.items()
}  # fmt: skip
"""Names of canals that are usual; any other stands in the tracking identifier only."""


def own_codes() -> tuple[Triple, ...]:
    """Return every code of the private scheme."""
    single = [value for name, value in globals().items() if name.isupper() and isinstance(value, tuple)]
    grouped = [code for group in (SCALES, PLACEMENTS, CANALS) for code in group.values()]
    return tuple(code for code in (*single, *grouped) if code[1] == SCHEME)


def is_code(item: Any, code: Triple) -> bool:
    """Tell whether a code item of a data set is that code: value and scheme count, the meaning does not."""
    return (str(item.get("CodeValue", "")), str(item.get("CodingSchemeDesignator", ""))) == code[:2]
