"""Size and taper along a length: what a choice means on this canal, and what changed between two images.

Nothing here recommends an instrument, a sequence or an end: it shows, flags and compares.
"""
